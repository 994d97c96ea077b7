package calc

import "github.com/shopspring/decimal"

// InsideWork is what may stand in the frame's way inside.
type InsideWork string

// What may stand in the way; a word is the kind after "inside.".
const (
	InsideBoard   InsideWork = "board"
	InsidePlaster InsideWork = "plaster"
)

// CutBackRequest is one piece of inside work beside the frame. Its edge towards the
// frame is measured at both ends, mm in from the finished face of the wall outside:
// left and right of a board, bottom and top of plaster at a jamb.
type CutBackRequest struct {
	Work  InsideWork
	Side  Side               // of the frame that it lies at: Sill for a board
	Edges [2]decimal.Decimal // see EdgeInside where the tape can't reach through
	Wide  decimal.Decimal    // of a board, front to back, or of plaster on the reveal; zero: not measured
	// Clear is what is left between the frame's back and the edge.
	Clear decimal.Decimal
}

// BoardClear is the usual CutBackRequest.Clear, mm; common practice, no source.
var BoardClear = decimal.NewFromInt(3)

// CutBack is how much comes off inside so that the frame seats, mm.
type CutBack struct {
	Cuts    [2]decimal.Decimal // at either end, rounded up to whole mm; zero: clear
	Needed  bool
	Out     bool // nothing to speak of is left: it comes out whole
	Reasons []Reason
}

// EdgeInside is how far in from the wall's outside face the edge of inside work is, from
// the depth of the whole wall at the reveal, finished faces both, and how far that work reaches in
// from the inside face, mm.
func EdgeInside(wall, reach decimal.Decimal) decimal.Decimal { return wall.Sub(reach) }

// leastLeft is what must be left of inside work for it to hold, mm; common practice,
// no source.
var leastLeft = decimal.NewFromInt(30)

// CutBackFor is what to cut off inside work so that a frame of the section seats: its
// back is c.Back from the wall's outside face. The cut at either end is its own, so
// that a board that lies askew is cut along the frame.
//
// ErrImpossible for an edge or a width that is negative and an unknown kind of work.
func CutBackFor(c Section, r CutBackRequest) (CutBack, error) {
	known := r.Work == InsideBoard || r.Work == InsidePlaster
	if !known || r.Edges[0].IsNegative() || r.Edges[1].IsNegative() || r.Wide.IsNegative() || r.Clear.IsNegative() {
		return CutBack{}, refuse(ErrImpossible, "cut_back_readings", map[string]decimal.Decimal{
			"near": r.Edges[0], "far": r.Edges[1], "wide": r.Wide, "clear": r.Clear,
		}, nil)
	}
	var b CutBack
	reach := c.Back().Add(r.Clear)
	most := decimal.Zero
	for i, edge := range r.Edges {
		b.Cuts[i] = decimal.Max(decimal.Zero, reach.Sub(edge)).Ceil()
		most = decimal.Max(most, b.Cuts[i])
	}
	b.Needed = most.IsPositive()
	b.Out = b.Needed && r.Wide.IsPositive() && r.Wide.Sub(most).LessThan(leastLeft)
	rule := "cut_back_clear"
	switch {
	case b.Out:
		rule = "cut_back_out"
	case b.Needed && b.Cuts[0].Equal(b.Cuts[1]):
		rule = "cut_back"
	case b.Needed:
		rule = "cut_back_askew"
	}
	if rule == "cut_back_askew" && r.Side != Sill && r.Side != Head {
		rule = "cut_back_askew_up"
	}
	b.Reasons = []Reason{{Rule: rule, Mark: wallMark, Words: map[string]string{"work": "inside." + string(r.Work), "side": "side." + string(r.Side)}, Figures: map[string]decimal.Decimal{
		"near": b.Cuts[0], "far": b.Cuts[1], "most": most, "back": c.Back(), "clear": r.Clear, "setback": c.Setback, "depth": c.Depth, "wide": r.Wide, "least": leastLeft,
	}}}
	return b, nil
}
