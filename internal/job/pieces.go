package job

import (
	"slices"
)

// A window may stand for several alike. From the delivery on they are counted
// piece by piece: an entry says how many took a step, and the window's state is
// that of its least far piece. What is not all there holds up no piece that is.

// Part is how many pieces of a window stand at one state.
type Part struct {
	State State
	Count int
}

// Parts says how the pieces of the window are shared out over the states, the
// least far first; nil when all are alike. Those that a remake replaces are not
// among them unless there are no others.
func (o Opening) Parts() []Part {
	if o.made == nil {
		return nil
	}
	var list []Part
	if before := o.Count - o.made.sum(); before > 0 {
		list = append(list, Part{o.State, before})
	}
	for _, s := range States {
		if n := o.made[s]; n > 0 && s != Replaced {
			list = append(list, Part{s, n})
		}
	}
	if len(list) < 2 && o.made[Replaced] == 0 {
		return nil
	}
	return list
}

// Parts is as Opening.Parts.
func (r Row) Parts() []Part { return r.opening().Parts() }

// Replaced is how many pieces a remake takes the place of.
func (r Row) Replaced() int { return r.made[Replaced] }

// live is how many pieces of the window are not replaced by a remake.
func (o Opening) live() int { return o.Count - o.made[Replaced] }

// partlyHere says whether some pieces are here and others not, so that the window
// can't become another one.
func (o Opening) partlyHere() bool { return o.made.sum() > 0 && !o.State.made() }

// byPiece says whether an action is done to some of the pieces of a window.
func (do Action) byPiece() bool {
	return do.row().Day || do == DoBack || do == DoBreak || do == DoFault
}

// takes is where the pieces stand that an action can be done to, how many there
// are, and the state that it leads to; 0: none. A step back and a late fault take
// the furthest pieces, the others the least far ones.
func (o Opening) takes(do Action) (from State, count int, to State) {
	leads := do.row().Leads
	parts := o.Parts()
	if parts == nil {
		parts = []Part{{o.State, o.live()}}
	}
	if do == DoBack || do == DoFault {
		parts = slices.Clone(parts)
		slices.Reverse(parts)
	}
	for _, p := range parts {
		if next, ok := leads[p.State]; ok {
			return p.State, p.Count, next
		}
	}
	return "", 0, ""
}
