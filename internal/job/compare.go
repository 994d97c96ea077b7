package job

import (
	"math"
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

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
	// Chance is how likely the likelier value is the right one, in a hundred.
	Chance int `json:"chance,omitempty"`
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
	for _, name := range opening.ReadingKeys {
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
			d.Likelier, d.Chance = likelier(first, second, name, tolerance)
		}
		c.Differences = append(c.Differences, d)
	}
	return c
}

// Apart are the differences beyond the tolerance.
func (c Comparison) Apart() []Difference {
	return slices.DeleteFunc(slices.Clone(c.Differences), func(d Difference) bool { return d.Within })
}

// likelyEnough is the chance in a hundred from which a value is called likelier.
const likelyEnough = 80

// likelier says which of two values of one reading the others speak for, of both
// measures together, and the chance in a hundred that it is right. A reading that both
// took counts with the mean of the two, one beyond the tolerance not at all.
func likelier(first, second calc.Readings, name string, tolerance decimal.Decimal) (Side, int) {
	var both calc.Readings
	both.SillFall, both.TapeError = first.SillFall, first.TapeError
	if both.SillFall == nil {
		both.SillFall = second.SillFall
	}
	for _, key := range opening.ReadingKeys {
		at := place(&both, key)
		a, okA := valueOf(first, key)
		b, okB := valueOf(second, key)
		switch {
		case at == nil || key == "sill.fall":
		case key == name || okA && !okB:
			*at = a
		case okB && !okA:
			*at = b
		case okA && a.Sub(b).Abs().LessThanOrEqual(tolerance):
			*at = a.Add(b).Div(decimal.NewFromInt(2))
		}
	}
	theirs, _ := valueOf(second, name)
	chance := int(math.Round(100 * both.Prefers(name, theirs)))
	switch {
	case chance >= likelyEnough:
		return Second, min(chance, 99)
	case 100-chance >= likelyEnough:
		return First, min(100-chance, 99)
	}
	return "", 0
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
	places := []*decimal.Decimal{&w[0], &w[1], &w[2], &h[0], &h[1], &h[2], &r.Rising, &r.Falling, r.SillFall}
	return places[slices.Index(opening.ReadingKeys, name)]
}

// Settlement is how a reading was settled. The first one wins.
type Settlement struct {
	Reading string `json:"reading"`
	// Value is what now counts, mm. Nil: still to be measured again.
	Value *decimal.Decimal `json:"value,omitempty"`
	By    Stamp            `json:"by"`
}

// entry is the settlement as the record has it.
func (s Settlement) entry() opening.Entry {
	if s.Value == nil {
		return opening.Entry{Act: opening.Again, Key: s.Reading}
	}
	return opening.Entry{Act: opening.Set, Key: s.Reading, Value: s.Value.String(), How: opening.Settled}
}

// Check is the second measure of an opening, as its record has it.
type Check struct {
	Asked Stamp
	Seen  *Stamp // when the lead opened the first figures
	// Shown is the version of the figures that the lead's chat has shown last.
	Shown string
	By    *Stamp // who measured again; nil: nobody yet
	// Known is true when the lead saw figures of this opening in an earlier
	// check: what is measured then is not blind.
	Known bool
	// Blind is true when the second measure was taken before the first
	// figures were opened.
	Blind         bool
	First, Second calc.Readings
	Tolerance     decimal.Decimal
	Settled       []Settlement
}

// seen says whether the lead knows figures of the opening. A nil check is one
// that nobody asked for.
func (c *Check) seen() bool {
	return c != nil && (c.Known || c.Seen != nil || c.By != nil)
}

// compare is the comparison with what was settled.
func (c Check) compare() Comparison {
	out := Compare(c.First, c.Second, c.Tolerance)
	for k := range out.Differences {
		out.Differences[k].Settled = c.settlement(out.Differences[k].Reading)
	}
	return out
}

func (c Check) settlement(reading string) *Settlement {
	for _, s := range c.Settled {
		if s.Reading == reading {
			return &s
		}
	}
	return nil
}

// open are the readings that are apart and have no settled value.
func (c Check) open() []Difference {
	return slices.DeleteFunc(c.compare().Apart(), func(d Difference) bool {
		return d.Settled != nil && d.Settled.Value != nil
	})
}

// readAgain are the entries of the lead's readings. What was settled about a
// reading that is now another is open again.
func (c *Check) readAgain(r calc.Readings) []opening.Entry {
	var list []opening.Entry
	for _, key := range opening.ReadingKeys {
		value, given := valueOf(r, key)
		if c.By != nil && changed(c.Second, r, key) && c.settlement(key) != nil {
			list = append(list, opening.Entry{Act: opening.Clear, Key: key, How: opening.Settled})
		}
		if given {
			list = append(list, opening.Entry{Act: opening.Set, Key: key, Value: value.String()})
		} else {
			list = append(list, opening.Entry{Act: opening.Clear, Key: key})
		}
	}
	return list
}

func changed(before, now calc.Readings, name string) bool {
	a, okA := valueOf(before, name)
	b, okB := valueOf(now, name)
	return okA != okB || !a.Equal(b)
}

// Signature is the lead's. It stands for all that the desk makes by, as it was
// shown, and is void as soon as any of that is another.
type Signature struct {
	By Stamp
	// Measured: the lead measured too; Blind: without having seen the first
	// figures. Neither: read and signed.
	Measured bool
	Blind    bool
	Told     opening.Told // what was shown and signed
}
