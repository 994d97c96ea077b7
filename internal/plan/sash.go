package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// drops works the sashes out whose diagonals were measured. The blocks' middle
// lies as far from the sash's corner as the block from the pane's, and the
// pane inside the sash.
func (p *Plan) drops(c Crew) error {
	for _, s := range p.Opening.Sashes {
		if s.HeelToe.IsZero() {
			continue
		}
		g := p.Glass[s.Light-1]
		inset := c.SashFace.Sub(c.EdgeCover).Add(glassPlay)
		for _, b := range g.Blocks {
			if b.Role == calc.Heel && b.Edge == calc.Sill {
				inset = inset.Add(decimal.Min(b.At, g.Glass.Width.Sub(b.At)))
			}
		}
		sag, err := calc.SashDrop(s.HeelToe, s.Across, s.Size, inset)
		if err != nil {
			return err
		}
		p.Sags = append(p.Sags, Sag{s.Light - 1, sag})
	}
	return nil
}

// glassPlay is from the tight rebate size to the pane at each edge: half of
// the 6 mm that the glass is less than the tight rebate size (read, document not
// noted).
var glassPlay = decimal.NewFromInt(3)

// swings is how far each light opens: held by its restrictor, or to its angle,
// or to the 30 degrees that count in full where nobody gave one.
func (p *Plan) swings() error {
	wanted := p.Opening.FloorArea.IsPositive() || p.Opening.RoomName != ""
	for i := range p.Layout.Lights {
		s := p.Opening.SashOf(i)
		wanted = wanted || s.Angle.IsPositive() || s.Restrictor.IsPositive()
	}
	if !wanted {
		return nil
	}
	p.Swings = make([]calc.Swing, len(p.Layout.Lights))
	for i, light := range p.Layout.Lights {
		swing, err := swingOf(p.Opening.SashOf(i), light.Hinge, p.Clear[i].Opening)
		if err != nil {
			return err
		}
		p.Swings[i] = swing
	}
	if p.Opening.FloorArea.IsPositive() {
		return p.purge()
	}
	return nil
}

// fullSwing is the angle that an open light is taken to reach.
var fullSwing = decimal.NewFromInt(30)

// halfSwing is the least angle that counts for airing at all.
var halfSwing = decimal.NewFromInt(15)

func swingOf(s Sash, h calc.Hinge, opening calc.Size) (calc.Swing, error) {
	angle := s.Angle
	if angle.IsZero() {
		angle = fullSwing
	}
	free, err := calc.SwingAt(opening, h, angle)
	if err != nil || !s.Restrictor.IsPositive() || !s.Restrictor.LessThan(free.Gap) {
		return free, err // a restrictor wider than the light opens holds nothing
	}
	return calc.SwingHeld(opening, h, s.Restrictor)
}

func (p *Plan) purge() error {
	wide, err := calc.PurgeShare(p.Swings, fullSwing, p.Opening.FloorArea)
	if err != nil {
		return err
	}
	narrow, err := calc.PurgeShare(p.Swings, halfSwing, p.Opening.FloorArea)
	p.Purge = &Purge{wide, narrow}
	return err
}
