package calc

import "github.com/shopspring/decimal"

// WindCode is the standard by which a wind speed becomes a pressure.
type WindCode string

// The standards.
const (
	BS6399 WindCode = "bs-6399-2"   // q = 0.613 v²
	EN1991 WindCode = "en-1991-1-4" // q = 0.625 v², the recommended air density
)

// WindGiven is the rule of a design pressure that a person gave.
const WindGiven = "wind_given"

// sheetCoefficient is what a worked sheet to BS 6399-2 has for the coefficients
// on a window together: 1658 Pa on 1382; quoted.
var sheetCoefficient = decimal.New(12, -1)

// WindPressure is the pressure in Pa that a window has to hold at a wind speed
// in m/s: the dynamic pressure with the coefficients that a source gives. By
// EN1991 no coefficients are known here, for its place, height and wall, and
// the pressure is zero: a bare dynamic pressure is no load. An unknown code is
// taken as EN1991.
func WindPressure(speed decimal.Decimal, by WindCode) (decimal.Decimal, Reason) {
	factor, net := decimal.New(625, -3), decimal.Zero
	why := Reason{Rule: "wind_en1991", Source: "en_1991_1_4", Mark: Read}
	if by == BS6399 {
		factor, why = decimal.New(613, -3), Reason{Rule: "wind_bs6399", Source: "bs_6399_2", Mark: Quoted}
		net = factor.Mul(speed).Mul(speed).Mul(sheetCoefficient)
	}
	why.Figures = map[string]decimal.Decimal{
		"speed": speed, "pressure": factor.Mul(speed).Mul(speed).Round(1), "net": net.Round(1), "coefficient": sheetCoefficient,
	}
	return net, why
}

// JambShear is the load in N across the jamb screw that holds most, rounded up
// to 0.1 N, and the length of frame in mm that it holds. Wind acts square to
// the pane, so it shears a screw and bends it over the packed gap; it doesn't
// pull it out. Each jamb takes half of the pressure in Pa on the whole frame,
// and each screw of it the frame to halfway to its neighbours or to the corner;
// that head and sill help is left out, which is on the safe side (common
// practice, no source). Zero without a fixing on a jamb.
func JambShear(pressure decimal.Decimal, frame Size, f FixingPlan) (load, span decimal.Decimal) {
	for _, side := range f.Sides {
		if side.Side == Left || side.Side == Right {
			span = decimal.Max(span, longestHeld(side.At, frame.Height))
		}
	}
	return pressure.Mul(frame.Width).Mul(oneHalf).Mul(span).Shift(-6).RoundUp(1), span
}

// longestHeld is the longest part of a side that one of its fixings holds.
func longestHeld(at []decimal.Decimal, length decimal.Decimal) decimal.Decimal {
	longest, from := decimal.Zero, decimal.Zero
	for i := range at {
		to := length
		if i+1 < len(at) {
			to = at[i].Add(at[i+1]).Mul(oneHalf)
		}
		longest, from = decimal.Max(longest, to.Sub(from)), to
	}
	return longest
}

// ScrewEnough compares the load across one fixing with what the screw's own
// data sheet allows across it, both in N, and says so; pressure is the reason of
// the pressure behind the load. Only a design pressure makes a screw enough: by
// the coefficients of a worked sheet, which are another building's, it can be
// found weak and no more. The verdict is marked no better than the pressure, nor
// than JambShear's sharing. ok is false when the load is more.
func ScrewEnough(load, allowed decimal.Decimal, pressure Reason) (why Reason, ok bool) {
	why = Reason{Rule: "screw_enough", Mark: Weakest(pressure.Mark, Practice), Figures: map[string]decimal.Decimal{"load": load, "allowed": allowed}}
	switch {
	case load.GreaterThan(allowed):
		why.Rule = "screw_weak"
		return why, false
	case pressure.Rule != WindGiven:
		why.Rule = "screw_by_sheet"
	}
	return why, true
}
