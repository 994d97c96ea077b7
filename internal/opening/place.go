package opening

import (
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
