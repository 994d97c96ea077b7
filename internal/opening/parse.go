package opening

import (
	"encoding/json"
	"errors"
	"reflect"
	"regexp"
	"unicode/utf8"
)

var openingType = reflect.TypeFor[Opening]()

// Parse reads one opening as it stands in a file, over the settings of its
// job; nil: the defaults. The error is FieldErrors with all that is wrong.
// What can be read in spite of it, the name above all, is there then too.
func Parse(raw []byte, settings *Crew) (Opening, error) {
	w := walk{raw: raw}
	w.record(openingType, "")
	var o Opening
	if settings != nil {
		own := *settings
		o.Settings = &own
	}
	if len(w.wrong) == 0 && !utf8.Valid(raw) {
		w.wrong = FieldErrors{{named(""), "is not UTF-8: save the file as UTF-8"}}
	}
	whole := raw
	if len(w.wrong) > 0 {
		if whole = w.readable(); whole == nil {
			return Opening{Name: NameIn(raw)}, w.wrong.orNil()
		}
	}
	if err := json.Unmarshal(whole, &o); err != nil {
		if len(w.wrong) == 0 {
			w.wrong = FieldErrors{fieldError(err)}
		}
		return o, w.wrong.orNil()
	}
	for _, e := range o.wrong() {
		if !w.wrong.about(e.Field) {
			w.wrong = append(w.wrong, e)
		}
	}
	return o, w.wrong.orNil()
}

func fieldError(err error) *FieldError {
	if field, ok := errors.AsType[*FieldError](err); ok {
		return field
	}
	return &FieldError{named(""), "is not JSON: " + err.Error()}
}

var nameForm = regexp.MustCompile(`"name"\s*:\s*("[^"\\]*")`)

// NameIn finds the name in a record that can't be read; "" for none that may be
// shown.
func NameIn(raw []byte) string {
	m := nameForm.FindSubmatch(raw)
	if m == nil {
		return ""
	}
	name, _ := text(m[1])
	return name
}
