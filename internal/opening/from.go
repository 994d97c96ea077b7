package opening

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Values are the values of the fields that make o, as far as a conversation has
// fields for it. makeUp is the glass unit; "": the panes alone are known.
func Values(o Opening, makeUp string) []Entry {
	var list []Entry
	for _, f := range keyed {
		if value := f.from(&o, makeUp); value != "" {
			list = append(list, Entry{Act: Set, Key: f.Key, Value: value})
		}
	}
	return list
}

// from is the field's value in a record as it is stored; "" when it has none.
// Of the crew's settings only those that are not the usual ones have one.
func (f *Field) from(o *Opening, makeUp string) string {
	switch {
	case f.Scope == CrewWide:
		return StatedAs(o.Settings.Changed(), f.Key)
	case f.Is(ByCommand):
		return ""
	case f.Name == "layout", f.Name == "mullion", f.Name == "transom", f.Name == "light":
		return f.ofLayout(o.Layout)
	}
	single := makeUp == "" && len(o.Panes) == 1
	switch key := f.Key; {
	case key == "sill" && o.SillDepth.IsZero():
		return "none"
	case key == "over" && o.Bay:
		return "bay"
	case key == "over" && o.NoLintel:
		return "nolintel"
	case key == "over" && o.Over != "":
		return string(o.Over)
	case key == "over" && o.NoHead:
		return "nodrill"
	case key == "kind" && o.Flat:
		return "flat"
	case key == "built":
		return o.age()
	case key == "fans" && !o.MVHR && o.Extract:
		return "extract"
	case key == "fans" && o.MVHR:
		return "mvhr"
	case key == "cleared":
		return o.Cleared.Stored()
	case key == "glass" && !single:
		return makeUp
	case key == "vents" && o.VentsUnknown:
		return Skipped
	case key == "handle" && o.Items.HandleMiddle:
		return "middle"
	case key == "pattern" && o.Lighter:
		return "lighter"
	case f.File == "":
		return ""
	}
	for v := range placesIn(reflect.ValueOf(o), f.steps) {
		return stored(v)
	}
	return ""
}

// age is when the house was built, as far as the record says it.
func (o *Opening) age() string {
	switch {
	case o.From2000:
		return "2000"
	case o.From1992:
		return "1992"
	}
	return ""
}

// stored is the value that assign reads; "" where nothing was said.
func stored(v reflect.Value) string {
	switch {
	case v.Kind() == reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case v.IsZero():
		return ""
	case v.Kind() == reflect.Bool:
		return "yes"
	}
	if d, ok := v.Interface().(decimal.Decimal); ok && d.IsZero() {
		return ""
	}
	return fmt.Sprint(v.Interface())
}

func (f *Field) ofLayout(l calc.Layout) string {
	columns, upper := 0, false
	for _, light := range l.Lights {
		columns, upper = max(columns, light.Column+1), upper || light.Row > 0
	}
	switch {
	case columns == 0:
		return ""
	case f.Name == "layout" && upper:
		return strconv.Itoa(columns) + "t"
	case f.Name == "layout":
		return strconv.Itoa(columns)
	case f.Name == "light" && f.N <= len(l.Lights):
		return string(l.Lights[f.N-1].Hinge)
	case f.Name == "mullion" && f.N <= len(l.Mullions):
		return l.Mullions[f.N-1].String()
	case f.Key == "mullion.1" && columns > 1:
		return Skipped
	case f.Name == "transom" && len(l.Transoms) > 0 && l.Transoms[0].IsPositive():
		return l.Transoms[0].String()
	case f.Name == "transom" && upper:
		return Skipped
	}
	return ""
}

// FromAnswers are the entries of a conversation of the first schema: KEY=VALUE,
// or KEY=!VALUE for one that was questioned and stands. Where o says another
// value, o counts: it was what was sent. Without answers all that o says is
// taken.
func FromAnswers(answers []string, o Opening, makeUp string) []Entry {
	made := Values(o, makeUp)
	if len(answers) == 0 {
		return made
	}
	var list []Entry
	for _, text := range answers {
		key, value, ok := strings.Cut(text, "=")
		if _, known := Index(key); !ok || !known {
			continue
		}
		value, sure := strings.CutPrefix(value, "!")
		if i := slices.IndexFunc(made, func(e Entry) bool { return e.Key == key }); i >= 0 && value != Skipped {
			value = made[i].Value
		}
		list = append(list, Entry{Act: Set, Key: key, Value: value})
		if sure {
			list = append(list, Entry{Act: Sure, Key: key})
		}
	}
	for _, e := range made {
		if Find(e.Key).Scope == CrewWide {
			list = append(list, e)
		}
	}
	return list
}
