package plan

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"sillbot/internal/phrase"
)

// AppendJSON adds a record to b as a line of JSON, as encoding/json would. A
// plan is mostly figures, for each of which that takes three copies: a long
// file is written in half of the time without them.
func AppendJSON(b []byte, record any) ([]byte, error) {
	v := reflect.ValueOf(record)
	placed := reflect.New(v.Type()).Elem() // its figures can be read where they are
	placed.Set(v)
	b, err := encoderOf(v.Type())(b, placed)
	if err != nil {
		return nil, fmt.Errorf("writing the plan: %w", err)
	}
	return append(b, '\n'), nil
}

// encoder adds a value to b.
type encoder func(b []byte, v reflect.Value) ([]byte, error)

// encoders holds encoderOf by type, each made once.
var encoders sync.Map

func encoderOf(t reflect.Type) encoder {
	made, ok := encoders.Load(t)
	if !ok {
		made, _ = encoders.LoadOrStore(t, sync.OnceValue(func() encoder { return makeEncoder(t) }))
	}
	return made.(func() encoder)()
}

// later is encoderOf, looked up when it is used: a type may be a part of
// itself.
func later(t reflect.Type) encoder {
	return func(b []byte, v reflect.Value) ([]byte, error) { return encoderOf(t)(b, v) }
}

var marshaler = reflect.TypeFor[json.Marshaler]()

func makeEncoder(t reflect.Type) encoder {
	switch {
	case t == reflect.TypeFor[decimal.Decimal]():
		return func(b []byte, v reflect.Value) ([]byte, error) {
			b = phrase.AppendNumber(append(b, '"'), figureOf(v))
			return append(b, '"'), nil
		}
	case t.Implements(marshaler), reflect.PointerTo(t).Implements(marshaler) && t.Kind() != reflect.Pointer:
		return byLibrary
	}
	switch t.Kind() {
	case reflect.String:
		return func(b []byte, v reflect.Value) ([]byte, error) { return appendText(b, v.String()), nil }
	case reflect.Int:
		return func(b []byte, v reflect.Value) ([]byte, error) { return strconv.AppendInt(b, v.Int(), 10), nil }
	case reflect.Pointer:
		return pointerEncoder(later(t.Elem()))
	case reflect.Struct:
		return structEncoder(t)
	case reflect.Slice:
		return sliceEncoder(later(t.Elem()))
	case reflect.Map:
		if t.Key().Kind() == reflect.String {
			return mapEncoder(later(t.Elem()))
		}
	}
	return byLibrary
}

func figureOf(v reflect.Value) decimal.Decimal {
	if v.CanAddr() {
		return *v.Addr().Interface().(*decimal.Decimal) // takes no copy
	}
	return v.Interface().(decimal.Decimal)
}

func byLibrary(b []byte, v reflect.Value) ([]byte, error) {
	raw, err := json.Marshal(v.Interface())
	return append(b, raw...), err
}

func pointerEncoder(e encoder) encoder {
	return func(b []byte, v reflect.Value) ([]byte, error) {
		if v.IsNil() {
			return append(b, "null"...), nil
		}
		return e(b, v.Elem())
	}
}

func sliceEncoder(e encoder) encoder {
	return func(b []byte, v reflect.Value) (_ []byte, err error) {
		if v.IsNil() {
			return append(b, "null"...), nil
		}
		b = append(b, '[')
		for i := range v.Len() {
			if i > 0 {
				b = append(b, ',')
			}
			if b, err = e(b, v.Index(i)); err != nil {
				return nil, err
			}
		}
		return append(b, ']'), nil
	}
}

// mapEncoder writes a map in the order of its keys.
func mapEncoder(e encoder) encoder {
	return func(b []byte, v reflect.Value) (_ []byte, err error) {
		if v.IsNil() {
			return append(b, "null"...), nil
		}
		values := make(map[string]reflect.Value, v.Len())
		for key, value := range v.Seq2() {
			values[key.String()] = value
		}
		b = append(b, '{')
		for i, key := range slices.Sorted(maps.Keys(values)) {
			if i > 0 {
				b = append(b, ',')
			}
			b = append(appendText(b, key), ':')
			if b, err = e(b, values[key]); err != nil {
				return nil, err
			}
		}
		return append(b, '}'), nil
	}
}

// member is one field of a struct.
type member struct {
	index int
	name  []byte // "name":
	left  func(reflect.Value) bool
	value encoder
}

// structEncoder is for structs whose fields have names of their own; the
// library writes any other.
func structEncoder(t reflect.Type) encoder {
	var members []member
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Anonymous || !f.IsExported() || name == "" || name == "-" || strings.Contains(options, "string") {
			return byLibrary
		}
		members = append(members, member{i, []byte(`"` + name + `":`), leftOut(f.Type, options), encoderOf(f.Type)})
	}
	return func(b []byte, v reflect.Value) (_ []byte, err error) {
		b = append(b, '{')
		first := true
		for _, m := range members {
			field := v.Field(m.index)
			if m.left(field) {
				continue
			}
			if !first {
				b = append(b, ',')
			}
			first = false
			if b, err = m.value(append(b, m.name...), field); err != nil {
				return nil, err
			}
		}
		return append(b, '}'), nil
	}
}

// leftOut is when a field is not written.
func leftOut(t reflect.Type, options string) func(reflect.Value) bool {
	switch {
	case strings.Contains(options, "omitzero") && t == reflect.TypeFor[decimal.Decimal]():
		return func(v reflect.Value) bool { return figureOf(v).IsZero() }
	case strings.Contains(options, "omitzero"):
		return reflect.Value.IsZero
	case !strings.Contains(options, "omitempty"):
		return func(reflect.Value) bool { return false }
	}
	switch t.Kind() {
	case reflect.Slice, reflect.Map, reflect.String:
		return func(v reflect.Value) bool { return v.Len() == 0 }
	case reflect.Struct:
		return func(reflect.Value) bool { return false }
	}
	return reflect.Value.IsZero
}

// appendText adds text in quotes. What has to be written otherwise in them is
// left to the library.
func appendText(b []byte, s string) []byte {
	if plainText(s) {
		return append(append(append(b, '"'), s...), '"')
	}
	raw, err := json.Marshal(s)
	if err != nil {
		return append(b, `""`...) // no text makes one
	}
	return append(b, raw...)
}

func plainText(s string) bool {
	for i := range len(s) {
		switch c := s[i]; {
		case c < ' ', c == '"', c == '\\', c == '<', c == '>', c == '&', c == 0xE2 && strings.ContainsAny(s[i:], "\u2028\u2029"):
			return false
		}
	}
	return utf8.ValidString(s)
}
