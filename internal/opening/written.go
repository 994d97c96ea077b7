package opening

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/shopspring/decimal"
)

// Opening is the record that a plan is made of.
func (k *Known) Opening() Opening {
	var o Opening
	for i, f := range keyed {
		if k.entries[i] != nil {
			f.write(k, &o)
		}
	}
	o.Settings = k.Crew()
	return o
}

// write puts the field's value into the record.
func (f *Field) write(k *Known, o *Opening) {
	if f.Is(Maker) && !k.calls(f) {
		return // said of all windows, and this one has no such thing
	}
	if f.put != nil {
		f.put(k, o)
		return
	}
	value := k.Value(f.Key)
	if f.File == "" || f.Scope == CrewWide || value == Skipped || value == DeskSays || value == "none" {
		return
	}
	for v := range placesIn(reflect.ValueOf(o), f.steps) {
		assign(v, value)
	}
}

// assign stores a value where it belongs, by the type that it has there.
func assign(v reflect.Value, value string) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(value)
	case reflect.Bool:
		v.SetBool(value == "yes")
	case reflect.Int:
		v.SetInt(number(value).IntPart())
	case reflect.Pointer:
		d := number(value)
		v.Set(reflect.ValueOf(&d))
	case reflect.Slice:
		var list []decimal.Decimal
		for _, word := range strings.Fields(value) {
			list = append(list, number(word))
		}
		v.Set(reflect.ValueOf(list))
	default:
		*v.Addr().Interface().(*decimal.Decimal) = number(value)
	}
}

// Crew is the settings of the crew; nil when none was set.
func (k *Known) Crew() *Crew {
	var c *Crew
	for i, f := range keyed {
		if f.Scope != CrewWide || k.entries[i] == nil {
			continue
		}
		if c == nil {
			usual := DefaultCrew()
			c = &usual
		}
		if f.File != "" {
			assign(f.inCrew(c), k.entries[i].Value)
		}
	}
	return c
}

// inCrew is the place of a setting, of several lengths that of their list.
func (f *Field) inCrew(c *Crew) reflect.Value {
	steps := f.steps[1:]
	if f.Kind == Lengths {
		steps = steps[:len(steps)-1]
	}
	for place := range placesIn(reflect.ValueOf(c), steps) {
		return place
	}
	return reflect.Value{}
}

// OfCrew is a setting's value as it is stored.
func (f *Field) OfCrew(c *Crew) string {
	return strings.Trim(fmt.Sprint(f.inCrew(c).Interface()), "[]") // several lengths are a list
}

// Changed are the settings with a key that are not the usual ones; none of
// nil.
func (c *Crew) Changed() []Pair {
	if c == nil {
		return nil
	}
	var changed []Pair
	usual := DefaultCrew()
	for _, f := range keyed {
		if f.Scope != CrewWide || f.File == "" {
			continue
		}
		if value := f.OfCrew(c); value != f.OfCrew(&usual) {
			changed = append(changed, Pair{f.Key, value})
		}
	}
	return changed
}

// Pair is a field's key and a value.
type Pair struct {
	Key   Key    `json:"key"`
	Value string `json:"value"`
}

// StatedAs is what is stated under a key; "" for nothing.
func StatedAs(stated []Pair, key Key) string {
	for _, s := range stated {
		if s.Key == key {
			return s.Value
		}
	}
	return ""
}
