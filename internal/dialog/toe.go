package dialog

import (
	"errors"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// toe says by how much a hung sash has dropped and what packing at its toe
// lifts it: the light's number, the sash's width and height, its diagonal from
// the bottom corner on the hinge side, and the other one.
func toe(t *turn, rest string) {
	if t.toeOnDay(rest) {
		return
	}
	t.quiet = t.done()
	if !t.done() {
		t.say(phrase.Of("toe.notyet"))
		return
	}
	light, rest, err := reading.Count(rest)
	if err != nil {
		t.say(phrase.Of("toe.how"))
		return
	}
	lights := t.answers().Layout().Lights
	if light < 1 || light > len(lights) {
		t.say(phrase.Of("toe.nosuch").WithInt("n", light).WithInt("count", len(lights)))
		return
	}
	if side, _ := lights[light-1].Hinge.Side(); side != calc.Left && side != calc.Right {
		t.say(phrase.Of("toe.notside").WithInt("n", light))
		return
	}
	values, ok := fourLengths(t, rest)
	if !ok {
		t.say(phrase.Of("toe.how"))
		return
	}
	o := t.answers().Opening()
	o.Sashes = []plan.Sash{{
		Light: light, Size: calc.Size{Width: values[0], Height: values[1]}, HeelToe: values[2], Across: values[3],
	}}
	p, err := plan.Make(o, calc.DefaultSettings())
	var refused *calc.RefusalError
	switch {
	case errors.As(err, &refused):
		t.say(plan.ReasonText(refused.Reason), phrase.Of("toe.how"))
		return
	case err != nil:
		t.say(phrase.Of("error.internal"))
		return
	}
	for _, s := range p.Sags {
		for _, r := range s.Reasons {
			t.say(phrase.Of("plan.of.light").WithInt("n", light).Sub1("reason", plan.ReasonText(r)))
		}
	}
}

// fourLengths reads a sash's width and height and its two diagonals.
func fourLengths(t *turn, text string) (values [4]decimal.Decimal, ok bool) {
	for i := range values {
		l, rest, err := t.length(&question{Usual: reading.MM(150, 4000)}, text)
		if err != nil || !l.Clear() {
			return values, false
		}
		values[i], text = l.MM, rest
	}
	return values, text == ""
}
