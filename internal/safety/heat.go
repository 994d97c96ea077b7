package safety

// heatFindings: how much heat the new window may let out, or in a protected
// building its glass.
func heatFindings(f Facts, r ruling, _ []light) []Finding {
	u, limit, rules := f.UValue, r.heat.limit, [3]string{"heat", "heat_over", "heat_clear"}
	if f.Heritage {
		u, limit, rules = f.CentreU, r.heat.centre, [3]string{"heat_heritage", "heat_heritage_over", "heat_heritage_clear"}
	}
	switch {
	case u.IsZero():
		return []Finding{r.finding(rules[0]).with("limit", limit)}
	case u.GreaterThan(limit):
		return []Finding{r.finding(rules[1]).with("limit", limit).with("u", u)}
	}
	return []Finding{r.finding(rules[2]).with("limit", limit).with("u", u)}
}
