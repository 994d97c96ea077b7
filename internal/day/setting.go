package day

import (
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// setting is the frame on its packers, read by a level, packed and read again until it
// is true.
var setting = Part{Name: "setting", At: job.Out, Loop: true, Fields: []Field{
	{Name: "sill", Kind: Slope},
	{Name: "left", Kind: Slope},
	{Name: "right", Kind: Slope},
	{Name: "leftface", Kind: Slope},
	{Name: "rightface", Kind: Slope},
	{Name: "rising", Usual: reading.MM(280, 8500)},
	{Name: "falling", Usual: reading.MM(280, 8500), Ask: bothDiagonals("setting")},
	{Name: "head", Kind: Slope, Ask: never},
	{Name: "strings", Usual: reading.MM(0, 100), Ask: never},
	{Name: "length", Usual: reading.MM(200, 3000), Ask: never},
	{Name: "corner", Kind: Words, Ask: never},
}, Together: []string{"rising+falling", "left+right", "leftface+rightface"}, Ends: endSetting}

// bothDiagonals asks for the falling diagonal unless the rising one was passed over.
func bothDiagonals(part string) func(*Window) bool {
	keys := &Part{Name: part}
	return func(w *Window) bool { return w.Value(keys, "rising") != opening.Skipped }
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

func endSetting(_ *Part, w *Window) Outcome {
	made, err := w.Planned()
	if err != nil {
		text, _ := plan.WhyRefused(err)
		return Outcome{Lines: []phrase.Text{text}, Again: true}
	}
	if len(made.Set) == 0 {
		return Outcome{Lines: []phrase.Text{phrase.Of("day.setting.nothing")}}
	}
	last := made.Set[len(made.Set)-1]
	return Outcome{Lines: plan.SetResultLines(last), Again: !last.True}
}
