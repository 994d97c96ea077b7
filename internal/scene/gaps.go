package scene

import (
	"math"

	"sillbot/internal/calc"
)

// sides is the order in which the sides are gone through.
var sides = [4]calc.Side{calc.Left, calc.Right, calc.Head, calc.Sill}

// gaps are the distances in mm from the frame (or the sill piece under it)
// outwards, at three places of each side: jambs from the bottom up, head and
// sill from the left.
type gaps map[calc.Side][3]float64

// measured are the distances to the line that was measured. A plan without a
// figure is drawn with the gaps that the table asks for.
func measured(o calc.Order) gaps {
	f := o.Figure
	if f.TopRight.X.IsZero() {
		g := gaps{}
		for _, side := range sides {
			d := float(o.Gap[side])
			g[side] = [3]float64{d, d, d}
		}
		return g
	}
	left, bottom := o.Place.X, o.Place.Y.Sub(o.SillPiece)
	right, top := left.Add(o.Size.Width), o.Place.Y.Add(o.Size.Height)
	return gaps{
		calc.Left:  {float(left.Sub(f.BottomLeft.X)), float(left.Sub(f.MidLeft.X)), float(left.Sub(f.TopLeft.X))},
		calc.Right: {float(f.BottomRight.X.Sub(right)), float(f.MidRight.X.Sub(right)), float(f.TopRight.X.Sub(right))},
		calc.Head:  {float(f.TopLeft.Y.Sub(top)), float(f.MidHead.Y.Sub(top)), float(f.TopRight.Y.Sub(top))},
		calc.Sill:  {float(bottom.Sub(f.BottomLeft.Y)), float(bottom.Sub(f.MidSill.Y)), float(bottom.Sub(f.BottomRight.Y))},
	}
}

// toMasonry are the distances to the masonry behind plaster or a check, where
// the line that was measured stands in front of it.
func toMasonry(o calc.Order, line gaps) gaps {
	out := gaps{}
	for _, side := range sides {
		d := line[side]
		for i := range d {
			d[i] += float(o.Masonry[side])
		}
		out[side] = d
	}
	if !o.Inner.Width.IsPositive() || !o.Inner.Height.IsPositive() {
		return out
	}
	beside := float(o.Inner.Width.Sub(o.Size.Width)) / 2
	above := float(o.Inner.Height.Sub(o.Size.Height).Sub(o.SillPiece)) - line[calc.Sill][1]
	out[calc.Left], out[calc.Right] = [3]float64{beside, beside, beside}, [3]float64{beside, beside, beside}
	out[calc.Head] = [3]float64{above, above, above}
	return out
}

// extent is the least and the most of the distances.
func (g gaps) extent() (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, side := range sides {
		for _, d := range g[side] {
			least, most = min(least, d), max(most, d)
		}
	}
	return least, most
}

// at is the distance along a side, part being 0 at its corner and 1 at its
// end.
func (g gaps) at(side calc.Side, part float64) float64 {
	d := g[side]
	if part < 0.5 {
		return d[0] + (d[1]-d[0])*2*max(0, part)
	}
	return d[1] + (d[2]-d[1])*(2*min(1, part)-1)
}
