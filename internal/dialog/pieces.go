package dialog

import (
	"fmt"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// Pieces of a window that stands for several alike: delivered 2 of 3 at 4, or 1
// broken at 4.

// piecesAt takes how many pieces are meant from the front of a text, with the
// window after it: 2 of 3 at 4, or 2 at 4. Without a window it is the only one of
// so many alike.
func piecesAt(t *turn, text string) (n int, rest string, ok bool) {
	n, rest, ok = leadingNumber(strings.TrimSpace(text))
	if !ok || t.Job == nil {
		return 0, text, false
	}
	of := 0
	if code, after, found := words().Match(t.lang(), "windows", rest); found && code == "of" {
		if of, rest, ok = leadingNumber(after); !ok {
			return 0, text, false
		}
	}
	if code, after, found := words().Match(t.lang(), "windows", rest); found && code == "at" {
		return n, after, true
	}
	if id := onlyOf(t.Job, of); of > 0 && id != 0 {
		return n, strings.TrimSpace(fmt.Sprint(id, " ", strings.TrimSpace(rest))), true
	}
	return 0, text, false
}

// onlyOf is the number of the only window of so many alike, of several for 0; 0:
// there are more, or none.
func onlyOf(j *job.Job, of int) int {
	only := 0
	for _, o := range j.Openings {
		if o.Count < 2 || of > 0 && o.Count != of {
			continue
		}
		if only != 0 {
			return 0
		}
		only = o.ID
	}
	return only
}

// ofPieces is how many pieces are meant, when that is said.
func ofPieces(t *turn, a *Ask, text string) (string, *phrase.Text) {
	n, rest, ok := piecesAt(t, text)
	if !ok {
		return text, nil
	}
	a.Count = n
	return rest, nil
}

// countFirst puts a count that stands before its word behind it: 1 broken at 4 is
// broken 1 at 4.
func (t *turn) countFirst(text string) string {
	if t.Job == nil || t.Second != nil || t.Doubt != nil || t.takes(text) {
		return text
	}
	n, rest, ok := leadingNumber(text)
	if !ok {
		return text
	}
	rest = strings.TrimSpace(rest)
	_, after, known := words().Match(t.lang(), "step", rest)
	if code, more, found := words().Match(t.lang(), "command", rest); !known && found && (code == "broken" || code == "fault") {
		after, known = more, true
	}
	if !known {
		return text
	}
	word := strings.TrimSpace(rest[:len(rest)-len(after)])
	code, _, found := words().Match(t.lang(), "windows", after)
	switch id := onlyOf(t.Job, 0); {
	case found && (code == "at" || code == "of"):
		return fmt.Sprint(word, " ", n, " ", after)
	case after == "" && id != 0:
		return fmt.Sprint(word, " ", n, " at ", id)
	}
	return text
}

// stepName is a step of the fitting day. A sentence follows what was wrong
// with a frame.
func stepName(t *turn, a *Ask, text string) (string, *phrase.Text) {
	code, rest, ok := words().Match(t.lang(), "step", text)
	if !ok {
		return text, unfitting
	}
	a.Step = job.Action(code)
	switch {
	case a.Step != job.DoReject:
		return rest, nil
	case a.Count > 0: // some of several are made again
		return faultWords(t, a, rest)
	}
	return anything(t, a, rest)
}

// faultWords are what is wrong with a frame, and the day on which it was found:
// cracked lower pane, found 3 December. Without one it is today.
func faultWords(t *turn, a *Ask, text string) (string, *phrase.Text) {
	a.Words, a.Remake = text, words().Plain(t.lang(), phrase.Of("job.remake").WithInt("n", a.Opening))
	switch {
	case text == "" && a.Do == "broken":
		text = words().Plain(t.lang(), phrase.Of("job.fault.broken"))
		a.Words = text
	case text == "":
		return "", unfitting
	}
	day := t.now.Format(opening.DateForm)
	for i := len(text) - 1; i > 0; i-- {
		code, after, found := words().Match(t.lang(), "windows", text[i:])
		if !found || code != "found" || text[i-1] != ' ' {
			continue
		}
		when, err := reading.Date(after, t.now)
		if err != nil {
			return text, sorry(dateTrouble(err).Saying("given", cut(after)))
		}
		if when.After(t.now) {
			return text, sorry(phrase.Of("job.fault.day").Saying("given", cut(after)))
		}
		a.Words, day = strings.TrimRight(text[:i], " ,;"), when.Format(opening.DateForm)
		break
	}
	a.Words = words().Plain(t.lang(), phrase.Of("job.fault.words").Saying("words", a.Words).Sub1("day", tell.StoredDay(day)))
	return "", nil
}

// faulted offers to order what is made again.
func faulted(t *turn, _ Ask, _ []job.Event) { t.buttons = t.jobButtons() }
