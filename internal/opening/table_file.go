package opening

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/reading"
)

// CrewPrefix begins the keys of the crew's settings.
const CrewPrefix = "crew."

// settings are the crew's. Of those without a key only a file says more than
// the usual.
func settings() []Field {
	mm := reading.MM
	length := func(key Key, file string, usual reading.Range, marks Mark) Field {
		return Field{Key: CrewPrefix + key, File: "settings." + file, Kind: Length, Scope: CrewWide, Marks: marks | ByCommand, Usual: usual, Most: 500}
	}
	rows := []Field{
		length("outer", "outer_face", mm(20, 200), Example),
		length("sash", "sash_face", mm(20, 200), Example),
		length("mullion", "mullion_face", mm(20, 250), Example),
		length("rebate", "edge_cover", mm(5, 60), Example),
		length("depth", "frame_depth", mm(30, 250), Unsigned|Above),
		length("embedment", "embedment", mm(20, 200), Unsigned),
		length("plaster", "plaster_thickness", mm(0, 60), Sizes),
		length("cover", "check_cover", mm(0, 80), Sizes),
		length("sillpiece", "sill_piece_height", mm(10, 100), Sizes),
	}
	for i, most := range map[int]int64{3: 100, 6: 200, 7: 200, 8: 300} {
		rows[i].Most = most
	}
	return append(rows,
		Field{Key: CrewPrefix + "sealant", File: "settings.joint.class", Rows: [][]string{{"25", "20", "12.5", "7.5"}}, Scope: CrewWide, Marks: ByCommand | Unsigned},
		Field{Key: CrewPrefix + "tolerance", Kind: Length, Scope: CrewWide, Marks: ByCommand | Unsigned, Usual: mm(1, 20)},
	)
}

// fileOnly are the fields that only a file says.
func fileOnly() []Field {
	figures := func(most int64, files ...string) []Field { return fileRows(0, 0, most, files...) }
	rows := figures(0, "vents_unknown", "no_head", "no_lintel", "bay", "mvhr", "inner_room", "old_escape", "open_flue", "door", "flat",
		"widened", "heritage", "room_name", "guarded", "not_house", "leaded", "from_2000", "smooth", "sashes[#].light", "sashes[#].releasable",
		"patches[#].ready_mix", "patches[#].coats[#].sand", "prices[#].what", "layout.lights[#].hinge")
	for _, more := range [][]Field{
		figures(1, "layout.lights[#].row"), figures(31, "layout.lights[#].column"),
		figures(tapeMost, "layout.mullions[#]", "layout.transoms[#]", "sashes[#].restrictor", "sashes[#].clear.width", "sashes[#].clear.height",
			"sashes[#].size.width", "sashes[#].size.height"),
		figures(2*tapeMost, "sashes[#].heel_toe", "sashes[#].across"), figures(180, "sashes[#].angle"), figures(1000, "gauge"),
		figures(manyMost, "vent_area", "vent_area_new", "other_vents", "other_old_vents", "vent_each", "screw_allows", "prices[#].quantity"),
		figures(10, "ug"), figures(20, "uf"), figures(1, "psi", "prices[#].vat_rate"), figures(150, "wind_speed"), figures(20_000, "wind_pressure"),
		fileRows(Optional, 0, 0, "wind_code"), fileRows(0, 1, tapeMost, "trims[#]", "patches[#].length", "patches[#].width"),
		figures(100, "patches[#].depth"), fileRows(0, 1, 100, "patches[#].coats[#].thickness"), fileRows(0, -manyMost, manyMost, "prices[#].each"),
		fileRows(Above, 0, 200, "settings.lift_each"), fileRows(0, 0, 1, "settings.waste", "settings.joint.share", "settings.store.waste", "settings.money.vat_rate", "settings.money.deposit"),
		fileRows(Above, 0, 1, "settings.store.foam_yield"), fileRows(Above, 0, 20_000, "settings.store.trim_length"),
		fileRows(Above, 0, 100_000, "settings.store.tube", "settings.store.foam_can", "settings.store.backing", "settings.store.screw_box", "settings.store.cement_bag"),
		figures(2000, "settings.clear.side_hung.width", "settings.clear.side_hung.height", "settings.clear.tilt_turn.width",
			"settings.clear.tilt_turn.height", "settings.clear.top_hung.width", "settings.clear.top_hung.height"),
		figures(200, "settings.joint.expansion.*", "settings.joint.range.*"),
	} {
		rows = append(rows, more...)
	}
	return rows
}

func fileRows(marks Mark, least, most int64, files ...string) []Field {
	rows := make([]Field, len(files))
	for i, file := range files {
		rows[i] = Field{File: file, Kind: Figure, Marks: marks | Unsigned, Least: least, Most: most}
		if strings.HasPrefix(file, "settings.") {
			rows[i].Scope = CrewWide
		}
	}
	return rows
}

// step is one step from a record to a place in it: to a field of a struct, to
// one element of a list, or to each of a list or a map.
type step struct {
	field []int
	elem  int
	each  bool
}

// stepsTo finds a place of a file in the type of the record by the names that
// encoding/json has for its fields. It panics when there is no such place,
// which is seen as soon as the program starts.
func stepsTo(file string) []step {
	if file == "" {
		return nil
	}
	var steps []step
	t := reflect.TypeFor[Opening]()
	for _, name := range strings.Split(strings.NewReplacer("[", ".[", "]", "").Replace(file), ".") {
		if t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		elem, listed := strings.CutPrefix(name, "[")
		n, err := strconv.Atoi(elem)
		switch {
		case name == "*", elem == "#":
			steps = append(steps, step{each: true})
			t = t.Elem()
		case listed && err == nil:
			steps = append(steps, step{elem: n})
			t = t.Elem()
		default:
			f, ok := fieldsOf(t)[name]
			if !ok {
				panic("the table of fields names " + file + ", which no record has")
			}
			steps = append(steps, step{field: f.Index})
			t = f.Type
		}
	}
	return steps
}

// visit calls do with every place that the steps lead to from v, and with the
// numbers and keys on the way.
func visit(v reflect.Value, steps []step, at []any, do func(reflect.Value, []any) error) error {
	for i, s := range steps {
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return nil
			}
			v = v.Elem()
		}
		switch {
		case s.field != nil:
			v = v.FieldByIndex(s.field)
		case !s.each:
			v = v.Index(s.elem)
		default:
			for key, element := range v.Seq2() {
				if err := visit(element, steps[i+1:], append(at[:len(at):len(at)], key.Interface()), do); err != nil {
					return err
				}
			}
			return nil
		}
	}
	return do(v, at)
}

// write puts the field's value into the record.
func (f *Field) write(k *Known, o *Opening) {
	if f.put != nil {
		f.put(k, o)
		return
	}
	value := k.Value(f.Key)
	if f.File == "" || f.Scope == CrewWide || value == Skipped || value == "none" {
		return
	}
	_ = visit(reflect.ValueOf(o), f.steps, nil, func(v reflect.Value, _ []any) error {
		assign(v, value)
		return nil
	})
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
	default:
		*v.Addr().Interface().(*decimal.Decimal) = number(value)
	}
}

// Stated are the values that stand on the order line as they were said.
func (o Opening) Stated() []Pair {
	var stated []Pair
	for i := range table[:keyed] {
		f := &table[i]
		if !f.Is(OnOrder) {
			continue
		}
		_ = visit(reflect.ValueOf(o), f.steps, nil, func(v reflect.Value, _ []any) error {
			if !v.IsZero() {
				stated = append(stated, Pair{f.Key, fmt.Sprint(v.Interface())})
			}
			return nil
		})
	}
	return stated
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

// Crew is the settings of the crew; nil when none was set.
func (k *Known) Crew() *Crew {
	var c *Crew
	for i := range table[:keyed] {
		f := &table[i]
		if f.Scope != CrewWide || k.slots[i].entry == nil {
			continue
		}
		if c == nil {
			usual := DefaultCrew()
			c = &usual
		}
		if f.File != "" {
			assign(f.inCrew(c), k.slots[i].entry.Value)
		}
	}
	return c
}

// inCrew is the place of a setting.
func (f *Field) inCrew(c *Crew) reflect.Value {
	var place reflect.Value
	_ = visit(reflect.ValueOf(c), f.steps[1:], nil, func(v reflect.Value, _ []any) error {
		place = v
		return nil
	})
	return place
}

// OfCrew is a setting's value as it is stored.
func (f *Field) OfCrew(c *Crew) string {
	return fmt.Sprint(f.inCrew(c).Interface())
}

// Changed are the settings with a key that are not the usual ones; none of
// nil.
func (c *Crew) Changed() []Pair {
	if c == nil {
		return nil
	}
	var changed []Pair
	usual := DefaultCrew()
	for i := range table[:keyed] {
		f := &table[i]
		if f.Scope != CrewWide || f.File == "" {
			continue
		}
		if value := f.OfCrew(c); value != f.OfCrew(&usual) {
			changed = append(changed, Pair{f.Key, value})
		}
	}
	return changed
}
