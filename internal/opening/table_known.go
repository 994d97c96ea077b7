package opening

import "slices"

// Next is the open question: the one being asked out of turn, else the first
// field that what is known calls for and that has no value. Nil when the
// survey is complete.
func (k *Known) Next(onlyReadings bool, asking Key) *Field {
	if asking != "" {
		return Find(asking)
	}
	for i, f := range keyed {
		if f.Marks&(OnRequest|ByCommand) == 0 && (!onlyReadings || f.Is(Reading)) && k.entries[i] == nil && k.calls(f) {
			return f
		}
	}
	return nil
}

// Unknown are the fields that are called for and not known, by what that does.
// What was passed over does what the table says. A question that is still open
// stops, unless it is Spared: nobody has said yet that it can't be known. What no
// survey asks is not missed, unless it is Needed.
func (k *Known) Unknown() (fields [DeskDecides + 1][]Key) {
	for i, f := range keyed {
		does := Stops
		switch e := k.entries[i]; {
		case e == nil && f.Marks&(OnRequest|ByCommand) != 0 && !f.Is(Needed), e != nil && e.Value != Skipped && e.Value != DeskSays, !k.calls(f):
			continue
		case e != nil && f.Else != "" && k.Given(f.Else):
			continue
		case e != nil && e.Value == DeskSays:
			does = DeskDecides
		case e != nil, f.Is(Spared), f.Is(Needed):
			does = f.NotKnown
		}
		fields[does] = append(fields[does], f.Key)
	}
	return fields
}

// Lacks are the fields without which the window can't be ordered.
func (k *Known) Lacks() []Key { return k.Unknown()[Stops] }

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
	if name == "readings" {
		return ReadingKeys
	}
	var keys []Key
	for _, f := range keyed {
		if f.Change == name && f.Change != f.Key {
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
// the order of the survey, the house. What nobody said of the house is offered by
// its own command.
func (k *Known) Changeable(onlyReadings bool) []string {
	var names [3][]string
	for i, f := range keyed {
		offered := f.Scope != OfJob && k.entries[i] != nil || f.Is(OnRequest) && f.Scope == Window && k.CanOrder()
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
	for _, f := range keyed[places[f.Key]:] {
		switch {
		case !f.Is(Repeats):
			return keys
		case k.Has(f.Key):
			return nil
		}
		keys = append(keys, f.Key)
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
