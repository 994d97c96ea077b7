package opening

import (
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// Order compares two fields by their place in the survey.
func Order(a, b Key) int { return places[a] - places[b] }

// Number is the field's figure; zero when there is none.
func (k *Known) Number(key Key) decimal.Decimal { return number(k.Value(key)) }

// Optional is the field's figure, nil when there is none.
func (k *Known) Optional(key Key) *decimal.Decimal {
	if !k.Given(key) {
		return nil
	}
	d := k.Number(key)
	return &d
}

func number(value string) decimal.Decimal {
	d, err := decimal.NewFromString(value)
	if err != nil {
		return decimal.Zero
	}
	return d
}

// CanOrder says whether enough is known for an order size.
func (k *Known) CanOrder() bool {
	return k.Given("finish", "sill", "material") && k.Given(Widths[:]...) && k.Given(Heights[:]...)
}

// Columns is how many lights stand side by side; 0 while that is not known.
func (k *Known) Columns() int {
	n, _ := strconv.Atoi(strings.TrimSuffix(k.Value("layout"), "t"))
	return n
}

// TopRow says whether a row of lights stands above a transom.
func (k *Known) TopRow() bool { return strings.HasSuffix(k.Value("layout"), "t") }

// Layout is the lights. Lights are numbered from the left, the lower row
// first. A mullion or transom that was left to the program is not in it.
func (k *Known) Layout() calc.Layout {
	var l calc.Layout
	columns := k.Columns()
	for n := 1; n < columns && k.Given(numbered("mullion.", n)); n++ {
		l.Mullions = append(l.Mullions, k.Number(numbered("mullion.", n)))
	}
	rows := 1
	if k.TopRow() {
		rows = 2
	}
	for range columns {
		if k.Given("transom") {
			l.Transoms = append(l.Transoms, k.Number("transom"))
		}
	}
	for n := range rows * columns {
		l.Lights = append(l.Lights, calc.Light{
			Column: n % columns, Row: n / columns, Hinge: calc.Hinge(k.Value(numbered("light.", n+1))),
		})
	}
	return l
}

// Readings are the opening's readings as calc takes them.
func (k *Known) Readings() calc.Readings {
	var o Opening
	for i := range Widths {
		o.Widths[i], o.Heights[i] = k.Number(Widths[i]), k.Number(Heights[i])
	}
	withDiagonals(k, &o)
	r := o.Readings()
	r.TapeError = k.Number(CrewPrefix + "tape")
	return r
}

func is(key Key, code string) func(*Known) bool {
	return func(k *Known) bool { return k.Value(key) == code }
}

func has(key Key) func(*Known) bool {
	return func(k *Known) bool { return k.Given(key) }
}

func all(conditions ...func(*Known) bool) func(*Known) bool {
	return func(k *Known) bool {
		for _, holds := range conditions {
			if !holds(k) {
				return false
			}
		}
		return true
	}
}

func hasMullion(n int) func(*Known) bool {
	return func(k *Known) bool { return n < k.Columns() && (n == 1 || k.Value("mullion.1") != Skipped) }
}

func hasLight(n int) func(*Known) bool {
	return func(k *Known) bool { return n <= k.Columns() || k.TopRow() && n <= 2*k.Columns() }
}

// leansSome: diagonals that differ are asked about once more, since two that were
// exchanged show the opposite lean and fit as well.
func leansSome(k *Known) bool {
	return k.Given("diagonal.rising", "diagonal.falling") &&
		k.Number("diagonal.rising").Sub(k.Number("diagonal.falling")).Abs().GreaterThanOrEqual(differ)
}

// differ is by how much the diagonals differ that which way it leans is asked, mm.
// Common practice, no source.
var differ = decimal.NewFromInt(5)

// belowDoorZone: a door's edge only matters for glass below 1500 mm.
func belowDoorZone(k *Known) bool {
	return k.Given("floor") && k.Number("floor").LessThan(decimal.NewFromInt(1500))
}

// withDiagonals writes both or none: one by itself says nothing.
func withDiagonals(k *Known, o *Opening) {
	if k.Given("diagonal.rising", "diagonal.falling") {
		o.Rising, o.Falling = k.Number("diagonal.rising"), k.Number("diagonal.falling")
	}
	o.SillFall = k.Optional("sill.fall")
}

// seenOver is what carries the wall by the answer. Of brick nobody said whether it is
// an arch, so what carries it was not seen.
var seenOver = map[string]safety.Over{
	"arch": safety.OverArch, "lintel": safety.OverLintel, "nodrill": safety.OverLintel, "timber": safety.OverTimber,
	"bricks": safety.OverBricks, "hidden": safety.OverHidden, "drill": safety.OverHidden,
}

func withHead(k *Known, o *Opening) {
	over := k.Value("over")
	o.NoHead, o.NoLintel, o.Bay = over == "nodrill" || over == "lintel", over == "nolintel", over == "bay"
	o.Over = seenOver[over]
}

func withSide(k *Known, o *Opening) {
	if side := k.Value("tight"); side == "left" || side == "right" {
		o.TightTo = calc.Side(side)
	}
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
