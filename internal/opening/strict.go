package opening

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strconv"
	"strings"
	"sync"

	"github.com/shopspring/decimal"
)

// Strict holds one JSON value of a record against the type that it will be
// read into. Unlike encoding/json alone it names the place of what is wrong,
// takes no list of the wrong length for one of a fixed length, and lets no
// number in whose arithmetic would never end.
func Strict(raw json.RawMessage, t reflect.Type, at string) error {
	if string(raw) == "null" && (t.Kind() == reflect.Pointer || t.Kind() == reflect.Map) {
		return nil
	}
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == reflect.TypeFor[decimal.Decimal]() {
		return strictNumber(raw, at)
	}
	switch t.Kind() {
	case reflect.Struct, reflect.Map:
		return strictObject(raw, t, at)
	case reflect.Slice, reflect.Array:
		return strictList(raw, t, at)
	}
	into := reflect.New(t)
	if err := json.Unmarshal(raw, into.Interface()); err != nil {
		return &FieldError{named(at), "must be " + plainKind(t)}
	}
	return nil
}

// named is a place for people; the record itself has no name.
func named(at string) string {
	if at == "" {
		return "the record"
	}
	return at
}

func plainKind(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.Int:
		return "a whole number"
	}
	return "text in quotes"
}

// The longest and the widest number that a record may hold: far more than a
// tape or a till says.
const (
	numberDigits = 25
	numberPlaces = 15
)

func strictNumber(raw json.RawMessage, at string) error {
	var d decimal.Decimal
	if len(raw) > 60 || string(raw) == "null" || d.UnmarshalJSON(raw) != nil ||
		d.Exponent() > numberPlaces || d.Exponent() < -numberPlaces || d.NumDigits() > numberDigits {
		return &FieldError{at, "must be a number such as 1204 or 7.5"}
	}
	return nil
}

// object is the fields of a JSON object, and one that stands in it twice: the
// last of the two would count, and nobody would see the other. Nil for what is
// no object.
func object(raw json.RawMessage) (fields map[string]json.RawMessage, twice string, err error) {
	decoder := json.NewDecoder(bytes.NewReader(raw))
	if open, err := decoder.Token(); err != nil || open != json.Delim('{') {
		return nil, "", err
	}
	fields = map[string]json.RawMessage{}
	for decoder.More() {
		token, err := decoder.Token()
		if err != nil {
			return nil, "", err
		}
		name, _ := token.(string)
		var value json.RawMessage
		if err := decoder.Decode(&value); err != nil {
			return nil, "", err
		}
		if _, again := fields[name]; again {
			twice = name
		}
		fields[name] = value
	}
	return fields, twice, nil
}

// strictObject holds an object against a struct, whose fields have names, or a
// map, which takes any.
func strictObject(raw json.RawMessage, t reflect.Type, at string) error {
	given, twice, err := object(raw)
	if err != nil || given == nil {
		if _, broken := err.(*json.SyntaxError); broken {
			return err
		}
		return &FieldError{named(at), "must be an object"}
	}
	if at != "" {
		at += "."
	}
	if twice != "" {
		return &FieldError{at + twice, "stands there twice"}
	}
	for name, value := range given {
		of := t
		if t.Kind() == reflect.Map {
			of = t.Elem()
		} else if field, ok := fieldsOf(t)[name]; ok {
			of = field.Type
		} else {
			return &FieldError{at + name, "is not a field here"}
		}
		if err := Strict(value, of, at+name); err != nil {
			return err
		}
	}
	return nil
}

func strictList(raw json.RawMessage, t reflect.Type, at string) error {
	var given []json.RawMessage
	if err := json.Unmarshal(raw, &given); err != nil {
		return &FieldError{named(at), "must be a list"}
	}
	if t.Kind() == reflect.Array && len(given) != t.Len() {
		return &FieldError{at, "must have " + strconv.Itoa(t.Len()) + " values"}
	}
	for i, value := range given {
		if err := Strict(value, t.Elem(), at+"["+strconv.Itoa(i)+"]"); err != nil {
			return err
		}
	}
	return nil
}

// fieldCache holds fieldsOf by type.
var fieldCache sync.Map

// fieldsOf are a struct's fields by their names in a file.
func fieldsOf(t reflect.Type) map[string]reflect.StructField {
	if fields, ok := fieldCache.Load(t); ok {
		return fields.(map[string]reflect.StructField)
	}
	fields := map[string]reflect.StructField{}
	for _, f := range reflect.VisibleFields(t) {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name != "" && name != "-" {
			fields[name] = f
		}
	}
	fieldCache.Store(t, fields)
	return fields
}

// FieldError is a value in a file that no opening can have. Field is its name
// in the file.
type FieldError struct {
	Field string
	Why   string
}

func (e *FieldError) Error() string { return e.Field + ": " + e.Why }
