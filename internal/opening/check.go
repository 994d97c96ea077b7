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
	reflect.TypeFor[safety.Over]():       {string(safety.OverLintel), string(safety.OverArch), string(safety.OverTimber), string(safety.OverBricks), string(safety.OverHidden)},
	reflect.TypeFor[safety.Way]():        {string(safety.ByInstaller), string(safety.ByNotice)},
	reflect.TypeFor[calc.Finish]():       {string(calc.Bare), string(calc.Plaster), string(calc.Check)},
	reflect.TypeFor[calc.Material]():     {string(calc.PVCUWhite), string(calc.PVCUColour), string(calc.Timber), string(calc.Steel), string(calc.Aluminium)},
	reflect.TypeFor[calc.Side]():         {string(calc.Left), string(calc.Right), string(calc.Head), string(calc.Sill)},
	reflect.TypeFor[calc.Masonry]():      {string(calc.SolidBrick), string(calc.Concrete), string(calc.Aerated), string(calc.Hollow)},
	reflect.TypeFor[calc.WallKind]():     {string(calc.HardWall), string(calc.LimeWall)},
	reflect.TypeFor[calc.WindCode]():     {string(calc.EN1991), string(calc.BS6399)},
	reflect.TypeFor[calc.SealantClass](): {string(calc.Class25), string(calc.Class20), string(calc.Class125), string(calc.Class75)},
	reflect.TypeFor[Opens]():             {"in", "out"},
	reflect.TypeFor[Locking]():           {"key", "nokey"},
	reflect.TypeFor[SafetyGlass]():       {"toughened", "laminated", "mixed"},
	reflect.TypeFor[Coating]():           {"soft", "hard", "uncoated"},
	reflect.TypeFor[Gas]():               {"argon", "krypton", "air"},
	reflect.TypeFor[Spacer]():            {"warm", "metal"},
	reflect.TypeFor[VentPlace]():         {"frame", "sash", "over"},
	reflect.TypeFor[SillFixing]():        {"fixed", "loose"},
	reflect.TypeFor[Stays]():             {"each", "no"},
	reflect.TypeFor[Glazing]():           {"glazed", "loose"},
	reflect.TypeFor[Packing]():           {"wrapped", "stillage", "open"},
	reflect.TypeFor[calc.Hinge](): {
		string(calc.FixedLight), string(calc.SideLeft), string(calc.SideRight), string(calc.TopHung),
		string(calc.BottomHung), string(calc.TiltTurnLeft), string(calc.TiltTurnRight),
	},
}

// Check refuses what no opening can have, by the field's name in the file: what
// the table says of each field by itself, and what does not go together. What is
// only unwise is left to the plan's warnings. The error is FieldErrors.
func (o Opening) Check() error { return o.wrong().orNil() }

// A day of work is in these years: the rules that are held against it begin
// with the first, and beyond the last is a slip.
const (
	firstYear = 2000
	lastYear  = 2100
)

// wrong is all that Check refuses. What goes together is looked at where each
// field by itself is right.
func (o Opening) wrong() FieldErrors {
	var wrong FieldErrors
	if day, err := time.Parse(DateForm, o.Date); err != nil || day.Year() < firstYear || day.Year() > lastYear {
		wrong = append(wrong, &FieldError{"date", fmt.Sprintf("must be a day such as 2026-11-25, from %d to %d", firstYear, lastYear)})
	}
	wrong = append(wrong, checkRows(&o, "", 0, "")...)
	if len(o.Layout.Lights) == 0 {
		wrong = append(wrong, &FieldError{"layout.lights", "must name at least one light"})
	}
	if len(wrong) > 0 {
		return wrong
	}
	if o.Rising.IsZero() != o.Falling.IsZero() {
		wrong = append(wrong, &FieldError{"falling", "and rising must both be given, or neither"})
	}
	if o.WindSpeed.IsPositive() && o.WindPressure.IsPositive() {
		wrong = append(wrong, &FieldError{"wind_pressure", "and wind_speed can't both be given"})
	}
	wrong = append(append(append(wrong, o.checkSashes()...), o.checkPanes()...), o.checkRebates()...)
	for i, p := range o.Patches {
		wrong = append(wrong, p.check(fmt.Sprintf("patches[%d].", i))...)
	}
	return append(wrong, checkNamed("prices", o.Prices)...)
}

// Check refuses settings that no crew can have; in is where they stand in the
// file, such as "job.". The error is FieldErrors.
func (c Crew) Check(in string) error { return checkRows(&c, "settings", 1, in).orNil() }

// CheckPrices refuses prices that no bill can have; in is where they stand in
// the file, such as "job.". The error is FieldErrors.
func CheckPrices(in string, prices []Price) error {
	return append(checkRows(&prices, "prices", 1, in), checkNamed(in+"prices", prices)...).orNil()
}

// checkRows holds a record against the rows, or one part of it, that many steps
// into the record, against those that begin with its name.
func checkRows(part any, name string, into int, in string) (wrong FieldErrors) {
	root := reflect.ValueOf(part).Elem()
	for _, f := range table {
		if strings.HasPrefix(f.File, name) && len(f.steps) > into {
			wrong = append(wrong, f.check(root, f.steps[into:], in)...)
		}
	}
	return wrong
}

// check holds what a record says of the field against what it may be. The root
// is where the steps begin, in what stands before it in the file.
func (f *Field) check(root reflect.Value, steps []step, in string) FieldErrors {
	if v, ok := placeIn(root, steps); ok { // as most are
		return f.refuse(nil, v, nil, in)
	}
	return f.checkAll(root, steps, in)
}

func (f *Field) checkAll(root reflect.Value, steps []step, in string) (wrong FieldErrors) {
	for v, at := range placesIn(root, steps) {
		wrong = f.refuse(wrong, v, at, in)
	}
	return wrong
}

// refuse adds what is wrong with the value at a place.
func (f *Field) refuse(wrong FieldErrors, v reflect.Value, at []any, in string) FieldErrors {
	if why := f.refusalAt(v, at); why != "" {
		wrong = append(wrong, &FieldError{in + f.place(at), why})
	}
	return wrong
}

// refusalAt is refusal for the value at a place, which may be a material that
// there is none of.
func (f *Field) refusalAt(v reflect.Value, at []any) string {
	for _, key := range at {
		if material, ok := key.(calc.Material); ok {
			if why := f.refusal(reflect.ValueOf(material)); why != "" {
				return why
			}
		}
	}
	if v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	if !v.IsValid() {
		return ""
	}
	return f.refusal(v)
}

// refusal is why the field can't have the value; "" when it can.
func (f *Field) refusal(v reflect.Value) string {
	if words := known[v.Type()]; v.Kind() == reflect.String && words != nil {
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
	case v.CanAddr():
		d = *v.Addr().Interface().(*decimal.Decimal) // takes no copy
	default:
		d = v.Interface().(decimal.Decimal)
	}
	switch {
	case d.IsZero() && f.Is(Optional):
		return ""
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

func (o Opening) checkSashes() (wrong FieldErrors) {
	seen := map[int]bool{}
	for i, s := range o.Sashes {
		at := fmt.Sprintf("sashes[%d].", i)
		switch {
		case s.Light < 1 || s.Light > len(o.Layout.Lights):
			wrong = append(wrong, &FieldError{at + "light", fmt.Sprintf("must be the number of a light, from 1 to %d", len(o.Layout.Lights))})
		case seen[s.Light]:
			wrong = append(wrong, &FieldError{at + "light", fmt.Sprintf("is %d a second time", s.Light)})
		default:
			wrong = append(wrong, s.check(at, o.Layout.Lights[s.Light-1].Hinge)...)
		}
		seen[s.Light] = true
	}
	return wrong
}

func (s Sash) check(at string, h calc.Hinge) (wrong FieldErrors) {
	if h == calc.FixedLight {
		return FieldErrors{{at + "light", "is a fixed light, which has no sash"}}
	}
	if s.Clear.Width.IsZero() != s.Clear.Height.IsZero() {
		wrong = FieldErrors{{at + "clear", "must have a width and a height"}}
	}
	if s.HeelToe.IsZero() && s.Across.IsZero() {
		return wrong
	}
	switch {
	case s.HeelToe.IsZero() || s.Across.IsZero():
		wrong = append(wrong, &FieldError{at + "heel_toe", "and across must both be given, or neither"})
	case s.Size.Width.IsZero() || s.Size.Height.IsZero():
		wrong = append(wrong, &FieldError{at + "size", "must be given with the sash's diagonals"})
	case h == calc.TopHung || h == calc.BottomHung:
		wrong = append(wrong, &FieldError{at + "heel_toe", "is for a sash that hangs on one side"})
	}
	return wrong
}

func (p Patch) check(at string) (wrong FieldErrors) {
	if p.Depth.IsZero() == (len(p.Coats) == 0) {
		wrong = FieldErrors{{at + "depth", "or coats must be given, not both"}}
	}
	for i, c := range p.Coats {
		if most := decimal.NewFromInt(20); !p.ReadyMix && (c.Sand.LessThan(decimal.NewFromInt(1)) || c.Sand.GreaterThan(most)) {
			wrong = append(wrong, &FieldError{fmt.Sprintf("%scoats[%d].sand", at, i), "must be from 1 to 20"})
		}
	}
	return wrong
}

func checkNamed(list string, prices []Price) (wrong FieldErrors) {
	for i, p := range prices {
		if p.What == "" {
			wrong = append(wrong, &FieldError{fmt.Sprintf("%s[%d].what", list, i), "must say what it is for"})
		}
	}
	return wrong
}

// checkRebates refuses a rebate of a light that the window doesn't have, or of one twice,
// and half a size.
func (o Opening) checkRebates() (wrong FieldErrors) {
	seen := map[int]bool{}
	for i, r := range o.Rebates {
		at := fmt.Sprintf("rebates[%d].", i)
		switch {
		case r.Light < 1 || r.Light > len(o.Layout.Lights):
			wrong = append(wrong, &FieldError{at + "light", fmt.Sprintf("must be the number of a light, from 1 to %d", len(o.Layout.Lights))})
		case seen[r.Light]:
			wrong = append(wrong, &FieldError{at + "light", fmt.Sprintf("is %d a second time", r.Light)})
		case !r.Rebate.Width.IsPositive() || !r.Rebate.Height.IsPositive():
			wrong = append(wrong, &FieldError{at + "rebate", "must have a width and a height"})
		case r.Glass.Width.IsZero() != r.Glass.Height.IsZero():
			wrong = append(wrong, &FieldError{at + "glass", "must have a width and a height"})
		}
		seen[r.Light] = true
	}
	return wrong
}
