package opening

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Setting is one round of readings of the frame on its packers. The packers that it
// advises to change count as changed before the next round.
type Setting struct {
	Sill      *Tilt           `json:"sill,omitempty"`
	Head      *Tilt           `json:"head,omitempty"`
	Left      *Tilt           `json:"left,omitempty"` // jambs in the wall's plane
	Right     *Tilt           `json:"right,omitempty"`
	LeftFace  *Tilt           `json:"left_face,omitempty"` // jambs across the wall
	RightFace *Tilt           `json:"right_face,omitempty"`
	Rising    decimal.Decimal `json:"rising,omitzero"` // mm; both diagonals zero: not measured
	Falling   decimal.Decimal `json:"falling,omitzero"`
	// Strings is the gap where two strings from corner to corner cross, mm; nil: not
	// measured.
	Strings *decimal.Decimal `json:"strings,omitempty"`
	Corner  *CornerOff       `json:"corner,omitempty"` // one corner that is out, before any level was read
}

// Tilt is one reading of a level: of its three forms the one that is given. With none
// of them the member is true.
type Tilt struct {
	Gap      *decimal.Decimal `json:"gap,omitempty"`       // mm under one end of a level
	Level    decimal.Decimal  `json:"level,omitzero"`      // mm, that level's length
	Bubble   *decimal.Decimal `json:"bubble,omitempty"`    // divisions of the vial
	PerMetre *decimal.Decimal `json:"per_metre,omitempty"` // mm per m of a digital level
	To       calc.TiltTo      `json:"to,omitempty"`
}

// CornerOff is a corner that is out by so many mm.
type CornerOff struct {
	At calc.Corner     `json:"at"`
	By decimal.Decimal `json:"by"`
	To calc.CornerTo   `json:"to"`
}

// trueLevel is the length that a member found true was read with, mm: it only says how
// near that was read.
var trueLevel = decimal.NewFromInt(600)

// reading is the tilt as calc takes it; nil for none. The error is a
// *calc.RefusalError.
func (t *Tilt) reading() (*calc.Tilt, error) {
	if t == nil {
		return nil, nil
	}
	var out calc.Tilt
	var err error
	switch {
	case t.Gap != nil:
		out, err = calc.GapUnder(t.Level, *t.Gap, t.To)
	case t.Bubble != nil:
		out, err = calc.BubbleOff(*t.Bubble, decimal.Zero, t.To)
	case t.PerMetre != nil:
		out, err = calc.FallPerMetre(*t.PerMetre, t.To)
	default:
		out, err = calc.GapUnder(trueLevel, decimal.Zero, "")
	}
	return &out, err
}

// Readings are the round's readings as calc takes them. The error is a
// *calc.RefusalError.
func (s Setting) Readings() (calc.SetReadings, error) {
	out := calc.SetReadings{Rising: s.Rising, Falling: s.Falling, Strings: s.Strings}
	if c := s.Corner; c != nil {
		out.Corner = &calc.CornerOff{Corner: c.At, By: c.By, To: c.To}
	}
	for _, one := range []struct {
		from *Tilt
		to   **calc.Tilt
	}{
		{s.Sill, &out.Sill}, {s.Head, &out.Head}, {s.Left, &out.Left}, {s.Right, &out.Right},
		{s.LeftFace, &out.LeftFace}, {s.RightFace, &out.RightFace},
	} {
		tilt, err := one.from.reading()
		if err != nil {
			return out, err
		}
		*one.to = tilt
	}
	return out, nil
}
