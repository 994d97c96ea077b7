package day

import (
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// mostPlaces is how many places one window has: a guard against nonsense.
const mostPlaces = 20

// The lengths that are taken of a place, mm: the depth so far that it is rather answered
// why it is too deep.
var (
	placeLong = reading.MM(10, 6000)
	placeDeep = reading.MM(1, 600)
)

// place reads one place to make good from the front of a text: 1200 x 150, 22 deep.
func (l *listening) place(text string) (rest string, ok bool) {
	f := l.part.field("places")
	if f == nil || l.degrees(text) != nil || !startsFigure(text) {
		return text, false
	}
	p := Place{}
	dims := []*decimal.Decimal{&p.Length, &p.Width, &p.Depth}
	rest = text
	for done := 0; done < 3; done++ {
		d, as, after, ok := l.placeLength(rest)
		switch {
		case !ok && done < 2 && l.part.Next(l.window) != f:
			l.trouble = nil // a figure of something else
			return text, false
		case !ok && l.trouble == nil:
			fail := phrase.Of("day.fail.place")
			l.trouble = &fail
			return text, false
		case !ok:
			return text, false
		}
		to := slices.IndexFunc(dims, func(d *decimal.Decimal) bool { return d.IsZero() })
		if i := slices.Index([]string{"long", "wide", "deep"}, as); i >= 0 {
			to = i
		}
		if !dims[to].IsZero() { // two of one name
			return text, false
		}
		*dims[to], rest = d, after
	}
	return rest, l.takePlace(f, p)
}

// placeLength is one length with what it is of.
func (l *listening) placeLength(text string) (d decimal.Decimal, as, rest string, ok bool) {
	text = l.skip(text)
	if _, after, ok := l.Words.Match(l.Lang, "dayside", text); ok && !startsFigure(text) {
		as, _, _ = l.Words.Match(l.Lang, "dayside", text)
		text = l.skip(after)
	}
	if !startsFigure(text) {
		return d, "", text, false
	}
	got, rest, err := l.Length(text, reading.Range{Least: placeDeep.Least, Most: placeLong.Most})
	if err != nil || !got.Clear() {
		given, _, _ := strings.Cut(text, " ")
		fail := phrase.Of("day.fail.length").Sub1("name", phrase.Of("day.name.patch.places")).Saying("given", given).
			With("least", placeDeep.Least).With("most", placeLong.Most)
		l.trouble = &fail
		return d, "", text, false
	}
	if as == "" {
		if code, after, ok := l.Words.Match(l.Lang, "dayside", strings.TrimLeft(rest, " ")); ok {
			as, rest = code, after
		}
	}
	return got.MM, as, rest, true
}

// takePlace takes a place that can be made good, under the next number.
func (l *listening) takePlace(f *Field, p Place) bool {
	list := placesOf(l.window.Value(l.part, f.Name))
	for _, v := range l.said {
		if v.Field == f {
			list = placesOf(v.Value)
		}
	}
	for _, other := range list {
		p.Number = max(p.Number, other.Number)
	}
	p.Number++
	req := plan.PatchRequest(opening.Patch{Length: p.Length, Width: p.Width, Depth: p.Depth}, plan.DefaultCrew())
	if _, err := calc.PlanPatch(req); err != nil || len(list) >= mostPlaces {
		fail := phrase.Of("day.fail.places").WithInt("most", mostPlaces)
		if err != nil {
			fail, _ = plan.WhyRefused(err)
		}
		l.trouble = &fail
		return false
	}
	l.take(f, storedPlaces(append(list, p)), "")
	return true
}

// mass reads what hinges or stays are rated for: rated 40 kg.
func (l *listening) mass(text string) (rest string, ok bool) {
	i := slices.IndexFunc(l.part.Fields, func(f Field) bool { return f.Kind == Mass })
	if i < 0 || !startsFigure(text) {
		return text, false
	}
	end := strings.IndexFunc(text, func(r rune) bool { return (r < '0' || r > '9') && r != '.' })
	if end < 0 {
		end = len(text)
	}
	d, err := decimal.NewFromString(strings.Trim(text[:end], "."))
	_, after, kilos := l.Words.Match(l.Lang, "daykilo", strings.TrimLeft(text[end:], " "))
	asked := l.part.Next(l.window) == &l.part.Fields[i] && strings.TrimSpace(text[end:]) == ""
	named := len(l.named) > 0 && l.named[0] == &l.part.Fields[i]
	if err != nil || !kilos && !asked && !named {
		return text, false
	}
	if d.LessThan(lightest) || d.GreaterThan(heaviest) {
		fail := phrase.Of("day.fail.mass").Saying("given", text[:end]).With("least", lightest).With("most", heaviest)
		l.trouble = &fail
		return text, false
	}
	l.named = nil
	l.take(&l.part.Fields[i], d.String(), "")
	if kilos {
		return after, true
	}
	return text[end:], true
}

// The masses that are taken of a hinge, kg; a guard against nonsense.
var lightest, heaviest = decimal.NewFromInt(1), decimal.NewFromInt(500)

// panes reads rebate and glass of a light: rebate 2 962 x 810, glass 2 956 x 804.
func (l *listening) panes(text string) (rest string, ok bool) {
	f := l.part.field("rebates")
	if f == nil {
		return text, false
	}
	what, rest, ok := l.Words.Match(l.Lang, "daypane", text)
	if !ok {
		return text, false
	}
	number, after, err := reading.Count(l.skip(rest))
	lights := len(l.window.Record().Plan.Layout.Lights)
	if err != nil || number > lights { // of the only light
		number, after = 1, rest
	}
	if number == 1 && lights > 1 && after == rest {
		return l.failPane(text)
	}
	var z calc.Size
	for _, to := range []*decimal.Decimal{&z.Width, &z.Height} {
		got, left, err := l.Length(l.skip(after), reading.MM(100, 4000))
		if err != nil || !got.Clear() {
			return l.failPane(text)
		}
		*to, after = got.MM, left
	}
	list := panesOf(l.window.Value(l.part, f.Name))
	for _, v := range l.said {
		if v.Field == f {
			list = panesOf(v.Value)
		}
	}
	i := slices.IndexFunc(list, func(r opening.Rebate) bool { return r.Light == number })
	if i < 0 {
		list, i = append(list, opening.Rebate{Light: number}), len(list)
	}
	if what == "glass" {
		list[i].Glass = z
	} else {
		list[i].Rebate = z
	}
	l.take(f, storedPanes(list), "")
	return after, true
}

func (l *listening) failPane(text string) (string, bool) {
	fail := phrase.Of("day.fail.pane")
	l.trouble = &fail
	return text, false
}

// sashCorner reads how a sash stands: drags at the top right 3, gap at bottom left 2 more,
// diagonals 1105 1102, shuts. The number of its light may stand before.
func (l *listening) sashCorner(text string) (rest string, ok bool) {
	f := l.part.field("stand")
	if f == nil || f.Kind != Corner {
		return text, false
	}
	light, rest := l.sashLight(text)
	var what string
	if what, rest, ok = l.Words.Match(l.Lang, "daystand", l.skip(rest)); !ok {
		return text, false
	}
	light, rest = l.lightAfter(light, rest)
	switch what {
	case shuts:
		l.take(f, fmt.Sprint(light, " ", shuts), "")
		return rest, true
	case "diagonals":
		return l.sashDiagonals(f, light, rest)
	}
	return l.sashSeen(f, light, what, rest)
}

// sashLight is the light that is meant: the one that is named, else the one that is due.
func (l *listening) sashLight(text string) (light int, rest string) {
	if _, after, ok := l.Words.Match(l.Lang, "daylight", text); ok {
		if n, left, err := reading.Count(after); err == nil && slices.Contains(l.window.toed(), n) {
			return n, left
		}
	}
	if due := l.window.lightDue(); due != 0 {
		return due, text
	}
	if all := l.window.toed(); len(all) > 0 {
		return all[0], text
	}
	return 1, text
}

// lightAfter takes a light that is named after the first word.
func (l *listening) lightAfter(light int, text string) (int, string) {
	if _, after, ok := l.Words.Match(l.Lang, "daylight", l.skip(text)); ok {
		if n, left, err := reading.Count(after); err == nil && slices.Contains(l.window.toed(), n) {
			return n, left
		}
	}
	return light, text
}

func (l *listening) sashDiagonals(f *Field, light int, text string) (rest string, ok bool) {
	var both [2]decimal.Decimal
	for i := range both {
		got, after, err := l.Length(l.skip(text), reading.MM(150, 5000))
		if err != nil || !got.Clear() {
			return l.failSash(text)
		}
		both[i], text = got.MM, after
	}
	return text, l.takeSash(f, fmt.Sprint(light, " diagonals ", both[0], " ", both[1]))
}

// sashSeen reads the corner and by how much, in any order.
func (l *listening) sashSeen(f *Field, light int, what, text string) (rest string, ok bool) {
	var corner calc.ToeCorner
	var by *decimal.Decimal
	for {
		text = l.skip(text)
		if code, after, ok := l.Words.Match(l.Lang, "daycorner", text); ok && corner == "" {
			if corner, ok = l.freeCorner(light, code); !ok {
				return l.failSash(text)
			}
			text = after
			continue
		}
		if _, after, ok := l.Words.Match(l.Lang, "daystandfill", text); ok {
			text = after
			continue
		}
		if !startsFigure(text) || by != nil {
			break
		}
		got, after, err := l.Length(text, reading.Range{Least: decimal.New(1, -1), Most: decimal.NewFromInt(100)})
		if err != nil || !got.Clear() {
			return l.failSash(text)
		}
		by, text = &got.MM, after
	}
	if corner == "" || by == nil {
		return l.failSash(text)
	}
	return text, l.takeSash(f, fmt.Sprint(light, " ", what, " ", corner, " ", by))
}

// freeCorner is a corner as it is named, seen from outside, as one at the sash's free
// side; ok is false for one at its hinges.
func (l *listening) freeCorner(light int, code string) (calc.ToeCorner, bool) {
	hinge, _ := l.window.Record().Plan.Layout.Lights[light-1].Hinge.Side()
	upright, side, _ := strings.Cut(code, "_")
	if side == string(hinge) {
		fail := phrase.Of("day.fail.sash.hinge").WithInt("n", light).Word("side", "side."+string(hinge))
		l.trouble = &fail
		return "", false
	}
	if upright == "top" {
		return calc.FreeTop, true
	}
	return calc.FreeBottom, true
}

func (l *listening) failSash(text string) (string, bool) {
	if l.trouble == nil {
		fail := phrase.Of("day.fail.sash")
		l.trouble = &fail
	}
	return text, false
}

// takeSash takes a reading that can be.
func (l *listening) takeSash(f *Field, value string) bool {
	s, _ := standOf(value)
	if made, err := l.window.Planned(); err == nil {
		if _, err = made.Toe(s, nil); err != nil {
			fail, _ := plan.WhyRefused(err)
			l.trouble = &fail
			return false
		}
	}
	l.take(f, value, "")
	return true
}
