package safety

import "sillbot/internal/calc"

// heatFindings: how much heat the new window may let out.
func heatFindings(f Facts, _ []light) []Finding {
	if f.GlassOnly {
		// No source that was at hand says anything on glass alone.
		return []Finding{{Rule: "glass_only_rest", Weight: Ask}}
	}
	if f.NotHouse {
		return []Finding{{Rule: "not_house", Weight: Ask}}
	}
	r, ok := rule(heat, f.Nation, f.Date)
	if !ok {
		if cover(heat, f.Nation, f.Date) == tooLate {
			return nil // editionFindings says so
		}
		return []Finding{notCovered(heat, f, "heat")}
	}
	u := r.finding("", Must).with("limit", r.heat.limit)
	if f.Nation == Scotland {
		// Only the limit is given for Scotland; the rating band and the figure
		// for protected buildings are not verified there.
		u.Mark = weaker(u.Mark, calc.FromMemory)
	}
	if f.Heritage {
		u = u.with("limit", r.heat.centre)
		switch u.Rule = "heat_heritage"; {
		case f.CentreU.IsZero():
		case f.CentreU.GreaterThan(r.heat.centre):
			u.Rule = "heat_heritage_over"
			u = u.with("u", f.CentreU)
		default:
			u.Rule, u.Weight = "heat_heritage_clear", Clear
			u = u.with("u", f.CentreU)
		}
		return []Finding{u}
	}
	switch u.Rule = "heat"; {
	case f.UValue.IsZero():
	case f.UValue.GreaterThan(r.heat.limit):
		u.Rule = "heat_over"
		u = u.with("u", f.UValue)
	default:
		u.Rule, u.Weight = "heat_clear", Clear
		u = u.with("u", f.UValue)
	}
	return []Finding{u}
}

// notCovered says that there is no figure for the nation, or for the day.
func notCovered(t topic, f Facts, name string) Finding {
	if cover(t, f.Nation, f.Date) == tooEarly {
		return Finding{Rule: name + "_early", Weight: Ask}.word("nation", "nation."+string(f.Nation))
	}
	return Finding{Rule: name + "_unverified", Weight: Ask}.word("nation", "nation."+string(f.Nation))
}

// editionFindings: from newEdition on, England has new documents on heat and
// ventilation whose effect on replacement windows is not verified.
func editionFindings(f Facts, _ []light) []Finding {
	if f.GlassOnly || f.NotHouse || cover(heat, f.Nation, f.Date) != tooLate {
		return nil
	}
	return []Finding{{Rule: "edition_new", Weight: Stop, Document: "ad_l_1", Edition: "2026", Mark: calc.Quoted}}
}
