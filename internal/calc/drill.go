package calc

import (
	"maps"
	"slices"

	"github.com/shopspring/decimal"
)

// DrillSettings are the figures of a frame screw's hole that a crew can change, mm.
type DrillSettings struct {
	Screw  decimal.Decimal             `json:"frame_screw"` // its diameter
	Pilot  map[Masonry]decimal.Decimal `json:"pilot_holes"` // diameter of the hole, by masonry
	Beyond decimal.Decimal             `json:"hole_beyond"` // of the hole beyond the screw's tip, for dust
}

// DefaultDrillSettings are common practice but for the hole in aerated block, which is from
// memory. The maker of the screw governs.
func DefaultDrillSettings() DrillSettings {
	return DrillSettings{
		Screw: decimal.New(75, -1),
		Pilot: map[Masonry]decimal.Decimal{
			SolidBrick: decimal.NewFromInt(6), Concrete: decimal.NewFromInt(6), Aerated: decimal.NewFromInt(5),
		},
		Beyond: decimal.NewFromInt(10),
	}
}

// DrillPlace is one hole and its screw. Lengths are mm.
type DrillPlace struct {
	Side   Side
	At     decimal.Decimal // as of a fixing
	Gap    decimal.Decimal // packed, at this place
	Length decimal.Decimal // of the screw, from stock; zero: Why says what is in the way
	InWall decimal.Decimal // of the screw in the masonry
	Hole   decimal.Decimal // depth in the masonry
	Reach  decimal.Decimal // of the drill from where it enters the profile
	Why    Reason
	// Unseen: the gap is behind a check and was not measured.
	Unseen bool
}

// DrillPlan is every hole of a frame in its place.
type DrillPlan struct {
	Places  []DrillPlace
	Pilot   decimal.Decimal // drill's diameter; zero where no frame screw holds
	Screws  []ScrewCount    // by length, shortest first
	Reasons []Reason
	// Edge says whether the screws keep their distance from the masonry's edge; nil for
	// masonry that takes its own fixing. EdgeHolds is false where nothing holds them.
	Edge      *Reason
	EdgeHolds bool
}

// Drill is the hole and the screw of each fixing of a packer plan, across the gap at
// that very place. A screw has its embedment or what the next stock length gives it,
// and the hole goes s.Beyond deeper.
//
// ErrImpossible for settings that are not positive.
func Drill(c Section, packed PackerPlan, m Masonry, s Settings, d DrillSettings) (DrillPlan, error) {
	pilot := d.Pilot[m]
	_, holds := s.EmbedmentIn(m)
	if holds && (!pilot.IsPositive() || !pilot.LessThan(d.Screw) || d.Beyond.IsNegative()) {
		return DrillPlan{}, refuse(ErrImpossible, "drill_settings", map[string]decimal.Decimal{"pilot": pilot, "screw": d.Screw, "beyond": d.Beyond}, nil)
	}
	var p DrillPlan
	p.Edge, p.EdgeHolds = c.EdgeReason(m, s)
	if holds {
		p.Pilot = pilot
	}
	screws := map[int64]int{}
	for _, packer := range packed.Places {
		if packer.Bed {
			continue
		}
		place := c.drillPlace(packer, m, s, d)
		if place.Length.IsPositive() {
			screws[microns(place.Length)]++
		}
		p.Places = append(p.Places, place)
	}
	for _, length := range slices.Sorted(maps.Keys(screws)) {
		p.Screws = append(p.Screws, ScrewCount{inMM(length), screws[length]})
	}
	p.say(m, d)
	return p, nil
}

// placeNames are the words of a screw's place.
var placeNames = map[Side]string{Left: "screw.at.jambs", Right: "screw.at.jambs", Head: "screw.at.head", Sill: "screw.at.sill"}

// drillPlace works one hole out.
func (c Section) drillPlace(packer PackerPlace, m Masonry, s Settings, d DrillSettings) DrillPlace {
	side := packer.Side
	rule := map[Side]string{Left: "screw_jambs", Right: "screw_jambs", Head: "screw_head", Sill: "screw_sill"}[side]
	if side == Sill && c.SillDepth.IsPositive() {
		rule = "screw_sill_piece"
	}
	gap := decimal.Max(decimal.Zero, packer.Gap).RoundUp(1)
	w := c.screw(rule, placeNames[side], gap, m, s, side)
	place := DrillPlace{Side: side, At: packer.At, Gap: gap, Length: w.Length, Why: w.Why, Unseen: packer.Unseen}
	if !w.Length.IsPositive() {
		return place
	}
	embedment, _ := s.EmbedmentIn(m)
	crossed := w.Need.Sub(embedment)
	place.InWall = w.Length.Sub(crossed)
	place.Hole = place.InWall.Add(d.Beyond)
	place.Reach = crossed.Add(place.Hole)
	return place
}

func (p *DrillPlan) say(m Masonry, d DrillSettings) {
	because := func(rule string, mark Mark) {
		p.Reasons = append(p.Reasons, Reason{Rule: rule, Mark: mark, Words: map[string]string{"masonry": "masonry." + string(m)}, Figures: map[string]decimal.Decimal{
			"pilot": p.Pilot, "screw": d.Screw, "beyond": d.Beyond,
		}})
	}
	switch m {
	case SolidBrick:
		because("drill_hole", Practice)
		because("drill_brick", Practice)
	case Concrete:
		because("drill_hole", Practice)
	case Aerated:
		because("drill_hole", Weakest(FromMemory, Practice))
		because("drill_turning", Weakest(FromMemory, Practice))
	default:
		because("drill_own", Practice)
		return
	}
	if slices.ContainsFunc(p.Places, func(place DrillPlace) bool { return place.Side == Sill }) {
		because("drill_sill_seal", Practice)
	}
}
