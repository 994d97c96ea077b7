package job

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// readingNames are the readings in the order of the tape. The last three may
// be left out.
var readingNames = [...]string{
	"width.top", "width.middle", "width.bottom", "height.left", "height.middle", "height.right",
	"diagonal.rising", "diagonal.falling", "sill.fall",
}

const optionalReadings = 3

// Side says which of the two measures.
type Side string

// The two measures.
const (
	First  Side = "first"  // the fitter's
	Second Side = "second" // the lead's
)

// Difference is one reading in both measures, mm.
type Difference struct {
	Reading string          `json:"reading"` // width.top, …, diagonal.falling, sill.fall
	First   decimal.Decimal `json:"first"`
	Second  decimal.Decimal `json:"second"`
	Apart   decimal.Decimal `json:"apart"`
	// Within is true when they are no more than the tolerance apart.
	Within bool `json:"within"`
	// Likelier is the measure whose reading lets the figure close better; ""
	// when the figure can't tell. It is only looked for when Within is false.
	Likelier Side `json:"likelier,omitempty"`
	// Settled is how the two settled it. Nil: not yet, or Within.
	Settled *Settlement `json:"settled,omitempty"`
}

// Comparison is two measures of one opening side by side.
type Comparison struct {
	Tolerance   decimal.Decimal `json:"tolerance"`
	Differences []Difference    `json:"differences"`
	// NotCompared are readings that only one of the two took. They don't have
	// to be settled, and the first measure is left as it is.
	NotCompared []string `json:"not_compared,omitempty"`
	// FirstMisclosure and SecondMisclosure are by how much each figure, by
	// itself, fails to close, mm. Nil: no diagonals, or no figure at all.
	FirstMisclosure  *decimal.Decimal `json:"first_misclosure,omitempty"`
	SecondMisclosure *decimal.Decimal `json:"second_misclosure,omitempty"`
}

// Compare sets two measures of one opening side by side, reading by reading.
// The tolerance is in mm.
func Compare(first, second calc.Readings, tolerance decimal.Decimal) Comparison {
	c := Comparison{Tolerance: tolerance}
	c.FirstMisclosure, c.SecondMisclosure = misclosure(first), misclosure(second)
	for _, name := range readingNames {
		a, okA := valueOf(first, name)
		b, okB := valueOf(second, name)
		if okA != okB {
			c.NotCompared = append(c.NotCompared, name)
		}
		if !okA || !okB {
			continue
		}
		d := Difference{Reading: name, First: a, Second: b, Apart: a.Sub(b).Abs()}
		d.Within = d.Apart.LessThanOrEqual(tolerance)
		if !d.Within {
			d.Likelier = likelier(first, second, name)
		}
		c.Differences = append(c.Differences, d)
	}
	return c
}

// Apart are the differences beyond the tolerance.
func (c Comparison) Apart() []Difference {
	return slices.DeleteFunc(slices.Clone(c.Differences), func(d Difference) bool { return d.Within })
}

// hopeless is the misclosure, mm, of a figure that can't be drawn at all.
var hopeless = decimal.NewFromInt(1_000_000)

// likelier puts either value of one reading into both measures and adds up
// what the two figures then fail to close by. A value is likelier when its sum
// is better by more than what a tape explains.
func likelier(first, second calc.Readings, name string) Side {
	a, _ := valueOf(first, name)
	b, _ := valueOf(second, name)
	strainA, strainB, slack := decimal.Zero, decimal.Zero, decimal.Zero
	for _, base := range []calc.Readings{first, second} {
		withA, tapeA := strain(withValue(base, name, a))
		withB, tapeB := strain(withValue(base, name, b))
		strainA, strainB = strainA.Add(withA), strainB.Add(withB)
		slack = decimal.Max(slack, tapeA, tapeB)
	}
	switch {
	case strainA.Add(slack).LessThan(strainB):
		return First
	case strainB.Add(slack).LessThan(strainA):
		return Second
	}
	return ""
}

// strain is by how much a figure fails to close and how much of that a tape
// explains, mm. Without diagonals nothing can be told, and both are 0.
func strain(r calc.Readings) (off, tape decimal.Decimal) {
	f, err := calc.Survey(r)
	if err != nil {
		return hopeless, decimal.Zero
	}
	return f.Misclosure.Abs(), f.Tolerance
}

func misclosure(r calc.Readings) *decimal.Decimal {
	f, err := calc.Survey(r)
	if err != nil || f.Assumed {
		return nil
	}
	return &f.Misclosure
}

// valueOf is a reading by its name; ok is false when it was not taken.
func valueOf(r calc.Readings, name string) (v decimal.Decimal, ok bool) {
	at := place(&r, name)
	if at == nil {
		return decimal.Zero, false
	}
	return *at, at == r.SillFall || !at.IsZero()
}

// withValue is r with one reading changed.
func withValue(r calc.Readings, name string, v decimal.Decimal) calc.Readings {
	if name == "sill.fall" {
		r.SillFall = new(decimal.Decimal)
	}
	*place(&r, name) = v
	return r
}

// place is where a reading is kept; nil for a sill's fall that was not taken.
func place(r *calc.Readings, name string) *decimal.Decimal {
	w, h := &r.Widths, &r.Heights
	places := [len(readingNames)]*decimal.Decimal{&w[0], &w[1], &w[2], &h[0], &h[1], &h[2], &r.Rising, &r.Falling, r.SillFall}
	return places[slices.Index(readingNames[:], name)]
}
