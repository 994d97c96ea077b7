package calc

import (
	"cmp"
	"slices"

	"github.com/shopspring/decimal"
)

// How a frame moves when its packers change, to first order: its sides keep their
// lengths and stay straight, so the head goes up and down with the sill and one jamb
// goes left and right with the other. It stands on the bed packers nearest to its two
// ends. A jamb is held at its lowest and its highest stack, which the one across from
// it follows. Between them the frame moves in proportion, and every other stack follows
// with the thickness that still fits: less than a whole millimetre stays open there.

// mostChange is how far a stack may change, mm: from the thinnest to the tallest.
const mostChange = tallestStack - 1

// support is one place of a packer as the frame stands, in µm.
type support struct {
	side    Side
	at, gap int64
	stack   int // mm
	unseen  bool
}

// supportsOf are the places of a plan. A stack that stands in a place fits it, whatever
// the tape said of its gap.
func supportsOf(places []PackerPlace) []support {
	out := make([]support, len(places))
	for i, p := range places {
		s := support{side: p.Side, at: microns(p.At), unseen: p.Unseen}
		for _, piece := range p.Stack {
			s.stack += piece
		}
		s.gap = max(micronsDown(p.Gap), int64(s.stack)*1000)
		out[i] = s
	}
	return out
}

// packed reports whether something stands there that can be changed.
func (s support) packed() bool { return s.stack > 0 || s.unseen }

// along is how far a frame moves along one of its sides: by d0 at p0 and by d1 at p1, in
// µm, upwards or to the right, and in proportion elsewhere.
type along struct{ p0, p1, d0, d1 int64 }

// gap is the gap at a support after the move, rounded down.
func (l along) gap(s support) int64 {
	run := l.p1 - l.p0
	move := l.d0*run + (l.d1-l.d0)*(s.at-l.p0) // times run
	if s.side == Sill || s.side == Left {
		move = -move // away from the masonry there
	}
	return s.gap + divDown(-move, run)
}

// slope is what the move adds to the side's slope.
func (l along) slope() int64 { return slopeOf(l.d1-l.d0, l.p1-l.p0) }

// refit is what a stack does in a gap that changed: by how many mm it changes, and what
// is missing, µm, where none fits.
type refit struct {
	by    int
	short int64
	tall  bool // it would be no stack any more
}

// refit is what follows from the gap after a move. A stack stays that still fits, with
// less than 1 mm open or no more open than before.
func (s support) refit(gap int64) refit {
	if s.unseen { // it is packed as well as can be: half a millimetre is open on average
		return refit{by: int(divNear(gap-s.gap, 1000))}
	}
	least := int64(1000) // the thinnest packer
	if s.stack == 0 && s.gap < least {
		least = min(s.gap, 0) // it has none: it may come as near as it likes
	}
	if gap < least {
		return refit{short: least - gap}
	}
	open := gap - int64(s.stack)*1000
	switch {
	case s.stack == 0 && gap < 1000:
		return refit{}
	case s.stack == 0 && s.gap >= 1000: // nobody packed it yet
		return refit{}
	case open >= 0 && (open < 1000 || open <= s.gap-int64(s.stack)*1000):
		return refit{}
	}
	return s.become(int(divDown(gap, 1000)))
}

// become is a change to a stack of whole mm.
func (s support) become(mm int) refit {
	switch {
	case s.unseen:
	case mm < 1:
		return refit{short: int64(1-mm) * 1000}
	case mm > tallestStack:
		return refit{short: int64(mm-tallestStack) * 1000, tall: true}
	}
	return refit{by: mm - s.stack}
}

// holders are the places, among the supports, at which the frame is held along a
// side: the first and the last; one where there is no other, none where nothing is
// packed.
func holders(supports []support, side Side, places []PackerPlace) (at []int) {
	bed := slices.ContainsFunc(places, func(p PackerPlace) bool { return p.Bed && p.Side == side })
	for i, s := range supports {
		if s.side == side && s.packed() && (places[i].Bed || !bed) {
			at = append(at, i)
		}
	}
	slices.SortFunc(at, func(a, b int) int { return cmp.Compare(supports[a].at, supports[b].at) })
	if len(at) > 1 && supports[at[0]].at < supports[at[len(at)-1]].at {
		return []int{at[0], at[len(at)-1]}
	}
	return at[:min(len(at), 1)]
}

// trial is a change of the stacks that a frame is held by, and what it costs.
type trial struct {
	hold    []int // the supports that it is held by
	c       [2]int
	line    along
	slope   int64 // what it adds
	lifts   bool  // it is one of the bed
	blocked int   // places that do not allow it
	count   int   // stacks that change
	total   int   // mm, of all changes
}

// lineOf is how the frame moves when the stacks at hold change by c mm. One bed packer
// alone lifts the frame level; one on a jamb turns it about its foot.
func lineOf(supports []support, hold []int, c [2]int) along {
	first := supports[hold[0]]
	sign := int64(1)
	if first.side == Right || first.side == Head {
		sign = -1
	}
	d0 := sign * int64(c[0]) * 1000
	switch {
	case len(hold) == 2:
		return along{first.at, supports[hold[1]].at, d0, sign * int64(c[1]) * 1000}
	case first.side == Sill:
		return along{0, 1, d0, d0}
	}
	return along{0, max(first.at, 1), 0, d0}
}

// refits gives each support on two sides what it does in a trial.
func (t trial) refits(supports []support, sides [2]Side, do func(i int, gap int64, r refit)) {
	for i, s := range supports {
		if s.side != sides[0] && s.side != sides[1] {
			continue
		}
		gap := t.line.gap(s)
		switch {
		case len(t.hold) > 0 && i == t.hold[0]:
			do(i, gap, s.become(s.stack+t.c[0]))
		case len(t.hold) > 1 && i == t.hold[1]:
			do(i, gap, s.become(s.stack+t.c[1]))
		default:
			do(i, gap, s.refit(gap))
		}
	}
}

// tried is a trial with its cost.
func tried(supports []support, sides [2]Side, hold []int, c [2]int) trial {
	t := trial{hold: hold, c: c, line: lineOf(supports, hold, c), lifts: supports[hold[0]].side == Sill}
	t.slope = t.line.slope()
	t.weigh(supports, sides)
	return t
}

// weigh counts what a trial costs.
func (t *trial) weigh(supports []support, sides [2]Side) {
	t.refits(supports, sides, func(_ int, _ int64, r refit) {
		switch {
		case r.short > 0:
			t.blocked++
		case r.by != 0:
			t.count++
			t.total += max(r.by, -r.by)
		}
	})
}

// better orders trials of the same slope: those that can be done first, then the fewest
// stacks, then the least that they change by. Of equals the one that lifts the frame, and
// of those of a jamb the one that leaves its foot.
func (t trial) better(u trial) bool {
	return cmp.Or(
		cmp.Compare(t.blocked, u.blocked), cmp.Compare(t.count, u.count), cmp.Compare(t.total, u.total),
		cmp.Compare(t.likes(), u.likes()),
	) < 0
}

func (t trial) likes() int {
	if t.lifts {
		return -t.c[0] - t.c[1]
	}
	return max(t.c[0], -t.c[0])
}

// trials are the best of each slope that changing the stacks at hold gives, of those
// slopes that are any use.
func trials(supports []support, sides [2]Side, hold []int, useful func(slope int64) bool) []trial {
	if len(hold) == 0 {
		return nil
	}
	best := map[int64]trial{}
	from, to := -mostChange, mostChange
	if len(hold) == 1 {
		from, to = 0, 0 // the second has no place
	}
	for a := -mostChange; a <= mostChange; a++ {
		for b := from; b <= to; b++ {
			c := [2]int{a, b}
			if !useful(lineOf(supports, hold, c).slope()) {
				continue
			}
			t := tried(supports, sides, hold, c)
			if old, ok := best[t.slope]; !ok || t.better(old) {
				best[t.slope] = t
			}
		}
	}
	out := make([]trial, 0, len(best))
	for _, t := range best {
		out = append(out, t)
	}
	slices.SortFunc(out, func(a, b trial) int { return cmp.Compare(a.slope, b.slope) })
	return out
}

// remedy is a change of the bed with one of the jambs.
type remedy struct {
	bed, jamb trial
	worst     int64 // how much of a limit is used at the worst, millionths
	byHand    bool  // the jambs are held plumb while their packers go in
}

// after is the posture when sill and jambs have turned by so much.
func (p posture) after(turn, lean int64) posture {
	p.slope[inSill] += turn
	p.slope[inHead] += turn
	p.slope[inLeft] += lean
	p.slope[inRight] += lean
	p.rack += turn + lean
	return p
}

// fits reports whether a member is within its limit when it has turned by so much.
func (p posture) fits(member int, by int64) bool {
	return abs64(p.slope[member]+by) <= slopeLimit(p.length(member))
}

// used is how much of its limit the worst figure in the wall's plane uses, millionths;
// with readOnly, of those that were read.
func (p posture) used(readOnly bool) int64 {
	var worst int64
	for i := inSill; i <= inRight; i++ {
		if p.read[i] || !readOnly {
			worst = max(worst, divUp(abs64(p.slope[i])*1_000_000, slopeLimit(p.length(i))))
		}
	}
	if p.squared || !readOnly {
		worst = max(worst, divUp(abs64(p.rack)*1_000_000, p.rackLimit()))
	}
	return worst
}

// wholeLimit is what used says of a figure on its limit.
const wholeLimit = 1_000_000

// remedy finds the change that makes the frame true: it can be done, it changes the
// fewest stacks, and of those it leaves the frame nearest to true. Where whole packers at
// the jambs are too coarse, or there is one alone, the frame is held plumb by hand while
// they go in. ok is false where no change of packers does, whatever room there is.
func (p posture) remedy(supports []support, places []PackerPlace) (best remedy, ok bool) {
	still := trial{line: along{0, 1, 0, 0}}
	levels := func(slope int64) bool { return p.fits(inSill, slope) && p.fits(inHead, slope) }
	plumbs := func(slope int64) bool { return p.fits(inLeft, slope) && p.fits(inRight, slope) }
	bed, left, right := holders(supports, Sill, places), holders(supports, Left, places), holders(supports, Right, places)
	beds := trials(supports, [2]Side{Sill, Head}, bed, levels)
	if len(bed) == 0 {
		beds = []trial{still}
	}
	if len(left)+len(right) == 0 { // nothing is packed there: the jambs turn with the rest
		return p.best(beds, func(bed trial) []trial {
			turning := still
			turning.slope = -bed.slope
			return []trial{turning}
		})
	}
	upright := [2]Side{Left, Right}
	jambs := append(trials(supports, upright, left, plumbs), trials(supports, upright, right, plumbs)...)
	if best, ok = p.best(beds, func(trial) []trial { return jambs }); ok {
		return best, ok
	}
	byHand := []trial{p.byHand(supports)}
	best, ok = p.best(beds, func(trial) []trial { return byHand })
	best.byHand = ok
	return best, ok
}

// byHand turns the jambs about their feet until they are plumb, and every stack follows.
func (p posture) byHand(supports []support) trial {
	slope := -p.mean(inLeft, inRight)
	t := trial{line: along{0, p.height, 0, over(slope, p.height)}, slope: slope}
	t.weigh(supports, [2]Side{Left, Right})
	return t
}

// best is the best of each bed with each of its jambs.
func (p posture) best(beds []trial, jambs func(bed trial) []trial) (best remedy, ok bool) {
	for _, bed := range beds {
		for _, jamb := range jambs(bed) {
			r := remedy{bed: bed, jamb: jamb, worst: p.after(bed.slope, jamb.slope).used(false)}
			if r.worst <= wholeLimit && (!ok || r.better(best)) {
				best, ok = r, true
			}
		}
	}
	return best, ok
}

func (r remedy) better(s remedy) bool {
	return cmp.Or(
		cmp.Compare(r.bed.blocked+r.jamb.blocked, s.bed.blocked+s.jamb.blocked),
		cmp.Compare(r.bed.count+r.jamb.count, s.bed.count+s.jamb.count),
		cmp.Compare(r.worst, s.worst),
		cmp.Compare(r.bed.total+r.jamb.total, s.bed.total+s.jamb.total),
	) < 0
}

// each gives every support what it does in the remedy.
func (r remedy) each(supports []support, do func(i int, gap int64, f refit)) {
	r.bed.refits(supports, [2]Side{Sill, Head}, do)
	r.jamb.refits(supports, [2]Side{Left, Right}, do)
}

// Change is one stack of packers to change.
type Change struct {
	Side Side
	At   decimal.Decimal // as of PackerPlace
	Bed  bool
	// From and To are the stacks before and after, each the fewest stock pieces; both
	// nil behind a check, where nobody knows what stands there.
	From, To []int
	By       int // mm; negative: taken out
}

// changes are the remedy's, in the order to make them: the bed, its low end first; then
// the jambs, first what is in the way, from the bottom up; then the head.
func (r remedy) changes(supports []support, places []PackerPlace) []Change {
	var out []Change
	r.each(supports, func(i int, _ int64, f refit) {
		if f.by == 0 {
			return
		}
		c := Change{Side: places[i].Side, At: places[i].At, Bed: places[i].Bed, By: f.by}
		if s := supports[i]; !s.unseen {
			c.From, c.To = places[i].Stack, stackOf(s.stack+f.by)
		}
		out = append(out, c)
	})
	turn := map[Side]int{Sill: 0, Left: 1, Right: 1, Head: 2}
	slices.SortStableFunc(out, func(a, b Change) int {
		return cmp.Or(
			cmp.Compare(turn[a.Side], turn[b.Side]),
			inTheWay(a, b), a.At.Cmp(b.At),
			cmp.Compare(a.Side, b.Side),
		)
	})
	return out
}

// inTheWay puts what a jamb loses before what it gains.
func inTheWay(a, b Change) int {
	if a.Side != Left && a.Side != Right {
		return 0
	}
	return cmp.Compare(min(1, max(-1, a.By)), min(1, max(-1, b.By)))
}

// stackOf is a stack of mm, nil for none.
func stackOf(mm int) []int {
	if mm < 1 {
		return nil
	}
	return stack(mm)
}

// placesAfter are the places with the gaps and the stacks after the remedy.
func (r remedy) placesAfter(supports []support, places []PackerPlace) []PackerPlace {
	out := slices.Clone(places)
	r.each(supports, func(i int, gap int64, f refit) {
		if supports[i].unseen {
			return
		}
		if gap != supports[i].gap {
			out[i].Gap = inMM(gap)
		}
		if t := out[i].Trouble; t != nil && t.Rule == packerNoRoom && !out[i].NoRoom() {
			out[i].Trouble = nil
		}
		if f.by != 0 {
			out[i].Stack = stackOf(supports[i].stack + f.by)
		}
	})
	return out
}

// blocked are the places that do not allow the remedy, and what is missing at each.
func (r remedy) blocked(supports []support, places []PackerPlace) []Reason {
	var out []Reason
	r.each(supports, func(i int, _ int64, f refit) {
		if f.short == 0 {
			return
		}
		rule := "set_gap_small"
		switch {
		case f.tall:
			rule = "set_stack_tall"
		case places[i].Side == Sill:
			rule = "set_bed_high"
		}
		out = append(out, Reason{
			Rule: rule,
			Figures: map[string]decimal.Decimal{
				"at": places[i].At, "gap": inMM(supports[i].gap).RoundFloor(1), "short": inMM(f.short).RoundUp(1),
				"tallest": count(tallestStack),
			},
			Words: map[string]string{"side": "side." + string(places[i].Side)},
			Mark:  Weakest(Derived, Practice),
		})
	})
	return out
}
