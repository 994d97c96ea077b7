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
	// limit is the one figure that differs between nations or dates: the
	// window's U-value, or the part of the floor area for purging.
	limit decimal.Decimal
}

// newEdition is the day on which AD L vol 1 2026 takes effect in England
// (quoted by others). A revised AD F was published with it. What the two
// change for replacement windows is not verified.
const newEdition = "2027-03-24"

// rulings is the table of every document that a finding may name. Figures
// that all nations share stand below it. A topic with no entry for a nation is
// not verified there, and the findings say so. Marks and clauses are the
// handbook's; "same zones, S/M" of the other nations' safety glass is taken as
// M, the weaker.
var rulings = []ruling{
	{topic: safetyGlass, nation: England, document: "ad_k", clause: "K4 section 5", edition: "2013", mark: calc.Quoted},
	{topic: safetyGlass, nation: Wales, document: "ad_n_wales", mark: calc.FromMemory},
	{topic: safetyGlass, nation: Scotland, document: "technical_handbook", clause: "4.8", mark: calc.FromMemory},
	{topic: safetyGlass, nation: NI, document: "booklet_v", mark: calc.FromMemory},

	// A British Standard, the same in every nation.
	{topic: bathGlass, nation: England, document: "bs_6262_4", edition: "2005", mark: calc.Quoted},
	{topic: bathGlass, nation: Wales, document: "bs_6262_4", edition: "2005", mark: calc.Quoted},
	{topic: bathGlass, nation: Scotland, document: "bs_6262_4", edition: "2005", mark: calc.Quoted},
	{topic: bathGlass, nation: NI, document: "bs_6262_4", edition: "2005", mark: calc.Quoted},

	// Diagram 3.1 was read; that the drop is 600 mm is from memory.
	{topic: guarding, nation: England, document: "ad_k", clause: "K2 diagram 3.1", edition: "2013", mark: calc.FromMemory},

	{topic: escape, nation: England, document: "ad_b_1", clause: "2.10", mark: calc.Quoted},
	{topic: escape, nation: Scotland, document: "technical_handbook", clause: "2.9.4", mark: calc.Quoted},

	// That AD F 2021 begins on the day of AD L 2021 is from memory.
	{topic: background, nation: England, from: "2022-06-15", until: newEdition, document: "ad_f_1", clause: "3.14, 3.15", edition: "2021", mark: calc.Read},
	{topic: purge, nation: England, from: "2022-06-15", until: newEdition, document: "ad_f_1", edition: "2021", mark: calc.Quoted, limit: decimal.NewFromInt(20)},
	{topic: purge, nation: Scotland, document: "technical_handbook", mark: calc.Quoted, limit: decimal.NewFromInt(30)},

	{topic: heat, nation: England, from: "2022-06-15", until: newEdition, document: "ad_l_1", edition: "2021", mark: calc.Quoted, limit: decimal.New(14, -1)},
	// On which day of 2022 and of 2023 these two begin is not verified, so
	// the whole of that year counts as not covered.
	{topic: heat, nation: Wales, from: "2023-01-01", document: "ad_l_wales", edition: "2022", mark: calc.Quoted, limit: decimal.New(14, -1)},
	{topic: heat, nation: Scotland, from: "2024-01-01", document: "technical_handbook", edition: "2023", mark: calc.Quoted, limit: decimal.New(14, -1)},

	{topic: paper, nation: England, document: "building_regulations", clause: "reg 20", mark: calc.Read},
	{topic: paper, nation: Wales, document: "building_regulations", clause: "reg 20", mark: calc.Read},
	{topic: paper, nation: Scotland, document: "building_scotland", clause: "sch 3 type 20", mark: calc.Read},
	{topic: paper, nation: NI, document: "building_ni", mark: calc.Quoted},
}

// Figures that the documents share, each with its mark. Lengths in mm.
var (
	windowZone  = mm(800)               // safety glass below this in a window; S
	doorZone    = mm(1500)              // and in a door and its side panel; S
	doorReach   = mm(300)               // a side panel is this near to the door; S
	bathReach   = mm(800)               // of the base of a bath or shower; S, BS 6262-4:2005
	class3      = decimal.NewFromInt(3) // of BS EN 12600; R, AD K 5.4
	class2      = decimal.NewFromInt(2) // in a door or side panel over wideInDoor; R, AD K 5.4
	wideInDoor  = mm(900)               // R, AD K 5.4
	smallSide   = mm(250)               // small panes; S
	smallArea   = decimal.New(5, -1)    // m²; S
	smallThick  = mm(6)                 // S
	leadedThick = mm(4)                 // S
	screenBall  = mm(75)                // a permanent screen stops it; S

	guardBelow   = mm(800)  // an opening light below this above the floor; R, AD K diagram 3.1
	guardDrop    = mm(600)  // with more than this to fall outside; M, S
	guardFull    = mm(1100) // guard of a full-height opening light upstairs; R
	guardBall    = mm(100)  // stays in; R
	sashAndFrame = mm(100)  // from the glass down to the opening when that is not known; common practice, no source
	fullHeight   = mm(100)  // an opening that begins this near to the floor is full height; common practice, no source

	escapeArea   = decimal.New(33, -2) // m²; R, S: AD B vol 1 2.10
	escapeSide   = mm(450)             // R, S
	escapeBottom = mm(1100)            // above the floor; R, S
	escapeHigh   = mm(4500)            // floors above this are not escaped from by a window; R, S

	// Equivalent area per room, mm²; R, AD F vol 1 2021 3.15.
	ventHabitable = decimal.NewFromInt(8000)
	ventKitchen   = decimal.NewFromInt(8000)
	ventBathroom  = decimal.NewFromInt(4000)

	// Purging in England: full weight from 30°, half from 15°; R, S.
	purgeWide   = decimal.NewFromInt(30)
	purgeNarrow = decimal.NewFromInt(15)
	narrowPart  = decimal.NewFromInt(10)

	centreLimit = decimal.New(12, -1) // W/m²K, heritage; S
)

func mm(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

// rule finds the ruling on a topic for a nation and a day.
func rule(t topic, n Nation, day time.Time) (ruling, bool) {
	d := day.Format(time.DateOnly)
	for _, r := range rulings {
		if r.topic == t && r.nation == n && (r.from == "" || d >= r.from) && (r.until == "" || d < r.until) {
			return r, true
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
// memory; own is false then.
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
