package calc

import "github.com/shopspring/decimal"

// Role says what a glass block does.
type Role string

// The roles of a glass block.
const (
	Setting  Role = "setting"  // carries the pane
	Heel     Role = "heel"     // carries the pane at the hinge side
	Toe      Role = "toe"      // braces the sash, opposite the heel
	Location Role = "location" // keeps the pane in place, carries nothing
)

// Block is one glass block. Edge is the pane's edge it sits on; At is the
// block's middle, measured from the pane's bottom corner on an upright edge
// and from its left corner on a level one.
type Block struct {
	Edge   Side            `json:"edge"`
	At     decimal.Decimal `json:"at"`
	Role   Role            `json:"role"`
	Length decimal.Decimal `json:"length"`
}

// GlassPlan is one light's glass. Origin is the pane's bottom left corner
// from the frame's bottom left corner.
type GlassPlan struct {
	Light   int // index in Layout.Lights
	Glass   Size
	Origin  Point
	Sight   Size            // visible glass
	Mass    decimal.Decimal // kg, with spacer and seal; zero if the make-up is not known
	Team    int             // people to lift it by the filters; 0: more than three
	Carry   decimal.Decimal // kg that hinges or stays are to be rated for at least, the sash's own profiles left out; zero for a fixed light
	Blocks  []Block
	Reasons []Reason
}

// The published figures of glass.
var (
	massPerMM    = decimal.New(25, -1)    // kg per m² and mm of thickness
	spacerSeal   = decimal.New(11, -1)    // a unit with its spacer and seal, against its glass alone
	glassLess    = decimal.NewFromInt(6)  // mm off the tight rebate size
	hingeFactor  = decimal.New(13, -1)    // what hinges are rated for over the mass of a sash; an aluminium hardware sheet
	blockPerArea = decimal.NewFromInt(27) // mm of setting block per m² of glass
	blockLeast   = decimal.NewFromInt(100)
	cornerLeast  = decimal.NewFromInt(100) // mm from a block's near end to the corner of an opening light
)

// Glass is the glass of every light, in the order of l.Lights: what is seen,
// what to order, what it weighs and where its blocks go. The mullions and
// transoms of l are placed.
//
// The sight size is the daylight between outer frame, mullions and transoms,
// less s.SashFace on every side when the light opens: that face is what is
// seen of the sash inside the frame. The tight rebate size is the sight size
// and s.EdgeCover on every side. Glass is 6 mm less than the tight size,
// rounded down to whole mm, and set in the middle. Panes are the thicknesses
// in mm; with none the mass is zero and Team is 0. Mass is rounded up to
// 0.1 kg.
//
// A layout that fails Check, a thickness that is not positive and a light
// with nothing left to see are refused; the last is ErrTooSmall with the
// light's number from 1.
func Glass(frame Size, l Layout, panes []decimal.Decimal, s Settings) ([]GlassPlan, error) {
	if err := l.Check(frame); err != nil {
		return nil, err
	}
	for i, pane := range panes {
		if !pane.IsPositive() {
			return nil, refuse(ErrImpossible, "pane_thickness", map[string]decimal.Decimal{"number": count(i + 1), "thickness": pane}, nil)
		}
	}
	unit := unitOf(panes)
	plans := make([]GlassPlan, 0, len(l.Lights))
	for i, light := range l.Lights {
		p, err := glassOf(i, frame, l, s)
		if err != nil {
			return nil, err
		}
		p.weigh(unit, s)
		p.hang(light.Hinge)
		p.block(light.Hinge)
		plans = append(plans, p)
	}
	return plans, nil
}

// sight is what is seen of the glass of one light.
func (l Layout) sight(frame Size, light Light, s Settings) bay {
	b := l.bay(frame, light, s)
	if light.Hinge == FixedLight {
		return b
	}
	return b.inside(microns(s.SashFace))
}

func glassOf(i int, frame Size, l Layout, s Settings) (GlassPlan, error) {
	sight := l.sight(frame, l.Lights[i], s)
	tight := sight.inside(-microns(s.EdgeCover))
	size := tight.size()
	width, height := glassOfTight(tight.right-tight.left), glassOfTight(tight.top-tight.bottom)
	glass := Size{inMM(width), inMM(height)}
	if sight.right <= sight.left || sight.top <= sight.bottom || width <= 0 || height <= 0 {
		return GlassPlan{}, lightTooSmall(i+1, sight.size())
	}
	p := GlassPlan{
		Light:   i,
		Blocks:  make([]Block, 0, 4),
		Reasons: make([]Reason, 0, 6),
		Glass:   glass,
		Sight:   sight.size(),
		Origin: Point{
			inMM((tight.left + tight.right - width) / 2),
			inMM((tight.bottom + tight.top - height) / 2),
		},
	}
	p.because("glass_sight", "", Practice, map[string]decimal.Decimal{
		"number": count(i + 1), "width": p.Sight.Width, "height": p.Sight.Height,
	})
	p.because("glass_size", "glazing_guides", Read, map[string]decimal.Decimal{
		"number": count(i + 1), "width": glass.Width, "height": glass.Height,
		"tight_width": size.Width, "tight_height": size.Height, "less": glassLess,
	})
	return p, nil
}

// glassOfTight is the glass, µm, for a tight rebate size: 6 mm less, in whole
// millimetres, rounded down.
func glassOfTight(tight int64) int64 { return divDown(tight-microns(glassLess), 1000) * 1000 }

// because adds a reason: all of them rest on the face widths.
func (p *GlassPlan) because(rule, source string, mark Mark, figures map[string]decimal.Decimal) {
	why := Reason{Rule: rule, Figures: figures, Source: source, Mark: mark}
	if mark != "" {
		why = why.on(faceMark)
	}
	p.Reasons = append(p.Reasons, why)
}

func total(ds []decimal.Decimal) decimal.Decimal { return decimal.Sum(decimal.Zero, ds...) }

// unit is what the panes of a glass unit come to.
type unit struct {
	thickness decimal.Decimal // mm, of all panes
	perArea   decimal.Decimal // kg per m², with spacer and seal
	panes     int
}

// unitOf adds a spacer and seal from two panes on; a single pane has none.
func unitOf(panes []decimal.Decimal) unit {
	u := unit{thickness: total(panes), panes: len(panes)}
	u.perArea = u.thickness.Mul(massPerMM)
	if u.panes > 1 {
		u.perArea = u.perArea.Mul(spacerSeal)
	}
	return u
}

// weigh fills in the mass and who can lift it.
func (p *GlassPlan) weigh(u unit, s Settings) {
	if u.panes == 0 {
		p.because("glass_mass_unknown", "", "", map[string]decimal.Decimal{"number": count(p.Light + 1)})
		return
	}
	rule, mark := "glass_mass_pane", Read
	if u.panes > 1 {
		rule, mark = "glass_mass_unit", Quoted
	}
	area := p.Glass.area()
	p.Mass = area.Mul(u.perArea).RoundUp(1)
	limits := s.TeamLimits()
	p.Team = LiftingTeam(p.Mass, limits)
	p.because(rule, "glazing_guides", mark, map[string]decimal.Decimal{
		"area": area.Round(2), "thickness": u.thickness, "mass": p.Mass,
	})
	figures := map[string]decimal.Decimal{"mass": p.Mass, "each": limits[0]}
	switch p.Team {
	case 0:
		figures["limit"] = limits[2]
		p.because("lift_aid", "lifting_training", Quoted, figures)
	case 1:
		p.because("lift_one", "hse_filters", Quoted, figures)
	default:
		figures["people"], figures["limit"] = count(p.Team), limits[p.Team-1]
		p.because("lift_team", "lifting_training", Quoted, figures)
	}
}

// hang says what the hinges or stays of a light carry at the least: 1.3 times
// its glass. The sash's own profiles come on top, and are their maker's to say.
func (p *GlassPlan) hang(h Hinge) {
	if h == FixedLight || p.Mass.IsZero() {
		return
	}
	p.Carry = p.Mass.Mul(hingeFactor).RoundUp(1)
	p.because("hinge_rating", "hardware_sheet", Read, map[string]decimal.Decimal{"carry": p.Carry, "mass": p.Mass, "factor": hingeFactor})
}

// TeamLimits are the filters, kg, for one person, two and three: what each may
// lift, and of a team what the crew set or else what TeamLimit says.
func (s Settings) TeamLimits() [3]decimal.Decimal {
	each := s.LiftEach
	if each.IsZero() {
		each = LiftFilter
	}
	limits := [3]decimal.Decimal{TeamLimit(each), TeamLimit(each, each), TeamLimit(each, each, each)}
	for i, own := range [2]decimal.Decimal{s.LiftTwo, s.LiftThree} {
		if own.IsPositive() {
			limits[i+1] = own.RoundDown(1)
		}
	}
	return limits
}

// TeamLimit is what people can lift together, kg rounded down to 0.1, by what
// each can lift alone: two have two thirds of the sum, three a half. Nothing
// is published for more, so four or more have zero.
func TeamLimit(each ...decimal.Decimal) decimal.Decimal {
	sum := total(each)
	switch len(each) {
	case 1:
		return sum.RoundDown(1)
	case 2:
		return sum.Mul(count(2)).Div(count(3)).RoundDown(1)
	case 3:
		return sum.Mul(oneHalf).RoundDown(1)
	}
	return decimal.Zero
}

// LiftingTeam is the fewest people whose filter of TeamLimits a mass in kg
// passes; 0 when three are over theirs: assess the lift, plan a mechanical aid.
func LiftingTeam(mass decimal.Decimal, limits [3]decimal.Decimal) int {
	for i, limit := range limits {
		if mass.LessThanOrEqual(limit) {
			return i + 1
		}
	}
	return 0
}

// block fills in the places of the glass blocks. Their near ends stay 100 mm
// from the corners of an opening light; an edge too short for that gets its
// block in the middle.
func (p *GlassPlan) block(h Hinge) {
	area := p.Glass.area()
	length := decimal.Max(blockLeast, area.Mul(blockPerArea).Ceil())
	p.because("block_length", "glazing_guides", Read, map[string]decimal.Decimal{
		"length": length, "area": area.Round(2), "rate": blockPerArea, "least": blockLeast,
	})
	switch h {
	case FixedLight:
		p.pair(length, p.Glass.Width.Mul(oneQuarter).Round(0), "blocks_fixed", "glazing_guides", Read)
	case TopHung:
		p.pair(length, cornerLeast.Add(length.Mul(oneHalf)), "blocks_top", "", FromMemory)
		p.stayClear()
	case BottomHung:
		p.pair(length, cornerLeast.Add(length.Mul(oneHalf)), "blocks_bottom", "", FromMemory)
		p.stayClear()
	case SideLeft, TiltTurnLeft:
		p.brace(length, Left, Right, "corner.bottom_left", "corner.top_right")
		p.stayClear()
	case SideRight, TiltTurnRight:
		p.brace(length, Right, Left, "corner.bottom_right", "corner.top_left")
		p.stayClear()
	}
}

// pair puts two setting blocks under the pane, each with its middle at from
// its corner. Where they would run into each other they stand at the quarter
// points, and a pane too narrow even for that gets one in the middle.
func (p *GlassPlan) pair(length, at decimal.Decimal, rule, source string, mark Mark) {
	width := p.Glass.Width
	if width.LessThan(length.Mul(count(2))) {
		p.lone(Sill, Setting, length)
		return
	}
	if width.LessThan(at.Mul(count(2)).Add(length)) {
		at = width.Mul(oneQuarter).Round(0)
		p.because("block_quarter", "", Practice, map[string]decimal.Decimal{"width": width, "at": at})
	}
	// Rounding may put a quarter point half a millimetre too near the corner.
	at = decimal.Max(at, length.Mul(oneHalf))
	for _, x := range []decimal.Decimal{at, width.Sub(at)} {
		p.Blocks = append(p.Blocks, Block{Edge: Sill, At: x, Role: Setting, Length: length})
	}
	p.because(rule, source, mark, map[string]decimal.Decimal{"at": at})
}

// lone puts one block in the middle of an edge, cut to fit it.
func (p *GlassPlan) lone(edge Side, role Role, length decimal.Decimal) {
	along := p.Glass.along(edge)
	p.Blocks = append(p.Blocks, Block{Edge: edge, At: along.Mul(oneHalf), Role: role, Length: decimal.Min(length, along)})
	p.Reasons = append(p.Reasons, Reason{
		Rule:    "block_short_edge",
		Figures: map[string]decimal.Decimal{"edge": along, "length": decimal.Min(length, along)},
		Words:   map[string]string{"side": "side." + string(edge)},
		Mark:    Practice,
	})
}

// brace makes the pane the brace of a sash that hangs on one side: heel at
// the bottom corner of that side, toe at the opposite top corner, blocks on
// both edges of each.
func (p *GlassPlan) brace(length decimal.Decimal, hinge, free Side, heel, toe string) {
	near := cornerLeast.Add(length.Mul(oneHalf))
	place := func(edge Side, role Role, fromStart bool) {
		along := p.Glass.along(edge)
		if along.LessThan(near.Mul(count(2))) {
			p.lone(edge, role, length)
			return
		}
		at := near
		if !fromStart {
			at = along.Sub(near)
		}
		p.Blocks = append(p.Blocks, Block{Edge: edge, At: at, Role: role, Length: length})
	}
	place(Sill, Heel, hinge == Left)
	place(hinge, Heel, true)
	place(Head, Toe, hinge == Right)
	place(free, Toe, false)
	why := Reason{
		Rule:    "blocks_brace",
		Figures: map[string]decimal.Decimal{"number": count(p.Light + 1), "at": near},
		Words:   map[string]string{"hinge": "side." + string(hinge), "heel": heel, "toe": toe},
		Source:  "glazing_guides",
		Mark:    Read,
	}
	p.Reasons = append(p.Reasons, why.on(faceMark))
}

// stayClear says how the blocks stand to the corners, of those that have the
// room for it only, and that none goes over a drainage slot.
func (p *GlassPlan) stayClear() {
	near := 0
	for _, b := range p.Blocks {
		if b.near(p.Glass.along(b.Edge)).LessThan(cornerLeast) {
			near++
		}
	}
	switch near {
	case 0:
		p.because("block_corner", "glazing_guides", Read, map[string]decimal.Decimal{"least": cornerLeast})
	case len(p.Blocks):
		p.because("block_slot", "glazing_guides", Read, nil)
	default:
		p.because("block_corner_rest", "glazing_guides", Read, map[string]decimal.Decimal{"least": cornerLeast})
	}
}

// near is how far a block's end is from the nearer corner of its edge.
func (b Block) near(edge decimal.Decimal) decimal.Decimal {
	return decimal.Min(b.At, edge.Sub(b.At)).Sub(b.Length.Mul(oneHalf))
}

// Sag is how far a sash has dropped at its free side, and what lifts it. Pack
// the one toe block or the other by the whole amount, or share it out.
type Sag struct {
	Drop         decimal.Decimal // mm the free corner hangs low, rounded to 0.1; negative: it stands high
	HeadPacking  decimal.Decimal // mm more at the toe block on the head edge, if that one alone is packed
	StilePacking decimal.Decimal // mm more at the toe block on the free upright edge, if that one alone is packed
	Reasons      []Reason
}

// sashTolerance is how far, mm, the diagonals may be from those that the
// sash's size asks for before a reading is doubted. Common practice, no source.
var sashTolerance = decimal.NewFromInt(10)

// SashDrop works from the two diagonals of a side hung or tilt-turn sash, in
// mm: heelToe from the bottom corner on the hinge side to the opposite top
// corner, other the second one. Sash is the size between the corners that the
// diagonals ran to; inset is how far the middle of each toe and heel block is
// from those corners.
//
// The sash is a four-bar frame that leans, the pane a rigid plate between the
// heel and the toe. The lean's sine is (other² − heelToe²) / 4WH, so the free
// side has dropped by (other² − heelToe²) / 4H. Packing the toe against the
// head rail by p turns the sash by p / (W − 2·inset), against the free upright
// by p / (H − 2·inset). Against exact contact geometry this falls short by up
// to drop² / 2W · (1 + (W − 2·inset) / (H − 2·inset)), 0.1 mm for 8 mm in a
// square sash of 640. Packing is rounded towards zero to 0.1 mm, so that the
// pane is not overloaded: measure again and add.
//
// ErrImpossible is returned for a size or reading that is not positive, an
// inset of half a side or more, and a drop of more than a tenth of the width.
func SashDrop(heelToe, other decimal.Decimal, sash Size, inset decimal.Decimal) (Sag, error) {
	figures := map[string]decimal.Decimal{"heel_toe": heelToe, "other": other, "width": sash.Width, "height": sash.Height}
	if sash.tooSmall() || !heelToe.IsPositive() || !other.IsPositive() || inset.IsNegative() {
		return Sag{}, refuse(ErrImpossible, "sash_readings", figures, nil)
	}
	twice := inset.Mul(count(2))
	levelArm, uprightArm := sash.Width.Sub(twice), sash.Height.Sub(twice)
	if !levelArm.IsPositive() || !uprightArm.IsPositive() {
		return Sag{}, refuse(ErrImpossible, "sash_inset", map[string]decimal.Decimal{"inset": inset, "width": sash.Width, "height": sash.Height}, nil)
	}
	short, long := heelToe.Mul(heelToe), other.Mul(other)
	drop := long.Sub(short).DivRound(sash.Height.Mul(count(4)), 8)
	if drop.Abs().GreaterThan(sash.Width.Div(count(10))) {
		return Sag{}, refuse(ErrImpossible, "sash_readings", figures, nil)
	}
	g := sagOf(drop, sash, levelArm, uprightArm)
	if off := diagonalError(short, long, sash); off.GreaterThan(sashTolerance) {
		g.Reasons = append(g.Reasons, Reason{
			Rule:    "sash_doubt",
			Figures: map[string]decimal.Decimal{"off": off, "tolerance": sashTolerance, "width": sash.Width, "height": sash.Height},
			Mark:    Practice,
		})
	}
	return g, nil
}

// sagOf is what lifts a free corner that has dropped, mm, by the arms of the toe's two
// blocks.
func sagOf(drop decimal.Decimal, sash Size, levelArm, uprightArm decimal.Decimal) Sag {
	g := Sag{
		Drop:         drop.Round(1),
		HeadPacking:  drop.Mul(levelArm).DivRound(sash.Width, 8).RoundDown(1),
		StilePacking: drop.Mul(uprightArm).DivRound(sash.Width, 8).RoundDown(1),
	}
	g.Reasons = append(g.Reasons, g.reason())
	return g
}

func (g Sag) reason() Reason {
	rule := "sash_square"
	switch g.Drop.Sign() {
	case 1:
		rule = "sash_low"
	case -1:
		rule = "sash_high"
	}
	return Reason{Rule: rule, Mark: Weakest(Derived, faceMark), Figures: map[string]decimal.Decimal{
		"drop": g.Drop.Abs(), "head": g.HeadPacking.Abs(), "stile": g.StilePacking.Abs(),
	}}
}

// diagonalError is how far, mm rounded to 0.1, the root mean square of two
// diagonals, given squared, is from the diagonal of the size. In any leaning
// rectangle the two agree.
func diagonalError(short, long decimal.Decimal, sash Size) decimal.Decimal {
	got, err := short.Add(long).Mul(oneHalf).SqrtRound(4)
	if err != nil {
		return decimal.Zero
	}
	want, err := sash.Width.Mul(sash.Width).Add(sash.Height.Mul(sash.Height)).SqrtRound(4)
	if err != nil {
		return decimal.Zero
	}
	return got.Sub(want).Abs().Round(1)
}
