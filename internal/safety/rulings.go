package safety

import (
	"cmp"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// ruling is one edition of one document on one topic, with its limits.
type ruling struct {
	topic       Topic
	nation      Nation // "": every nation
	from, until string // first day, and the day after the last; "": open
	untilHigh   string // until in a higher-risk building, where that differs
	next        string // the edition that follows, if others name it; it was not read
	document    string // catalogue key after "source."
	clause      string
	edition     string
	mark        calc.Mark
	parts       map[string]part // by rule, where one has its own clause or a weaker mark
	lent        bool            // stands in, as from memory, for a nation that has none

	// The limits, of the topic's own kind; the others are nil.
	glass   *glassFigures
	bath    *bathFigures
	guard   *guardFigures
	escape  *escapeFigures
	vents   ventFigures
	purge   *purgeFigures
	heat    *heatFigures
	paper   *paperFigures
	hazards *hazardFigures

	standing standing // of the ruling on the day that it was looked up for
}

type part struct {
	clause string
	mark   calc.Mark
}

// newEdition is the day on which AD L vol 1 2026 takes effect in England
// (quoted by others). A revised AD F was published with it. What the two
// change for replacement windows is not verified.
const newEdition = "2027-03-24"

// newEditionHigh is the same for higher-risk buildings (quoted by others).
const newEditionHigh = "2027-09-24"

// Where an edition is known by its year alone, the day is not verified, and the
// whole of that year counts as not covered.
const (
	after2004 = "2005-01-01" // Building (Scotland) Regulations 2004, as made
	after2005 = "2006-01-01" // BS 6262-4:2005
	after2006 = "2007-01-01" // Technical Handbook of Scotland, the text of 2004 to 2006
	after2013 = "2014-01-01" // AD K 2013
	after2015 = "2016-01-01" // Technical Handbook of Scotland 2015
	after2022 = "2023-01-01" // AD L of Wales 2022
	after2023 = "2024-01-01" // Technical Handbook of Scotland 2023
)

// rulings is the table of every document that a finding may name. The editions
// of one topic and nation stand in order of time. A topic with no entry for a
// nation is not verified there, and the findings say so. Of an entry with no
// edition it was not noted which one was read or quoted, so it has no first day
// either and is taken for every day.
var rulings = []ruling{
	{topic: Glass, nation: England, from: after2013, document: "ad_k", clause: "K4 section 5", edition: "2013", mark: calc.Quoted, glass: zones2013,
		parts: map[string]part{
			"glass_only":        {clause: "0.2"}, // glass alone is not building work, R
			"glass_annealed":    {clause: "K4 diagram 5.2, para 5.5"},
			"glass_door":        {clause: "K4 section 5, para 5.4"},
			"glass_beside_door": {clause: "K4 section 5, para 5.4"},
		}},
	// That the other nations have the zones of AD K 2013 is partly quoted and
	// partly from memory; it is taken as from memory, the weaker.
	{topic: Glass, nation: Wales, document: "ad_n_wales", mark: calc.FromMemory, glass: zones2013},
	{topic: Glass, nation: Scotland, document: "technical_handbook", clause: "4.8", mark: calc.FromMemory, glass: zones2013},
	{topic: Glass, nation: NI, document: "booklet_v", mark: calc.FromMemory, glass: zones2013},

	{topic: Bath, from: after2005, document: "bs_6262_4", edition: "2005", mark: calc.FromMemory, bath: bath2005}, // a British Standard; the class is from memory

	// Diagram 3.1 was read; that the drop is 600 mm is from memory. For
	// replacements K2 asks for no worse than before (quoted by others).
	{topic: Guarding, nation: England, from: after2013, document: "ad_k", clause: "K2 diagram 3.1", edition: "2013", mark: calc.FromMemory, guard: guard2013, lent: true},

	{topic: Escape, nation: England, document: "ad_b_1", clause: "2.10", mark: calc.Quoted, escape: escape210, lent: true},
	{topic: Escape, nation: Scotland, document: "technical_handbook", clause: "2.9.4", edition: "2004-06", from: after2006, mark: calc.Quoted, escape: escape294},

	// That AD F 2021 begins and ends with AD L 2021 is from memory.
	{topic: Vents, nation: England, from: "2022-06-15", until: newEdition, document: "ad_f_1", clause: "3.14, 3.15", edition: "2021", mark: calc.Read, vents: vents2021,
		parts: map[string]part{
			"vents_keep": {clause: "3.14"}, "vents_new": {clause: "3.15"}, "vents_few": {clause: "3.15"},
			"vents_few_windows": {clause: "3.15", mark: calc.Quoted}, "vents_extract": {clause: "3.15", mark: calc.Quoted},
			"vents_heritage": {clause: "0.4", mark: calc.Quoted},
		}},
	{topic: Purge, nation: England, from: "2022-06-15", until: newEdition, document: "ad_f_1", edition: "2021", mark: calc.Quoted, purge: purge2021},
	{topic: Purge, nation: Scotland, document: "technical_handbook", edition: "2015", from: after2015, mark: calc.Quoted, purge: &purgeFigures{part: decimal.NewFromInt(30)}},

	{topic: Heat, nation: England, from: "2022-06-15", until: newEdition, untilHigh: newEditionHigh, next: "2026", document: "ad_l_1", edition: "2021", mark: calc.Quoted, heat: heat2021},
	{topic: Heat, nation: Wales, from: after2022, document: "ad_l_wales", edition: "2022", mark: calc.Quoted, heat: heatWales},
	// Only the limit is quoted for Scotland; the rating band and the figure for
	// protected buildings are not verified there.
	{topic: Heat, nation: Scotland, from: after2023, document: "technical_handbook", edition: "2023", mark: calc.FromMemory, heat: heatScotland},

	// Reg 20 was read; the other way, by building notice, is quoted by others,
	// and a sentence is no stronger than its weakest part.
	{topic: Paper, nation: England, document: "building_regulations", clause: "reg 20", mark: calc.Read, paper: reg20, parts: reg20Parts},
	{topic: Paper, nation: Wales, document: "building_regulations", clause: "reg 20", mark: calc.Read, paper: reg20, parts: reg20Parts},
	// As made in 2004: later changes were not looked for.
	{topic: Paper, nation: Scotland, document: "building_scotland", clause: "sch 3 type 20", edition: "2004", from: after2004, mark: calc.Read, paper: &paperFigures{rule: "paper_scotland", flat: "paper_scotland_flat"}},
	{topic: Paper, nation: NI, document: "building_ni", mark: calc.Quoted, paper: &paperFigures{rule: "paper_ni", door: "paper_ni_door"}},

	{topic: Hazards, document: "hse", mark: calc.Read, hazards: hseHazards, parts: map[string]part{
		"caution_silica": {mark: calc.Quoted}, "caution_asbestos": {mark: calc.Quoted},
	}},
}

// reg20Parts: the certificate within its days was read, and that the scheme's
// work alone is meant (reg 20(1)); the building notice is quoted.
var reg20Parts = map[string]part{
	"paper_notify": {mark: calc.Quoted}, "paper_notice": {mark: calc.Quoted}, "paper_more": {clause: "reg 20(1)"},
}

// standing says how a topic's rule stands for a nation on a day.
type standing int

const (
	inForce    standing = iota
	borrowed            // the nation's rule is not verified; England's limits stand in, from memory
	ended               // the last edition known here ended before the day; its limits are kept, from memory
	early               // the day is before the first edition known here: no limits
	unverified          // the nation's rule is not verified: no limits
)

// look finds the edition on a topic for the opening, and how it stands.
func (f Facts) look(t Topic) ruling { return look(t, f.Nation, f.Date, f.HigherRisk) }

// look finds the edition on a topic for a nation and a day, and how it stands.
// High: in a higher-risk building.
func look(t Topic, n Nation, day time.Time, high bool) ruling {
	d := day.Format(time.DateOnly)
	out := ruling{topic: t, nation: n, standing: unverified}
	for i := range rulings {
		switch r := &rulings[i]; {
		case r.topic != t || r.nation != n && r.nation != "":
		case d < r.from:
			out.standing = min(out.standing, early)
		case r.until == "" || d < r.lasts(high):
			return *r
		default:
			out = *r
			out.mark, out.standing = calc.FromMemory, ended
		}
	}
	if out.standing == unverified && n != England {
		if r := look(t, England, day, high); r.lent {
			r.mark, r.standing = calc.FromMemory, borrowed
			return r
		}
	}
	return out
}

// lasts is the day after the ruling's last.
func (r *ruling) lasts(high bool) string {
	if high && r.untilHigh != "" {
		return r.untilHigh
	}
	return r.until
}

// finding begins a finding that the ruling stands behind; the rule is one of
// outcomes.
func (r ruling) finding(rule string) Finding {
	o, own := outcomes[rule], r.parts[rule]
	return Finding{
		Rule: rule, Severity: o.severity, Topic: o.topic, OnOrder: o.onOrder, Scope: o.scope, CardOnly: o.severity == Clear, Document: r.document,
		Clause: cmp.Or(own.clause, r.clause), Edition: r.edition, Mark: weaker(r.mark, own.mark),
	}
}

// plain is a finding with no document behind it.
func plain(rule string) Finding { return ruling{}.finding(rule) }

// noteNames begin the rules that say that there are no limits: the name with
// "_early" or "_unverified" after it.
var noteNames = map[Topic]string{
	Glass: "glass", Bath: "glass_bath", Guarding: "guard", Escape: "escape",
	Vents: "vents", Purge: "purge", Heat: "heat", Paper: "paper",
}

// note says, for any topic, why the nation's own limits for the day are not
// known here.
func (r ruling) note(n Nation) Finding {
	var f Finding
	switch r.standing {
	case early:
		f = plain(noteNames[r.topic] + "_early")
	case unverified:
		f = plain(noteNames[r.topic] + "_unverified")
	case borrowed:
		f = ruling{mark: r.mark}.finding("unverified")
	default:
		if r.next != "" {
			r.clause, r.edition, r.mark = "", r.next, calc.Quoted
		}
		f = r.finding("edition_ended")
	}
	if f.Topic == "" {
		f.Topic = r.topic
		f = f.word("topic", "topic."+string(r.topic))
	}
	return f.word("nation", "nation."+string(n))
}
