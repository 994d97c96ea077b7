package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// WidthLevel is where across a frame a width or a height is read.
type WidthLevel string

// The three readings of a width, from the top, and of a height, from the left.
const (
	AtTop    WidthLevel = "top"
	AtMiddle WidthLevel = "middle"
	AtBottom WidthLevel = "bottom"
	AtLeft   WidthLevel = "left"
	AtRight  WidthLevel = "right"
)

// WidthRequest is a frame after its screws are home: one dimension at its three places.
type WidthRequest struct {
	Frame     Size // outside, as delivered
	Dimension Dimension
	// Read are the widths at top, middle and bottom, or the heights at left, middle and
	// right, mm; inside or outside, but all three alike.
	Read [3]decimal.Decimal
	// Bows are how far the middle of the left and the right jamb, or of the sill and the
	// head, stands out towards the wall against a straight edge, mm; negative: in. Nil:
	// nobody looked, and the two are taken to share what the middle is out by.
	Bows   [2]*decimal.Decimal
	Places []PackerPlace // as the packers stand
}

// WidthResult says whether a frame was pulled or packed out of shape.
type WidthResult struct {
	Within bool
	Apart  decimal.Decimal // mm, the widest less the narrowest
	Off    []WidthOff      // what is out of line where the whole is not within
	Reason Reason
}

// WidthOff is one place that is out of line with the others.
type WidthOff struct {
	Level WidthLevel
	By    decimal.Decimal // mm; positive: too wide there, negative: too narrow
	Eases []Ease
	// Reasons say what to do: ease the screw and pack where it was pulled out, take
	// packers out where it was pushed in.
	Reasons []Reason
}

// Ease is a fixing to ease, and how its packers change: positive where the frame was
// pulled out to the wall, negative where the packers push it in.
type Ease struct {
	Change
	Blocked *Reason // no such stack fits or is there to be taken out
}

// levels are the names of the three readings.
func (d Dimension) levels() [3]WidthLevel {
	if d == Width {
		return [3]WidthLevel{AtTop, AtMiddle, AtBottom}
	}
	return [3]WidthLevel{AtLeft, AtMiddle, AtRight}
}

// bounds are the two sides that a dimension lies between.
func (d Dimension) bounds() [2]Side {
	if d == Width {
		return [2]Side{Left, Right}
	}
	return [2]Side{Sill, Head}
}

// CheckWidths holds the three widths or heights of a fixed frame against the 1.6 mm that
// a North American window maker's dimensions guide allows between them (1/16 inch), and
// says at which fixing to ease the screw and by how much to change the packers. The two
// readings that agree best are taken for right. Of what is out each of the two sides has
// half, in whole mm, a half upwards, unless a straight edge says otherwise; at sill and
// head only the head is packed anew.
//
// ErrImpossible for a frame under 200 mm or over 6 m, readings that are not within
// 100 mm of each other or of no frame at all, and places that are not on the frame.
func CheckWidths(req WidthRequest) (WidthResult, error) {
	if err := req.check(); err != nil {
		return WidthResult{}, err
	}
	r := req.Read
	apart := decimal.Max(r[0], r[1:]...).Sub(decimal.Min(r[0], r[1:]...))
	out := WidthResult{Apart: apart, Within: apart.LessThanOrEqual(widthsApart)}
	rule := "set_widths"
	if !out.Within {
		rule = "set_widths_off"
		out.Off = req.off()
	}
	out.Reason = Reason{
		Rule: rule, Source: "window_guide", Mark: Read,
		Figures: map[string]decimal.Decimal{"apart": apart, "most": widthsApart},
		Words:   map[string]string{"dimension": "dimension." + string(req.Dimension)},
	}
	return out, nil
}

// widthsFar is how far apart three readings of one frame can't be, mm: one is a slip.
// Common practice, no source.
var widthsFar = decimal.NewFromInt(100)

func (req WidthRequest) check() error {
	if err := (SetRequest{Frame: req.Frame, Places: req.Places}).check(); err != nil {
		return err
	}
	if req.Dimension != Width && req.Dimension != Height {
		return refuse(ErrImpossible, "set_dimension", nil, nil)
	}
	least, most := decimal.Min(req.Read[0], req.Read[1:]...), decimal.Max(req.Read[0], req.Read[1:]...)
	if !least.IsPositive() || most.GreaterThan(decimal.NewFromInt(mostFrame)) || most.Sub(least).GreaterThan(widthsFar) {
		return refuse(ErrImpossible, "set_widths_impossible", map[string]decimal.Decimal{"least": least, "most": most}, nil)
	}
	for _, b := range req.Bows {
		if b != nil && b.Abs().GreaterThan(widthsFar) {
			return refuse(ErrImpossible, "set_widths_impossible", map[string]decimal.Decimal{"least": least, "most": most}, nil)
		}
	}
	return nil
}

// right is what the width should be: the mean of the two that agree best; the middle
// one of three that are as far from each other.
func (req WidthRequest) right() decimal.Decimal {
	s := slices.SortedFunc(slices.Values(req.Read[:]), decimal.Decimal.Cmp)
	low, high := s[1].Sub(s[0]), s[2].Sub(s[1])
	switch low.Cmp(high) {
	case -1:
		return s[0].Add(s[1]).Mul(oneHalf)
	case 1:
		return s[1].Add(s[2]).Mul(oneHalf)
	}
	return s[1]
}

// off are the readings that are out of line by more than half of what is allowed
// between two.
func (req WidthRequest) off() []WidthOff {
	right := req.right()
	var out []WidthOff
	for i, level := range req.Dimension.levels() {
		by := req.Read[i].Sub(right)
		if !by.Abs().GreaterThan(widthsApart.Mul(oneHalf)) {
			continue
		}
		o := WidthOff{Level: level, By: by.Round(1)}
		rule := "set_pulled_out"
		if by.IsNegative() {
			rule = "set_packed_in"
		}
		o.Reasons = []Reason{{
			Rule: rule, Source: "window_guide", Mark: Derived,
			Figures: map[string]decimal.Decimal{"by": o.By.Abs()},
			Words:   map[string]string{"level": "level." + string(level), "dimension": "dimension." + string(req.Dimension)},
		}}
		for j, side := range req.Dimension.bounds() {
			o.Eases = append(o.Eases, req.ease(side, i, req.share(i, j, by))...)
		}
		out = append(out, o)
	}
	return out
}

// share is how far one of the two sides is out towards the wall, in mm.
func (req WidthRequest) share(level, side int, by decimal.Decimal) decimal.Decimal {
	if level == 1 && req.Bows[0] != nil && req.Bows[1] != nil {
		return *req.Bows[side]
	}
	if req.Dimension == Height { // the sill stands on its bed
		if side == 0 {
			return decimal.Zero
		}
		return by
	}
	return by.Mul(oneHalf)
}

// ease is what to do at the places of a side that are nearest to where it is out.
func (req WidthRequest) ease(side Side, level int, by decimal.Decimal) []Ease {
	whole := int(by.Abs().Round(0).IntPart()) // a half upwards
	if by.IsNegative() {
		whole = -whole
	}
	if whole == 0 {
		return nil
	}
	var out []Ease
	for _, i := range req.nearest(side, level) {
		place, s := req.Places[i], supportsOf(req.Places[i : i+1])[0]
		e := Ease{Change: Change{Side: side, At: place.At, Bed: place.Bed, By: whole}}
		if !s.unseen {
			e.From = place.Stack
			if mm := s.stack + whole; mm < min(1, s.stack) || mm > tallestStack {
				e.Blocked = &Reason{Rule: "set_no_such_stack", Mark: Weakest(Derived, Practice),
					Figures: map[string]decimal.Decimal{"at": place.At, "stack": count(s.stack), "tallest": count(tallestStack)},
					Words:   map[string]string{"side": "side." + string(side)}}
			} else {
				e.To = stackOf(mm)
			}
		}
		out = append(out, e)
	}
	return out
}

// nearest are the places of a side that are nearest to a level: two where one on each
// side is as near.
func (req WidthRequest) nearest(side Side, level int) []int {
	length := req.Frame.Height
	if req.Dimension == Height {
		length = req.Frame.Width
	}
	along := [3]decimal.Decimal{length, length.Mul(oneHalf), decimal.Zero}[level]
	if req.Dimension == Height {
		along = length.Sub(along)
	}
	var out []int
	best := length
	for i, p := range req.Places {
		if p.Side != side {
			continue
		}
		away := p.At.Sub(along).Abs()
		switch away.Cmp(best) {
		case -1:
			best, out = away, []int{i}
		case 0:
			out = append(out, i)
		}
	}
	return out
}
