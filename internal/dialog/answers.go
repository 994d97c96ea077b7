package dialog

import (
	"sillbot/internal/phrase"
	"sillbot/internal/sheet"
	"sillbot/internal/tell"
)

// file takes an answer file: the order's CSV with the supplier's answers filled in.
// Any other file can't be read.
func (t *turn) file(in Input) {
	switch {
	case in.Unfetched:
		t.say(phrase.Of("answers.unfetched"))
		return
	case in.Table == nil:
		t.sayKind(in, phrase.Of("kind.file"))
		return
	}
	t.quiet = true
	read, trouble := sheet.ReadAnswers(in.Table, t.now)
	if trouble != nil {
		t.say(*trouble)
		return
	}
	own := t.Job != nil && t.Job.Ref == read.Ref
	_, sits := t.seat(read.Ref)
	if !own && !sits {
		t.say(phrase.Of("job.unknown").Saying("ref", read.Ref))
		return
	}
	var refused []tell.Row
	for _, r := range read.Refused {
		refused = append(refused, tell.Row{N: r.Row, Why: r.Why})
	}
	if len(read.Lines)+len(refused) > 0 {
		t.say(phrase.Of("answers.read").Saying("ref", read.Ref).WithInt("count", len(read.Lines)))
	}
	t.say(tell.Rows(refused)...)
	switch {
	case len(read.Lines) > 0:
		t.carryOut(findCommand("answers"), Ask{Do: "answers", Ref: read.Ref, Answers: read.Lines})
	case len(refused) == 0:
		t.say(phrase.Of("answers.none").Saying("ref", read.Ref))
	}
}
