package plan

import (
	"slices"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// stopRows are why the window must not be ordered, before anything else.
func (p Plan) stopRows() []Row {
	var rows []Row
	for _, h := range p.Holds() {
		if h.Finding != nil {
			rows = append(rows, p.findingRow(StopPart, h.Finding))
			continue
		}
		row := Row{Part: StopPart, Words: h.Text}
		if i := slices.IndexFunc(p.Order.Warnings, func(w calc.Reason) bool { return w.Rule == h.Rule }); i >= 0 {
			row.Words = briefReason(p.Order.Warnings[i])
		}
		row.Text = phrase.Of("screen.hold").Sub1("reason", row.Words)
		rows = append(rows, row)
	}
	return rows
}

// Points are what is particular to this window and its room, and to be known before it
// is ordered: doubts and gaps that are too wide, then what the rules ask. Stops are not
// among them, nor what nobody measured, nor what holds for the whole job.
func (p Plan) Points() []Row {
	var rows []Row
	for _, r := range p.particular() {
		words := briefReason(r)
		rows = append(rows, Row{Part: PointPart, Text: phrase.Of("screen.point").Sub1("point", words), Words: words})
	}
	for i := range p.Findings {
		f := &p.Findings[i]
		if f.Severity == safety.Stop || f.CardOnly || f.Scope == safety.OfJob || saidAsUnmeasured(f.Rule) || f.Rule == "glass_screen" {
			continue
		}
		rows = append(rows, p.findingRow(PointPart, f))
	}
	return rows
}

// particular are the reasons of this window that are no stops.
func (p Plan) particular() []calc.Reason {
	reasons := slices.Concat(p.Order.Warnings, p.NewTroubles())
	for _, side := range p.Fixings.Sides {
		reasons = append(reasons, side.Shortfall...)
	}
	for _, w := range p.Screws {
		if !w.Length.IsPositive() {
			reasons = append(reasons, w.Why)
		}
	}
	told, _ := p.sectionReasons()
	reasons = slices.Concat(reasons, told, p.Take.Reasons)
	said := map[string]bool{}
	return slices.DeleteFunc(reasons, func(r calc.Reason) bool {
		again := said[r.Rule] && r.Words["side"] == "" && r.Words["reading"] == ""
		said[r.Rule] = true
		return again || r.Rule == "arched" || saidAsUnmeasured(r.Rule) || strings.HasPrefix(r.Rule, "thumb_jam_")
	})
}

// saidAsUnmeasured reports whether a warning says no more than that a reading is
// missing, which has a row of its own.
func saidAsUnmeasured(rule string) bool {
	switch rule {
	case "no_diagonals", "sill_fall_unknown", "inner_not_measured", "height_floor", "height_outside":
		return true
	}
	return false
}

// roomAgain is what is said of a room's vents where they were said of the room's other
// windows, and nobody gave rooms of one kind a name: it may be another one.
func (p Plan) roomAgain(but func(safety.Finding) bool) []Row {
	for _, f := range p.Findings {
		if f.Scope == safety.OfRoom && f.Severity == safety.Must && p.Opening.RoomName == "" && but(f) {
			return []Row{{Part: PointPart, Text: phrase.Of("screen.room.again").Word("room", "room."+string(p.Opening.Room))}}
		}
	}
	return nil
}

// OfJob are the findings that hold for the whole house, without stops.
func (p Plan) OfJob() []safety.Finding {
	return slices.DeleteFunc(slices.Clone(p.Findings), func(f safety.Finding) bool {
		return f.Scope != safety.OfJob || f.CardOnly || f.Severity == safety.Stop
	})
}

// JobNames are the words by which what holds for the whole job is named, in the order in
// which they are said.
var JobNames = strings.Fields("heat paper asbestos lead silica height glass flue other faces")

// JobName is the word of JobNames for a finding of the whole job.
func JobName(f safety.Finding) string {
	for _, name := range []string{strings.TrimPrefix(f.Rule, "caution_"), string(f.Topic)} {
		if slices.Contains(JobNames, name) && f.Topic != safety.Glass {
			return name
		}
	}
	return "other"
}

// findingRow is a finding without its source, with its lights where it is not about
// all of them and they tell which pane. What is from memory says so.
func (p Plan) findingRow(part Part, f *safety.Finding) Row {
	row := Row{Part: part, Finding: f, Words: FindingText(*f)}
	if briefly(f.Rule) {
		row.Words = phrase.Filled("brief."+f.Rule, f.Figures, f.Words)
		for place, word := range f.Words {
			if short, ok := briefWords[word]; ok {
				row.Words = row.Words.Word(place, short)
			}
		}
	}
	if len(f.Lights) > 0 && len(f.Lights) < len(p.Layout.Lights) && f.Topic != safety.Escape {
		row.Words = phrase.Of("screen.weight.of").Sub1("finding", row.Words).WithRow("lights", lightNumbers(f.Lights)...)
	}
	row.Text = phrase.Of("screen.weight."+string(f.Severity)).Sub1("finding", row.Words).Word("source", "")
	if f.Mark == calc.FromMemory {
		row.Text = row.Text.Word("source", "screen.memory")
	}
	return row
}

// Brief is a finding as the screen says it, without its source.
func (p Plan) Brief(f *safety.Finding) phrase.Text { return p.findingRow(PointPart, f).Words }

// briefWords are what follows from a window that is no way out, in short.
var briefWords = map[string]string{
	"escape.then.old": "brief.then.old", "escape.then.today": "brief.then.today", "escape.then.check": "brief.then.check",
}

// briefReason is a reason in two lines of a phone, where the catalogue has it so.
func briefReason(r calc.Reason) phrase.Text {
	if !briefly(r.Rule) {
		return ReasonText(r)
	}
	return phrase.Filled("brief."+r.Rule, r.Figures, r.Words)
}

// briefly reports whether the catalogue has a rule in short, as brief.RULE.
func briefly(rule string) bool { return slices.Contains(Briefs, rule) }

// Briefs are the rules that are said in short before the order; others are said whole.
var Briefs = strings.Fields(`arched
	misclosure misclosure_slip misclosure_or misclosure_or_slip exchanged exchanged_or
	out_of_square belly_width belly_height check_cover_short
	gap_over_largest gap_over_largest_askew
	packer_gap_over_largest packer_gap_over_largest_askew packer_gap_over_largest_check packer_no_room
	fixing_in_joint fixing_lintel_none fixing_lintel sill_short sill_inside
	no_lintel over_bricks cracks bowed bay widened higher_risk open_flue over_ask
	glass_window glass_window_inner glass_door glass_beside_door glass_beside_any glass_small_thin glass_small glass_bath_code
	contain guard guard_full guard_loose guard_held
	escape_size escape_sill escape_size_sill escape_none escape_measure escape_top_hung escape_high
	pull_all pull_escape_held pull_escape_guard pull_purge_held
	vents_new vents_few vents_keep vents_keep_unknown vents_keep_least vents_ask vents_short vents_heritage vents_extract
	purge_none purge_small purge_area heat_over heat_heritage_over paper_more paper_ni_door caution_flue`)
