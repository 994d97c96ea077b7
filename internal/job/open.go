package job

import "slices"

// OpenPoints are all that is open in the job, the most urgent first. A frame is
// late that was due before today, 2006-01-02.
func (j Job) OpenPoints(today string) []OpenPoint {
	var list []OpenPoint
	add := func(what Matter, due string, id int) {
		i := slices.IndexFunc(list, func(p OpenPoint) bool { return p.What == what && p.Due == due })
		if i < 0 {
			i = len(list)
			list = append(list, OpenPoint{What: what, Due: due})
		}
		list[i].Openings = append(list[i].Openings, id)
	}
	for _, row := range j.List() {
		if due := row.Due; due != "" && due < today && !row.State.made() {
			add(LateFrame, due, row.ID)
		}
		if row.Questions > 0 {
			add(AskedByDesk, "", row.ID)
		}
		if what := j.matter(row); what != "" {
			add(what, "", row.ID)
		}
	}
	slices.SortStableFunc(list, func(a, b OpenPoint) int {
		return slices.Index(Matters, a.What) - slices.Index(Matters, b.What)
	})
	return list
}

// matter is what is open of a window by where it stands, "" for nothing.
func (j Job) matter(row Row) Matter {
	switch s := row.State; {
	case s.made(), s == Confirmed:
		return ""
	case s.withLead():
		return ToCheck
	case s == Changed, s.atDesk() && j.Order.Held:
		return HeldOrder
	case s == Survey && len(row.Lacks) > 0:
		return HalfDone
	case row.Against > row.items: // what the maker needs is asked once, by the sending
		return StandsOpen
	case s.atDesk() && row.Questions == 0:
		return Unconfirmed
	case row.Signed == nil && !s.atDesk():
		return Unsigned
	}
	return ""
}
