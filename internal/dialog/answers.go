package dialog

import (
	"sillbot/internal/job"
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
		t.say(phrase.Of("kind.file"))
		return
	}
	t.quiet = true
	read, trouble := sheet.ReadAnswers(in.Table, t.now)
	if trouble != nil {
		t.say(*trouble)
		return
	}
	own := t.Job != nil && t.Job.Ref == read.Ref
	seat, sits := t.seat(read.Ref)
	if !own && !sits {
		t.say(phrase.Of("job.unknown").Saying("ref", read.Ref))
		return
	}
	var refused []tell.Row
	for _, r := range read.Refused {
		refused = append(refused, tell.Row{N: r.Row, Why: r.Why})
	}
	lines, said := read.Lines, []phrase.Text(nil)
	if own || seat.Role != job.Desk {
		lines, said = withoutWords(lines)
	}
	if len(read.Lines)+len(refused) > 0 {
		t.say(phrase.Of("answers.read").Saying("ref", read.Ref).WithInt("count", len(read.Lines)))
	}
	t.say(said...)
	t.say(tell.Rows(refused)...)
	switch {
	case len(lines) > 0:
		t.carryOut(findCommand("answers"), Ask{Do: "answers", Ref: read.Ref, Answers: lines})
	case len(read.Lines)+len(refused) == 0:
		t.say(phrase.Of("answers.none").Saying("ref", read.Ref))
	}
}

// mostSaid is how many of a supplier's sentences are said back.
const mostSaid = 10

// withoutWords are the rows without the supplier's questions, and those to say: what
// fitter or lead answers goes to the supplier, who is not here.
func withoutWords(rows []job.LineAnswer) (lines []job.LineAnswer, said []phrase.Text) {
	for _, r := range rows {
		if r.Words != "" {
			said = append(said, phrase.Of("answers.words").WithInt("row", r.Row).WithInt("n", r.Window).Saying("words", r.Words))
		}
		r.Words = ""
		if r.Confirm || r.Due != "" || r.Price != nil || r.Order != "" {
			lines = append(lines, r)
		}
	}
	if len(said) > mostSaid {
		said = append(said[:mostSaid], phrase.Of("answers.words_more").WithInt("count", len(said)-mostSaid))
	}
	if len(said) > 0 {
		said = append(said, phrase.Of("answers.words_do"))
	}
	return lines, said
}
