package job

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// Side says which of the measures: the first, the second, or further ones as
// SideOf names them.
type Side string

// The two measures that every comparison has.
const (
	First  Side = "first"  // the fitter's
	Second Side = "second" // the lead's who measured first
)

// SideOf is the measure of that place: 0 is the fitter's, the leads' follow in the
// order they began.
func SideOf(place int) Side {
	switch place {
	case 0:
		return First
	case 1:
		return Second
	}
	return Side("lead." + strconv.Itoa(place))
}

// Place is where the measure stands, as SideOf has it; -1 for "".
func (s Side) Place() int {
	switch s {
	case "":
		return -1
	case First:
		return 0
	case Second:
		return 1
	}
	n, err := strconv.Atoi(strings.TrimPrefix(string(s), "lead."))
	if err != nil {
		return -1
	}
	return n
}

// Difference is one reading in all measures, mm.
type Difference struct {
	Reading string          `json:"reading"` // width.top, …, diagonal.falling, sill.fall
	First   decimal.Decimal `json:"first"`   // the fitter's; zero where the fitter did not take it
	Second  decimal.Decimal `json:"second"`  // the first lead's, likewise
	// Values are those of every measure by its place, nil where it was not taken.
	// What was stored before there were several leads has none: see All.
	Values []*decimal.Decimal `json:"values,omitempty"`
	// Apart is how far the least and the greatest are apart.
	Apart decimal.Decimal `json:"apart"`
	// Within is true when they are no more than the tolerance apart.
	Within bool `json:"within"`
	// Likelier is the measure whose reading lets the figure close better; ""
	// when the figure can't tell. It is only looked for when Within is false.
	Likelier Side `json:"likelier,omitempty"`
	// Chance is how likely the likelier value is the right one, in a hundred.
	Chance int `json:"chance,omitempty"`
	// Settled is how it was settled. Nil: not yet, or Within.
	Settled *Settlement `json:"settled,omitempty"`
}

// All are the values by the place of their measure, nil where it was not taken.
func (d Difference) All() []*decimal.Decimal {
	if d.Values == nil {
		return []*decimal.Decimal{&d.First, &d.Second}
	}
	return d.Values
}

// At is the value of the measure at a place; ok is false when it was not taken.
func (d Difference) At(place int) (v decimal.Decimal, ok bool) {
	all := d.All()
	if place < 0 || place >= len(all) || all[place] == nil {
		return decimal.Zero, false
	}
	return *all[place], true
}

// Comparison is the measures of one opening side by side.
type Comparison struct {
	Tolerance   decimal.Decimal `json:"tolerance"`
	Differences []Difference    `json:"differences"`
	// NotCompared are readings that only one took. They don't have to be settled,
	// and the first measure is left as it is.
	NotCompared []string `json:"not_compared,omitempty"`
	// FirstMisclosure and SecondMisclosure are by how much each figure, by
	// itself, fails to close, mm. Nil: no diagonals, or no figure at all.
	FirstMisclosure  *decimal.Decimal `json:"first_misclosure,omitempty"`
	SecondMisclosure *decimal.Decimal `json:"second_misclosure,omitempty"`
	// Leads are who measured again, in the order of the places from 1 on; with
	// names only if names are shared.
	Leads []Measurer `json:"leads,omitempty"`
	// Own is the place of the reader's own measure; -1: the reader took none.
	Own int `json:"-"`
}

// Measurer is a lead who measured, and whether without having seen figures.
type Measurer struct {
	By    Stamp `json:"by"`
	Blind bool  `json:"blind,omitempty"`
}

// Compare sets the measures of one opening side by side, reading by reading. The
// tolerance is in mm.
func Compare(tolerance decimal.Decimal, first calc.Readings, leads ...calc.Readings) Comparison {
	measures := append([]calc.Readings{first}, leads...)
	c := Comparison{Tolerance: tolerance, FirstMisclosure: misclosure(first), Own: -1}
	if len(leads) > 0 {
		c.SecondMisclosure = misclosure(leads[0])
	}
	for _, name := range opening.ReadingKeys {
		d := Difference{Reading: name, Values: make([]*decimal.Decimal, len(measures))}
		var taken []decimal.Decimal
		for i, m := range measures {
			if v, ok := valueOf(m, name); ok {
				d.Values[i] = &v
				taken = append(taken, v)
			}
		}
		d.First, _ = d.At(0)
		d.Second, _ = d.At(1)
		switch len(taken) {
		case 0:
			continue
		case 1:
			c.NotCompared = append(c.NotCompared, name)
			continue
		}
		d.Apart = decimal.Max(taken[0], taken...).Sub(decimal.Min(taken[0], taken...))
		d.Within = d.Apart.LessThanOrEqual(tolerance)
		if !d.Within {
			d.Likelier, d.Chance = likelier(measures, d, tolerance)
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

// likelier says which value of a reading the others speak for, of all measures
// together, and the chance in a hundred that it is right or within the tolerance
// of what is. A reading that several took counts with their mean, one beyond the
// tolerance not at all.
func likelier(measures []calc.Readings, d Difference, tolerance decimal.Decimal) (Side, int) {
	if d.Reading == "sill.fall" {
		return "", 0 // no other reading speaks for it
	}
	all := agreed(measures, tolerance)
	var values []decimal.Decimal // those that were taken, and the places of their measures
	var places []int
	for i, v := range d.Values {
		if v != nil {
			values, places = append(values, *v), append(places, i)
		}
	}
	*place(&all, d.Reading) = values[0]
	odds, sum := make([]float64, len(values)), 0.0 // of each against the first
	for i, v := range values {
		odds[i] = 1
		if i > 0 {
			p := all.Prefers(d.Reading, v)
			odds[i] = p / max(1-p, 1e-9)
		}
		sum += odds[i]
	}
	best, most := 0, -1.0
	for i, v := range values {
		near := 0.0
		for k, other := range values {
			if v.Sub(other).Abs().LessThanOrEqual(tolerance) {
				near += odds[k]
			}
		}
		if near > most || near == most && odds[i] > odds[best] {
			best, most = i, near
		}
	}
	chance := int(math.Round(100 * most / sum))
	if chance < likelyEnough {
		return "", 0
	}
	return SideOf(places[best]), min(chance, 99)
}

// agreed are the readings that the measures agree on, each the mean of those that
// took it.
func agreed(measures []calc.Readings, tolerance decimal.Decimal) calc.Readings {
	var all calc.Readings
	all.TapeError = measures[0].TapeError
	for _, m := range measures {
		if all.SillFall == nil {
			all.SillFall = m.SillFall
		}
	}
	for _, key := range opening.ReadingKeys {
		at := place(&all, key)
		if key == "sill.fall" {
			continue
		}
		var taken []decimal.Decimal
		for _, m := range measures {
			if v, ok := valueOf(m, key); ok {
				taken = append(taken, v)
			}
		}
		if len(taken) > 0 && decimal.Max(taken[0], taken...).Sub(decimal.Min(taken[0], taken...)).LessThanOrEqual(tolerance) {
			*at = decimal.Avg(taken[0], taken[1:]...)
		}
	}
	return all
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
	// Place is that of the measure of who settled it, in a Comparison; -1: none.
	Place int `json:"-"`
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
	// Looked are those who opened the figures, each once, the first one first.
	Looked []Stamp
	// Shown is the version of the figures that each lead was shown last, by person.
	Shown map[int64]string
	// Known are those who saw figures of this opening in an earlier check: what
	// they measure is not blind.
	Known []int64
	First calc.Readings
	Leads []Measure // each lead's own, in the order they began
	// Tolerance is in mm.
	Tolerance decimal.Decimal
	Settled   []Settlement
}

// Measure is what one lead measured.
type Measure struct {
	Measurer
	Readings calc.Readings
}

// own is the measure of a person; nil: none.
func (c *Check) own(person int64) *Measure {
	for i := range c.Leads {
		if c.Leads[i].By.Person == person {
			return &c.Leads[i]
		}
	}
	return nil
}

// sees says whether the figures of this check may reach a person: who measured, or
// opened them. A nil check is one that nobody asked for.
func (c *Check) sees(person int64) bool {
	return c != nil && (c.own(person) != nil || slices.ContainsFunc(c.Looked, func(s Stamp) bool { return s.Person == person }))
}

// compare is the comparison with what was settled.
func (c Check) compare() Comparison {
	var leads []calc.Readings
	for _, m := range c.Leads {
		leads = append(leads, m.Readings)
	}
	out := Compare(c.Tolerance, c.First, leads...)
	for _, m := range c.Leads {
		out.Leads = append(out.Leads, m.Measurer)
	}
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

// readAgain are the entries of a person's readings. What was settled about a
// reading is open again where that person's is now another than it was, or where
// the first one of that person is beyond the tolerance of what was settled.
func (c *Check) readAgain(person int64, r calc.Readings) []opening.Entry {
	var list []opening.Entry
	before := c.own(person)
	for _, key := range opening.ReadingKeys {
		value, given := valueOf(r, key)
		if s := c.settlement(key); s != nil {
			falls := before != nil && changed(before.Readings, r, key) ||
				before == nil && given && s.Value != nil && s.Value.Sub(value).Abs().GreaterThan(c.Tolerance)
			if falls {
				list = append(list, opening.Entry{Act: opening.Clear, Key: key, How: opening.Settled})
			}
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

// openWords are the names of the readings that are apart and not settled.
func (c *Check) openWords() []opening.Key {
	var keys []opening.Key
	for _, d := range c.open() {
		keys = append(keys, readingWord(d.Reading))
	}
	return keys
}

// readingWord is the catalogue key of a reading.
func readingWord(name string) string {
	if name == "sill.fall" {
		return "reading.sill_fall"
	}
	return "reading." + name
}
