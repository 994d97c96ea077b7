package scene

import (
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/typeface"
)

// Voice says texts of the catalogue in the reader's words, each on one line
// and without anything that can't be drawn.
type Voice struct {
	say  func(phrase.Text) string
	said map[string]string // the words of plain keys, as they come again and again

	opens string // which way the lights open where that was said: in, out; see Opening
}

// NewVoice is the voice of a reader. Say gives the plain words, without
// mark-up, of a text of the catalogue.
func NewVoice(say func(phrase.Text) string) Voice { return Voice{say: say, said: map[string]string{}} }

// Opening is the voice that speaks of a window of which that is stated: which way its
// lights open, where somebody said it.
func (v Voice) Opening(stated []opening.Pair) Voice {
	v.opens = ""
	for _, p := range stated {
		if p.Key == "opens" && (p.Value == "in" || p.Value == "out") {
			v.opens = p.Value
		}
	}
	return v
}

// Say is the words of a text.
func (v Voice) Say(t phrase.Text) string { return typeface.Line(v.say(t)) }

// Key is the words of a plain key.
func (v Voice) Key(key string) string {
	words, ok := v.said[key]
	if !ok {
		words = v.Say(phrase.Of(key))
		v.said[key] = words
	}
	return words
}

// Number is a figure as the reader writes it.
func (v Voice) Number(n decimal.Decimal) string { return v.Say(phrase.Of("number").With("n", n)) }

// Ways say how the lights of a layout open, those that open alike together.
func (v Voice) Ways(layout calc.Layout) []string {
	var order []calc.Hinge
	numbers := map[calc.Hinge][]int{}
	for n, light := range layout.Lights {
		if numbers[light.Hinge] == nil {
			order = append(order, light.Hinge)
		}
		numbers[light.Hinge] = append(numbers[light.Hinge], n)
	}
	if len(layout.Lights) == 1 {
		return []string{v.Way(order[0])}
	}
	var out []string
	for _, h := range order {
		out = append(out, v.Say(phrase.Of("card.lights").Saying("numbers", Numbers(numbers[h])).Sub1("way", v.wayText(h))))
	}
	return out
}

// Way says how a light opens: its hinges, and outwards or inwards.
func (v Voice) Way(h calc.Hinge) string { return v.Say(v.wayText(h)) }

func (v Voice) wayText(h calc.Hinge) phrase.Text {
	way := phrase.Of("card.light." + string(h))
	switch {
	case h == calc.FixedLight:
		return way
	case v.inwards(h):
		return phrase.Of("card.way.in").Sub1("way", way)
	}
	return phrase.Of("card.way.out").Sub1("way", way)
}

// inwards tells which way such a light opens: a tilt and turn light always inwards,
// another as it is stated. Where nobody said it, a bottom hung one inwards and the others
// outwards, as is usual (C); the drawings say that it was not asked.
func (v Voice) inwards(h calc.Hinge) bool {
	switch {
	case h == calc.TiltTurnLeft || h == calc.TiltTurnRight:
		return true
	case v.opens != "":
		return v.opens == "in"
	}
	return h == calc.BottomHung
}

// Day is a day as it stands on every paper, in its own zone.
func (v Voice) Day(t time.Time) string { return v.Say(phrase.Day(t)) }

// Finding is a finding in words, without its document.
func (v Voice) Finding(f safety.Finding) string { return v.Say(plan.FindingText(f)) }

// OfJob tells whether a finding is true of the whole house, so that it is said once
// and not of each window. What has to be found out first is said of each.
func OfJob(f safety.Finding) bool { return f.Scope == safety.OfJob && f.Topic != safety.Missing }

// Lifts tells whether a finding is what a qualified person said of a stop, which is
// printed wherever the window is.
func Lifts(f safety.Finding) bool { return f.Rule == "cleared" }

// DayAs is a day that is written 2006-01-02, as it stands on every paper;
// anything else stays as it is.
func (v Voice) DayAs(day string) string {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return typeface.Line(day)
	}
	return v.Day(t)
}

// About names the lights that a sentence is about, where there are several, to
// stand before it.
func (v Voice) About(lights []int, layout calc.Layout) string {
	if len(lights) == 0 || len(layout.Lights) < 2 {
		return ""
	}
	return v.Say(phrase.Of("card.about_lights").Saying("numbers", Numbers(lights))) + " "
}

// Numbers are the numbers of lights, as people count them.
func Numbers(lights []int) string { return joined(lights, 1, ", ") }

func joined(ns []int, plus int, between string) string {
	parts := make([]string, len(ns))
	for i, n := range ns {
		parts[i] = strconv.Itoa(n + plus)
	}
	return strings.Join(parts, between)
}
