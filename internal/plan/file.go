package plan

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"time"

	"github.com/invopop/jsonschema"
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// FieldError is a value in a file that no opening can have. Field is its name
// in the file.
type FieldError struct {
	Field string
	Why   string
}

func (e *FieldError) Error() string { return e.Field + ": " + e.Why }

// Read calls do for each opening in r, one at a time, so that memory does not
// grow with their number. r holds openings one after another, or one array of
// them. Unknown fields and impossible values are refused with the field's
// name and the opening's number. An error of do ends it.
func Read(r io.Reader, do func(Opening) error) error {
	in := bufio.NewReader(r)
	array, err := startsArray(in)
	if err != nil {
		return err
	}
	decoder := json.NewDecoder(in)
	decoder.DisallowUnknownFields()
	if array {
		if _, err := decoder.Token(); err != nil {
			return fmt.Errorf("reading the list of openings: %w", err)
		}
	}
	for n := 1; ; n++ {
		if array && !decoder.More() {
			return closeArray(decoder)
		}
		o, err := readOne(decoder)
		if errors.Is(err, io.EOF) && !array {
			return nil
		}
		if err == nil {
			err = do(o)
		}
		if err != nil {
			return fmt.Errorf("opening %d: %w", n, err)
		}
	}
}

func readOne(decoder *json.Decoder) (Opening, error) {
	var o Opening
	if err := decoder.Decode(&o); err != nil {
		return o, plainJSON(err)
	}
	return o, o.Check()
}

// startsArray looks at the first character that is not a space.
func startsArray(in *bufio.Reader) (bool, error) {
	for {
		c, err := in.ReadByte()
		if errors.Is(err, io.EOF) {
			return false, errors.New("the file is empty")
		}
		if err != nil {
			return false, fmt.Errorf("reading the openings: %w", err)
		}
		if c == ' ' || c == '\t' || c == '\r' || c == '\n' {
			continue
		}
		return c == '[', in.UnreadByte()
	}
}

// closeArray wants nothing after the array.
func closeArray(d *json.Decoder) error {
	if _, err := d.Token(); err != nil {
		return fmt.Errorf("the list of openings does not end: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows the list of openings")
	}
	return nil
}

// plainJSON says what a JSON error means in the file's own names.
func plainJSON(err error) error {
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) {
		return &FieldError{Field: wrong.Field, Why: "can't be a " + wrong.Value}
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return &FieldError{Field: strings.Trim(name, `"`), Why: "is not a field of an opening"}
	}
	return err
}

// The words that a field may have, for Check and Schema.
var known = map[reflect.Type][]string{
	reflect.TypeFor[safety.Nation](): {string(safety.England), string(safety.Wales), string(safety.Scotland), string(safety.NI)},
	reflect.TypeFor[safety.Room]():   {string(safety.Living), string(safety.Bedroom), string(safety.Kitchen), string(safety.Bathroom), string(safety.Hall)},
	reflect.TypeFor[calc.Finish]():   {string(calc.Bare), string(calc.Plaster), string(calc.Check)},
	reflect.TypeFor[calc.Material](): {string(calc.PVCUWhite), string(calc.PVCUColour), string(calc.Timber), string(calc.Steel), string(calc.Aluminium)},
	reflect.TypeFor[calc.Hinge](): {
		string(calc.FixedLight), string(calc.SideLeft), string(calc.SideRight), string(calc.TopHung),
		string(calc.BottomHung), string(calc.TiltTurnLeft), string(calc.TiltTurnRight),
	},
}

// oneOf refuses a word that the field's type does not have.
func oneOf[T ~string](field string, value T) error {
	words := known[reflect.TypeFor[T]()]
	if slices.Contains(words, string(value)) {
		return nil
	}
	return &FieldError{field, "must be one of " + strings.Join(words, ", ")}
}

// Check refuses what no opening can have, by the field's name in the file.
// What is only unwise is left to the plan's warnings.
func (o Opening) Check() error {
	if _, err := time.Parse(DateForm, o.Date); err != nil {
		return &FieldError{"date", "must be a day such as 2026-11-25"}
	}
	for _, err := range []error{
		oneOf("nation", o.Nation), oneOf("finish", o.Finish), oneOf("material", o.Material), oneOf("room", o.Room),
	} {
		if err != nil {
			return err
		}
	}
	for i, light := range o.Layout.Lights {
		if err := oneOf(fmt.Sprintf("layout.lights[%d].hinge", i), light.Hinge); err != nil {
			return err
		}
	}
	if len(o.Layout.Lights) == 0 {
		return &FieldError{"layout.lights", "must name at least one light"}
	}
	if o.Storey < 0 || o.Storey > 200 {
		return &FieldError{"storey", "must be 0 for the ground floor, 1 for the first, and so on"}
	}
	return o.checkLengths()
}

// checkLengths keeps every length within what a tape can say.
func (o Opening) checkLengths() error {
	most := decimal.NewFromInt(20000)
	for i := range 3 {
		for _, side := range []struct {
			field string
			mm    decimal.Decimal
		}{{"widths", o.Widths[i]}, {"heights", o.Heights[i]}} {
			if !side.mm.IsPositive() || side.mm.GreaterThan(most) {
				return &FieldError{fmt.Sprintf("%s[%d]", side.field, i), "must be a length in mm above 0 and at most 20000"}
			}
		}
	}
	if o.Rising.IsZero() != o.Falling.IsZero() {
		return &FieldError{"falling", "and rising must both be given, or neither"}
	}
	for _, c := range []struct {
		field string
		value decimal.Decimal
	}{
		{"rising", o.Rising}, {"falling", o.Falling}, {"inner.width", o.Inner.Width}, {"inner.height", o.Inner.Height},
		{"sill_depth", o.SillDepth}, {"vent_area", o.VentArea}, {"vent_area_new", o.VentAreaNew}, {"floor_area", o.FloorArea},
		{"ug", o.Ug}, {"uf", o.Uf}, {"psi", o.Psi}, {"wind_speed", o.WindSpeed}, {"gauge", o.Gauge},
	} {
		if c.value.IsNegative() || c.value.GreaterThan(decimal.NewFromInt(1_000_000)) {
			return &FieldError{c.field, "must be from 0 to 1000000"}
		}
	}
	return o.checkOptional(most)
}

func (o Opening) checkOptional(most decimal.Decimal) error {
	for _, c := range []struct {
		field string
		value *decimal.Decimal
	}{{"above_floor", o.AboveFloor}, {"above_outside", o.AboveOutside}, {"sill_fall", o.SillFall}, {"bed_joint", o.BedJoint}} {
		if c.value != nil && c.value.Abs().GreaterThan(most) {
			return &FieldError{c.field, "must be within 20000 mm"}
		}
	}
	for i, pane := range o.Panes {
		if pane.LessThan(decimal.NewFromInt(2)) || pane.GreaterThan(decimal.NewFromInt(50)) {
			return &FieldError{fmt.Sprintf("panes[%d]", i), "must be the thickness of a pane in mm, 2 to 50"}
		}
	}
	return nil
}

// Schema is the JSON Schema of an opening, as Read takes it, and of a report.
func Schema() ([]byte, error) {
	type plan struct {
		Opening Opening `json:"opening"`
		Report  Report  `json:"report"`
	}
	r := jsonschema.Reflector{Mapper: typeSchema, ExpandedStruct: true}
	out, err := json.MarshalIndent(r.Reflect(plan{}), "", "  ")
	if err != nil {
		return nil, fmt.Errorf("writing the schema: %w", err)
	}
	return append(out, '\n'), nil
}

// typeSchema is the schema of the types that reflection can't know.
func typeSchema(t reflect.Type) *jsonschema.Schema {
	if t == reflect.TypeFor[decimal.Decimal]() {
		return &jsonschema.Schema{Type: "number"}
	}
	words, ok := known[t]
	if !ok {
		return nil
	}
	s := &jsonschema.Schema{Type: "string"}
	for _, word := range words {
		s.Enum = append(s.Enum, word)
	}
	return s
}
