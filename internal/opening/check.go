package opening

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// WordsOf are the words that a field of type t may have; nil for other types.
func WordsOf(t reflect.Type) []string { return known[t] }

// The words that a field may have, for Check and Schema.
var known = map[reflect.Type][]string{
	reflect.TypeFor[safety.Nation]():     {string(safety.England), string(safety.Wales), string(safety.Scotland), string(safety.NI)},
	reflect.TypeFor[safety.Room]():       {string(safety.Living), string(safety.Bedroom), string(safety.Kitchen), string(safety.Bathroom), string(safety.Hall)},
	reflect.TypeFor[calc.Finish]():       {string(calc.Bare), string(calc.Plaster), string(calc.Check)},
	reflect.TypeFor[calc.Material]():     {string(calc.PVCUWhite), string(calc.PVCUColour), string(calc.Timber), string(calc.Steel), string(calc.Aluminium)},
	reflect.TypeFor[calc.Side]():         {string(calc.Left), string(calc.Right), string(calc.Head), string(calc.Sill)},
	reflect.TypeFor[calc.Masonry]():      {string(calc.SolidBrick), string(calc.Concrete), string(calc.Aerated), string(calc.Hollow)},
	reflect.TypeFor[calc.WindCode]():     {string(calc.EN1991), string(calc.BS6399)},
	reflect.TypeFor[calc.SealantClass](): {string(calc.Class25), string(calc.Class20), string(calc.Class125), string(calc.Class75)},
	reflect.TypeFor[calc.Hinge](): {
		string(calc.FixedLight), string(calc.SideLeft), string(calc.SideRight), string(calc.TopHung),
		string(calc.BottomHung), string(calc.TiltTurnLeft), string(calc.TiltTurnRight),
	},
}

// Check refuses what no opening can have, by the field's name in the file: what
// the table says of each field by itself, and what does not go together. What is
// only unwise is left to the plan's warnings.
func (o Opening) Check() error {
	if _, err := time.Parse(DateForm, o.Date); err != nil {
		return &FieldError{"date", "must be a day such as 2026-11-25"}
	}
	if err := checkRows(&o, "", 0, ""); err != nil {
		return err
	}
	switch {
	case len(o.Layout.Lights) == 0:
		return &FieldError{"layout.lights", "must name at least one light"}
	case o.Rising.IsZero() != o.Falling.IsZero():
		return &FieldError{"falling", "and rising must both be given, or neither"}
	case o.WindSpeed.IsPositive() && o.WindPressure.IsPositive():
		return &FieldError{"wind_pressure", "and wind_speed can't both be given"}
	}
	if err := o.checkSashes(); err != nil {
		return err
	}
	for i, p := range o.Patches {
		if err := p.check(fmt.Sprintf("patches[%d].", i)); err != nil {
			return err
		}
	}
	return checkNamed("prices", o.Prices)
}

// Check refuses settings that no crew can have; in is where they stand in the
// file, such as "job.".
func (c Crew) Check(in string) error { return checkRows(&c, "settings", 1, in) }

// CheckPrices refuses prices that no bill can have; in is where they stand in
// the file, such as "job.".
func CheckPrices(in string, prices []Price) error {
	if err := checkRows(&prices, "prices", 1, in); err != nil {
		return err
	}
	return checkNamed(in+"prices", prices)
}

// checkRows holds a record against the rows, or one part of it, that many steps
// into the record, against those that begin with its name.
func checkRows(part any, name string, into int, in string) error {
	root := reflect.ValueOf(part).Elem()
	for _, f := range table {
		if strings.HasPrefix(f.File, name) && len(f.steps) > into {
			if err := f.check(root, f.steps[into:], in); err != nil {
				return err
			}
		}
	}
	return nil
}

// check holds what a record says of the field against what it may be. The root
// is where the steps begin, in what stands before it in the file.
func (f *Field) check(root reflect.Value, steps []step, in string) error {
	for v, at := range placesIn(root, steps) {
		why := ""
		for _, key := range at {
			if material, ok := key.(calc.Material); ok {
				why = f.refusal(reflect.ValueOf(material))
			}
		}
		if v.Kind() == reflect.Pointer {
			v = v.Elem()
		}
		if why == "" && v.IsValid() {
			why = f.refusal(v)
		}
		if why != "" {
			return &FieldError{in + f.place(at), why}
		}
	}
	return nil
}

// refusal is why the field can't have the value; "" when it can.
func (f *Field) refusal(v reflect.Value) string {
	if words := known[v.Type()]; words != nil {
		if word := v.String(); slices.Contains(words, word) || word == "" && f.Is(Optional) {
			return ""
		}
		return "must be one of " + strings.Join(words, ", ")
	}
	var d decimal.Decimal
	switch {
	case f.Least == 0 && f.Most == 0:
		return ""
	case f.Kind == Words:
		if int64(utf8.RuneCountInString(v.String())) > f.Most {
			return fmt.Sprintf("must have at most %d characters", f.Most)
		}
		return ""
	case v.Kind() == reflect.Int:
		d = decimal.NewFromInt(v.Int())
	default:
		d = v.Interface().(decimal.Decimal)
	}
	switch {
	case !d.LessThan(f.least) && !d.GreaterThan(f.most) && !(f.Is(Above) && d.Equal(f.least)):
		return ""
	case f.Is(Above):
		return strings.TrimSpace(fmt.Sprintf("must be above %d and at most %d %s", f.Least, f.Most, f.Unit))
	}
	return strings.TrimSpace(fmt.Sprintf("must be from %d to %d %s", f.Least, f.Most, f.Unit))
}

// place is File with the numbers of the elements and the keys filled in.
func (f *Field) place(at []any) string {
	place := strings.ReplaceAll(f.File, "*", "#")
	for _, key := range at {
		place = strings.Replace(place, "#", fmt.Sprint(key), 1)
	}
	return place
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

func (p Patch) check(at string) error {
	if p.Depth.IsZero() == (len(p.Coats) == 0) {
		return &FieldError{at + "depth", "or coats must be given, not both"}
	}
	for i, c := range p.Coats {
		if most := decimal.NewFromInt(20); !p.ReadyMix && (c.Sand.LessThan(decimal.NewFromInt(1)) || c.Sand.GreaterThan(most)) {
			return &FieldError{fmt.Sprintf("%scoats[%d].sand", at, i), "must be from 1 to 20"}
		}
	}
	return nil
}

func checkNamed(list string, prices []Price) error {
	for i, p := range prices {
		if p.What == "" {
			return &FieldError{fmt.Sprintf("%s[%d].what", list, i), "must say what it is for"}
		}
	}
	return nil
}
