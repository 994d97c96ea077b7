package opening

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"
)

// Strict holds one JSON value of a record against the type that it will be
// read into. Unlike encoding/json alone it names the place of all that is
// wrong, takes no list of the wrong length for one of a fixed length, lets no
// number in whose arithmetic would never end, and no text that hides something.
// The error is FieldErrors.
func Strict(raw json.RawMessage, t reflect.Type, at string) error {
	w := walk{raw: raw}
	w.record(t, at)
	return w.wrong.orNil()
}

// Limits of a record, each far more than any window has.
const (
	numberDigits = 25
	numberPlaces = 15
	mostText     = 200 // characters of one text
	mostItems    = 100 // of a list that itemLimits does not name
	mostFields   = 300 // of one object
)

// itemLimits are the most elements of a list, by its name.
var itemLimits = map[string]int{
	"panes": 6, "lights": 64, "mullions": 31, "transoms": 32, "sashes": 64, "coats": 10,
}

// MostItems is the most elements that a list of that name may have.
func MostItems(name string) int {
	if most, ok := itemLimits[name]; ok {
		return most
	}
	return mostItems
}

// walk goes through a record once, from its first character to its last. What
// is wrong with one value does not keep it from the next.
type walk struct {
	raw    []byte
	pos    int
	wrong  FieldErrors
	bad    [][2]int // where the wrong values stand
	broken bool     // nothing can be read from pos on
}

// record is the one value of a record.
func (w *walk) record(t reflect.Type, at string) {
	w.value(t, at)
	if w.blanks(); !w.broken && w.pos < len(w.raw) {
		w.breaks(at)
	}
}

// refuse notes a wrong value that ends here.
func (w *walk) refuse(from int, at, why string) {
	w.wrong = append(w.wrong, &FieldError{named(at), why})
	w.bad = append(w.bad, [2]int{from, w.pos})
	w.broken = w.broken || len(w.wrong) >= mostFieldErrors
}

// breaks notes that what follows can't be told apart.
func (w *walk) breaks(at string) {
	w.refuse(w.pos, at, fmt.Sprintf("is not JSON: a comma, colon, quote or bracket is missing or too many, at character %d", w.pos+1))
	w.broken = true
}

// readable is the record with null for the wrong values; nil when it is broken.
func (w *walk) readable() []byte {
	if w.broken {
		return nil
	}
	// A list that is wrong as a whole holds what was wrong in it before.
	slices.SortFunc(w.bad, func(a, b [2]int) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(b[1], a[1])) })
	var out []byte
	from := 0
	for _, bad := range w.bad {
		if bad[0] < from {
			continue
		}
		out = append(append(out, w.raw[from:bad[0]]...), "null"...)
		from = bad[1]
	}
	return append(out, w.raw[from:]...)
}

func (w *walk) value(t reflect.Type, at string) {
	w.blanks()
	start := w.pos
	mayMiss := t.Kind() == reflect.Pointer || t.Kind() == reflect.Map
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	isNumber := t == numberType
	switch {
	case !isNumber && (t.Kind() == reflect.Struct || t.Kind() == reflect.Map) && w.peek() == '{':
		w.object(t, at)
		return
	case (t.Kind() == reflect.Slice || t.Kind() == reflect.Array) && w.peek() == '[':
		w.list(t, at)
		return
	}
	raw := w.skip()
	if mayMiss && string(raw) == "null" {
		return
	}
	if why := scalar(raw, t); why != "" {
		w.refuse(start, at, why)
	}
}

var numberType = reflect.TypeFor[decimal.Decimal]()

// scalar is why a value that is no object and no list can't be read into t.
func scalar(raw []byte, t reflect.Type) (why string) {
	if t == numberType {
		return figure(raw)
	}
	switch t.Kind() {
	case reflect.Struct, reflect.Map:
		return "must be an object"
	case reflect.Slice, reflect.Array:
		return "must be a list"
	case reflect.String:
		if string(raw) == "null" {
			return ""
		}
		_, why = text(raw)
		return why
	case reflect.Bool:
		if why = "must be true or false"; string(raw) == "true" || string(raw) == "false" {
			return ""
		}
	default:
		if why = "must be a whole number"; len(raw) == 1 && raw[0] >= '0' && raw[0] <= '9' {
			return ""
		}
	}
	if json.Unmarshal(raw, reflect.New(t).Interface()) != nil {
		return why
	}
	return ""
}

// figure is why a value can't be a figure. NaN and the like are none.
func figure(raw []byte) (why string) {
	if plainFigure(raw) {
		return ""
	}
	var d decimal.Decimal
	if len(raw) > 60 || !json.Valid(raw) || string(raw) == "null" || d.UnmarshalJSON(raw) != nil ||
		d.Exponent() > numberPlaces || d.Exponent() < -numberPlaces || d.NumDigits() > numberDigits {
		return "must be a number such as 1204 or 7.5"
	}
	return ""
}

// plainFigure tells at a glance that a value is a figure such as 1204 or
// "7.5", as nearly all are.
func plainFigure(raw []byte) bool {
	if n := len(raw); n > 2 && raw[0] == '"' && raw[n-1] == '"' {
		raw = raw[1 : n-1]
	}
	whole, places, dot := bytes.Cut(raw, []byte{'.'})
	digits := func(b []byte) bool {
		return len(b) > 0 && len(b) <= 9 && !bytes.ContainsFunc(b, func(r rune) bool { return r < '0' || r > '9' })
	}
	return digits(whole) && (whole[0] != '0' || len(whole) == 1) && (!dot || digits(places))
}

// text is what stands in quotes, and why a record may not say it.
func text(raw []byte) (s, why string) {
	if len(raw) < 2 || raw[0] != '"' {
		return "", "must be text in quotes"
	}
	if !utf8.Valid(raw) {
		return "", "is not UTF-8: save the file as UTF-8"
	}
	s = string(raw[1 : len(raw)-1])
	if strings.Contains(s, `\`) && json.Unmarshal(raw, &s) != nil {
		return "", "must be text in quotes"
	}
	for _, r := range s {
		switch {
		case r == utf8.RuneError:
			return "", "has a letter that was lost, U+FFFD: save the file as UTF-8"
		case hides(r):
			return "", fmt.Sprintf("has U+%04X, a control or turning mark", r)
		}
	}
	if utf8.RuneCountInString(s) > mostText {
		return "", fmt.Sprintf("must have at most %d characters", mostText)
	}
	return s, ""
}

// hides tells whether a mark is not seen but changes what is: a control
// character, one that breaks a line, or one that turns the direction of text.
func hides(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Bidi_Control, unicode.Zl, unicode.Zp) || r == '\uFEFF'
}

// object holds an object against a struct, whose fields have names, or a map,
// which takes any.
func (w *walk) object(t reflect.Type, at string) {
	if at != "" {
		at += "."
	}
	var seen []string // few, and each of them once
	w.pos++
	if w.blanks(); w.take('}') {
		return
	}
	for !w.broken {
		if len(seen) > mostFields {
			w.breaks(strings.TrimSuffix(at, "."))
			return
		}
		w.blanks()
		quoted := w.peek() == '"'
		name, why := text(w.skip())
		if !quoted || w.blankThen(':') == 0 {
			w.breaks(strings.TrimSuffix(at, "."))
			return
		}
		w.member(t, at, name, why, slices.Contains(seen, name))
		seen = append(seen, name)
		if end := w.blankThen('}', ','); end == '}' {
			return
		} else if end == 0 && !w.broken {
			w.breaks(at + name)
		}
	}
}

// member is one value of an object, under a name that may be none of its own.
func (w *walk) member(t reflect.Type, at, name, why string, again bool) {
	of, known := t, t.Kind() == reflect.Map
	if known {
		of = t.Elem()
	} else if field, ok := fieldsOf(t)[name]; ok {
		of, known = field.Type, true
	}
	w.blanks()
	start := w.pos
	switch {
	case why != "":
		w.skip()
		w.refuse(start, at+"a name of a field", why)
	case !known:
		w.skip()
		w.refuse(start, at+name, "is not a field here")
	case again:
		// The last of the two would count, and nobody would see the other.
		w.skip()
		w.refuse(start, at+name, "stands there twice")
	default:
		w.value(of, at+name)
	}
}

func (w *walk) list(t reflect.Type, at string) {
	start, wrong := w.pos, len(w.wrong)
	most := MostItems(at[strings.LastIndexByte(at, '.')+1:])
	if t.Kind() == reflect.Array {
		most = t.Len()
	}
	n := 0
	w.pos++
	w.blanks()
	for end := byte(','); !w.broken && end == ',' && (n > 0 || !w.take(']')); n++ {
		if n == most {
			w.bad, w.wrong = w.bad[:len(w.bad)-(len(w.wrong)-wrong)], w.wrong[:wrong]
			w.pos = start
			w.skip()
			w.refuse(start, at, tooMany(t, most))
			return
		}
		w.value(t.Elem(), at+"["+strconv.Itoa(n)+"]")
		if end = w.blankThen(']', ','); end == 0 && !w.broken {
			w.breaks(at)
		}
	}
	if t.Kind() == reflect.Array && n != most && !w.broken {
		w.refuse(start, at, tooMany(t, most))
	}
}

func tooMany(t reflect.Type, most int) string {
	if t.Kind() == reflect.Array {
		return "must have " + strconv.Itoa(most) + " values"
	}
	return "must have at most " + strconv.Itoa(most) + " values"
}

func (w *walk) peek() byte {
	if w.pos == len(w.raw) {
		return 0
	}
	return w.raw[w.pos]
}

func (w *walk) take(c byte) bool {
	if w.peek() != c {
		return false
	}
	w.pos++
	return true
}

// blankThen takes one of the characters, after blanks; 0 when none stands there.
func (w *walk) blankThen(any ...byte) byte {
	w.blanks()
	for _, c := range any {
		if w.take(c) {
			return c
		}
	}
	return 0
}

func (w *walk) blanks() {
	for w.pos < len(w.raw) && isBlank(w.raw[w.pos]) {
		w.pos++
	}
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\n' }

// skip takes a value of any kind as it stands: an object or a list to its end,
// or what there is up to the next mark between values.
func (w *walk) skip() []byte {
	start, depth := w.pos, 0
	for w.pos < len(w.raw) {
		switch c := w.raw[w.pos]; {
		case c == '"':
			w.quoted()
			if depth == 0 {
				return w.raw[start:w.pos]
			}
			continue
		case c == '{' || c == '[':
			depth++
		case c == '}' || c == ']':
			if depth == 0 {
				return w.raw[start:w.pos]
			}
			if depth--; depth == 0 {
				w.pos++
				return w.raw[start:w.pos]
			}
		case depth == 0 && (c == ',' || c == ':' || isBlank(c)):
			return w.raw[start:w.pos]
		}
		w.pos++
	}
	return w.raw[start:]
}

// quoted takes text in quotes.
func (w *walk) quoted() {
	for w.pos++; w.pos < len(w.raw); w.pos++ {
		switch w.raw[w.pos] {
		case '\\':
			w.pos = min(w.pos+1, len(w.raw)-1)
		case '"':
			w.pos++
			return
		}
	}
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
