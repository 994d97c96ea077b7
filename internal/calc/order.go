package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// Order is the size to order and how it came about.
type Order struct {
	Size   Size // of the frame, whole mm, rounded down; without the sill piece
	Figure Figure
	// Place is the frame's bottom left corner in the opening's coordinates
	// when it is set plumb, level and centred (on top of the sill piece, if
	// there is one).
	Place Point
	// Gap is the gap that the table asks for on each side of the frame.
	Gap map[Side]decimal.Decimal
	// Masonry is how far the masonry stands outside the measured line: the
	// plaster thickness or the check's cover, zero for a bare opening.
	Masonry map[Side]decimal.Decimal
	// SillPiece is the height of the sill piece under the frame, mm; zero:
	// none.
	SillPiece decimal.Decimal
	Finish    Finish
	Inner     Size // as in the request; zero unless the finish is Check
	Steps     []Step
	// LostToLean is what the lean and the bellies cost in each dimension
	// against the smallest reading.
	LostToLean Size
	// ThumbJam is by how much a frame by the rule of thumb (smallest less 10)
	// would have been too big in each dimension; zero when it would have fitted.
	ThumbJam Size
	Warnings []Reason
	tight    Side // that the frame is set tight to; empty: it is centred
}

// Limits of the order, in mm.
var (
	leastFrame = decimal.NewFromInt(200) // common practice, no source
	bellyWorth = decimal.NewFromInt(10)  // a belly to warn of; common practice, no source
	leastCover = decimal.NewFromInt(10)  // sealant on porous faces, quoted
	thumbRule  = decimal.NewFromInt(10)  // smallest less 10 to 12; common practice, no source
	allSides   = [4]Side{Left, Right, Head, Sill}
)

// OrderSize is the size of frame to order for an opening, in whole mm rounded
// down.
//
// Each dimension starts at the smallest of its three readings. A bare opening
// loses the table's gap at each side. Plaster hides masonry that stands its
// thickness further out at jambs and head, so that much is added first. Behind
// a check the frame is its cover larger at jambs and head, loses the gap at
// the sill alone, and fits the inner opening with a gap at each side if that
// was measured. A sill piece comes off the height. Neither dimension is ever
// more than the largest upright, level frame in the figure with those gaps at
// every height and every place along the width. The steps of a dimension add
// up to its ordered size exactly.
//
// Refused with a RefusalError: what Survey refuses; a dimension over 4.5 m
// (ErrBeyondTable); a frame under 200 mm (ErrTooSmall); an unknown finish or
// material (ErrImpossible).
func OrderSize(req OrderRequest) (Order, error) {
	switch req.Finish {
	case Bare, Plaster, Check:
	default:
		return Order{}, refuse(ErrImpossible, "finish_unknown", nil, nil)
	}
	f, err := Survey(req.Readings)
	if err != nil {
		return Order{}, err
	}
	w, h, err := newSums(req)
	if err != nil {
		return Order{}, err
	}
	o := Order{Figure: f, Finish: req.Finish}
	o.Gap = map[Side]decimal.Decimal{Left: w.gap, Right: w.gap, Head: h.gap, Sill: h.gap}
	o.Masonry = req.masonry()
	if req.SillPiece {
		o.SillPiece = req.Settings.SillPieceHeight
	}
	if req.Finish == Check {
		o.Inner = req.Inner
	}
	w.build(req)
	h.build(req)
	if err := o.fit(w, h); err != nil {
		return Order{}, err
	}
	o.warn(req)
	return o, nil
}

// masonryEdges is where the masonry stands, in µm.
func (o Order) masonryEdges() edges {
	return o.Figure.outline().edges().grown(
		microns(o.Masonry[Left]), microns(o.Masonry[Right]), microns(o.Masonry[Head]))
}

// gaps is what keeps the frame off the masonry line, in µm. Behind a check
// that line is where the frame's edge is meant to be, so only the sill counts.
func (o Order) gaps() (left, right, bottom, top int64) {
	bottom = microns(o.Gap[Sill].Add(o.SillPiece))
	if o.Finish == Check {
		return 0, 0, bottom, 0
	}
	return microns(o.Gap[Left]), microns(o.Gap[Right]), bottom, microns(o.Gap[Head])
}

// fit brings the sums to the order size and puts the frame in its place.
func (o *Order) fit(w, h *sum) error {
	inside, ok := o.inside()
	if !ok {
		room, _ := o.masonryEdges().largest()
		return refuse(ErrImpossible, "opening_leans_too_much", map[string]decimal.Decimal{
			"width": inMM(room.width()).Round(0), "height": inMM(room.height()).Round(0)}, nil)
	}
	if o.Finish != Check { // behind a check the inner opening limits, not the outer leaf's lean
		o.LostToLean = Size{w.capFigure(inMM(inside.width())), h.capFigure(inMM(inside.height()))}
	}
	w.round()
	h.round()
	o.Size = Size{w.total, h.total}
	o.Steps = append(w.steps, h.steps...)
	for _, s := range []*sum{w, h} {
		if s.total.LessThan(leastFrame) {
			return refuse(ErrTooSmall, "order_too_small",
				map[string]decimal.Decimal{"size": s.total, "least": leastFrame},
				map[string]string{"dimension": "dimension." + string(s.dimension)})
		}
	}
	o.centre(inside)
	if o.Finish != Check {
		left, right, bottom, top := o.gaps()
		o.ThumbJam = Size{
			jam(w.smallest, o.Masonry[Left].Add(o.Masonry[Right]), inside.width()+left+right),
			jam(h.smallest, o.Masonry[Head], inside.height()+bottom+top),
		}
	}
	return nil
}

// inside is the largest box that keeps its gaps, in µm; ok is false when the opening
// leans too much for one.
func (o *Order) inside() (inside box, ok bool) {
	left, right, bottom, top := o.gaps()
	edges := o.masonryEdges().within(left, right, bottom, top)
	edges.foot = microns(o.SillPiece)
	return edges.largest()
}

// centre puts the frame in the middle of a box.
func (o *Order) centre(inside box) {
	o.Place = Point{
		inMM(inside.left + (inside.width()-microns(o.Size.Width))/2),
		inMM(inside.bottom + (inside.height()-microns(o.Size.Height))/2),
	}
	if o.Finish == Check { // nowhere below the sill's highest place, which is in sight
		_, _, bottom, _ := o.gaps()
		f := o.frame()
		o.Place.Y = inMM(max(f.bottom, o.masonryEdges().sill.most(f.left, f.right)+bottom))
	}
}

// jam is by how much the smallest reading less 10, with what the plaster
// hides, is more than the room.
func jam(smallest, hidden decimal.Decimal, room int64) decimal.Decimal {
	return decimal.Max(decimal.Zero, smallest.Add(hidden).Sub(thumbRule).Sub(inMM(room)))
}

// smallest is the reading that ruled a dimension.
func (o Order) smallest(d Dimension) decimal.Decimal {
	for _, s := range o.Steps {
		if s.Dimension == d {
			return s.Amount
		}
	}
	return decimal.Zero
}

// TightTo is the order with the frame moved so that its least gap on a side is
// the given one, in mm, instead of centred. A sill piece is as long as the frame
// above it and can't run into the masonry: at a jamb the gap is that of its end
// where the jamb comes nearer to it than to the frame. The warnings of gaps that
// are too wide, and of what a check covers, are those of the new place; what is left
// at each fixing is for the packers to say.
func (o Order) TightTo(side Side, gap decimal.Decimal) Order {
	o.Place, o.tight = o.placeAt(side, gap), side
	if len(o.Figure.Suspects) > 0 {
		return o
	}
	o.Warnings = slices.DeleteFunc(slices.Clone(o.Warnings), func(r Reason) bool {
		return r.Rule == coverShort || slices.Contains(gapOverRules, r.Rule)
	})
	o.warnPlace()
	return o
}

func (o Order) placeAt(side Side, gap decimal.Decimal) Point {
	e, f, g := o.masonryEdges(), o.frame(), microns(gap)
	foot := f.bottom - microns(o.SillPiece) // the sill piece's ends stand below the frame's
	switch side {
	case Left:
		o.Place.X = inMM(e.left.most(foot, f.top) + g)
	case Right:
		o.Place.X = inMM(e.right.least(foot, f.top) - g - f.width())
	case Head:
		o.Place.Y = inMM(e.head.least(f.left, f.right) - g - f.height())
	case Sill:
		o.Place.Y = inMM(e.sill.most(f.left, f.right) + g + microns(o.SillPiece))
	}
	return o.Place
}

// frame is the frame in its place, in µm.
func (o Order) frame() box {
	x, y := microns(o.Place.X), microns(o.Place.Y)
	return box{x, x + microns(o.Size.Width), y, y + microns(o.Size.Height)}
}

// warn gathers what a person must know before ordering.
func (o *Order) warn(req OrderRequest) {
	if why, out := OutOfSquare(req.Readings.Rising, req.Readings.Falling); out {
		o.Warnings = append(o.Warnings, why)
	}
	if o.Finish == Check && !(o.Inner.Width.IsPositive() && o.Inner.Height.IsPositive()) {
		o.warning("inner_not_measured", Practice, nil, nil)
	}
	if req.Readings.arched() {
		o.warning("arched", Practice, map[string]decimal.Decimal{"middle": req.Readings.Heights[1]}, nil)
	}
	o.warnFigure()
	o.warnBelly("belly_width", req.Readings.Widths)
	o.warnBelly("belly_height", req.Readings.Heights)
	if len(o.Figure.Suspects) > 0 { // what hangs on the figure waits for the reading
		return
	}
	o.warnThumb("thumb_jam_width", o.ThumbJam.Width)
	o.warnThumb("thumb_jam_height", o.ThumbJam.Height)
	o.warnPlace()
}

// warnPlace warns of what hangs on where the frame stands.
func (o *Order) warnPlace() {
	if o.Finish == Check {
		o.warnCheck()
		return
	}
	o.warnGaps()
}

func (o *Order) warning(rule string, mark Mark, figures map[string]decimal.Decimal, words map[string]string) {
	o.Warnings = append(o.Warnings, Reason{Rule: rule, Figures: figures, Words: words, Mark: mark})
}

func (o *Order) warnFigure() {
	f := o.Figure
	if f.Assumed {
		o.warning("no_diagonals", Read, nil, nil) // the survey guides ask for both
	}
	for i, s := range f.Suspects {
		if s.Rank > 0 {
			break
		}
		o.warnSuspect(s, i > 0)
	}
	if f.SillLevelAssumed {
		o.warning("sill_fall_unknown", Derived, nil, nil) // by the geometry
	}
}

// warnSuspect warns of a reading that is likely a mistake; or says that it is another
// than the first.
func (o *Order) warnSuspect(s Suspect, or bool) {
	rule, words := "misclosure", map[string]string{"reading": "reading." + s.Reading, "off": "off.long"}
	if s.Now.LessThan(s.Closes) {
		words["off"] = "off.short"
	}
	switch {
	case s.With != "":
		rule, words = "exchanged", map[string]string{"reading": "reading." + s.Reading, "other": "reading." + s.With}
	case s.Slip != "":
		words["slip"] = "slip." + s.Slip
	}
	if or {
		rule += "_or"
	}
	if s.Slip != "" && s.With == "" {
		rule = map[bool]string{true: "misclosure_or_slip", false: "misclosure_slip"}[or]
	}
	o.warning(rule, tapeMark, map[string]decimal.Decimal{
		"apart": s.Now.Sub(s.Closes).Abs().Round(0), "now": s.Now, "closes": s.Closes.Round(0),
	}, words)
}

// warnBelly warns when the middle reading is far off the straight line
// between the outer two.
func (o *Order) warnBelly(rule string, r [3]decimal.Decimal) {
	belly := r[1].Sub(r[0].Add(r[2]).Div(decimal.NewFromInt(2))).Abs()
	if belly.GreaterThan(bellyWorth) {
		o.warning(rule, Practice, map[string]decimal.Decimal{"belly": belly.Round(0), "middle": r[1]}, nil)
	}
}

func (o *Order) warnThumb(rule string, over decimal.Decimal) {
	if over.IsPositive() {
		// The rule of thumb itself is common practice.
		o.warning(rule, Practice, map[string]decimal.Decimal{"over": over.RoundUp(1)}, nil)
	}
}

// coverShort is the rule of a side that the masonry covers too little of.
const coverShort = "check_cover_short"

// warnCheck warns where the masonry covers too little of the frame.
func (o *Order) warnCheck() {
	e, f := o.Figure.outline().edges(), o.frame()
	cover := map[Side]int64{
		Left:  e.left.least(f.bottom, f.top) - f.left,
		Right: f.right - e.right.most(f.bottom, f.top),
		Head:  f.top - e.head.most(f.left, f.right),
	}
	for _, s := range allSides {
		if c, ok := cover[s]; ok && inMM(c).LessThan(leastCover) {
			why := Reason{
				Rule:    coverShort,
				Figures: map[string]decimal.Decimal{"cover": inMM(c).RoundFloor(1), "least": leastCover},
				Words:   map[string]string{"side": "side." + string(s)},
				Source:  "sealant_guide",
				Mark:    Quoted,
			}
			o.Warnings = append(o.Warnings, why.on(coverMark, o.Figure.Mark()))
		}
	}
}

// gapOver is the rule of a gap that is too wide; its kinds are named after it.
const gapOver = "gap_over_largest"

var gapOverRules = []string{gapOver, gapOver + "_check", gapOver + "_askew"}

// warnGaps warns of each side whose widest gap is over the largest that is
// published.
func (o *Order) warnGaps() {
	e, f := o.masonryEdges(), o.frame()
	for _, s := range allSides {
		least, widest := o.sideGaps(e, f, s)
		if !o.tooWide(s, widest) {
			continue
		}
		_, why := LargestGap(o.smallest(s.dimension()))
		why.Rule = gapOver + o.kindOver(s, least)
		why.Figures["gap"], why.Figures["least"] = inMM(widest).RoundUp(1), inMM(least).RoundFloor(1)
		why.Words = map[string]string{"side": "side." + string(s)}
		o.Warnings = append(o.Warnings, why.on(o.gapMarks()...))
	}
}

// Mark is how far a dimension of the order may be trusted: no further than the
// steps that lead to it.
func (o Order) Mark(d Dimension) Mark {
	return markOfSteps(slices.DeleteFunc(slices.Clone(o.Steps), func(s Step) bool { return s.Dimension != d }))
}

// gapMarks are the marks of what a gap between frame and masonry rests on.
func (o *Order) gapMarks() []Mark {
	return []Mark{o.Figure.Mark(), o.Mark(Width), o.Mark(Height), finishMark(o.Finish)}
}

// dimension is the one that the gap at a side belongs to.
func (s Side) dimension() Dimension {
	if s == Left || s == Right {
		return Width
	}
	return Height
}

// sideGaps are the narrowest and the widest gap of a side, from the frame to
// the masonry, in µm.
func (o *Order) sideGaps(e edges, f box, s Side) (least, widest int64) {
	switch s {
	case Left:
		return f.left - e.left.most(f.bottom, f.top), f.left - e.left.least(f.bottom, f.top)
	case Right:
		return e.right.least(f.bottom, f.top) - f.right, e.right.most(f.bottom, f.top) - f.right
	case Head:
		return e.head.least(f.left, f.right) - f.top, e.head.most(f.left, f.right) - f.top
	}
	bottom := f.bottom - microns(o.SillPiece)
	return bottom - e.sill.most(f.left, f.right), bottom - e.sill.least(f.left, f.right)
}

// tooWide reports whether a gap at a side, in µm, is over the largest that is
// published by more than the rounding of the frame made it.
func (o *Order) tooWide(s Side, gap int64) bool {
	return gap > microns(largestGap(o.smallest(s.dimension())))+o.roundedOff(s)
}

// roundedOff is how much of the gap at a side, in µm, is there because the
// frame was rounded down to a whole millimetre: half of what was lost, or all
// of it where the other side has its gap already. The opening is not at fault
// for that much, and nobody could order it away: the tape reads whole
// millimetres. Common practice, no source.
func (o *Order) roundedOff(s Side) int64 {
	var lost int64
	for _, step := range o.Steps {
		if step.Dimension == s.dimension() && step.Reason.Rule == "order_round" {
			lost = microns(step.Amount.Neg())
		}
	}
	switch {
	case o.tight == s:
		return 0
	case o.tight != "" && o.tight.dimension() == s.dimension(), o.Finish == Check && s == Head:
		return lost
	}
	return divUp(lost, 2)
}

// kindOver tells apart what helps where a gap is too wide, as the end of a
// rule's name. Behind a check the tape has to say first; a side that is right
// somewhere is itself out of true, and a larger frame would jam there; with
// the others the frame stands too far off the whole side.
func (o *Order) kindOver(s Side, least int64) string {
	switch {
	case o.Finish == Check && s != Sill:
		return "_check"
	case !o.tooWide(s, least):
		return "_askew"
	}
	return ""
}
