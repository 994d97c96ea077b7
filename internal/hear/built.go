package hear

import (
	"slices"
	"strconv"
)

// The years from which on a house has no lead paint and no asbestos. The first is
// from the guide of the paint strippers' association LIPSA (S), the second from the
// pages of the health and safety executive on asbestos (R).
const (
	leadFree     = 1992
	asbestosFree = 2000
	oldest       = 1500 // an earlier year is rather a length
)

// ofAge are the markers that only go with a year.
var ofAge = []string{"built", "builtbefore", "dwelling"}

// built takes when the house was built, from atom i on: built in 1985, 1930s
// terrace, pre 1960, 2003 build. 0 when that is not said. Where it may be older or
// younger it is older: that is the safe side.
func (l *lexer) built(i int) int {
	means, at := l.phraseAt(i)
	t := token{means: means}
	before := t.marker("builtbefore")
	said := before || t.marker("built")
	if !said {
		at = i
	}
	year, end, decade := l.year(at)
	if end == 0 {
		return 0
	}
	after, stop := l.phraseAt(end)
	dwelling := (token{means: after}).marker("dwelling")
	switch {
	case !said && !decade && !dwelling:
		return 0
	case dwelling:
		end = stop
	}
	code := "before1992"
	switch {
	case before:
	case year >= asbestosFree:
		code = "2000"
	case year >= leadFree:
		code = "1992"
	}
	return l.add(token{kind: phrase, means: []meaning{{"built", code}}}, i, end)
}

// year is the year or the decade at atom i, and where it ends; 0 for none.
func (l *lexer) year(i int) (year, end int, decade bool) {
	if i >= len(l.atoms) || l.atoms[i].kind != digits {
		return 0, 0, false
	}
	text, end := l.atoms[i].text, i+1
	if end < len(l.atoms) && isApostrophes(l.atoms[end].text) && l.atoms[end].glued { // 1930's
		end++
	}
	decade = end < len(l.atoms) && l.atoms[end].text == "s" && l.atoms[end].glued
	if decade {
		end++
	} else {
		end = i + 1
	}
	year, err := strconv.Atoi(text)
	switch {
	case err != nil, end < len(l.atoms) && l.atoms[end].glued && l.atoms[end].kind != mark:
		return 0, 0, false
	case decade && len(text) == 2 && year >= 30: // the 60s
		year += 1900
	case len(text) != 4, year < oldest, year > l.ctx.Now.Year()+1:
		return 0, 0, false
	}
	return year, end, decade
}

func isApostrophes(s string) bool { return len(s) > 0 && isApostrophe([]rune(s)[0]) }

// swallow is where what names a dwelling by its age ends: victorian, victorian terrace.
func (l *lexer) swallow(means []meaning, end int) int {
	if !(token{means: means}).has("built") {
		return end
	}
	if after, stop := l.phraseAt(end); (token{means: after}).marker("dwelling") {
		return stop
	}
	return end
}

// ageless are the meanings without those that only go with a year.
func ageless(means []meaning) []meaning {
	if !slices.ContainsFunc(means, ofYear) {
		return means
	}
	return slices.DeleteFunc(slices.Clone(means), ofYear)
}

func ofYear(m meaning) bool { return m.group == "hear" && slices.Contains(ofAge, m.code) }
