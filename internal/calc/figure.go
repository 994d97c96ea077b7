package calc

import (
	"cmp"
	"slices"

	"github.com/shopspring/decimal"
)

// Readings are what the tape says of one opening, in mm, seen from outside.
type Readings struct {
	Widths  [3]decimal.Decimal // top, middle, bottom
	Heights [3]decimal.Decimal // left, middle, right
	// Rising runs from the bottom left to the top right corner, Falling from
	// the top left to the bottom right. Both zero: not measured.
	Rising, Falling decimal.Decimal
	// SillFall is how much lower the right end of the sill is than the left
	// end; negative when the left end is lower. Nil: taken level.
	SillFall *decimal.Decimal
}

// Figure is the opening as four corners and four middle points, worked out
// from the readings. Without diagonals it is the symmetrical, plumb figure
// and Assumed is true.
type Figure struct {
	BottomLeft, BottomRight, TopRight, TopLeft Point
	MidLeft, MidRight, MidSill, MidHead        Point
	Assumed                                    bool
	SillLevelAssumed                           bool            // the sill was taken level, not measured
	Lean                                       decimal.Decimal // mean lean of the jambs over the height, mm, positive to the right going up
	Misclosure                                 decimal.Decimal // measured top width less computed top width, mm
	Tolerance                                  decimal.Decimal // the misclosure, either way, that a tape explains, mm
	Suspects                                   []Suspect       // empty when the figure closes within the tolerance
	Reasons                                    []Reason
}

// Suspect is a reading that may be the mistake in a figure that does not
// close, with the value that would close it. The likeliest comes first.
type Suspect struct {
	Reading string          // width.top, width.middle, …, height.right, diagonal.rising, diagonal.falling
	Now     decimal.Decimal // as given
	Closes  decimal.Decimal // the value that closes the figure, to 0.1 mm
	Slip    string          // the usual slip that would explain it (swap, ten, fifty, hundred, misread), or ""
	// Rank is 0 for the likeliest. Suspects of the same rank are equally
	// likely: the figure can't tell them apart.
	Rank int
}

// ReadingError is how far one tape reading in a rough opening may be out
// without being a mistake, in mm: the tape's own division, its hook, and
// where on a rough edge it was held. Common practice, no source. A figure's
// tolerance is what six readings, each out by this much, add up to as errors
// add (the root of the sum of squares).
const ReadingError = 2

// OutOfSquareLimit is the difference between the diagonals above which the
// opening is out of square and the order must be adjusted, in mm. Source: UK
// supplier guide.
const OutOfSquareLimit = 10

// shortestReading is the least that is taken for a reading, in mm.
var shortestReading = decimal.NewFromInt(10)

// leanWorthAsking is the lean in mm from which it matters whether the jambs
// lean or the sill falls: the usual gap, so that neither could be hidden in
// it. Common practice, no source.
var leanWorthAsking = decimal.NewFromInt(5)

// tape holds the six corner-to-corner readings in µm.
type tape struct{ top, bottom, left, right, rising, falling int64 }

// Survey works out the opening as a figure. The bottom left corner is the
// origin and the sill is level unless its fall was given.
//
// Readings run from corner to corner along the sides. With both diagonals the
// four sides hold exactly and the difference of the diagonals gives the lean,
// so a figure whose readings agree is exact and the tape's small disagreements
// fall on the diagonals alone. What the diagonals and sides disagree by is the
// misclosure; above Tolerance, Suspects names the likeliest mistakes.
// Coordinates are rounded to the micrometre, and a shortening by lean under
// 0.1 mm is left out.
//
// Readings under 10 mm or over 20 m, or that break the triangle rule or make no
// upright opening, give a RefusalError of ErrImpossible whose word "reading" names the
// reading.
func Survey(r Readings) (Figure, error) {
	if err := r.check(); err != nil {
		return Figure{}, err
	}
	var f Figure
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
	f.Reasons = append(f.Reasons, Reason{Rule: rule, Figures: figures})
}

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

// NeedsSillFall says whether to ask for the sill's fall: the diagonals show a
// lean that is worth it, the figure closes, and the fall was not given. The same diagonals fit
// leaning jambs on a level sill and plumb jambs on a falling one; the first
// costs width, the second height.
func NeedsSillFall(f Figure) bool {
	return !f.Assumed && f.SillLevelAssumed && len(f.Suspects) == 0 && f.Lean.Abs().GreaterThanOrEqual(leanWorthAsking)
}

// check finds what no arithmetic should start on.
func (r Readings) check() error {
	for _, n := range r.named() {
		diagonal := n.name == "diagonal.rising" || n.name == "diagonal.falling"
		if n.value.LessThan(shortestReading) && !(diagonal && n.value.IsZero()) {
			return impossibleReading("reading_not_positive", n.name, n.value)
		}
		if n.value.GreaterThan(decimal.NewFromInt(2*longestSide/1000)) ||
			!diagonal && n.value.GreaterThan(decimal.NewFromInt(longestSide/1000)) {
			return impossibleReading("reading_too_long", n.name, n.value)
		}
	}
	if r.Rising.IsZero() != r.Falling.IsZero() {
		missing := "diagonal.rising"
		if r.Falling.IsZero() {
			missing = "diagonal.falling"
		}
		return impossibleReading("diagonal_alone", missing, decimal.Zero)
	}
	if r.SillFall != nil && r.SillFall.Abs().Mul(decimal.NewFromInt(steepest)).GreaterThan(r.Widths[2]) {
		return impossibleReading("sill_fall_too_steep", "sill_fall", *r.SillFall)
	}
	return nil
}

type namedReading struct {
	name  string
	value decimal.Decimal
}

// named lists the readings by their names.
func (r Readings) named() [8]namedReading {
	return [8]namedReading{
		{"width.top", r.Widths[0]}, {"width.middle", r.Widths[1]}, {"width.bottom", r.Widths[2]},
		{"height.left", r.Heights[0]}, {"height.middle", r.Heights[1]}, {"height.right", r.Heights[2]},
		{"diagonal.rising", r.Rising}, {"diagonal.falling", r.Falling},
	}
}

func impossibleReading(rule, name string, value decimal.Decimal) *RefusalError {
	return refuse(ErrImpossible, rule,
		map[string]decimal.Decimal{"value": value},
		map[string]string{"reading": "reading." + name})
}

// plumb is the symmetrical figure on plumb jambs: widths level, heights plumb,
// the head centred over a straight sill. No square root is needed, and on a
// level sill a frame by the smallest readings fits it exactly.
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
	err := r.bend(&o, true)
	return o, err
}

// bend gives the outline its bellies from the middle readings: half to each of
// the two sides, or all to the head over a sill taken straight.
func (r Readings) bend(o *outline, straightSill bool) error {
	o.straighten()
	if !o.bellyLevel(micronsDown(r.Widths[1])) {
		return impossibleReading("reading_not_straight", "width.middle", r.Widths[1])
	}
	if !o.bellyPlumb(micronsDown(r.Heights[1]), straightSill) {
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
	f.because("figure_sill_fall", map[string]decimal.Decimal{"fall": r.SillFall.Abs()})
}

// fall is the sill's fall in µm, 0 when not given.
func (r Readings) fall() int64 {
	if r.SillFall == nil {
		return 0
	}
	return microns(*r.SillFall)
}

func (r Readings) tape() tape {
	return tape{
		top: micronsDown(r.Widths[0]), bottom: micronsDown(r.Widths[2]),
		left: micronsDown(r.Heights[0]), right: micronsDown(r.Heights[2]),
		rising: microns(r.Rising), falling: microns(r.Falling),
	}
}

// taped is the outline from sides and diagonals. It fills the misclosure, the
// lean and the suspects of f.
func (r Readings) taped(f *Figure) (outline, error) {
	t := r.tape()
	if name := t.brokenTriangle(); name != "" {
		return outline{}, impossibleReading("reading_cannot_close", name, r.valueOf(name))
	}
	computed := t.closing("width.top")
	tolerance := t.tolerance()
	f.Misclosure, f.Tolerance = inMM(t.top-computed), inMM(tolerance)
	if abs64(t.top-computed) > tolerance {
		f.Suspects = r.suspects(t)
	}
	o, ok := t.outline()
	if !ok {
		return outline{}, r.notUpright(f)
	}
	if err := r.bend(&o, false); err != nil {
		return outline{}, err
	}
	if o = o.turned(r.fall(), t.bottom); !o.upright() {
		return outline{}, r.notUpright(f)
	}
	f.Lean = inMM(divNear(o.tl.x+o.tr.x-o.br.x, 2))
	f.SillLevelAssumed = r.SillFall == nil
	f.because("figure_taped", map[string]decimal.Decimal{"lean": f.Lean.Abs().Round(1)})
	f.becauseSill(r)
	f.because("figure_belly", nil)
	return o, nil
}

func (r Readings) valueOf(name string) decimal.Decimal {
	for _, n := range r.named() {
		if n.name == name {
			return n.value
		}
	}
	return decimal.Zero
}

// brokenTriangle names the reading that makes one of the four triangles of
// two sides and a diagonal impossible: the one that is in most of the broken
// ones, a diagonal before a side. "" when all four stand.
func (t tape) brokenTriangle() string {
	names := [6]string{"diagonal.rising", "diagonal.falling", "width.top", "width.bottom", "height.left", "height.right"}
	value := [6]int64{t.rising, t.falling, t.top, t.bottom, t.left, t.right}
	triangles := [4][3]int{{1, 3, 4}, {0, 3, 5}, {1, 2, 5}, {0, 2, 4}}
	var broken [6]int
	for _, tri := range triangles {
		a, b, c := value[tri[0]], value[tri[1]], value[tri[2]]
		if a < b+c && b < a+c && c < a+b {
			continue
		}
		for _, i := range tri {
			broken[i]++
		}
	}
	most := slices.Max(broken[:])
	if most == 0 {
		return ""
	}
	return names[slices.Index(broken[:], most)]
}

// closing is the value in µm of one reading that closes the figure when the
// other five stand, to the micrometre. The four triangles must stand.
func (t tape) closing(name string) int64 {
	switch name {
	case "width.top":
		return sixth(t.bottom, t.left, t.falling, t.rising, t.right, true)
	case "width.bottom":
		return sixth(t.top, t.left, t.rising, t.falling, t.right, true)
	case "height.left":
		return sixth(t.right, t.bottom, t.rising, t.falling, t.top, true)
	case "height.right":
		return sixth(t.left, t.bottom, t.falling, t.rising, t.top, true)
	case "diagonal.rising":
		return sixth(t.falling, t.left, t.bottom, t.top, t.right, false)
	default: // diagonal.falling
		return sixth(t.rising, t.left, t.top, t.bottom, t.right, false)
	}
}

// sixth is the distance between two points P and Q that stand on a common
// base: pu and pv are P's distances from the base's ends, qu and qv Q's. same
// says that both are on the same side of the base.
func sixth(base, pu, pv, qu, qv int64, same bool) int64 {
	px := divNear(pu*pu+base*base-pv*pv, 2*base)
	qx := divNear(qu*qu+base*base-qv*qv, 2*base)
	py, qy := rootDown(pu*pu-px*px), rootDown(qu*qu-qx*qx)
	dx, dy := px-qx, py-qy
	if !same {
		dy = py + qy
	}
	return rootDown(dx*dx + dy*dy)
}

// tolerance is the misclosure of the top width in µm that ReadingError in
// each of the six readings explains. In a nearly square figure an error in a
// reading moves the computed top width by its length over the bottom width.
func (t tape) tolerance() int64 {
	sum := t.sumOfSquares()
	return ReadingError * 1000 * rootUp(sum) / t.bottom
}

func (t tape) sumOfSquares() int64 {
	return t.top*t.top + t.bottom*t.bottom + t.left*t.left + t.right*t.right +
		t.rising*t.rising + t.falling*t.falling
}

// outline finds the corners whose four sides hold exactly and whose diagonals
// differ as measured. False when no upright figure does.
func (t tape) outline() (outline, bool) {
	// With x0 and x1 the leans of the left and right jambs, the law of cosines
	// gives rising² − falling² = 2·bottom·(x0+x1) + right² − left².
	both := divNear(t.rising*t.rising-t.falling*t.falling-t.right*t.right+t.left*t.left, 2*t.bottom)
	spread := t.top - t.bottom // x1 − x0, first as if the head were level
	var o outline
	for range 8 {
		x0, x1 := divNear(both-spread, 2), divNear(both+spread, 2)
		if steepest*abs64(x0) > t.left || steepest*abs64(x1) > t.right {
			return outline{}, false
		}
		o = outline{
			br: spot{t.bottom, 0},
			tl: spot{x0, shadow(t.left, x0)},
			tr: spot{t.bottom + x1, shadow(t.right, x1)},
		}
		rise := o.tr.y - o.tl.y
		if steepest*abs64(rise) > t.top {
			return outline{}, false
		}
		next := shadow(t.top, rise) - t.bottom
		if next == spread {
			break
		}
		spread = next
	}
	return o, true
}

// suspects ranks the six readings by how likely each is the mistake.
func (r Readings) suspects(t tape) []Suspect {
	type scored struct {
		Suspect
		class  int
		change decimal.Decimal
	}
	reach := inMM(ReadingError * rootUp(t.sumOfSquares()))
	var found []scored
	for _, n := range r.named() {
		if n.name == "width.middle" || n.name == "height.middle" {
			continue
		}
		s := Suspect{Reading: n.name, Now: n.value, Closes: inMM(t.closing(n.name)).Round(1)}
		// What a tape explains, as an error of this reading.
		within := reach.DivRound(n.value, 3)
		s.Slip = usualSlip(s.Now, s.Closes, within)
		class := r.middleSays(n.name, s.Closes)
		if s.Slip == "" {
			class += 3
		}
		found = append(found, scored{s, class, s.Closes.Sub(s.Now).Abs()})
	}
	slices.SortStableFunc(found, func(a, b scored) int {
		return cmp.Or(cmp.Compare(a.class, b.class), a.change.Cmp(b.change))
	})
	out := make([]Suspect, len(found))
	alike := decimal.NewFromInt(2 * ReadingError)
	lead := 0 // the first of the present rank
	for i, s := range found {
		if i > 0 && (s.class != found[lead].class || s.change.Sub(found[lead].change).GreaterThan(alike)) {
			lead = i
		}
		s.Rank = lead
		out[i] = s.Suspect
	}
	return out
}

// middleSays compares a side's reading with the middle reading of its kind,
// which on straight sides is the mean of its two fellows: 0 when the change
// agrees with it better, 2 when worse, 1 when it says nothing.
func (r Readings) middleSays(name string, closes decimal.Decimal) int {
	var now, fellow, middle decimal.Decimal
	switch name {
	case "width.top":
		now, fellow, middle = r.Widths[0], r.Widths[2], r.Widths[1]
	case "width.bottom":
		now, fellow, middle = r.Widths[2], r.Widths[0], r.Widths[1]
	case "height.left":
		now, fellow, middle = r.Heights[0], r.Heights[2], r.Heights[1]
	case "height.right":
		now, fellow, middle = r.Heights[2], r.Heights[0], r.Heights[1]
	default:
		return 1
	}
	twice := middle.Add(middle).Sub(fellow)
	before, after := twice.Sub(now).Abs(), twice.Sub(closes).Abs()
	slack := decimal.NewFromInt(2 * ReadingError)
	switch {
	case after.Add(slack).LessThan(before):
		return 0
	case before.Add(slack).LessThan(after):
		return 2
	}
	return 1
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
