package opening

import (
	"iter"
	"reflect"
	"strconv"
	"strings"
)

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

// follow takes the steps from v up to the first that leads to many places; those from
// there on are left. The place is not valid where something on the way is not there.
func follow(v reflect.Value, steps []step) (place reflect.Value, left []step) {
	for i, s := range steps {
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return reflect.Value{}, nil
			}
			v = v.Elem()
		}
		switch {
		case s.each:
			return v, steps[i:]
		case s.field != nil:
			v = v.FieldByIndex(s.field)
		default:
			v = v.Index(s.elem)
		}
	}
	return v, nil
}

// placeIn is the place that the steps lead to from v. It is not valid where
// something on the way is not there; ok is false where there may be many.
func placeIn(v reflect.Value, steps []step) (_ reflect.Value, ok bool) {
	place, left := follow(v, steps)
	if len(left) == 0 {
		return place, true
	}
	return reflect.Value{}, place.Len() == 0
}

// placesIn are all places that the steps lead to from v, each with the numbers
// and keys on the way.
func placesIn(v reflect.Value, steps []step) iter.Seq2[reflect.Value, []any] {
	return func(yield func(reflect.Value, []any) bool) { visit(v, steps, nil, yield) }
}

// visit is false when do wants no more.
func visit(v reflect.Value, steps []step, at []any, do func(reflect.Value, []any) bool) bool {
	place, left := follow(v, steps)
	if !place.IsValid() {
		return true
	}
	if len(left) == 0 {
		return do(place, at)
	}
	for key, element := range place.Seq2() {
		if !visit(element, left[1:], append(at[:len(at):len(at)], key.Interface()), do) {
			return false
		}
	}
	return true
}
