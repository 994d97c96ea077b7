package safety

import "sillbot/internal/calc"

// structure: what a window may be holding up.
func structure(f Facts) []Finding {
	var out []Finding
	if f.NoLintel {
		out = append(out, plain("no_lintel"))
	}
	quoted := ruling{mark: calc.Quoted}
	if f.Bay {
		out = append(out, quoted.finding("bay"))
	}
	if f.Widened {
		out = append(out, quoted.finding("widened"))
	}
	return out
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
		return []Finding{plain("open_flue")}
	}
	return nil
}

// paperFindings: who has to be told.
func paperFindings(f Facts, r ruling, _ []light) []Finding {
	if f.Flat && r.paper.flat != "" {
		// Flats are left to the local authority; no clause was read for them.
		return []Finding{ruling{mark: calc.Quoted}.finding(r.paper.flat)}
	}
	fd := r.finding(r.paper.rule)
	if r.paper.days.IsPositive() {
		fd = fd.with("days", r.paper.days)
	}
	return []Finding{fd}
}

// cautions are the usual dangers of the work, where they arise.
func cautions(f Facts) []Finding {
	r := look(Hazards, f.Nation, f.Date)
	var out []Finding
	if f.BuiltBefore2000 {
		out = append(out, plain("caution_asbestos"), plain("caution_lead"))
	}
	if f.OldVents && !f.OpenFlue && !f.GlassOnly {
		out = append(out, plain("caution_flue"))
	}
	if f.Storey > 0 {
		out = append(out, r.finding("caution_height").with("rail", r.hazards.rail))
	}
	if !f.GlassOnly {
		out = append(out, r.finding("caution_silica").with("limit", r.hazards.silica).with("hours", r.hazards.hours))
	}
	return append(out, plain("caution_glass"))
}
