package opening

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

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

// WordsOf are the words that a field of type t may have; nil for other types.
func WordsOf(t reflect.Type) []string { return known[t] }

// The words that a field may have, for Check and Schema.
var known = map[reflect.Type][]string{
	reflect.TypeFor[safety.Nation]():     {string(safety.England), string(safety.Wales), string(safety.Scotland), string(safety.NI)},
	reflect.TypeFor[safety.Room]():       {string(safety.Living), string(safety.Bedroom), string(safety.Kitchen), string(safety.Bathroom), string(safety.Hall)},
	reflect.TypeFor[calc.Finish]():       {string(calc.Bare), string(calc.Plaster), string(calc.Check)},
	reflect.TypeFor[calc.Material]():     {string(calc.PVCUWhite), string(calc.PVCUColour), string(calc.Timber), string(calc.Steel), string(calc.Aluminium)},
	reflect.TypeFor[calc.Side]():         {string(calc.Left), string(calc.Right), string(calc.Head), string(calc.Sill)},
	reflect.TypeFor[calc.WindCode]():     {string(calc.EN1991), string(calc.BS6399)},
	reflect.TypeFor[calc.SealantClass](): {string(calc.Class25), string(calc.Class20), string(calc.Class125), string(calc.Class75)},
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

// between refuses a figure outside a range, ends included.
func between(field string, d decimal.Decimal, least, most int64) error {
	if d.LessThan(decimal.NewFromInt(least)) || d.GreaterThan(decimal.NewFromInt(most)) {
		return &FieldError{field, fmt.Sprintf("must be from %d to %d", least, most)}
	}
	return nil
}

// span is a figure of the record and the range it may have.
type span struct {
	field       string
	value       decimal.Decimal
	least, most int64
}

func checkSpans(spans ...span) error {
	for _, s := range spans {
		if err := between(s.field, s.value, s.least, s.most); err != nil {
			return err
		}
	}
	return nil
}

// Check refuses what no opening can have, by the field's name in the file.
// What is only unwise is left to the plan's warnings.
func (o Opening) Check() error {
	if _, err := time.Parse(DateForm, o.Date); err != nil {
		return &FieldError{"date", "must be a day such as 2026-11-25"}
	}
	for _, check := range []func() error{o.checkWords, o.checkLayout, o.checkReadings, o.checkFigures, o.checkSashes, o.checkGoods} {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

func (o Opening) checkWords() error {
	for _, err := range []error{
		oneOf("nation", o.Nation), oneOf("finish", o.Finish), oneOf("material", o.Material), oneOf("room", o.Room),
	} {
		if err != nil {
			return err
		}
	}
	if o.TightTo != "" {
		if err := oneOf("tight_to", o.TightTo); err != nil {
			return err
		}
	}
	if o.WindCode != "" {
		if err := oneOf("wind_code", o.WindCode); err != nil {
			return err
		}
	}
	if o.Storey < 0 || o.Storey > 200 {
		return &FieldError{"storey", "must be 0 for the ground floor, 1 for the first, and so on"}
	}
	if o.Count < 0 || o.Count > countMost {
		return &FieldError{"count", fmt.Sprintf("must be from 1 to %d equal windows", countMost)}
	}
	return nil
}

// checkLayout leaves to calc what hangs on the frame's size.
func (o Opening) checkLayout() error {
	l := o.Layout
	if len(l.Lights) == 0 {
		return &FieldError{"layout.lights", "must name at least one light"}
	}
	for i, light := range l.Lights {
		field := fmt.Sprintf("layout.lights[%d].", i)
		if err := oneOf(field+"hinge", light.Hinge); err != nil {
			return err
		}
		if light.Row < 0 || light.Row > 1 {
			return &FieldError{field + "row", "must be 0 below the transom or 1 above it"}
		}
		if light.Column < 0 || light.Column > 31 {
			return &FieldError{field + "column", "must be from 0 at the left to 31"}
		}
	}
	for name, bars := range map[string][]decimal.Decimal{"layout.mullions": l.Mullions, "layout.transoms": l.Transoms} {
		for i, at := range bars {
			if err := between(fmt.Sprintf("%s[%d]", name, i), at, 0, tapeMost); err != nil {
				return err
			}
		}
	}
	return nil
}

func (o Opening) checkReadings() error {
	for i := range 3 {
		for _, side := range []struct {
			field string
			mm    decimal.Decimal
		}{{"widths", o.Widths[i]}, {"heights", o.Heights[i]}} {
			if !side.mm.IsPositive() || side.mm.GreaterThan(decimal.NewFromInt(tapeMost)) {
				return &FieldError{fmt.Sprintf("%s[%d]", side.field, i), "must be a length in mm above 0 and at most 20000"}
			}
		}
	}
	if o.Rising.IsZero() != o.Falling.IsZero() {
		return &FieldError{"falling", "and rising must both be given, or neither"}
	}
	for _, c := range []struct {
		field string
		value *decimal.Decimal
	}{{"above_floor", o.AboveFloor}, {"above_outside", o.AboveOutside}, {"sill_fall", o.SillFall}, {"bed_joint", o.BedJoint}} {
		if c.value != nil && c.value.Abs().GreaterThan(decimal.NewFromInt(tapeMost)) {
			return &FieldError{c.field, "must be within 20000 mm"}
		}
	}
	return nil
}

func (o Opening) checkFigures() error {
	for i, pane := range o.Panes {
		if err := between(fmt.Sprintf("panes[%d]", i), pane, 2, 50); err != nil {
			return &FieldError{fmt.Sprintf("panes[%d]", i), "must be the thickness of a pane in mm, 2 to 50"}
		}
	}
	if o.WindSpeed.IsPositive() && o.WindPressure.IsPositive() {
		return &FieldError{"wind_pressure", "and wind_speed can't both be given"}
	}
	return checkSpans(
		span{"rising", o.Rising, 0, 2 * tapeMost}, span{"falling", o.Falling, 0, 2 * tapeMost},
		span{"inner.width", o.Inner.Width, 0, tapeMost}, span{"inner.height", o.Inner.Height, 0, tapeMost},
		span{"sill_depth", o.SillDepth, 0, 1000}, span{"gauge", o.Gauge, 0, 1000}, span{"restrictor", o.Restrictor, 0, tapeMost},
		span{"vent_area", o.VentArea, 0, manyMost}, span{"vent_area_new", o.VentAreaNew, 0, manyMost},
		span{"other_vents", o.OtherVents, 0, manyMost}, span{"other_old_vents", o.OtherOldVents, 0, manyMost},
		span{"vent_each", o.VentEach, 0, manyMost}, span{"floor_area", o.FloorArea, 0, 10_000},
		span{"ug", o.Ug, 0, 10}, span{"uf", o.Uf, 0, 20}, span{"psi", o.Psi, 0, 1},
		span{"wind_speed", o.WindSpeed, 0, 150}, span{"wind_pressure", o.WindPressure, 0, 20_000},
		span{"screw_allows", o.ScrewAllows, 0, manyMost},
	)
}

func (o Opening) checkSashes() error {
	seen := map[int]bool{}
	for i, s := range o.Sashes {
		at := fmt.Sprintf("sashes[%d].", i)
		if s.Light < 1 || s.Light > len(o.Layout.Lights) {
			return &FieldError{at + "light", fmt.Sprintf("must be the number of a light, from 1 to %d", len(o.Layout.Lights))}
		}
		if seen[s.Light] {
			return &FieldError{at + "light", fmt.Sprintf("is %d a second time", s.Light)}
		}
		seen[s.Light] = true
		if err := s.check(at, o.Layout.Lights[s.Light-1].Hinge); err != nil {
			return err
		}
	}
	return nil
}

func (s Sash) check(at string, h calc.Hinge) error {
	if h == calc.FixedLight {
		return &FieldError{at + "light", "is a fixed light, which has no sash"}
	}
	if err := checkSpans(
		span{at + "angle", s.Angle, 0, 180}, span{at + "restrictor", s.Restrictor, 0, tapeMost},
		span{at + "clear.width", s.Clear.Width, 0, tapeMost}, span{at + "clear.height", s.Clear.Height, 0, tapeMost},
		span{at + "heel_toe", s.HeelToe, 0, 2 * tapeMost}, span{at + "across", s.Across, 0, 2 * tapeMost},
		span{at + "size.width", s.Size.Width, 0, tapeMost}, span{at + "size.height", s.Size.Height, 0, tapeMost},
	); err != nil {
		return err
	}
	if s.Clear.Width.IsZero() != s.Clear.Height.IsZero() {
		return &FieldError{at + "clear", "must have a width and a height"}
	}
	if s.HeelToe.IsZero() && s.Across.IsZero() {
		return nil
	}
	switch {
	case s.HeelToe.IsZero() || s.Across.IsZero():
		return &FieldError{at + "heel_toe", "and across must both be given, or neither"}
	case s.Size.Width.IsZero() || s.Size.Height.IsZero():
		return &FieldError{at + "size", "must be given with the sash's diagonals"}
	case h == calc.TopHung || h == calc.BottomHung:
		return &FieldError{at + "heel_toe", "is for a sash that hangs on one side"}
	}
	return nil
}

// checkGoods keeps what is bought and made good within reason.
func (o Opening) checkGoods() error {
	for i, piece := range o.Trims {
		field := fmt.Sprintf("trims[%d]", i)
		if err := between(field, piece, 1, tapeMost); err != nil {
			return err
		}
	}
	for i, p := range o.Patches {
		if err := p.check(fmt.Sprintf("patches[%d].", i)); err != nil {
			return err
		}
	}
	if o.Settings != nil {
		if err := o.Settings.Check("settings."); err != nil {
			return err
		}
	}
	return CheckPrices("prices", o.Prices)
}

func (p Patch) check(at string) error {
	if err := checkSpans(span{at + "length", p.Length, 1, tapeMost}, span{at + "width", p.Width, 1, tapeMost}, span{at + "depth", p.Depth, 0, 100}); err != nil {
		return err
	}
	if p.Depth.IsZero() == (len(p.Coats) == 0) {
		return &FieldError{at + "depth", "or coats must be given, not both"}
	}
	for i, c := range p.Coats {
		coat := fmt.Sprintf("%scoats[%d].", at, i)
		if err := between(coat+"thickness", c.Thickness, 1, 100); err != nil {
			return err
		}
		if p.ReadyMix {
			continue
		}
		if err := between(coat+"sand", c.Sand, 1, 20); err != nil {
			return err
		}
	}
	return nil
}

// CheckPrices refuses prices that no bill can have; list is their name in the
// file.
func CheckPrices(list string, prices []Price) error {
	for i, p := range prices {
		at := fmt.Sprintf("%s[%d].", list, i)
		if p.What == "" {
			return &FieldError{at + "what", "must say what it is for"}
		}
		if err := between(at+"each", p.Each, -manyMost, manyMost); err != nil {
			return err
		}
		if p.Quantity != nil {
			if err := between(at+"quantity", *p.Quantity, 0, manyMost); err != nil {
				return err
			}
		}
		if p.VATRate != nil {
			if err := between(at+"vat_rate", *p.VATRate, 0, 1); err != nil {
				return err
			}
		}
	}
	return nil
}
