package safety

import "slices"

// topicRules are the topics that documents stand behind, in reading order.
var topicRules = []struct {
	topic Topic
	// asks reports whether the topic may ask something of this opening: if it
	// does, a day or a nation whose edition is not known is said.
	asks func(Facts, []light) bool
	find func(Facts, ruling, []light) []Finding // called where there are limits
	says bool                                   // find has something to say of openings of which asks is false
}{
	{Glass, func(Facts, []light) bool { return true }, glassFindings, false},
	{Bath, func(f Facts, _ []light) bool { return f.NearBath }, bathFindings, false},
	{Guarding, asksGuard, guardFindings, false},
	{Escape, asksEscape, escapeFindings, false},
	{Vents, asksVents, ventFindings, true},
	{Purge, asksPurge, purgeFindings, true},
	{Heat, func(f Facts, _ []light) bool { return f.bound() }, heatFindings, false},
	{Paper, func(f Facts, _ []light) bool { return !f.GlassOnly }, paperFindings, false},
}

// Findings looks at one opening under every rule of its nation on the day of
// the work. They come in the order in which a person wants to read them: what
// stops the work, what a document requires, what is missing, advice and
// cautions, and last what was looked at and needs nothing.
//
// Where a nation's rule is not verified, England's limits may stand in, marked
// as from memory, and a finding says so. After the last edition known here its
// limits are kept, marked as from memory, and a finding says so; before the
// first there are none, and a finding says so.
func Findings(f Facts) []Finding {
	all := structure(f)
	if f.HigherRisk {
		all = append(all, higherRisk(f.Nation))
	}
	if !f.Nation.known() {
		all = append(all, plain("nation"))
	}
	if f.Date.IsZero() {
		all = append(all, plain("date"))
	}
	if f.Nation.known() && !f.Date.IsZero() {
		all = append(all, heights(f)...)
		lights := f.lights()
		f.findPulls(lights)
		all = append(all, f.topics(lights, Glass, Bath, Guarding, Escape)...)
		all = append(all, pullFindings(f, lights)...)
		all = append(all, f.topics(lights, Vents, Purge)...)
		all = append(all, scope(f)...)
		all = append(all, f.topics(lights, Heat, Paper)...)
	}
	all = append(all, cautions(f)...)
	f.lift(all)
	slices.SortStableFunc(all, func(a, b Finding) int { return a.Severity.rank() - b.Severity.rank() })
	return all
}

// RoomFindings looks at the background vents and the airing of one room over
// all its windows together: f.Panes are the lights of every window, with the
// degrees to which they open, and the vent areas are sums.
func RoomFindings(f Facts) []Finding {
	if !f.Nation.known() || f.Date.IsZero() {
		return nil
	}
	return f.topics(f.lights(), Vents, Purge)
}

// topics are the findings on some topics. Nothing is cleared by an edition
// that has ended.
func (f Facts) topics(lights []light, topics ...Topic) []Finding {
	var out []Finding
	for _, t := range topicRules {
		if !slices.Contains(topics, t.topic) {
			continue
		}
		r, asks := f.look(t.topic), t.asks(f, lights)
		var found []Finding
		if r.standing < early && (asks || t.says) {
			found = t.find(f, r, lights)
			asks = asks || len(found) > 0
		}
		if r.standing >= ended && asks {
			found = slices.DeleteFunc(found, func(fd Finding) bool { return fd.CardOnly })
			found = append(found, r.note(f.Nation))
		}
		out = append(out, found...)
	}
	return out
}
