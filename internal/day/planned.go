package day

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// Planned is the plan for the frame that came in the opening that is; for the one that
// was ordered while it was not measured.
func (w *Window) Planned() (plan.Plan, error) {
	if w.made != nil {
		return w.made.plan, w.made.err
	}
	o := w.Record().Plan
	o.Delivered, o.Set, o.Fixed = w.Delivered(), w.settings(), w.fixed()
	w.addWet(&o)
	made, err := plan.Make(o, calc.DefaultSettings())
	w.made = &madePlan{made, err}
	return made, err
}

// noPlan is what comes of a part where its readings can't be right.
func noPlan(err error) Outcome {
	text, _ := plan.WhyRefused(err)
	return Outcome{Lines: []phrase.Text{text}, Again: true}
}

// frameKeys is the part as far as its fields need it.
var frameKeys = Part{Name: "frame"}

// Delivered is the frame as it was read; nil without its size.
func (w *Window) Delivered() *opening.Delivered {
	width, height := w.Number(&frameKeys, "width"), w.Number(&frameKeys, "height")
	if width == nil || height == nil {
		return nil
	}
	d := &opening.Delivered{Width: *width, Height: *height, Twist: w.Number(&frameKeys, "twist"), Degrees: w.Number(&frameKeys, "warmth")}
	if rising, falling := w.Number(&frameKeys, "rising"), w.Number(&frameKeys, "falling"); rising != nil && falling != nil {
		d.Rising, d.Falling = *rising, *falling
	}
	return d
}

// settings are the rounds of readings of the frame on its packers.
func (w *Window) settings() []opening.Setting {
	var list []opening.Setting
	for _, round := range append(w.rounds["setting"][:len(w.rounds["setting"]):len(w.rounds["setting"])], w.read) {
		one := Window{read: round}
		if s, ok := one.settingRound(); ok {
			list = append(list, s)
		}
	}
	return list
}

// settingRound is one round; ok is false where nothing was read in it.
func (w *Window) settingRound() (s opening.Setting, ok bool) {
	p := &Part{Name: "setting"}
	tilt := func(name string) *opening.Tilt {
		t := tiltOf(w.Value(p, name))
		ok = ok || t != nil
		return t
	}
	s = opening.Setting{
		Sill: tilt("sill"), Head: tilt("head"), Left: tilt("left"), Right: tilt("right"),
		LeftFace: tilt("leftface"), RightFace: tilt("rightface"), Strings: w.Number(p, "strings"), Corner: cornerOf(w.Value(p, "corner")),
	}
	if rising, falling := w.Number(p, "rising"), w.Number(p, "falling"); rising != nil && falling != nil {
		s.Rising, s.Falling, ok = *rising, *falling, true
	}
	return s, ok || s.Strings != nil || s.Corner != nil
}

// fixed are the widths after the screws; all zero where one is missing.
func (w *Window) fixed() [3]decimal.Decimal {
	p := &Part{Name: "bow"}
	var out [3]decimal.Decimal
	for i, name := range []string{"top", "middle", "bottom"} {
		d := w.Number(p, name)
		if d == nil {
			return [3]decimal.Decimal{}
		}
		out[i] = *d
	}
	return out
}
