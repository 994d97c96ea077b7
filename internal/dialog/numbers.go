package dialog

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/job"
)

// numbers are the windows that were typed, or all.
type numbers struct {
	ids []int
	all bool
}

// someNumbers takes the numbers of windows from the front of a text: those with a
// comma or a dash between them, and, if spaced, with a space. Of a stretch it
// takes those that there are.
func someNumbers(t *turn, text string, spaced bool, there func(int) bool) (n numbers, rest string) {
	if code, after, ok := words().Match(t.lang(), "windows", text); ok && code == "all" {
		return numbers{all: true}, strings.TrimSpace(after)
	}
	rest = strings.TrimSpace(text)
	for {
		first, last, after, ok := stretch(t, rest)
		if !ok {
			return n, rest
		}
		had := len(n.ids)
		for id := first; id <= min(last, first+job.MostOpenings); id++ {
			if !slices.Contains(n.ids, id) && (last == first || there(id)) {
				n.ids = append(n.ids, id)
			}
		}
		if len(n.ids) == had && !slices.Contains(n.ids, first) {
			n.ids = append(n.ids, first) // to be named as not there
		}
		next := strings.TrimLeft(after, ", ")
		if code, more, ok := words().Match(t.lang(), "windows", next); ok && code == "and" {
			next = more
		} else if !spaced && !strings.HasPrefix(after, ",") {
			return n, strings.TrimSpace(after)
		}
		rest = strings.TrimSpace(next)
	}
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
		if last, more, ok := leadingNumber(strings.TrimLeft(to, " ")); ok && last >= first {
			return first, last, more, true
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
	case rest == "", strings.ContainsAny(rest[:1], " ,-"), strings.HasPrefix(rest, "–"), strings.HasPrefix(rest, "—"):
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
