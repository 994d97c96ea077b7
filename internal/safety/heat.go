package safety

import "sillbot/internal/calc"

// heatFindings: how much heat the new window may let out. Doors are rated in
// another way, and a window's standard size says nothing of them. A protected
// building may fall back on its glass where the window can't meet the limit.
func heatFindings(f Facts, r ruling, _ []light) []Finding {
	u, limit := f.UValue, r.heat.limit
	switch {
	case f.Door && r.heat.glazed.IsZero():
		return []Finding{plain("heat_door_unverified").word("nation", "nation."+string(f.Nation))}
	case f.Door:
		return []Finding{r.finding("heat_door").with("limit", limit).with("share", r.heat.glazed)}
	case u.IsPositive() && !u.GreaterThan(limit):
		return []Finding{r.finding("heat_clear").with("limit", limit).with("u", u).by(calc.Practice)} // by the faces of the frame
	case f.Heritage && r.heat.centre.IsZero():
		return []Finding{r.finding("heat_heritage_ask").with("limit", limit)}
	case f.Heritage:
		return []Finding{r.heritage(f)}
	case u.IsZero():
		return []Finding{r.finding("heat").with("limit", limit)}
	}
	return []Finding{r.finding("heat_over").with("limit", limit).with("u", u).by(calc.Practice)}
}

// heritage is what the glass of a protected building may let out.
func (r ruling) heritage(f Facts) Finding {
	centre := r.heat.centre
	switch u := f.CentreU; {
	case u.IsZero():
		return r.finding("heat_heritage").with("limit", centre)
	case u.GreaterThan(centre):
		return r.finding("heat_heritage_over").with("limit", centre).with("u", u)
	default:
		return r.finding("heat_heritage_clear").with("limit", centre).with("u", u)
	}
}
