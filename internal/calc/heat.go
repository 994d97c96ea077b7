package calc

import "github.com/shopspring/decimal"

// StandardWindow is the size, mm, at which makers state U-values
// (EN ISO 10077-1).
var StandardWindow = Size{decimal.NewFromInt(1230), decimal.NewFromInt(1480)}

// HeatRequest is what the heat loss of a window depends on.
type HeatRequest struct {
	Frame    Size
	Layout   Layout          // with at least one light, every bar placed
	Ug, Uf   decimal.Decimal // W/m²K, of the glass's centre and of the frame
	Psi      decimal.Decimal // W/mK, of the glass's edge
	Settings Settings
}

// HeatLoss is the U-value of one window.
type HeatLoss struct {
	Uw        decimal.Decimal // W/m²K to 6 places; two figures are what is published
	Standard  decimal.Decimal // W/m²K to 6 places, of one light of the same profiles at StandardWindow
	GlassArea decimal.Decimal // m², in sight
	FrameArea decimal.Decimal // m²
	Edge      decimal.Decimal // m of glass edge in sight
	Reasons   []Reason
}

// WindowU is Uw by EN ISO 10077-1 of the window as it is divided and of the
// standard size: (Ag·Ug + Af·Uf + lg·ψ) / (Ag + Af), with all the glass and
// all the glass edges in sight, the rest of the frame's face counted as frame.
// The standard window has one light, which opens if any light of the layout
// does. Infill panels and bars stuck on the glass are not reckoned.
//
// Refused are a layout that fails Check or has no light, a light with no
// glass in sight, U-values that are not positive and a negative ψ.
func WindowU(r HeatRequest) (HeatLoss, error) {
	if err := r.check(); err != nil {
		return HeatLoss{}, err
	}
	h, err := heatOf(r)
	if err != nil {
		return HeatLoss{}, err
	}
	one := r
	one.Frame, one.Layout = StandardWindow, Layout{Lights: []Light{{Hinge: standardHinge(r.Layout)}}}
	standard, err := heatOf(one)
	if err != nil {
		return HeatLoss{}, err
	}
	h.Standard = standard.Uw
	h.Reasons = []Reason{
		{Rule: "heat_uw", Source: "iso_10077", Mark: Weakest(Quoted, faceMark), Own: Quoted, Figures: map[string]decimal.Decimal{
			"uw": h.Uw.Round(2), "ug": r.Ug, "uf": r.Uf, "psi": r.Psi,
			"glass": h.GlassArea.Round(2), "frame": h.FrameArea.Round(2), "edge": h.Edge.Round(2),
		}},
		{Rule: "heat_standard", Source: "iso_10077", Mark: Weakest(Quoted, faceMark), Own: Quoted, Figures: map[string]decimal.Decimal{
			"standard": h.Standard.Round(2), "width": StandardWindow.Width, "height": StandardWindow.Height,
		}},
	}
	return h, nil
}

func (r HeatRequest) check() error {
	if !r.Ug.IsPositive() || !r.Uf.IsPositive() || r.Psi.IsNegative() {
		return refuse(ErrImpossible, "heat_values", map[string]decimal.Decimal{"ug": r.Ug, "uf": r.Uf, "psi": r.Psi}, nil)
	}
	if len(r.Layout.Lights) == 0 {
		return refuse(ErrImpossible, "heat_no_light", nil, nil)
	}
	return r.Layout.Check(r.Frame)
}

// standardHinge is an opening light when any light of the layout opens.
func standardHinge(l Layout) Hinge {
	for _, light := range l.Lights {
		if light.Hinge != FixedLight {
			return light.Hinge
		}
	}
	return FixedLight
}

// heatOf fills in all but the standard size.
func heatOf(r HeatRequest) (HeatLoss, error) {
	h := HeatLoss{}
	for i, light := range r.Layout.Lights {
		z := r.Layout.sight(r.Frame, light, r.Settings).size()
		if z.tooSmall() {
			return HeatLoss{}, lightTooSmall(i+1, z)
		}
		h.GlassArea = h.GlassArea.Add(z.area())
		h.Edge = h.Edge.Add(z.around())
	}
	h.FrameArea = r.Frame.area().Sub(h.GlassArea)
	h.Uw = meanU(h.GlassArea, h.FrameArea, h.Edge, r.Ug, r.Uf, r.Psi)
	return h, nil
}

// around is the length all round, m of a size in mm, exact.
func (z Size) around() decimal.Decimal { return z.Width.Add(z.Height).Mul(count(2)).Shift(-3) }

// meanU is the formula of EN ISO 10077-1, W/m²K to 6 places.
func meanU(glass, frame, edge, ug, uf, psi decimal.Decimal) decimal.Decimal {
	loss := glass.Mul(ug).Add(frame.Mul(uf)).Add(edge.Mul(psi))
	return loss.DivRound(glass.Add(frame), 6)
}
