package calc

import (
	"slices"

	"github.com/shopspring/decimal"
)

// Move is how far a jamb is to be moved across the wall at a fixing before its screw
// goes home. The frame turns about its foot, which stands on the bed.
type Move struct {
	Side Side
	At   decimal.Decimal // mm from the frame's bottom corner
	By   decimal.Decimal // mm, rounded to 0.1; positive: push it out, negative: pull it in
}

// faceSides are the jambs' sides in the order of their readings across the wall.
var faceSides = [...]Side{Left, Right}

// moves are what brings the jambs plumb across the wall, from the foot up, and the
// posture after it. A jamb within its tolerance is left, unless the frame would stay
// twisted.
func (p posture) moves(places []PackerPlace) ([]Move, posture) {
	if !p.across {
		return nil, p
	}
	var move [2]bool
	for j := range faceSides {
		slope := p.slope[inLeftFace+j]
		move[j] = abs64(slope) > slopeLimit(p.height)
	}
	tight, _ := twistLimits(p.frame)
	after := p.plumbed(move, places)
	twisted := p.strings != nil && p.strings.GreaterThan(tight)
	if inMM(after.twisted()).GreaterThan(tight) || twisted && p.twisted() > 0 {
		move = [2]bool{p.slope[inLeftFace] != 0, p.slope[inRightFace] != 0}
		after = p.plumbed(move, places)
	}
	var out []Move
	for j, side := range faceSides {
		if !move[j] {
			continue
		}
		for _, at := range p.fixingsOf(side, places) {
			if by := p.moveAt(j, at); !by.IsZero() {
				out = append(out, Move{side, at, by})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Move) int { return a.At.Cmp(b.At) })
	if len(out) > 0 {
		after.strings = nil // they were stretched before
	}
	return out, after
}

// moveAt is how far jamb j is to go at a height.
func (p posture) moveAt(j int, at decimal.Decimal) decimal.Decimal {
	return inMM(-over(p.slope[inLeftFace+j], microns(at))).Round(1)
}

// plumbed is the posture when the jambs have been moved by what is said at their top
// fixings.
func (p posture) plumbed(move [2]bool, places []PackerPlace) posture {
	for j, side := range faceSides {
		if !move[j] {
			continue
		}
		at := p.fixingsOf(side, places)
		top := at[len(at)-1]
		p.slope[inLeftFace+j] += slopeOf(microns(p.moveAt(j, top)), microns(top))
	}
	return p
}

// fixingsOf are the heights of a jamb's fixings, which packers stand beside, or its top
// corner where there is none, from the foot up.
func (p posture) fixingsOf(side Side, places []PackerPlace) []decimal.Decimal {
	var out []decimal.Decimal
	for _, place := range places {
		if place.Side == side && place.At.IsPositive() {
			out = append(out, place.At)
		}
	}
	if out == nil {
		return []decimal.Decimal{p.frame.Height}
	}
	slices.SortFunc(out, func(a, b decimal.Decimal) int { return a.Cmp(b) })
	return out
}
