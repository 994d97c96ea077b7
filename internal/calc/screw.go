package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// Masonry is what the frame's screws go into.
type Masonry string

// The kinds of masonry.
const (
	SolidBrick Masonry = "brick"
	Concrete   Masonry = "concrete"
	Aerated    Masonry = "aerated" // blocks of aerated concrete
	Hollow     Masonry = "hollow"  // hollow or perforated bricks and blocks
)

// EmbedmentIn is the length of a screw in a kind of masonry, mm. ok is false where no frame screw holds by itself: hollow
// masonry takes its own fixing, by its maker's figures.
func (s Settings) EmbedmentIn(m Masonry) (length decimal.Decimal, ok bool) {
	switch m {
	case SolidBrick:
		return s.Embedment, true
	case Concrete:
		return s.EmbedConcrete, true
	case Aerated:
		return s.EmbedAerated, true
	}
	return decimal.Zero, false
}

// Screw is the frame screw of one place: both jambs, the head, the sill, or
// jambs and head together where they take the same. Need is what it has to
// cross, mm, Length the stock length to take. Without one Length is zero and
// Why says what is in the way.
type Screw struct {
	Sides  []Side
	Gap    decimal.Decimal // packed, at its widest
	Need   decimal.Decimal
	Length decimal.Decimal
	Why    Reason
}

// At reports whether the screw is that of a side.
func (w Screw) At(side Side) bool { return slices.Contains(w.Sides, side) }

// Screws are the frame screws of a section across the widest packed gap in mm
// of each side. A side without a gap takes none.
func Screws(c Section, gaps map[Side]decimal.Decimal, m Masonry, s Settings) []Screw {
	var out []Screw
	jambs, some := widestOf(gaps, Left, Right)
	head, above := widestOf(gaps, Head)
	switch {
	case some && above && jambs.Equal(head):
		out = append(out, c.screw("screw_jambs_head", "screw.at.jambs_head", jambs, m, s, Left, Right, Head))
	default:
		if some {
			out = append(out, c.screw("screw_jambs", "screw.at.jambs", jambs, m, s, Left, Right))
		}
		if above {
			out = append(out, c.screw("screw_head", "screw.at.head", head, m, s, Head))
		}
	}
	if gap, ok := gaps[Sill]; ok {
		rule := "screw_sill"
		if c.SillDepth.IsPositive() {
			rule = "screw_sill_piece"
		}
		out = append(out, c.screw(rule, "screw.at.sill", gap, m, s, Sill))
	}
	return out
}

// widestOf is the largest gap of some sides.
func widestOf(gaps map[Side]decimal.Decimal, sides ...Side) (most decimal.Decimal, ok bool) {
	for _, side := range sides {
		if gap, has := gaps[side]; has {
			most, ok = decimal.Max(most, gap), true
		}
	}
	return most, ok
}

// screw crosses the profile from the foot of the rebate's upstand to its outer
// edge, what lies under the frame, and the packed gap, and then has its length
// in the masonry. The next stock length up is taken.
func (c Section) screw(rule, place string, gap decimal.Decimal, m Masonry, s Settings, sides ...Side) Screw {
	profile, fits := c.InProfile()
	embedment, holds := s.EmbedmentIn(m)
	w := Screw{Sides: sides, Gap: gap}
	if holds && fits {
		w.Need = decimal.Sum(profile, c.UnderFrame(sides[0]), gap, embedment)
		w.Length = nextStock(s.ScrewStock, w.Need)
	}
	switch {
	case !holds:
		rule = "screw_own"
	case !fits:
		rule = "screw_profile"
	case w.Length.IsZero():
		rule = "screw_beyond"
	}
	w.Why = Reason{
		Rule:  rule,
		Words: map[string]string{"masonry": "masonry." + string(m), "place": place},
		Figures: map[string]decimal.Decimal{
			"profile": profile, "face": c.Face, "upstand": c.Upstand, "gap": gap, "embedment": embedment,
			"sill": c.SillHeight, "bed": c.Bed, "need": w.Need, "length": w.Length,
		},
		Mark: Weakest(embedMark, faceMark, wallMark, Practice), // the gap's room goes by the tape
	}
	return w
}

// nextStock is the shortest stock length that is not under need; zero for none.
func nextStock(stock []decimal.Decimal, need decimal.Decimal) decimal.Decimal {
	best := decimal.Zero
	for _, length := range stock {
		if !length.LessThan(need) && (best.IsZero() || length.LessThan(best)) {
			best = length
		}
	}
	return best
}

// plugEdge is the edge distance in masonry over the embedment; a general rule
// of plugs, read.
var plugEdge = decimal.NewFromInt(2)

// EdgeReason says whether the screws keep their distance from the masonry's
// edge: twice the embedment. ok is false when nothing is behind the frame but
// the cavity. nil for masonry that takes its own fixing.
func (c Section) EdgeReason(m Masonry, s Settings) (why *Reason, ok bool) {
	embedment, holds := s.EmbedmentIn(m)
	if !holds {
		return nil, true
	}
	edge, least := c.EdgeDistance(), embedment.Mul(plugEdge)
	why = &Reason{Rule: "screw_edge_enough", Source: "plug_rule", Mark: Weakest(Read, embedMark, wallMark), Own: Read, Figures: map[string]decimal.Decimal{
		"edge": edge, "least": least, "setback": c.Setback, "depth": c.Depth, "leaf": c.Leaf, "cavity": c.Cavity,
	}}
	switch {
	case !edge.IsPositive():
		why.Rule = "screw_cavity"
		return why, false
	case edge.LessThan(least):
		why.Rule = "screw_edge"
	}
	return why, true
}
