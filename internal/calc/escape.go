package calc

import "github.com/shopspring/decimal"

// ClearSettings is what an open sash and its hinges take off the opening, mm
// off the width and off the height. The hinge maker's figures govern.
type ClearSettings struct {
	SideHung Size `json:"side_hung"`
	TiltTurn Size `json:"tilt_turn"`
	TopHung  Size `json:"top_hung"`
}

// DefaultClearSettings are from memory: put in the hinge maker's own.
func DefaultClearSettings() ClearSettings {
	return ClearSettings{
		SideHung: Size{Width: decimal.NewFromInt(90)},   // from memory: on ordinary friction stays the sash stands in the opening
		TiltTurn: Size{Width: decimal.NewFromInt(60)},   // from memory: the turned sash's thickness
		TopHung:  Size{Height: decimal.NewFromInt(200)}, // from memory: the raised sash hangs over the opening
	}
}

// ClearOpening is the opening of one light that a person can pass.
type ClearOpening struct {
	Light   int             // index in Layout.Lights
	Opening Size            // mm, of the frame without the sash
	Clear   Size            // mm, with the sash open; zero for a fixed or bottom hung light
	Area    decimal.Decimal // m², of Clear, rounded down to 0.0001
	Reasons []Reason
}

// ClearOpenings is the clear opening of every light, in the order of
// l.Lights: the daylight of the frame less what c says for the light's hinges.
// Fixed lights have none, and bottom hung ones are not counted, because the
// sash hangs in the way (common practice, no source). A layout that fails
// Check and a light with no daylight are refused.
func ClearOpenings(frame Size, l Layout, s Settings, c ClearSettings) ([]ClearOpening, error) {
	if err := l.Check(frame); err != nil {
		return nil, err
	}
	all := make([]ClearOpening, 0, len(l.Lights))
	for i, light := range l.Lights {
		opening := l.bay(frame, light, s).size()
		if opening.tooSmall() {
			return nil, lightTooSmall(i+1, opening)
		}
		all = append(all, clearOf(i, light.Hinge, opening, c))
	}
	return all, nil
}

func clearOf(i int, h Hinge, opening Size, c ClearSettings) ClearOpening {
	o := ClearOpening{Light: i, Opening: opening}
	number := map[string]decimal.Decimal{"number": count(i + 1)}
	off := Size{}
	switch h {
	case FixedLight:
		o.Reasons = []Reason{{Rule: "clear_fixed", Figures: number, Mark: Derived}}
		return o
	case BottomHung:
		o.Reasons = []Reason{{Rule: "clear_bottom", Figures: number, Mark: Practice}}
		return o
	case TopHung:
		off = c.TopHung
	case TiltTurnLeft, TiltTurnRight:
		off = c.TiltTurn
	case SideLeft, SideRight:
		off = c.SideHung
	}
	left := Size{opening.Width.Sub(off.Width), opening.Height.Sub(off.Height)}
	if left.tooSmall() {
		o.Reasons = []Reason{{Rule: "clear_none", Figures: number, Mark: Weakest(sashMark, faceMark)}}
		return o
	}
	o.Clear = left
	o.Area = left.area().RoundDown(4)
	o.Reasons = []Reason{{Rule: "clear_opening", Mark: Weakest(sashMark, faceMark), Figures: map[string]decimal.Decimal{
		"number": count(i + 1), "width": left.Width, "height": left.Height, "area": o.Area,
		"off_width": off.Width, "off_height": off.Height,
	}}}
	return o
}

// Stated is the clear opening with the hinge maker's own figure, in mm, in
// place of the one worked out. It never comes to more than the opening.
func (o ClearOpening) Stated(clear Size) ClearOpening {
	o.Clear = Size{decimal.Min(clear.Width, o.Opening.Width), decimal.Min(clear.Height, o.Opening.Height)}
	o.Area = o.Clear.area().RoundDown(4)
	o.Reasons = []Reason{{Rule: "clear_stated", Mark: Weakest(Derived, faceMark), Figures: map[string]decimal.Decimal{
		"number": count(o.Light + 1), "width": o.Clear.Width, "height": o.Clear.Height, "area": o.Area,
	}}}
	return o
}
