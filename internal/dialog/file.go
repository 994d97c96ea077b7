package dialog

import (
	"slices"
	"strings"
	"unicode/utf8"

	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// fileCommand sends the file of windows: of those that are named, or of all whose frame
// is here.
func fileCommand(t *turn, a Ask) {
	t.quiet = true
	ids := a.Openings
	if a.Opening != 0 {
		ids = []int{a.Opening}
	}
	t.sendFile(ids)
}

// sendFile sends the file of windows as it is now.
func (t *turn) sendFile(ids []int) {
	file := day.File(*t.Job, ids...)
	if len(file.Windows) == 0 {
		t.say(phrase.Of("file.nothing"))
		return
	}
	var names []phrase.Text
	var on []int
	for _, w := range file.Windows {
		on = append(on, w.Line.Opening)
		if len(names) < mostNamed {
			names = append(names, phrase.Of("job.words").Saying("words", w.Line.Name))
		}
	}
	if more := len(on) - len(names); more > 0 {
		names = append(names, phrase.Of("job.sure.more").WithInt("count", more))
	}
	t.say(phrase.Of("file.sent").WithRow("names", names...).Saying("numbers", job.Spans(on, "-", " ")))
	t.mails = append(t.mails, Reply{Text: phrase.Of("file.paper").Saying("ref", t.Job.Ref), Lang: t.lang(), Open: t.open(),
		Document: &Document{Paper: FilePDF, File: &file, At: t.now}})
}

// windowsColon are the numbers of windows with a colon behind them, or the number of one
// window, or nothing in a job of one.
func windowsColon(t *turn, a *Ask, text string) (string, *phrase.Text) {
	before, after, colon := strings.Cut(text, ":")
	id, rest, numbered := openingNumber(text)
	switch {
	case colon && strings.TrimSpace(before) != "":
		rest, trouble := windows(t, a, before)
		if trouble == nil && rest != "" {
			return text, unfitting
		}
		return strings.TrimSpace(after), trouble
	case numbered && rest != "" && t.Job.Has(id):
		a.Opening = id
		return rest, nil
	case len(t.Job.Openings) == 1:
		a.Opening = t.Job.Openings[0].ID
		return strings.TrimSpace(strings.TrimPrefix(text, ":")), nil
	}
	return text, unfitting
}

// mostCertificate is the longest number of a certificate, in characters. Common
// practice, no source.
const mostCertificate = 60

// certificateCommand writes down the number of a certificate and its day.
func certificateCommand(t *turn, a Ask) {
	t.quiet = true
	ids := a.Openings
	switch {
	case a.Opening != 0:
		ids = []int{a.Opening}
	case a.All:
		ids = t.dayWindows()
	}
	number, on := t.nameAndDay(a.Words)
	if !strings.ContainsAny(number, "0123456789") || utf8.RuneCountInString(number) > mostCertificate {
		t.say(phrase.Of("certificate.how"))
		return
	}
	ids = slices.DeleteFunc(slices.Clone(ids), func(id int) bool { return !t.Job.Has(id) })
	var names []phrase.Text
	for _, id := range ids {
		if !t.keepOf(id, job.Certificate(number, on)...) {
			return
		}
		o, _ := t.Job.Find(id)
		names = append(names, phrase.Of("job.words").Saying("words", o.Name))
	}
	if len(names) == 0 {
		t.say(phrase.Of("certificate.how"))
		return
	}
	t.Day.Also = ids[:len(ids)-1] // undo takes all of it back
	t.say(phrase.Of("certificate.noted").Saying("number", number).Sub1("day", tell.StoredDay(on)).WithRow("names", names...))
}
