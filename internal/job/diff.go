package job

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// ChangeKind says what of a line is different. The sentence is "job.change." +
// ChangeKind.
type ChangeKind string

// The kinds of change.
const (
	LineAdded       ChangeKind = "added"
	LineRemoved     ChangeKind = "removed"
	NameChanged     ChangeKind = "name"
	QuantityChanged ChangeKind = "quantity"
	WidthChanged    ChangeKind = "width"
	HeightChanged   ChangeKind = "height"
	SillChanged     ChangeKind = "sill"
	MaterialChanged ChangeKind = "material"
	ColourChanged   ChangeKind = "colour"
	LightsChanged   ChangeKind = "lights"  // how many, or where they are
	HingeChanged    ChangeKind = "hinge"   // of light N
	MullionMoved    ChangeKind = "mullion" // mullion N from the left
	TransomMoved    ChangeKind = "transom" // of column N from the left
	MakeUpChanged   ChangeKind = "make_up"
	StatedChanged   ChangeKind = "stated" // Change.Field
	PanesChanged    ChangeKind = "panes"  // total thickness of the panes
	SafetyAdded     ChangeKind = "safety_added"
	SafetyGone      ChangeKind = "safety_gone"
	AgainstAdded    ChangeKind = "against_added" // something stands against it, and was taken on
	AgainstGone     ChangeKind = "against_gone"
	VentsChanged    ChangeKind = "vents"
	VentAreaChanged ChangeKind = "vent_area"
	WantedAdded     ChangeKind = "hardware_added"
	WantedGone      ChangeKind = "hardware_gone"
	OtherChanged    ChangeKind = "other" // what has no kind of its own
)

// Value is one side of a change: a number, a catalogue key, a person's words,
// what a regulation asks, a sentence or a day. One of them is set; none when there was nothing.
type Value struct {
	Num     *decimal.Decimal `json:"num,omitempty"`
	Word    string           `json:"word,omitempty"`
	Say     string           `json:"say,omitempty"`
	Finding *safety.Finding  `json:"finding,omitempty"`
	Text    *phrase.Text     `json:"text,omitempty"`
	Day     string           `json:"day,omitempty"` // 2006-01-02
}

// Change is one difference between two revisions of a line.
type Change struct {
	Kind    ChangeKind `json:"kind"`
	Opening int        `json:"opening"`
	Name    string     `json:"name"`        // of the opening, as it is now
	N       int        `json:"n,omitempty"` // which light, mullion or column, from 1
	Old     Value      `json:"old,omitzero"`
	New     Value      `json:"new,omitzero"`
	Field   string     `json:"field,omitempty"` // key in the table of fields
}

// ofPoints says that the window is the same and what stands against it is not.
func (c Change) ofPoints() bool { return c.Kind == AgainstAdded || c.Kind == AgainstGone }

// Text is the change in words.
func (c Change) Text() phrase.Text {
	t := phrase.Of("job.change."+string(c.Kind)).Saying("name", c.Name).WithInt("n", c.N)
	if c.Field != "" {
		t = t.Word("field", "name."+c.Field)
	}
	return t.Sub1("old", c.Old.text()).Sub1("new", c.New.text())
}

func (v Value) text() phrase.Text {
	switch {
	case v.Num != nil:
		return phrase.Of("number").With("n", *v.Num)
	case v.Word != "":
		return phrase.Of(v.Word)
	case v.Say != "":
		return phrase.Of("job.words").Saying("words", v.Say)
	case v.Finding != nil:
		return plan.FindingText(*v.Finding)
	case v.Text != nil:
		return *v.Text
	case v.Day != "":
		if day, err := time.Parse(opening.DateForm, v.Day); err == nil {
			return phrase.Day(day)
		}
	}
	return phrase.Of("job.none")
}

func num(d decimal.Decimal) Value {
	if d.IsZero() {
		return Value{}
	}
	return Value{Num: &d}
}

func whole(n int) Value { return num(decimal.NewFromInt(int64(n))) }

func word(key string) Value { return Value{Word: key} }

func said(words string) Value { return Value{Say: words} }

// Diff lists the differences between two revisions of a line, in the order a
// desk reads it. A line without an opening stands for none: it was added or
// removed.
func Diff(old, now Line) []Change {
	d := differ{opening: now.Opening, name: now.Name}
	switch {
	case old.Opening == 0 && now.Opening == 0:
		return nil
	case old.Opening == 0:
		d.add(LineAdded, 0, Value{}, whole(now.Quantity))
		return d.changes
	case now.Opening == 0:
		d.opening, d.name = old.Opening, old.Name
		d.add(LineRemoved, 0, whole(old.Quantity), Value{})
		return d.changes
	}
	d.words(NameChanged, old.Name, now.Name)
	d.number(QuantityChanged, 0, decimal.NewFromInt(int64(old.Quantity)), decimal.NewFromInt(int64(now.Quantity)))
	d.number(WidthChanged, 0, old.Size.Width, now.Size.Width)
	d.number(HeightChanged, 0, old.Size.Height, now.Size.Height)
	d.number(SillChanged, 0, old.Sill, now.Sill)
	if old.Material != now.Material {
		d.add(MaterialChanged, 0, word("job.material."+string(old.Material)), word("job.material."+string(now.Material)))
	}
	d.words(ColourChanged, old.Colour, now.Colour)
	d.layout(old.Layout, now.Layout)
	d.words(MakeUpChanged, old.MakeUp, now.MakeUp)
	d.stated(old.Stated, now.Stated)
	d.number(PanesChanged, 0, decimal.Sum(decimal.Zero, old.Panes...), decimal.Sum(decimal.Zero, now.Panes...))
	comeAndGone(&d, old.Safety, now.Safety, SafetyAdded, SafetyGone, func(f safety.Finding) Value { return Value{Finding: &f} })
	if old.Against != nil && now.Against != nil { // of a line of before nobody knows
		comeAndGone(&d, old.Against, now.Against, AgainstAdded, AgainstGone, func(p Point) Value { return Value{Text: &p.Text} })
	}
	if old.OldVents != now.OldVents {
		d.add(VentsChanged, 0, yesNo(old.OldVents), yesNo(now.OldVents))
	}
	d.number(VentAreaChanged, 0, old.VentArea, now.VentArea)
	comeAndGone(&d, old.Wanted, now.Wanted, WantedAdded, WantedGone, said)
	return d.changes
}

type differ struct {
	opening int
	name    string
	changes []Change
}

func (d *differ) add(kind ChangeKind, n int, old, now Value) {
	d.changes = append(d.changes, Change{Kind: kind, Opening: d.opening, Name: d.name, N: n, Old: old, New: now})
}

func (d *differ) number(kind ChangeKind, n int, old, now decimal.Decimal) {
	if !old.Equal(now) {
		d.add(kind, n, num(old), num(now))
	}
}

func (d *differ) words(kind ChangeKind, old, now string) {
	if old != now {
		d.add(kind, 0, said(old), said(now))
	}
}

// stated tells what stands on the line as it was said, field by field.
func (d *differ) stated(old, now []opening.Pair) {
	for f := range opening.Fields {
		before, after := opening.StatedAs(old, f.Key), opening.StatedAs(now, f.Key)
		if before != after {
			d.add(StatedChanged, 0, statedValue(f, before), statedValue(f, after))
			d.changes[len(d.changes)-1].Field = f.Key
		}
	}
}

// statedValue is one side of a change of what stands on a line as it was said. "" is
// nothing.
func statedValue(f *opening.Field, value string) Value {
	switch {
	case value == opening.Skipped:
		return word("line.not_known")
	case value == opening.DeskSays:
		return word("line.desk_decides")
	case f == nil || value == "":
		return said(value)
	case f.Key == opening.ByLight:
		return panesSaid(value)
	case f.Group != "" && slices.ContainsFunc(f.Rows, func(row []string) bool { return slices.Contains(row, value) }):
		return word("button." + f.Group + "." + value)
	}
	if _, err := time.Parse(opening.DateForm, value); err == nil && f.Kind == opening.Day {
		return Value{Day: value}
	}
	if d, err := decimal.NewFromString(value); err == nil && f.Unit != "" {
		return said(d.String() + " " + f.Unit)
	}
	return said(value)
}

// panesSaid is of what the glass of which light is.
func panesSaid(value string) Value {
	list, ok := opening.PanesOf(value)
	if !ok {
		return said(value)
	}
	row := make([]phrase.Text, len(list))
	for i, p := range list {
		row[i] = phrase.Of("stated.pane").WithInt("n", p.Light).Word("glass", "button.safeglass."+string(p.Glass))
	}
	t := phrase.Of("stated.panes").WithRow("panes", row...)
	return Value{Text: &t}
}

// layout tells moved bars and turned hinges one by one, as long as the lights
// are in the same places.
func (d *differ) layout(old, now calc.Layout) {
	samePlace := func(a, b calc.Light) bool { return a.Column == b.Column && a.Row == b.Row }
	if !slices.EqualFunc(old.Lights, now.Lights, samePlace) || len(old.Mullions) != len(now.Mullions) {
		d.add(LightsChanged, 0, whole(len(old.Lights)), whole(len(now.Lights)))
		for i, light := range now.Lights {
			d.add(HingeChanged, i+1, Value{}, word("job.hinge."+string(light.Hinge)))
		}
		for i, at := range now.Mullions {
			d.add(MullionMoved, i+1, Value{}, num(at))
		}
		for i, at := range now.Transoms {
			d.number(TransomMoved, i+1, decimal.Zero, at)
		}
		return
	}
	for i, light := range now.Lights {
		if light.Hinge != old.Lights[i].Hinge {
			d.add(HingeChanged, i+1, word("job.hinge."+string(old.Lights[i].Hinge)), word("job.hinge."+string(light.Hinge)))
		}
	}
	for i := range now.Mullions {
		d.number(MullionMoved, i+1, old.Mullions[i], now.Mullions[i])
	}
	for i := range max(len(old.Transoms), len(now.Transoms)) {
		d.number(TransomMoved, i+1, old.Transom(i), now.Transom(i))
	}
}

// comeAndGone tells what stands there now and did not, and the other way round,
// by what would be stored, so that 5 and 5.0 are one.
func comeAndGone[T any](d *differ, old, now []T, added, gone ChangeKind, value func(T) Value) {
	lacks := func(list []T, a T) bool {
		return !slices.ContainsFunc(list, func(b T) bool { return stored(a) == stored(b) })
	}
	for _, a := range now {
		if lacks(old, a) {
			d.add(added, 0, Value{}, value(a))
		}
	}
	for _, a := range old {
		if lacks(now, a) {
			d.add(gone, 0, value(a), Value{})
		}
	}
}

func yesNo(yes bool) Value {
	if yes {
		return word("job.yes")
	}
	return word("job.no")
}

// diffLines lists the differences between two revisions of the order.
func diffLines(old, now []Line) []Change {
	var changes []Change
	for _, l := range now {
		before := Line{}
		if k := slices.IndexFunc(old, func(b Line) bool { return b.Opening == l.Opening }); k >= 0 {
			before = old[k]
		}
		of := Diff(before, l)
		if len(of) == 0 && stored(before) != stored(l) { // such as what holds it back
			of = []Change{{Kind: OtherChanged, Opening: l.Opening, Name: l.Name}}
		}
		changes = append(changes, of...)
	}
	for _, l := range old {
		if !slices.ContainsFunc(now, func(n Line) bool { return n.Opening == l.Opening }) {
			changes = append(changes, Diff(l, Line{})...)
		}
	}
	return changes
}
