package dialog

import (
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// number is an answer's length in mm; zero when there is none.
func (a answers) number(key string) decimal.Decimal {
	d, err := decimal.NewFromString(a[key])
	if err != nil {
		return decimal.Zero
	}
	return d
}

// optional is an answer's length in mm, nil when there is none.
func (a answers) optional(key string) *decimal.Decimal {
	if !a.given(key) {
		return nil
	}
	d := a.number(key)
	return &d
}

var (
	widthKeys  = [3]string{"width.top", "width.middle", "width.bottom"}
	heightKeys = [3]string{"height.left", "height.middle", "height.right"}
)

// canOrder says whether the answers are enough for an order size.
func (a answers) canOrder() bool {
	return a.given("finish", "sill", "material") && a.given(widthKeys[:]...) && a.given(heightKeys[:]...)
}

// opening is the record of what the answers say so far.
func (a answers) opening() plan.Opening {
	o := plan.Opening{
		Nation:   safety.Nation(a["nation"]),
		Date:     a["date"],
		Finish:   calc.Finish(a["finish"]),
		Material: calc.Material(a["material"]),
		Inner:    calc.Size{Width: a.number("inner.width"), Height: a.number("inner.height")},

		SillDepth: a.number("sill"),
		Layout:    a.layout(),

		Room:         safety.Room(a["room"]),
		Storey:       int(a.number("storey").IntPart()),
		AboveFloor:   a.optional("floor"),
		AboveOutside: a.optional("outside"),
		BesideDoor:   a["door"] == "yes",
		NearBath:     a["bath"] == "yes",
		Panes:        paneThicknesses(a["glass"]),
		OldVents:     a["vents"] == "yes",
		NoHead:       a["over"] == "nodrill",
		NoLintel:     a["over"] == "nolintel",
		Bay:          a["over"] == "bay",
		VentsUnknown: a["vents"] == skipped,
		Lighter:      a["pattern"] == "lighter",
		BedJoint:     a.optional("bedjoint"),
		Restrictor:   a.number("restrictor"),
		Releasable:   a["release"] == "yes",
		FloorArea:    a.number("area"),
		TightTo:      tightTo[a["tight"]],
		Settings:     a.crew(),
	}
	for i := range 3 {
		o.Widths[i] = a.number(widthKeys[i])
		o.Heights[i] = a.number(heightKeys[i])
	}
	if a.given("diagonal.rising", "diagonal.falling") {
		o.Rising, o.Falling = a.number("diagonal.rising"), a.number("diagonal.falling")
		o.SillFall = a.optional("sill.fall")
	}
	return o
}

// tightTo is the side that the frame is set against; in the middle otherwise.
var tightTo = map[string]calc.Side{"left": calc.Left, "right": calc.Right}

// layout is the lights. Lights are numbered from the left, the lower row
// first. A mullion or transom that was left to the program is not in it.
func (a answers) layout() calc.Layout {
	var l calc.Layout
	columns := a.columns()
	for n := 1; n < columns && a.given(numbered("mullion", n)); n++ {
		l.Mullions = append(l.Mullions, a.number(numbered("mullion", n)))
	}
	rows := 1
	if hasTopRow(a) {
		rows = 2
	}
	for range columns {
		if a.given("transom") {
			l.Transoms = append(l.Transoms, a.number("transom"))
		}
	}
	for n := range rows * columns {
		l.Lights = append(l.Lights, calc.Light{
			Column: n % columns, Row: n / columns, Hinge: calc.Hinge(a[numbered("light", n+1)]),
		})
	}
	return l
}

// paneThicknesses reads the panes out of a make-up such as 4-20-4: every
// second figure is a cavity.
func paneThicknesses(makeUp string) []decimal.Decimal {
	var panes []decimal.Decimal
	for i, part := range strings.Split(makeUp, "-") {
		d, err := decimal.NewFromString(part)
		if err != nil {
			return nil
		}
		if i%2 == 0 {
			panes = append(panes, d)
		}
	}
	return panes
}
