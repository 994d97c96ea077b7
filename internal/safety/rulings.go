package safety

import (
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// topic is what a ruling is about. It names a word in the catalogue
// ("topic." + topic).
type topic string

const (
	safetyGlass topic = "glass"
	bathGlass   topic = "bath"
	guarding    topic = "guarding"
	escape      topic = "escape"
	background  topic = "vents"
	purge       topic = "purge"
	heat        topic = "heat"
	paper       topic = "paper"
)

// ruling says where a rule stands for one nation, and for work on which days.
type ruling struct {
	topic       topic
	nation      Nation
	from, until string // first day, and the day after the last; "": open
	document    string // catalogue key after "source."
	clause      string
	edition     string
	mark        calc.Mark

	// The figures, of the topic's own kind; the others are nil. Paper has some
	// in England and Wales only.
	glass  *glassFigures
	bath   *bathFigures
	guard  *guardFigures
	escape *escapeFigures
	vents  ventFigures
	purge  *purgeFigures
	heat   *heatFigures
	paper  *paperFigures
}

// newEdition is the day on which AD L vol 1 2026 takes effect in England
// (quoted by others). A revised AD F was published with it. What the two
// change for replacement windows is not verified.
const newEdition = "2027-03-24"

// Where an edition is known by its year alone, the day is not verified, and the
// whole of that year counts as not covered.
const (
	after2005 = "2006-01-01" // BS 6262-4:2005
	after2013 = "2014-01-01" // AD K 2013
	after2022 = "2023-01-01" // AD L of Wales 2022
	after2023 = "2024-01-01" // Technical Handbook of Scotland 2023
)

// rulings is the table of every document that a finding may name, each with
// its figures. A topic with no entry for a nation is not verified there, and
// the findings say so. Of an entry with no edition it was not noted which one
// was read or quoted, so it has no first day either and is taken for every day.
// That AD N of Wales, 4.8 of Scotland's Technical Handbook and Booklet V of
// Northern Ireland have the zones of AD K 2013 is partly quoted and partly from
// memory; it is taken as from memory, the weaker.
var rulings = []ruling{
	{topic: safetyGlass, nation: England, from: after2013, document: "ad_k", clause: "K4 section 5", edition: "2013", mark: calc.Quoted, glass: zones2013},
	{topic: safetyGlass, nation: Wales, document: "ad_n_wales", mark: calc.FromMemory, glass: zones2013},
	{topic: safetyGlass, nation: Scotland, document: "technical_handbook", clause: "4.8", mark: calc.FromMemory, glass: zones2013},
	{topic: safetyGlass, nation: NI, document: "booklet_v", mark: calc.FromMemory, glass: zones2013},

	// A British Standard, the same in every nation.
	{topic: bathGlass, nation: England, from: after2005, document: "bs_6262_4", edition: "2005", mark: calc.Quoted, bath: bath2005},
	{topic: bathGlass, nation: Wales, from: after2005, document: "bs_6262_4", edition: "2005", mark: calc.Quoted, bath: bath2005},
	{topic: bathGlass, nation: Scotland, from: after2005, document: "bs_6262_4", edition: "2005", mark: calc.Quoted, bath: bath2005},
	{topic: bathGlass, nation: NI, from: after2005, document: "bs_6262_4", edition: "2005", mark: calc.Quoted, bath: bath2005},

	// Diagram 3.1 was read; that the drop is 600 mm is from memory.
	{topic: guarding, nation: England, from: after2013, document: "ad_k", clause: "K2 diagram 3.1", edition: "2013", mark: calc.FromMemory, guard: guard2013},

	{topic: escape, nation: England, document: "ad_b_1", clause: "2.10", mark: calc.Quoted, escape: escape210},
	{topic: escape, nation: Scotland, document: "technical_handbook", clause: "2.9.4", mark: calc.Quoted, escape: escape210},

	// That AD F 2021 begins on the day of AD L 2021 is from memory.
	{topic: background, nation: England, from: "2022-06-15", until: newEdition, document: "ad_f_1", clause: "3.14, 3.15", edition: "2021", mark: calc.Read, vents: vents2021},
	{topic: purge, nation: England, from: "2022-06-15", until: newEdition, document: "ad_f_1", edition: "2021", mark: calc.Quoted, purge: purge2021},
	{topic: purge, nation: Scotland, document: "technical_handbook", mark: calc.Quoted, purge: &purgeFigures{part: decimal.NewFromInt(30)}},

	{topic: heat, nation: England, from: "2022-06-15", until: newEdition, document: "ad_l_1", edition: "2021", mark: calc.Quoted, heat: heat2021},
	{topic: heat, nation: Wales, from: after2022, document: "ad_l_wales", edition: "2022", mark: calc.Quoted, heat: heat2021},
	{topic: heat, nation: Scotland, from: after2023, document: "technical_handbook", edition: "2023", mark: calc.Quoted, heat: heat2021},

	{topic: paper, nation: England, document: "building_regulations", clause: "reg 20", mark: calc.Read, paper: reg20},
	{topic: paper, nation: Wales, document: "building_regulations", clause: "reg 20", mark: calc.Read, paper: reg20},
	{topic: paper, nation: Scotland, document: "building_scotland", clause: "sch 3 type 20", mark: calc.Read},
	{topic: paper, nation: NI, document: "building_ni", mark: calc.Quoted},
}

// rule finds the ruling on a topic for a nation and a day.
func rule(t topic, n Nation, day time.Time) (ruling, bool) {
	d := day.Format(time.DateOnly)
	for i := range rulings {
		r := &rulings[i]
		if r.topic == t && r.nation == n && d >= r.from && (r.until == "" || d < r.until) {
			return *r, true
		}
	}
	return ruling{}, false
}

// coverage says why there is no ruling.
type coverage int

const (
	covered  coverage = iota
	unknown           // the nation's rule is not verified
	tooEarly          // the work is before the first edition that is covered
	tooLate           // a newer edition applies, and is not verified
)

func cover(t topic, n Nation, day time.Time) coverage {
	if _, ok := rule(t, n, day); ok {
		return covered
	}
	d := day.Format(time.DateOnly)
	c := unknown
	for _, r := range rulings {
		if r.topic != t || r.nation != n {
			continue
		}
		if d < r.from {
			return tooEarly
		}
		c = tooLate
	}
	return c
}

// ruleOrEngland is the nation's own ruling, or else England's taken over from
// memory; own is false then. Before England's first day there are no figures.
func ruleOrEngland(t topic, f Facts) (r ruling, own bool) {
	if r, ok := rule(t, f.Nation, f.Date); ok {
		return r, true
	}
	r, _ = rule(t, England, f.Date)
	r.mark = calc.FromMemory
	return r, false
}

// finding begins a finding that the ruling stands behind.
func (r ruling) finding(name string, w Weight) Finding {
	return Finding{Rule: name, Weight: w, Document: r.document, Clause: r.clause, Edition: r.edition, Mark: r.mark}
}

// with puts a figure into a finding still being made.
func (f Finding) with(name string, d decimal.Decimal) Finding {
	if f.Figures == nil {
		f.Figures = make(map[string]decimal.Decimal, 8)
	}
	f.Figures[name] = d
	return f
}

// word puts a word, which is a key of the catalogue, into a finding still
// being made.
func (f Finding) word(name, key string) Finding {
	if f.Words == nil {
		f.Words = make(map[string]string, 2)
	}
	f.Words[name] = key
	return f
}

func (f Finding) on(lights []int) Finding {
	f.Lights = lights
	return f
}

// unverified says that the figures above are England's.
func unverified(t topic, n Nation) Finding {
	return Finding{Rule: "unverified", Weight: Ask, Mark: calc.FromMemory}.
		word("topic", "topic."+string(t)).word("nation", "nation."+string(n))
}
