package safety

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// structure: what a window may be holding up.
func structure(f Facts, _ []light) []Finding {
	var out []Finding
	if f.NoLintel {
		out = append(out, Finding{Rule: "no_lintel", Weight: Stop})
	}
	if f.Bay {
		out = append(out, Finding{Rule: "bay", Weight: Stop, Mark: calc.Quoted})
	}
	if f.Widened {
		out = append(out, Finding{Rule: "widened", Weight: Stop, Mark: calc.Quoted})
	}
	return out
}

// paperFindings: who has to be told.
func paperFindings(f Facts, _ []light) []Finding {
	if f.GlassOnly {
		return nil // glass_only_rest says so
	}
	r, _ := rule(paper, f.Nation, f.Date)
	switch f.Nation {
	case Scotland:
		if f.Flat {
			// Flats are left to the local authority; no clause was read for them.
			return []Finding{{Rule: "paper_scotland_flat", Weight: Ask, Mark: calc.Quoted}}
		}
		return []Finding{r.finding("paper_scotland", Advise)}
	case NI:
		return []Finding{r.finding("paper_ni", Advise)}
	}
	// Reg 20 was read; the other way, by building notice, is quoted by others,
	// and a sentence is no stronger than its weakest part.
	f20 := r.finding("paper_notify", Advise).with("days", r.paper.days)
	f20.Mark = weaker(f20.Mark, calc.Quoted)
	return []Finding{f20}
}

// The figures of the cautions.
var (
	silicaLimit = decimal.New(1, -1) // mg/m³ over 8 h; quoted by others
	silicaHours = decimal.NewFromInt(8)
	edgeRail    = mm(950) // read, HSE
)

// cautions are the usual dangers of the work, where they arise.
func cautions(f Facts) []Finding {
	var out []Finding
	if f.BuiltBefore2000 {
		out = append(out,
			Finding{Rule: "caution_asbestos", Weight: Advise},
			Finding{Rule: "caution_lead", Weight: Advise})
	}
	if f.OldVents && !f.OpenFlue && !f.GlassOnly {
		out = append(out, Finding{Rule: "caution_flue", Weight: Advise})
	}
	if f.Storey > 0 {
		out = append(out, Finding{Rule: "caution_height", Weight: Advise, Document: "hse", Mark: calc.Read}.with("rail", edgeRail))
	}
	if !f.GlassOnly {
		out = append(out, Finding{Rule: "caution_silica", Weight: Advise, Document: "hse", Mark: calc.Quoted}.
			with("limit", silicaLimit).with("hours", silicaHours))
	}
	return append(out, Finding{Rule: "caution_glass", Weight: Advise})
}
