package calc

import (
	"maps"
	"slices"

	"github.com/shopspring/decimal"
)

// OrderRequest is what the order size depends on.
type OrderRequest struct {
	Readings Readings
	Finish   Finish
	Material Material
	// Inner is the opening behind the check, brick to brick, the smallest of
	// each. Zero: not measured. Only used with Check.
	Inner Size
	// SillPiece is true when a sill piece goes on under the frame.
	SillPiece bool
	Settings  Settings
}

// Dimension is one of the two that are ordered.
type Dimension string

// The two dimensions.
const (
	Width  Dimension = "width"
	Height Dimension = "height"
)

// Step is one line of the sum that leads to an order size: the first step of
// a dimension is the reading that ruled, each later one is added to it.
type Step struct {
	Dimension Dimension
	Amount    decimal.Decimal
	Reason    Reason
}

// masonry is how far the masonry stands outside the measured line. The sill
// is neither plastered nor checked.
func (req OrderRequest) masonry() map[Side]decimal.Decimal {
	out := decimal.Zero
	switch req.Finish {
	case Plaster:
		out = req.Settings.PlasterThickness
	case Check:
		out = req.Settings.CheckCover
	}
	return map[Side]decimal.Decimal{Left: out, Right: out, Head: out, Sill: decimal.Zero}
}

// sum is the running sum of one dimension.
type sum struct {
	dimension Dimension
	smallest  decimal.Decimal
	gap       decimal.Decimal
	gapReason Reason
	inner     decimal.Decimal
	total     decimal.Decimal
	steps     []Step
}

// newSums starts both sums at their smallest readings, with the gap from the
// table for the length out to the masonry: behind plaster or a check the frame
// is longer than what the tape saw.
func newSums(req OrderRequest) (w, h *sum, err error) {
	named := req.Readings.named()
	w, h = startSum(Width, named[:3]), startSum(Height, named[3:6])
	w.inner, h.inner = req.Inner.Width, req.Inner.Height
	out := req.masonry()
	w.gap, w.gapReason, err = GapPerSide(req.Material, w.smallest.Add(out[Left]).Add(out[Right]))
	if err != nil {
		return nil, nil, err
	}
	h.gap, h.gapReason, err = GapPerSide(req.Material, h.smallest.Add(out[Head]).Add(out[Sill]))
	if err != nil {
		return nil, nil, err
	}
	if !h.gap.Equal(gapTable[req.Material][0]) { // the table's lengths are widths of openings; heights go by it by common practice
		h.gapReason = h.gapReason.on(Practice)
	}
	for _, s := range []*sum{w, h} { // the table is asked for the length out to the masonry
		s.gapReason = s.gapReason.on(finishMark(req.Finish))
	}
	return w, h, nil
}

func startSum(d Dimension, readings []namedReading) *sum {
	ruling := slices.MinFunc(readings, func(a, b namedReading) int { return a.value.Cmp(b.value) })
	s := &sum{dimension: d, smallest: ruling.value}
	s.add(s.smallest, Reason{
		Rule:    "order_smallest",
		Figures: map[string]decimal.Decimal{"value": s.smallest},
		Words:   map[string]string{"reading": "reading." + ruling.name},
		Source:  "survey_guides",
		Mark:    Read,
	})
	return s
}

func (s *sum) add(amount decimal.Decimal, why Reason) {
	s.total = s.total.Add(amount)
	s.steps = append(s.steps, Step{s.dimension, amount, why})
}

// build adds what the finish, the sill piece and the inner opening ask for.
func (s *sum) build(req OrderRequest) {
	s.finish(req)
	if s.dimension == Height && req.SillPiece {
		s.takeSillPiece(req.Settings.SillPieceHeight)
	}
	if req.Finish == Check && s.inner.IsPositive() {
		s.capInner(req)
	}
}

// takeSillPiece takes the sill piece off the height. Only the published height
// has a source; any other is the crew's own.
func (s *sum) takeSillPiece(height decimal.Decimal) {
	why := Reason{Rule: "order_sill_piece", Mark: sillPieceMark(height), Figures: map[string]decimal.Decimal{"height": height}}
	if height.Equal(sillPiecePublished) {
		why.Source = "survey_guide"
	}
	s.add(height.Neg(), why)
}

func sillPieceMark(height decimal.Decimal) Mark {
	if height.Equal(sillPiecePublished) {
		return Read
	}
	return Practice
}

// finish adds what the finish hides of the frame, and takes the gaps off at the
// sides where the masonry is next to it. There is no finish over the sill.
func (s *sum) finish(req OrderRequest) {
	finished := decimal.NewFromInt(2)
	if s.dimension == Height {
		finished = decimal.NewFromInt(1)
	}
	thickness, cover := req.Settings.PlasterThickness, req.Settings.CheckCover
	switch req.Finish {
	case Plaster:
		s.add(thickness.Mul(finished), Reason{
			Rule:    "order_plaster_" + string(s.dimension),
			Figures: map[string]decimal.Decimal{"thickness": thickness},
			Mark:    plasterMark,
		})
	case Check:
		s.add(cover.Mul(finished), Reason{
			Rule:    "order_check_" + string(s.dimension),
			Figures: map[string]decimal.Decimal{"cover": cover},
			Mark:    coverMark,
		})
	}
	switch {
	case req.Finish != Check:
		s.takeGaps(2)
	case s.dimension == Height:
		s.takeGaps(1)
	}
}

// takeGaps takes the table's gap off at one or both sides.
func (s *sum) takeGaps(sides int64) {
	why := s.gapReason
	why.Figures = maps.Clone(why.Figures)
	why.Figures["sides"] = decimal.NewFromInt(sides)
	s.add(s.gap.Mul(decimal.NewFromInt(-sides)), why)
}

// capInner keeps the frame, and the sill piece under it, inside the opening
// behind the check with a gap at both sides.
func (s *sum) capInner(req OrderRequest) {
	room, mark := s.inner.Sub(s.gap).Sub(s.gap), s.gapReason.Mark
	if s.dimension == Height && req.SillPiece {
		room = room.Sub(req.Settings.SillPieceHeight)
		mark = Weakest(mark, sillPieceMark(req.Settings.SillPieceHeight))
	}
	if !s.total.GreaterThan(room) {
		return
	}
	why := Reason{
		Rule:    "order_inner_" + string(s.dimension),
		Figures: map[string]decimal.Decimal{"inner": s.inner, "gap": s.gap},
		Source:  "gaps_around_windows",
		Mark:    Read,
	}
	s.add(room.Sub(s.total), why.on(mark))
}

// roundedOff is what whole millimetres can't show: a frame may be so much larger than
// the room that the adjusted figure leaves, mm. With it the order is rounded to the
// nearest millimetre against the figure and down against the smallest reading.
var roundedOff = decimal.New(5, -1)

// capFigure keeps the dimension to the room that the figure leaves, and says
// what that cost.
func (s *sum) capFigure(room decimal.Decimal) (lost decimal.Decimal) {
	lost = s.total.Sub(room.Add(roundedOff))
	if !lost.IsPositive() {
		return decimal.Zero
	}
	s.add(lost.Neg(), Reason{
		Rule:    "order_lean_" + string(s.dimension),
		Figures: map[string]decimal.Decimal{"lost": lost.RoundUp(1)},
		Mark:    Weakest(Derived, tapeMark),
	})
	return lost
}

// round rounds the sum down to whole millimetres.
func (s *sum) round() {
	part := s.total.Sub(s.total.Floor())
	if part.IsZero() {
		return
	}
	s.add(part.Neg(), Reason{Rule: "order_round", Mark: resting(Derived, markOfSteps(s.steps)), Figures: map[string]decimal.Decimal{"part": part}})
}

func markOfSteps(steps []Step) Mark {
	reasons := make([]Reason, len(steps))
	for i, s := range steps {
		reasons[i] = s.Reason
	}
	return markOf(reasons)
}
