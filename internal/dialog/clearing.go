package dialog

import (
	"errors"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/safety"
)

// What a qualified person said of an opening's stops is entered in one line, or part
// by part: the words, who, in what capacity, the day. Nothing is stored before all
// four are there.

// mostPart is how many letters a part of it may have.
const mostPart = 80

// leaveClearing lets go of what is being entered; false when nothing is.
func (t *turn) leaveClearing() bool {
	if t.Asking != "cleared" {
		return false
	}
	t.Clearing, t.Asking, t.Change, t.Fails, t.wasDone = nil, "", "", 0, t.next(t.answers()) == nil
	t.say(phrase.Of("cleared.left"))
	return true
}

// takeClearing takes what was typed for it, and stores it when nothing lacks.
func (t *turn) takeClearing(text string) {
	c := opening.Cleared{}
	if t.Clearing != nil {
		c = *t.Clearing
	}
	asked := lacking(&c)
	var rest []string
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		if part = plainPart(part); part == "" {
			continue
		}
		if !t.partOf(&c, part) {
			rest = append(rest, part)
		}
	}
	if trouble := t.restOf(&c, asked, rest); trouble != nil {
		t.Fails++
		t.say(*trouble)
	}
	t.Clearing = &c
	value := c.Stored()
	if value == "" {
		return
	}
	q := find("cleared")
	t.Clearing, t.Asking, t.wasDone = nil, "", false
	t.accept(q, Answer{Key: q.Key, Value: value})
	if !t.refused {
		t.say(phrase.Of("cleared.done").Sub1("said", clearedText(value)))
	}
}

// partOf takes a part that is a day, or that has a capacity with or without a name.
func (t *turn) partOf(c *opening.Cleared, part string) bool {
	if day, ok := t.pastDay(part); ok && c.Day == "" {
		c.Day = day
		return true
	}
	if name, capacity, code := t.capacityIn(part); code != "" && c.Capacity == "" {
		if takes := t.liftedBy(); !slices.Contains(takes.by, code) {
			t.Fails++
			t.say(*sorry(phrase.Of("cleared.other").Saying("given", cut(capacity)).Word("takes", takes.words)))
			return true
		}
		c.Capacity = capacity
		if name != "" && c.Who == "" && t.isName(name) {
			c.Who = name
		}
		return true
	}
	return false
}

// restOf takes what is neither a day nor a capacity: the part that was asked for, or
// the words and after them the name.
func (t *turn) restOf(c *opening.Cleared, asked string, rest []string) *phrase.Text {
	if len(rest) == 0 {
		return nil
	}
	whole := strings.Join(rest, ", ")
	switch {
	case asked == "capacity" && c.Capacity == "":
		return sorry(phrase.Of("cleared.capacity").Saying("given", cut(whole)))
	case asked == "day" && c.Day == "":
		return sorry(phrase.Of("cleared.day").Saying("given", cut(whole)))
	case asked == "who" && c.Who == "":
		if !t.isName(rest[0]) {
			return sorry(phrase.Of("cleared.nobody").Saying("given", cut(rest[0])))
		}
		c.Who, rest = rest[0], rest[1:]
	case c.Who == "" && len(rest) > 1:
		if i := t.nameAt(rest); i >= 0 {
			c.Who, rest = rest[i], slices.Delete(slices.Clone(rest), i, i+1)
		}
	}
	if c.Words == "" {
		c.Words = strings.Join(rest, ", ")
	}
	return nil
}

// nameAt is which of the parts is the name: the only one that is written as one, else the
// last, where it can be one; -1 for none.
func (t *turn) nameAt(parts []string) int {
	found := -1
	for i, part := range parts {
		if !t.isName(part) || !capitals(part) {
			continue
		}
		if found >= 0 {
			found = -1
			break
		}
		found = i
	}
	if last := len(parts) - 1; found < 0 && t.isName(parts[last]) {
		return last
	}
	return found
}

// capitals says whether every word begins with a capital letter.
func capitals(s string) bool {
	for _, word := range strings.Fields(s) {
		if r, _ := utf8.DecodeRuneInString(word); !unicode.IsUpper(r) {
			return false
		}
	}
	return true
}

// plainPart is a part without what stands around it and can't be seen.
func plainPart(s string) string {
	s = seenOf(strings.ToValidUTF8(s, ""))
	if utf8.RuneCountInString(s) > mostPart {
		s = string([]rune(s)[:mostPart])
	}
	return s
}

// isName says whether a part can be somebody's name: a few words without a figure that
// are no word for anybody.
func (t *turn) isName(s string) bool {
	_, rest, nobody := words().Match(t.lang(), "nobody", s)
	letters := 0
	for _, r := range s {
		if unicode.IsLetter(r) {
			letters++
		}
	}
	return !(nobody && rest == "") && letters > 1 && len(strings.Fields(s)) <= 4 && !strings.ContainsAny(s, "0123456789")
}

// takes says whose word lifts a stop: codes of the group "capacity", and a key for people.
type takes struct {
	by    []string
	words string
}

// liftedBy is whose word lifts the stops of the window: those of the wall first, since
// nobody else speaks for it.
func (t *turn) liftedBy() takes {
	k := t.answers()
	switch o := k.Opening(); {
	case o.NoLintel || o.Bay || o.Widened || o.Cracks || o.Bowed || o.Over == safety.OverBricks:
		return takes{[]string{"yes", "control"}, "cleared.takes.wall"}
	case o.HigherRisk:
		return takes{[]string{"control"}, "cleared.takes.control"}
	case o.OpenFlue:
		return takes{[]string{"fuel"}, "cleared.takes.fuel"}
	}
	return takes{[]string{"yes", "control", "fuel"}, "cleared.takes.wall"}
}

// capacityIn finds the capacity in a part, its code, and the name before or after it. A
// capacity that lifts no stop is none.
func (t *turn) capacityIn(part string) (name, capacity, kind string) {
	list := strings.Fields(part)
	for i := range list {
		from := strings.Join(list[i:], " ")
		code, rest, found := words().Match(t.lang(), "capacity", from)
		if !found {
			continue
		}
		if code == "no" {
			return "", "", ""
		}
		before := strings.TrimSpace(strings.Join(list[:i], " "))
		capacity = strings.TrimSpace(strings.TrimSuffix(from, rest))
		if before != "" && rest != "" {
			return "", "", "" // a sentence that names one
		}
		return plainPart(before + rest), plainPart(capacity), code
	}
	return "", "", ""
}

// pastDay is a part that is a day up to today, as it is stored. Of those that it may
// be it is the last; one of more than a month ago has a year.
func (t *turn) pastDay(part string) (string, bool) {
	today := time.Date(t.now.Year(), t.now.Month(), t.now.Day(), 0, 0, 0, 0, time.UTC)
	d, err := reading.Date(strings.TrimPrefix(strings.ToLower(part), "on "), t.now)
	days := []time.Time{d}
	if several, ok := errors.AsType[*reading.DateError](err); ok {
		days = several.Others
	} else if err != nil {
		return "", false
	}
	days = slices.DeleteFunc(slices.Clone(days), func(d time.Time) bool { return d.After(today) || today.Sub(d) > mostAgo })
	if len(days) == 0 {
		return "", false
	}
	return slices.MaxFunc(days, time.Time.Compare).Format(opening.DateForm), true
}

// mostAgo is how long ago somebody may have looked at it. Common practice, no source.
const mostAgo = 366 * 24 * time.Hour
