package calc

import "errors"

// Arrive holds a delivered frame against the order that it was made by. Sizes of
// plastic and aluminium are brought to 15 °C first, by the expansion in j. A size
// beyond its tolerance is noted where the frame still has its room in the opening, and
// wrong where it has not or nobody measured it. Of two rules for one thing the tighter
// decides; what only the tighter forbids is noted.
//
// ErrImpossible for sizes no frame has, one diagonal alone, diagonals that no frame of
// the size can have, a negative twist, a temperature under −30 or over 80 °C and an unknown
// material.
func Arrive(o Order, m Material, d Delivered, j JointSettings) (Arrival, error) {
	if err := d.check(); err != nil {
		return Arrival{}, err
	}
	expansion, known := j.Expansion[m]
	if !known {
		return Arrival{}, refuse(ErrImpossible, "material_unknown", nil, nil)
	}
	w := arriving{order: o, material: m, delivered: d, expansion: expansion}
	a := Arrival{At15: Size{w.mild(d.Size.Width), w.mild(d.Size.Height)}, Worst: VerdictRight}
	a.Order, a.GoesIn = o.refitted(a.At15, w.mark()), true
	room := a.Order.roomChecks(o)
	for _, c := range room {
		a.GoesIn = a.GoesIn && c.Reasons[0].Rule != noRoom
	}
	a.Checks = append(w.sizes(a.At15, room), w.shape()...)
	a.Checks = append(a.Checks, room...)
	for _, c := range a.Checks {
		a.Worst = a.Worst.worse(c.Verdict)
	}
	return a, nil
}

// Refit is the order with the frame that came, as measured at 15 °C, in the place
// where the ordered one would stand: plumb, level and centred, or tight to the same
// side. The gaps are those that will be; Gap stays what the table asks for. The steps
// of a dimension add up to the delivered size. Mark is how far that size may be
// trusted; empty: as read off a tape.
//
// ErrImpossible for a size under 200 mm or over 6 m, ErrTooSmall with side and gap
// where under 1 mm is left, which takes no packer.
func (o Order) Refit(arrived Size, mark Mark) (Order, error) {
	if err := (Delivered{Size: arrived}).check(); err != nil {
		return Order{}, err
	}
	out := o.refitted(arrived, mark)
	for _, c := range out.roomChecks(o) {
		if why := c.Reasons[0]; why.Rule == noRoom {
			return Order{}, &RefusalError{Kind: ErrTooSmall, Reason: why}
		}
	}
	return out, nil
}

// IsNoRoom reports whether an error of Refit says that the frame does not go in.
func IsNoRoom(err error) bool {
	var refused *RefusalError
	return errors.As(err, &refused) && refused.Reason.Rule == noRoom
}
