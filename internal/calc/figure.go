package calc

import (
	"github.com/shopspring/decimal"
)

// Figure is the opening as four corners and four middle points, worked out
// from the readings. Without diagonals it is the symmetrical, plumb figure
// and Assumed is true.
type Figure struct {
	BottomLeft, BottomRight, TopRight, TopLeft Point
	MidLeft, MidRight, MidSill, MidHead        Point
	Assumed                                    bool
	SillLevelAssumed                           bool            // the sill was taken level, not measured
	Lean                                       decimal.Decimal // mean lean of the jambs over the height, mm, positive to the right going up
	Misclosure                                 decimal.Decimal // by how much the two diagonals together are longer than the sides make them, mm
	Suspects                                   []Suspect       // empty when no reading is likelier a mistake than not
	Reasons                                    []Reason
}

// OutOfSquareLimit is the difference between the diagonals above which the
// opening is out of square and the order must be adjusted, in mm. Source: UK
// supplier guide.
const OutOfSquareLimit = 10

// Survey works out the opening as a figure. The bottom left corner is the
// origin and the sill is level unless its fall was given.
//
// Readings run from corner to corner along the sides. With both diagonals the six
// outer readings are adjusted together by least squares (see adjusted), and the
// difference of the diagonals gives the lean. Of lean, fall, taper and bellies the
// part that the tape's own error explains is left out (see beyond): noise is no
// shape. Suspects names readings that are likelier a mistake than not. Coordinates
// are rounded to the micrometre.
//
// Readings under 10 mm or over 20 m, or that break the triangle rule or make no
// upright opening, give a RefusalError of ErrImpossible whose word "reading" names the
// reading.
func Survey(r Readings) (Figure, error) {
	if err := r.check(); err != nil {
		return Figure{}, err
	}
	f := Figure{Suspects: r.Suspects()}
	var o outline
	var err error
	if r.Rising.IsZero() {
		o, err = r.plumb(&f)
	} else {
		o, err = r.taped(&f)
	}
	if err != nil {
		return Figure{}, err
	}
	f.set(o)
	return f, nil
}

func (f *Figure) because(rule string, figures map[string]decimal.Decimal) {
	mark := tapeMark // of every shape the tape's own error is left out
	if rule == "figure_sill_fall" || rule == "figure_sill_measured_level" {
		mark = Derived
	}
	f.Reasons = append(f.Reasons, Reason{Rule: rule, Figures: figures, Mark: mark})
}

// Mark is how far the figure may be trusted: no further than its reasons.
func (f Figure) Mark() Mark { return markOf(f.Reasons) }

// OutOfSquare says whether the diagonals, in mm, differ by more than
// OutOfSquareLimit, and the warning if so.
func OutOfSquare(rising, falling decimal.Decimal) (Reason, bool) {
	apart := rising.Sub(falling).Abs()
	limit := decimal.NewFromInt(OutOfSquareLimit)
	if rising.IsZero() || falling.IsZero() || !apart.GreaterThan(limit) {
		return Reason{}, false
	}
	return Reason{
		Rule:    "out_of_square",
		Figures: map[string]decimal.Decimal{"apart": apart, "limit": limit},
		Source:  "supplier_guide",
		Mark:    Read,
	}, true
}

// plumb is the symmetrical figure on plumb jambs: widths level, heights plumb,
// the head centred over a straight sill.
func (r Readings) plumb(f *Figure) (outline, error) {
	bottom, top := micronsDown(r.Widths[2]), micronsDown(r.Widths[0])
	left, right := micronsDown(r.Heights[0]), micronsDown(r.Heights[2])
	fall := r.fall()
	in := divNear(bottom-top, 2)
	o := outline{br: spot{bottom, -fall}, tl: spot{in, left}, tr: spot{in + top, right - fall}}
	if !o.upright() {
		return outline{}, r.notUpright(f)
	}
	f.Assumed, f.SillLevelAssumed = true, r.SillFall == nil
	f.because("figure_assumed", nil)
	f.becauseSill(r)
	o = o.shape().beyondTape(r.variance()).outline()
	err := r.bend(&o, true)
	return o, err
}

// bend gives the outline its bellies from the middle readings, less what the tape
// explains: half to each of the two sides, or all to the head over a sill taken
// straight.
func (r Readings) bend(o *outline, straightSill bool) error {
	// A belly is a middle reading less the mean of two others.
	variance := 3 * r.variance() / 2
	o.straighten()
	if !o.bellyLevel(micronsDown(r.Widths[1]), variance) {
		return impossibleReading("reading_not_straight", "width.middle", r.Widths[1])
	}
	if !o.bellyPlumb(micronsDown(r.Heights[1]), variance, straightSill) {
		return impossibleReading("reading_not_straight", "height.middle", r.Heights[1])
	}
	return nil
}

// notUpright refuses a figure that leans too much, naming the likeliest
// mistake: the first suspect, or else the side that differs most from the
// middle reading of its kind.
func (r Readings) notUpright(f *Figure) error {
	if len(f.Suspects) > 0 {
		s := f.Suspects[0]
		return impossibleReading("reading_not_upright", s.Reading, s.Now)
	}
	worst, most := namedReading{}, decimal.Zero
	for i, n := range r.named() {
		middle := r.Widths[1]
		if i >= 3 {
			middle = r.Heights[1]
		}
		if away := n.value.Sub(middle).Abs(); i < 6 && away.GreaterThanOrEqual(most) {
			worst, most = n, away
		}
	}
	return impossibleReading("reading_not_upright", worst.name, worst.value)
}

func (f *Figure) becauseSill(r Readings) {
	if r.SillFall == nil {
		f.because("figure_sill_level", nil)
		return
	}
	if r.SillFall.IsZero() {
		f.because("figure_sill_measured_level", nil)
		return
	}
	f.because("figure_sill_fall", map[string]decimal.Decimal{"fall": r.SillFall.Abs()})
}

// taped is the outline from sides and diagonals, adjusted together. It fills the
// misclosure and the lean of f.
func (r Readings) taped(f *Figure) (outline, error) {
	t := r.tape()
	if name := t.brokenTriangle(); name != "" {
		if len(f.Suspects) > 0 {
			name = f.Suspects[0].Reading
		}
		return outline{}, impossibleReading("reading_cannot_close", name, r.valueOf(name))
	}
	t, misclosure := t.adjusted(r.variance())
	f.Misclosure = inMM(misclosure)
	o, ok := t.outline()
	if !ok {
		return outline{}, r.notUpright(f)
	}
	if o = o.turned(r.fall(), t.bottom); !o.upright() {
		return outline{}, r.notUpright(f)
	}
	shape := o.shape()
	f.Lean = inMM(shape.lean)
	f.SillLevelAssumed = r.SillFall == nil
	o = shape.beyondTape(r.variance()).outline()
	if err := r.bend(&o, r.SillFall != nil); err != nil { // a level shows a sill that bellies
		return outline{}, err
	}
	f.because("figure_taped", map[string]decimal.Decimal{"lean": f.Lean.Abs().Round(1)})
	f.becauseSill(r)
	f.because("figure_belly", nil)
	return o, nil
}

// set writes an outline's points in millimetres.
func (f *Figure) set(o outline) {
	f.BottomLeft, f.BottomRight, f.TopRight, f.TopLeft = o.bl.point(), o.br.point(), o.tr.point(), o.tl.point()
	f.MidLeft, f.MidRight, f.MidSill, f.MidHead = o.left.point(), o.right.point(), o.sill.point(), o.head.point()
}

// outline is the figure's outline in µm, for reckoning with.
func (f Figure) outline() outline {
	return outline{
		bl: f.BottomLeft.spot(), br: f.BottomRight.spot(), tr: f.TopRight.spot(), tl: f.TopLeft.spot(),
		left: f.MidLeft.spot(), right: f.MidRight.spot(), sill: f.MidSill.spot(), head: f.MidHead.spot(),
	}
}
