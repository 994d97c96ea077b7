package opening

import (
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Next is the open question: the one being asked out of turn, else the first
// field that what is known calls for and that has no value. Nil when the
// survey is complete.
func (k *Known) Next(onlyReadings bool, asking Key) *Field {
	if asking != "" {
		return Find(asking)
	}
	for i := range table[:keyed] {
		if f := &table[i]; f.Marks&(OnRequest|ByCommand) == 0 && (!onlyReadings || f.Is(Reading)) && k.slots[i].entry == nil && k.calls(f) {
			return f
		}
	}
	return nil
}

func (k *Known) calls(f *Field) bool { return f.Asked == nil || f.Asked(k) }

// Lacks are the fields without which the window can't be ordered: those that
// the survey still asks, and those that were passed over and may not be.
func (k *Known) Lacks() []Key {
	var lacks []Key
	for i := range table[:keyed] {
		f := &table[i]
		if f.Marks&(OnRequest|ByCommand) != 0 || k.slots[i].entry != nil && (f.NotKnown != Stops || k.slots[i].entry.Value != Skipped) {
			continue
		}
		if k.calls(f) {
			lacks = append(lacks, f.Key)
		}
	}
	return lacks
}

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

// MayChange says whether the field makes sense here at all: numbered ones need
// their layout, the key of a restrictor needs the restrictor, and a second
// measure is of readings alone.
func (k *Known) MayChange(f *Field, onlyReadings bool) bool {
	if onlyReadings {
		return f.Is(Reading)
	}
	switch f.Name {
	case "light":
		return f.N <= len(k.Layout().Lights)
	case "mullion":
		return f.N < k.Columns()
	case "release":
		return k.calls(f)
	}
	return f.Marks&ByCommand == 0
}

// Fellows are the fields that a name of a change opens, by the name of a group,
// by a key, or readings for all of them; nil for no such name.
func Fellows(name string) []Key {
	var keys []Key
	for i := range table[:keyed] {
		if f := &table[i]; f.Change == name && f.Change != f.Key || name == "readings" && f.Is(Reading) {
			keys = append(keys, f.Key)
		}
	}
	if keys == nil && Find(name) != nil {
		keys = []Key{name}
	}
	return keys
}

// Changeable are the names of the changes that there is an answer for, and
// those that are only made on request: the readings, the rest of the window in
// the order of the survey, the house.
func (k *Known) Changeable(onlyReadings bool) []string {
	var names [3][]string
	for i := range table[:keyed] {
		f := &table[i]
		offered := k.slots[i].entry != nil || f.Is(OnRequest) && k.CanOrder()
		if !offered || !k.MayChange(f, onlyReadings) {
			continue
		}
		rank := 1
		switch {
		case f.Is(Reading):
			rank = 0
		case f.Scope == House:
			rank = 2
		}
		if !slices.Contains(names[rank], f.Change) {
			names[rank] = append(names[rank], f.Change)
		}
	}
	return slices.Concat(names[:]...)
}

// Opening is the record that a plan is made of.
func (k *Known) Opening() Opening {
	var o Opening
	for i := range table[:keyed] {
		if f := &table[i]; k.slots[i].entry != nil {
			f.write(k, &o)
		}
	}
	o.Settings = k.Crew()
	return o
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

// Readings are the opening's readings as calc takes them.
func (k *Known) Readings() calc.Readings {
	var o Opening
	for i := range Widths {
		o.Widths[i], o.Heights[i] = k.Number(Widths[i]), k.Number(Heights[i])
	}
	withDiagonals(k, &o)
	return o.Readings()
}

// Reuse takes over what was found of before when the readings are the same.
func (k *Known) Reuse(before *Known) {
	for i := range table[:keyed] {
		key := table[i].Key
		if table[i].Is(Reading) && (k.Has(key) != before.Has(key) || k.Value(key) != before.Value(key)) {
			return
		}
	}
	k.leans = before.leans
}

// leansMuch: the fall of the sill is only asked when the diagonals make it
// matter. What it finds is noted, since the open question is looked for
// several times a turn.
func leansMuch(k *Known) bool {
	if !k.Given("diagonal.rising", "diagonal.falling") {
		return false
	}
	if k.leans == 0 {
		k.leans = -1
		if f, err := calc.Survey(k.Readings()); err == nil && calc.NeedsSillFall(f) {
			k.leans = 1
		}
	}
	return k.leans > 0
}

// belowDoorZone: a door's edge only matters for glass below 1500 mm.
func belowDoorZone(k *Known) bool {
	return k.Given("floor") && k.Number("floor").LessThan(decimal.NewFromInt(1500))
}

// withDiagonals writes both or none: one by itself says nothing, and the
// sill's fall nothing without them.
func withDiagonals(k *Known, o *Opening) {
	if k.Given("diagonal.rising", "diagonal.falling") {
		o.Rising, o.Falling, o.SillFall = k.Number("diagonal.rising"), k.Number("diagonal.falling"), k.Optional("sill.fall")
	}
}

func withHead(k *Known, o *Opening) {
	over := k.Value("over")
	o.NoHead, o.NoLintel, o.Bay = over == "nodrill", over == "nolintel", over == "bay"
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

// Pair is a field's key and a value.
type Pair struct {
	Key   Key    `json:"key"`
	Value string `json:"value"`
}

// together is what the button of a shortcut answers, in the order it is asked.
// They keep a survey short.
var together = map[string][]Pair{
	"england-today":  {{"nation", "england"}, {"date", "today"}},
	"wales-today":    {{"nation", "wales"}, {"date", "today"}},
	"scotland-today": {{"nation", "scotland"}, {"date", "today"}},
	"ni-today":       {{"nation", "ni"}, {"date", "today"}},
	"left-fixed":     twoEqual("side-left", "fixed"),
	"fixed-right":    twoEqual("fixed", "side-right"),
	"left-right":     twoEqual("side-left", "side-right"),
	"bath-near":      {{"room", "bathroom"}, {"bath", "yes"}},
	"bath-far":       {{"room", "bathroom"}, {"bath", "no"}},
	"ground":         {{"storey", "0"}, {"outside", Skipped}},
}

// twoEqual is two lights of one width.
func twoEqual(left, right string) []Pair {
	return []Pair{{"layout", "2"}, {"mullion.1", Skipped}, {"light.1", left}, {"light.2", right}}
}

// Together are the fields and values that a code answers beside its own; nil
// for a code that is no shortcut.
func Together(code string) []Pair { return together[code] }

// Repeated are the fields that one button answers as in the window before,
// beginning with f; nil when any of them has a value here.
func (k *Known) Repeated(f *Field) []Key {
	var keys []Key
	for i := places[f.Key]; i < keyed && table[i].Is(Repeats); i++ {
		if k.slots[i].entry != nil {
			return nil
		}
		keys = append(keys, table[i].Key)
	}
	return keys
}

// Offered are the codes that get a button, in rows: shortcuts only where they
// would not answer again what was answered.
func (k *Known) Offered(f *Field) [][]string {
	for _, row := range f.Short {
		for _, code := range row {
			for _, further := range together[code] {
				if k.Has(further.Key) {
					return f.Rows
				}
			}
		}
	}
	if f.Short == nil {
		return f.Rows
	}
	return f.Short
}
