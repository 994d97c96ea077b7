package dialog

import (
	"errors"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/reading"
)

// numbers are the windows that were typed, or all.
type numbers struct {
	ids []int
	all bool
}

// reads is what may stand beside the numbers of windows.
type reads struct {
	there    func(int) bool // whether there is a window of that number: of a stretch those are taken
	sentence bool           // a sentence follows, which may begin with a figure: only a comma joins
	day      bool           // a day may stand in the place of the first number
}

// someNumbers takes the numbers of windows from the front of a text, the only reader
// of such: 2 4, 1-3, 1 to 3, windows 1, 2 and 5, all. A colon ends them. What begins a
// day, a price or another number is none: 3 December, 3.12., £450, 450.50, 2026-12-03.
func someNumbers(t *turn, text string, how reads) (n numbers, rest string) {
	rest = strings.TrimSpace(text)
	if code, after, ok := words().Match(t.lang(), "windows", rest); ok && code == "all" {
		return numbers{all: true}, strings.TrimLeft(after, ":, ")
	}
	joined := true
	for next := rest; ; {
		next = t.afterWord(next)
		if (n.ids != nil || how.day) && t.beginsDay(next) || !joined {
			return n, rest
		}
		first, last, after, ok := stretch(t, next)
		if !ok {
			return n, rest
		}
		n.add(first, last, how.there)
		ended := strings.HasSuffix(strings.TrimRight(next[:len(next)-len(after)], " .;"), ":")
		rest = strings.TrimLeft(after, " ,;&+")
		if ended {
			return n, rest
		}
		joined = !how.sentence || strings.ContainsAny(after[:len(after)-len(rest)], ",;&+")
		next = rest
		if code, more, ok := words().Match(t.lang(), "windows", rest); ok && code == "and" {
			next, joined = more, true
		}
	}
}

// add adds a window, or of a stretch those that there are. One that there is none of
// is there to be named.
func (n *numbers) add(first, last int, there func(int) bool) {
	had := len(n.ids)
	for id := first; id <= min(last, first+job.MostOpenings); id++ {
		if !slices.Contains(n.ids, id) && (last == first || there(id)) {
			n.ids = append(n.ids, id)
		}
	}
	if len(n.ids) == had && !slices.Contains(n.ids, first) {
		n.ids = append(n.ids, first)
	}
}

// afterWord is a text after the word window or line where a number follows it.
func (t *turn) afterWord(text string) string {
	code, after, ok := words().Match(t.lang(), "windows", text)
	if !ok || code != "window" {
		return text
	}
	if _, _, _, numbered := stretch(t, after); !numbered {
		return text
	}
	return after
}

var (
	numberThenWord = regexp.MustCompile(`^\d{1,4} ?\p{L}`)
	dayInFigures   = regexp.MustCompile(`^\d{1,4}([-./])\d{1,2}([-./])\d{2,4}($|[^\d])`)
)

// beginsDay says whether a text begins with a number that is part of a day.
func (t *turn) beginsDay(text string) bool {
	if !numberThenWord.MatchString(text) && !dayInFigures.MatchString(text) {
		return false
	}
	_, _, err := reading.NextDate(text, t.now)
	return err == nil || !errors.Is(err, reading.ErrNoDate)
}

// stretch takes one number or a stretch of them, such as 3-5 or 3 to 5.
func stretch(t *turn, text string) (first, last int, rest string, ok bool) {
	first, rest, ok = leadingNumber(text)
	if !ok {
		return 0, 0, text, false
	}
	after := strings.TrimLeft(rest, " ")
	to, joined := after, false
	for _, dash := range []string{"-", "–", "—"} {
		if to, joined = strings.CutPrefix(after, dash); joined {
			break
		}
	}
	if code, more, found := words().Match(t.lang(), "windows", after); !joined && found && code == "to" {
		to, joined = more, true
	}
	if joined {
		last, more, numbered := leadingNumber(strings.TrimLeft(to, " "))
		switch {
		case numbered && last >= first:
			return first, last, more, true
		case numbered:
			return 0, 0, text, false // 5-3 is no stretch
		}
	}
	return first, first, rest, true
}

// leadingNumber is the number of a window that a text begins with, and that
// nothing but a space or a mark stands behind.
func leadingNumber(text string) (n int, rest string, ok bool) {
	end := strings.IndexFunc(text, func(r rune) bool { return r < '0' || r > '9' })
	if end < 0 {
		end = len(text)
	}
	n, err := strconv.Atoi(text[:end])
	if err != nil || n < 1 || n > 9999 {
		return 0, text, false
	}
	switch rest = strings.TrimLeft(text[end:], ".:;"); {
	case rest == "", strings.ContainsAny(rest[:1], " ,-&+"), strings.HasPrefix(rest, "–"), strings.HasPrefix(rest, "—"):
		return n, rest, true
	}
	return 0, text, false
}

// set puts the windows into an ask; one alone is as it always was.
func (n numbers) set(a *Ask) {
	a.All, a.Openings, a.Opening = n.all, n.ids, 0
	if len(n.ids) == 1 {
		a.Opening, a.Openings = n.ids[0], nil
	}
}

// elsewhere takes any number for that of a window: the job is another chat's.
func elsewhere(int) bool { return true }
