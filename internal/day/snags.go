package day

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// Keys of the entries of snags: what is wrong in somebody's words, and the number of
// one that is done. They are storage.
const (
	snagKey     opening.Key = "snag.new"
	snagDoneKey opening.Key = "snag.done"
)

// lastlookKeys is the part of the last look as far as its keys.
var lastlookKeys = Part{Name: "lastlook"}

// Snag is something at a window that is not all right. Number counts those of the
// window from 1 and stays.
type Snag struct {
	Number int
	// Of is the field of the last look; "": it was added freely.
	Of    string
	Words string
	At    time.Time
	Done  time.Time // zero: it is open
}

// Snags are those of a window in the order in which they came up: what the last look
// did not find all right, and what was added. They follow from the record.
func (w *Window) Snags() []Snag { return SnagsOf(w.Opening) }

// SnagsOf is Snags of an opening that need not be on its day.
func SnagsOf(o job.Opening) []Snag {
	var list []Snag
	o.Said.Standing(func(e *opening.Entry) {
		at := time.Unix(e.At, 0).UTC()
		name, ticked := strings.CutPrefix(e.Key, lastlookKeys.Name+".")
		switch {
		case e.Act != opening.Set:
		case ticked:
			list = ticks(list, name, e.Value, at)
		case e.Key == snagKey:
			list = append(list, Snag{Number: len(list) + 1, Words: e.Value, At: at})
		case e.Key == snagDoneKey:
			if n, err := strconv.Atoi(e.Value); err == nil && n >= 1 && n <= len(list) && list[n-1].Done.IsZero() {
				list[n-1].Done = at
			}
		}
	})
	return list
}

// ticks is the list after something was looked at: all right closes its snag, other
// words are what is said of it now.
func ticks(list []Snag, name, value string, at time.Time) []Snag {
	open := slices.IndexFunc(list, func(s Snag) bool { return s.Of == name && s.Done.IsZero() })
	switch {
	case value == opening.Skipped:
	case value == OK && open >= 0:
		list[open].Done = at
	case value == OK:
	case open >= 0:
		list[open].Words = value
	default:
		list = append(list, Snag{Number: len(list) + 1, Of: name, Words: value, At: at})
	}
	return list
}

// OpenSnags are those that are not done.
func OpenSnags(all []Snag) []Snag {
	return slices.DeleteFunc(slices.Clone(all), func(s Snag) bool { return !s.Done.IsZero() })
}

// NewSnag and SnagDone are the entries of a snag, and of the number of one that is done.
func NewSnag(words string) opening.Entry {
	return opening.Entry{Act: opening.Set, Key: snagKey, Value: words}
}

// SnagDone is the entry of a snag that is done.
func SnagDone(number int) opening.Entry {
	return opening.Entry{Act: opening.Set, Key: snagDoneKey, Value: strconv.Itoa(number)}
}

// Ref is how people name it: window and number, as in 2.1.
func (s Snag) Ref(window int) string { return strconv.Itoa(window) + "." + strconv.Itoa(s.Number) }

// Said is what is wrong, with what was looked at before it.
func (s Snag) Said() phrase.Text {
	if s.Words == "" {
		return phrase.Of("day.snag.forgotten")
	}
	if s.Of == "" {
		return phrase.Of("job.words").Saying("words", s.Words)
	}
	return phrase.Of("day.snag.of").Sub1("name", lastlookKeys.Title(&Field{Name: s.Of})).Saying("words", s.Words)
}

// Line is a snag in the list, with its days.
func (s Snag) Line(window int) phrase.Text {
	t := phrase.Of("day.snag.open")
	if !s.Done.IsZero() {
		t = phrase.Of("day.snag.done").Sub1("done", phrase.Day(s.Done))
	}
	return t.Saying("snag", s.Ref(window)).Sub1("what", s.Said()).Sub1("day", phrase.Day(s.At))
}
