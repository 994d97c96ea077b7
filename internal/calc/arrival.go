package calc

import "github.com/shopspring/decimal"

// Verdict says how a delivered frame stands to its order.
type Verdict string

// The verdicts, from the best to the worst.
const (
	VerdictRight Verdict = "right"
	VerdictNote  Verdict = "note" // it fits, but say so
	VerdictWrong Verdict = "wrong"
)

// worse is the worse of two verdicts.
func (v Verdict) worse(w Verdict) Verdict {
	for _, worst := range []Verdict{VerdictWrong, VerdictNote} {
		if v == worst || w == worst {
			return worst
		}
	}
	return VerdictRight
}

// Delivered is a frame as it was measured before it goes in, from outside, mm.
type Delivered struct {
	Size Size // outside, without the sill piece
	// Rising runs from the bottom left to the top right corner, Falling from the
	// top left to the bottom right. Both zero: not measured.
	Rising, Falling decimal.Decimal
	// Twist is the gap where two strings from corner to corner cross; nil: not
	// measured.
	Twist *decimal.Decimal
	// Temperature of the frame, °C; nil: about 15.
	Temperature *decimal.Decimal
}

// ArrivalWhat names what was held against the order.
type ArrivalWhat string

// What is held against the order.
const (
	ArrivalWidth     ArrivalWhat = "width"
	ArrivalHeight    ArrivalWhat = "height"
	ArrivalSize      ArrivalWhat = "size" // both at once
	ArrivalDiagonals ArrivalWhat = "diagonals"
	ArrivalTwist     ArrivalWhat = "twist"
	ArrivalRoom      ArrivalWhat = "room" // in the opening, at one side
)

// ArrivalCheck is one thing held against the order, and why it is so.
type ArrivalCheck struct {
	What    ArrivalWhat
	Side    Side // of ArrivalRoom; empty: the opening as a whole
	Verdict Verdict
	Reasons []Reason
}

// Arrival is a delivered frame held against its order.
type Arrival struct {
	Checks []ArrivalCheck // in a fixed order; what was not measured is left out
	Worst  Verdict
	At15   Size // the frame as it is at 15 °C, mm rounded to 0.1
	// Order is the order with the frame that came, for Fixings, Packers and
	// RiskOf; GoesIn is false when it has no room, and Order says where.
	Order  Order
	GoesIn bool
}

// What no frame on a pavement has, °C: a guard against nonsense.
var (
	coldestFrame = decimal.NewFromInt(-30)
	warmestFrame = decimal.NewFromInt(80)
)

func (d Delivered) check() error {
	most := decimal.NewFromInt(mostFrame)
	for _, side := range []decimal.Decimal{d.Size.Width, d.Size.Height} {
		if side.LessThan(leastFrame) || side.GreaterThan(most) {
			return refuse(ErrImpossible, "frame_size_impossible", map[string]decimal.Decimal{"size": side, "least": leastFrame, "most": most}, nil)
		}
	}
	if t := d.Twist; t != nil && (t.IsNegative() || t.GreaterThan(leastFrame)) {
		return refuse(ErrImpossible, "arrive_twist_impossible", map[string]decimal.Decimal{"twist": *t}, nil)
	}
	if t := d.Temperature; t != nil && (t.LessThan(coldestFrame) || t.GreaterThan(warmestFrame)) {
		return refuse(ErrImpossible, "arrive_temperature", map[string]decimal.Decimal{"temperature": *t, "least": coldestFrame, "most": warmestFrame}, nil)
	}
	return d.checkDiagonals()
}

// checkDiagonals refuses diagonals that no four sides of that length have.
func (d Delivered) checkDiagonals() error {
	if d.Rising.IsZero() && d.Falling.IsZero() {
		return nil
	}
	figures := map[string]decimal.Decimal{"rising": d.Rising, "falling": d.Falling, "width": d.Size.Width, "height": d.Size.Height}
	if d.Rising.IsZero() || d.Falling.IsZero() {
		return refuse(ErrImpossible, "arrive_diagonal_alone", figures, nil)
	}
	longest, round := decimal.Max(d.Size.Width, d.Size.Height), d.Size.Width.Add(d.Size.Height)
	for _, diagonal := range []decimal.Decimal{d.Rising, d.Falling} {
		if diagonal.LessThan(longest) || diagonal.GreaterThan(round) {
			return refuse(ErrImpossible, "arrive_diagonals_impossible", figures, nil)
		}
	}
	return nil
}
