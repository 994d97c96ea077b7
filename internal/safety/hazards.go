package safety

import "sillbot/internal/calc"

// scheme is guidance for registered installers, as others quote it.
var scheme = ruling{document: "scheme_guidance", mark: calc.Quoted}

// structure: what a window may be holding up, and what may be holding up the
// wall over it.
func structure(f Facts) []Finding {
	var out []Finding
	if f.NoLintel {
		out = append(out, scheme.finding("no_lintel"))
	}
	switch {
	case f.Over == OverBricks:
		// A course of bricks is no support unless it is formed into an arch.
		out = append(out, scheme.finding("over_bricks"))
	case (f.Over == OverHidden || f.Over == "") && !f.NoLintel && !f.Bay && !f.GlassOnly:
		out = append(out, scheme.finding("over_ask"))
	}
	if f.Cracks {
		out = append(out, scheme.finding("cracks"))
	}
	if f.Bowed {
		out = append(out, scheme.finding("bowed"))
	}
	if f.Bay {
		out = append(out, scheme.finding("bay"))
	}
	if f.Widened {
		out = append(out, ruling{mark: calc.Quoted}.finding("widened"))
	}
	return out
}

// higherRisk: a building of 18 m or seven storeys needs its regulator first. What
// is quoted is England's regime; elsewhere the sentence is from memory.
func higherRisk(n Nation) Finding {
	if n == England {
		return ruling{document: "higher_risk", edition: "2023", mark: calc.Quoted}.finding("higher_risk")
	}
	return ruling{mark: calc.FromMemory}.finding("higher_risk")
}

// was names what a clearance lifts.
var was = map[string]string{
	"no_lintel": "was.no_lintel", "over_bricks": "was.over_bricks", "cracks": "was.cracks", "bowed": "was.bowed", "bay": "was.bay",
	"widened": "was.widened", "higher_risk": "was.higher_risk", "open_flue": "was.open_flue", "edition_ended": "was.edition_ended",
}

// lift puts what a qualified person said in the place of the stops that it was
// said of. One person's word lifts stops of one kind: those of the wall while
// there are any, since an engineer does not speak for a regulator, then those of
// the building, of a flue, and of the edition.
func (f Facts) lift(all []Finding) {
	c := f.Cleared
	if c == nil || c.Who == "" || c.Capacity == "" || c.Day == "" || c.Words == "" {
		return
	}
	kinds := []Topic{Structure, Paper, Hazards}
	kind := func(fd Finding) int {
		for i, t := range kinds {
			if outcomes[fd.Rule].topic == t {
				return i
			}
		}
		return len(kinds)
	}
	first := len(kinds)
	for _, fd := range all {
		if fd.Severity == Stop {
			first = min(first, kind(fd))
		}
	}
	for i, fd := range all {
		if fd.Severity == Stop && kind(fd) == first {
			all[i] = plain("cleared").word("was", was[fd.Rule]).
				saying("who", c.Who).saying("capacity", c.Capacity).saying("day", c.Day).saying("words", c.Words)
		}
	}
}

// heights asks for the readings that several rules hang on.
func heights(f Facts) []Finding {
	var out []Finding
	if f.GlassAboveFloor == nil {
		out = append(out, plain("height_floor"))
	}
	if f.GlassAboveOutside == nil && f.Storey <= 0 {
		out = append(out, plain("height_outside"))
	}
	return out
}

// scope says which rules do not hold here, and what stops the work on the vents.
func scope(f Facts) []Finding {
	switch {
	case f.GlassOnly:
		// No source that was at hand says anything on glass alone.
		return []Finding{plain("glass_only_rest")}
	case f.NotHouse:
		return []Finding{plain("not_house")}
	case f.OpenFlue:
		return []Finding{ruling{mark: calc.FromMemory}.finding("open_flue")}
	}
	return nil
}

// paperFindings: who has to be told. In a higher-risk building it is the
// regulator, and higherRisk says so.
func paperFindings(f Facts, r ruling, _ []light) []Finding {
	rule := r.paper.rule
	switch {
	case f.HigherRisk:
		return nil
	case f.Flat && r.paper.flat != "":
		// Flats are left to the local authority; no clause was read for them.
		return []Finding{ruling{mark: calc.Quoted}.finding(r.paper.flat)}
	case f.Door && r.paper.door != "":
		rule = r.paper.door
	case r.paper.days.IsZero():
	case f.Bay || f.Widened || f.NoLintel || f.Over == OverBricks:
		return []Finding{r.finding("paper_more")}
	case f.Certifies == ByInstaller:
		rule = "paper_installer"
	case f.Certifies == ByNotice:
		fd := r.finding("paper_notice")
		fd.Clause = "" // none was noted of the notice
		return []Finding{fd}
	}
	fd := r.finding(rule)
	if r.paper.days.IsPositive() {
		fd = fd.with("days", r.paper.days)
	}
	return []Finding{fd}
}

// cautions are the usual dangers of the work, where they arise.
func cautions(f Facts) []Finding {
	r := f.look(Hazards)
	var out []Finding
	if f.BuiltBefore2000 {
		out = append(out, r.finding("caution_asbestos"))
	}
	if f.BuiltBefore1992 {
		out = append(out, ruling{document: "lead_paint", mark: calc.Quoted}.finding("caution_lead"))
	}
	if f.OldVents && !f.OpenFlue && !f.GlassOnly {
		out = append(out, ruling{mark: calc.FromMemory}.finding("caution_flue"))
	}
	switch height := r.finding("caution_height").with("rail", r.hazards.rail); {
	case f.Storey > 0:
		out = append(out, height)
	case f.floorOver(r.hazards.fall, 0):
		out = append(out, height.by(calc.Practice))
	}
	if !f.GlassOnly {
		out = append(out, r.finding("caution_silica").with("limit", r.hazards.silica).with("hours", r.hazards.hours))
	}
	return append(out, ruling{mark: calc.Practice}.finding("caution_glass"))
}
