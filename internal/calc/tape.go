package calc

import (
	"slices"
)

// tape holds the six corner-to-corner readings in µm.
type tape struct{ top, bottom, left, right, rising, falling int64 }

func (r Readings) tape() tape {
	return tape{
		top: micronsDown(r.Widths[0]), bottom: micronsDown(r.Widths[2]),
		left: micronsDown(r.Heights[0]), right: micronsDown(r.Heights[2]),
		rising: microns(r.Rising), falling: microns(r.Falling),
	}
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

// to is the distance to another spot, rounded down.
func (s spot) to(other spot) int64 {
	dx, dy := other.x-s.x, other.y-s.y
	return rootDown(dx*dx + dy*dy)
}
