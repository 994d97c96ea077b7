package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// GlazingOrder is the order to glaze the lights in, as indexes of l.Lights: fixed ones
// first, of them the bottom row before the top, from the left; then those that open, in
// the same order. Common practice, no source: the frame is stiff before a sash hangs on it.
func GlazingOrder(l Layout) []int {
	out := make([]int, len(l.Lights))
	for i := range out {
		out[i] = i
	}
	rank := func(i int) [3]int {
		light, opens := l.Lights[i], 0
		if light.Hinge != FixedLight {
			opens = 1
		}
		return [3]int{opens, light.Row, light.Column}
	}
	slices.SortStableFunc(out, func(a, b int) int {
		x, y := rank(a), rank(b)
		return slices.Compare(x[:], y[:])
	})
	return out
}

// Bead is one glazing bead. Number is its place in the order that they go in.
type Bead struct {
	Number int
	Side   Side
	Length decimal.Decimal // mm between the corners, as the glass is seen
}

// BeadOrder is the order of a light's four beads: the short ones first, then the long
// ones, which bow to go in between. Where all are as long, head and sill are first.
// Common practice, no source.
func BeadOrder(sight Size) [4]Bead {
	sides := [4]Side{Head, Sill, Left, Right}
	if sight.Height.LessThan(sight.Width) {
		sides = [4]Side{Left, Right, Head, Sill}
	}
	var out [4]Bead
	for i, side := range sides {
		out[i] = Bead{i + 1, side, sight.along(side)}
	}
	return out
}

// BlockStack is one glass block with the packers that fill its clearance.
type BlockStack struct {
	Block
	Stack []int           // mm, thickest first; the first may be the block itself
	Free  decimal.Decimal // mm that stay free there, less than the thinnest packer
}

// BlockStacks is what a pane sits on in its rebate.
type BlockStacks struct {
	Across, Up decimal.Decimal // clearance in all, rebate less glass, mm
	Blocks     []BlockStack
	Reasons    []Reason
	Warnings   []Reason
}

// What a pane's clearance in all may be, mm. Common practice, no source; the glass is 6
// mm less than the tight rebate size (read, document not noted).
var (
	clearanceLeast = decimal.NewFromInt(4)
	clearanceMost  = decimal.NewFromInt(10)
)

// StackBlocks is the stack at each block of a pane in a rebate, both as measured, mm.
// The pane sits in the middle: what carries it (sill, and the hinge side's heel) gets
// half of the clearance in whole millimetres, rounded down, and the edge over against it the rest.
//
// ErrImpossible for sizes that are not positive, ErrTooSmall where the clearance is under
// 2 mm, which takes no block at both edges.
func StackBlocks(g GlassPlan, rebate, glass Size) (BlockStacks, error) {
	s := BlockStacks{Across: rebate.Width.Sub(glass.Width), Up: rebate.Height.Sub(glass.Height)}
	figures := map[string]decimal.Decimal{
		"number": count(g.Light + 1), "across": s.Across, "up": s.Up, "least": thinnestPacker.Mul(count(2)),
		"width": glass.Width, "height": glass.Height, "rebate_width": rebate.Width, "rebate_height": rebate.Height,
	}
	if rebate.tooSmall() || glass.tooSmall() || decimal.Max(s.Across, s.Up).GreaterThan(leastFrame) {
		return s, refuse(ErrImpossible, "stack_sizes", figures, nil)
	}
	if decimal.Min(s.Across, s.Up).LessThan(figures["least"]) {
		return s, refuse(ErrTooSmall, "stack_no_room", figures, nil)
	}
	hinge := Left // of a pane that hangs on nothing either side is the same
	for _, b := range g.Blocks {
		if b.Role == Heel && b.Edge != Sill {
			hinge = b.Edge
		}
	}
	for _, b := range g.Blocks {
		first, in := b.Edge == Sill || b.Edge == hinge, s.Across
		if b.Edge.dimension() == Height {
			in = s.Up
		}
		at := in.Mul(oneHalf).Floor()
		room := at
		if !first {
			room = in.Sub(at)
		}
		whole := int(room.IntPart())
		s.Blocks = append(s.Blocks, BlockStack{Block: b, Stack: stack(whole), Free: room.Sub(count(whole))})
	}
	s.say(g)
	return s, nil
}

func (s *BlockStacks) say(g GlassPlan) {
	because := func(list *[]Reason, rule string, limit decimal.Decimal) {
		*list = append(*list, Reason{Rule: rule, Mark: Practice, Figures: map[string]decimal.Decimal{
			"number": count(g.Light + 1), "across": s.Across, "up": s.Up, "limit": limit, "less": glassLess,
		}})
	}
	because(&s.Reasons, "stack_clearance", glassLess)
	if decimal.Min(s.Across, s.Up).LessThan(clearanceLeast) {
		because(&s.Warnings, "stack_tight", clearanceLeast)
	}
	if decimal.Max(s.Across, s.Up).GreaterThan(clearanceMost) {
		because(&s.Warnings, "stack_loose", clearanceMost)
	}
}

// HingeReason holds a sash with its glass, kg, against what its hinges or stays are
// rated for, kg: 1.3 times its weight (an aluminium hardware sheet). mark is how far the
// weight may be trusted. ErrImpossible for masses that are not positive.
func HingeReason(mass, rated decimal.Decimal, mark Mark) (why Reason, ok bool, err error) {
	if !mass.IsPositive() || !rated.IsPositive() {
		return Reason{}, false, refuse(ErrImpossible, "hinge_masses", map[string]decimal.Decimal{"mass": mass, "rated": rated}, nil)
	}
	carry := mass.Mul(hingeFactor).RoundUp(1)
	ok = !carry.GreaterThan(rated)
	why = Reason{Rule: "hinge_over", Source: "hardware_sheet", Mark: Read, Figures: map[string]decimal.Decimal{
		"mass": mass, "carry": carry, "rated": rated, "factor": hingeFactor,
	}}
	if ok {
		why.Rule = "hinge_enough"
	}
	return why.on(mark), ok, nil
}
