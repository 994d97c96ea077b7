package opening

import (
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Values are the values of the fields that make o, as far as a conversation has
// fields for it. makeUp is the glass unit; "": the panes alone are known.
func Values(o Opening, makeUp string) []Entry {
	v := values{}
	v.text("nation", string(o.Nation))
	v.text("date", o.Date)
	v.text("finish", string(o.Finish))
	v.text("material", string(o.Material))
	v.text("room", string(o.Room))
	v.text("sill", "none")
	if o.SillDepth.IsPositive() {
		v.length("sill", o.SillDepth)
	}
	for i := range 3 {
		v.length(Widths[i], o.Widths[i])
		v.length(Heights[i], o.Heights[i])
	}
	v.length("inner.width", o.Inner.Width)
	v.length("inner.height", o.Inner.Height)
	v.length("diagonal.rising", o.Rising)
	v.length("diagonal.falling", o.Falling)
	v.optional("sill.fall", o.SillFall)
	v.layout(o.Layout)
	switch {
	case o.Bay:
		v.text("over", "bay")
	case o.NoLintel:
		v.text("over", "nolintel")
	case o.NoHead:
		v.text("over", "nodrill")
	}
	v.yes("bath", o.NearBath)
	v.optional("floor", o.AboveFloor)
	v.text("storey", strconv.Itoa(o.Storey))
	v.optional("outside", o.AboveOutside)
	v.yes("door", o.BesideDoor)
	v.glass(o.Panes, makeUp)
	v.yes("vents", o.OldVents)
	if o.VentsUnknown {
		v.text("vents", Skipped)
	}
	if o.Lighter {
		v.text("pattern", "lighter")
	}
	v.optional("bedjoint", o.BedJoint)
	v.length("restrictor", o.Restrictor)
	v.yes("release", o.Releasable)
	v.length("area", o.FloorArea)
	v.text("tight", string(o.TightTo))
	v.crew(o.Settings)
	return v.list
}

type values struct{ list []Entry }

func (v *values) text(key Key, value string) {
	if value == "" {
		return
	}
	for i := range v.list {
		if v.list[i].Key == key {
			v.list[i].Value = value
			return
		}
	}
	v.list = append(v.list, Entry{Act: Set, Key: key, Value: value})
}

func (v *values) length(key Key, d decimal.Decimal) {
	if !d.IsZero() {
		v.text(key, d.String())
	}
}

func (v *values) optional(key Key, d *decimal.Decimal) {
	if d != nil {
		v.text(key, d.String())
	}
}

func (v *values) yes(key Key, is bool) {
	if is {
		v.text(key, "yes")
	}
}

func (v *values) layout(l calc.Layout) {
	columns, upper := 0, false
	for _, light := range l.Lights {
		columns = max(columns, light.Column+1)
		upper = upper || light.Row > 0
	}
	if columns == 0 {
		return
	}
	code := strconv.Itoa(columns)
	if upper {
		code += "t"
	}
	v.text("layout", code)
	for i, at := range l.Mullions {
		v.length(numbered("mullion.", i+1), at)
	}
	if len(l.Mullions) == 0 && columns > 1 {
		v.text("mullion.1", Skipped)
	}
	switch {
	case len(l.Transoms) > 0 && l.Transoms[0].IsPositive():
		v.length("transom", l.Transoms[0])
	case upper:
		v.text("transom", Skipped)
	}
	for i, light := range l.Lights {
		v.text(numbered("light.", i+1), string(light.Hinge))
	}
}

// crew takes the settings that are not the usual ones.
func (v *values) crew(c *Crew) {
	if c == nil {
		return
	}
	usual := DefaultCrew()
	Fields(func(f *Field) bool {
		if f.Scope == CrewWide && f.File != "" && f.OfCrew(c) != f.OfCrew(&usual) {
			v.text(f.Key, f.OfCrew(c))
		}
		return true
	})
}

func (v *values) glass(panes []decimal.Decimal, makeUp string) {
	if makeUp == "" && len(panes) == 1 {
		makeUp = panes[0].String()
	}
	v.text("glass", makeUp)
}

// FromAnswers are the entries of a conversation of the first schema: KEY=VALUE,
// or KEY=!VALUE for one that was questioned and stands. Where o says another
// value, o counts: it was what was sent. Without answers all that o says is
// taken.
func FromAnswers(answers []string, o Opening, makeUp string) []Entry {
	made := Values(o, makeUp)
	if len(answers) == 0 {
		return made
	}
	var list []Entry
	for _, text := range answers {
		key, value, ok := strings.Cut(text, "=")
		if _, known := Index(key); !ok || !known {
			continue
		}
		value, sure := strings.CutPrefix(value, "!")
		if i := slices.IndexFunc(made, func(e Entry) bool { return e.Key == key }); i >= 0 && value != Skipped {
			value = made[i].Value
		}
		list = append(list, Entry{Act: Set, Key: key, Value: value})
		if sure {
			list = append(list, Entry{Act: Sure, Key: key})
		}
	}
	for _, e := range made {
		if Find(e.Key).Scope == CrewWide {
			list = append(list, e)
		}
	}
	return list
}
