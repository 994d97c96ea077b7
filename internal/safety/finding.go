package safety

import (
	"cmp"
	"encoding/json"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Severity says how a finding is to be taken. Its codes are stored and are part
// of catalogue keys ("warnings." + severity).
type Severity string

// The severities, the gravest first.
const (
	Stop   Severity = "stop"   // stop and ask before going on
	Must   Severity = "must"   // the document requires it
	Ask    Severity = "ask"    // a reading or fact is missing
	Advise Severity = "advise" // good advice, or a caution
	Clear  Severity = "clear"  // looked at, nothing needed
)

// rank puts the gravest first.
func (s Severity) rank() int { return slices.Index([]Severity{Stop, Must, Ask, Advise, Clear}, s) }

// Topic is what a rule is about. It names a word in the catalogue ("topic." +
// topic) where a document may stand behind it.
type Topic string

// The topics. No document stands behind the last three.
const (
	Glass     Topic = "glass" // safety glass by its place in the wall
	Bath      Topic = "bath"  // glass beside a bath or shower
	Guarding  Topic = "guarding"
	Escape    Topic = "escape"
	Vents     Topic = "vents" // background vents
	Purge     Topic = "purge" // airing by opening the window
	Heat      Topic = "heat"
	Paper     Topic = "paper" // who has to be told
	Hazards   Topic = "hazards"
	Structure Topic = "structure"
	Missing   Topic = "missing" // what several topics hang on
)

// Scope is what a finding is about, and so how often people need to hear it.
type Scope string

// The scopes.
const (
	OfJob    Scope = "job"    // true of the whole house: said once a job
	OfRoom   Scope = "room"   // about a room over all its windows: said once a room
	OfWindow Scope = "window" // about this window
)

// Finding is one outcome of one rule. Rule names a sentence in the catalogue
// ("finding." + Rule); it is stored with the line of an order, and so are the
// JSON names.
type Finding struct {
	Rule     string   `json:"rule"`
	Severity Severity `json:"weight"`
	Topic    Topic    `json:"-"`                // follows from Rule
	OnOrder  bool     `json:"-"`                // it stands on the line of the order; follows from Rule
	Scope    Scope    `json:"-"`                // follows from Rule
	CardOnly bool     `json:"-"`                // a tick: the card shows it, no message says it; follows from Rule
	Lights   []int    `json:"lights,omitempty"` // indexes in Layout.Lights; none: the whole window

	Figures  map[string]decimal.Decimal `json:"figures,omitempty"`
	Words    map[string]string          `json:"words,omitempty"`
	Said     map[string]string          `json:"said,omitempty"`     // a person's own words
	Document string                     `json:"document,omitempty"` // catalogue key after "source."
	Clause   string                     `json:"clause,omitempty"`
	Edition  string                     `json:"edition,omitempty"`
	Mark     calc.Mark                  `json:"mark,omitempty"`
	// Own is how far the document by itself may be trusted, where Mark is weaker
	// for what it was held against.
	Own calc.Mark `json:"source_mark,omitempty"`
}

// UnmarshalJSON adds what follows from the rule.
func (f *Finding) UnmarshalJSON(raw []byte) error {
	type stored Finding
	if err := json.Unmarshal(raw, (*stored)(f)); err != nil {
		return err
	}
	o := outcomes[f.Rule]
	f.Topic, f.OnOrder, f.Scope, f.CardOnly = o.topic, o.onOrder, o.scope, o.severity == Clear
	if f.Topic == "" {
		f.Topic = Topic(strings.TrimPrefix(f.Words["topic"], "topic."))
	}
	return nil
}

// outcome is what all findings of one rule have in common.
type outcome struct {
	topic    Topic // "": the one that the finding's words name
	severity Severity
	onOrder  bool
	scope    Scope
}

// outcomes are all the rules. A rule that was ever on an order stays here: its
// finding is stored there.
var outcomes = byRule([]outcomeRow{
	{outcome{Missing, Ask, true, OfJob}, "nation date"},
	{outcome{Missing, Ask, true, OfWindow}, "height_floor height_outside"},
	{outcome{Structure, Stop, false, OfWindow}, "no_lintel over_bricks cracks bowed bay widened"},
	{outcome{Structure, Ask, false, OfWindow}, "over_ask"},
	{outcome{Structure, Advise, true, OfWindow}, "cleared"},
	{outcome{"", Stop, true, OfJob}, "edition_ended"},
	{outcome{"", Ask, true, OfJob}, "unverified"},

	{outcome{Glass, Must, true, OfWindow}, "glass_window glass_window_inner glass_door glass_beside_door glass_beside_any glass_small_thin"},
	{outcome{Glass, Ask, true, OfJob}, "glass_early glass_unverified"},
	{outcome{Glass, Advise, false, OfWindow}, "glass_small glass_only glass_annealed glass_screen"},
	{outcome{Glass, Clear, false, OfWindow}, "glass_clear"},
	{outcome{Bath, Must, true, OfWindow}, "glass_bath"}, // no longer found
	{outcome{Bath, Advise, true, OfWindow}, "glass_bath_code"},
	{outcome{Bath, Ask, true, OfJob}, "glass_bath_early glass_bath_unverified"},
	{outcome{Guarding, Ask, true, OfWindow}, "guard guard_full guard_loose contain"},
	{outcome{Guarding, Ask, true, OfJob}, "guard_early guard_unverified"},
	{outcome{Guarding, Advise, false, OfWindow}, "guard_held"},
	{outcome{Guarding, Clear, false, OfWindow}, "guard_clear"},
	{outcome{Escape, Must, true, OfWindow}, "escape_size escape_sill escape_size_sill escape_none pull_all pull_escape_held pull_escape_guard"},
	{outcome{Escape, Ask, true, OfWindow}, "escape_measure escape_top_hung"},
	{outcome{Escape, Must, true, OfWindow}, "escape_less"}, // no longer found
	{outcome{Escape, Ask, true, OfWindow}, "escape_small"}, // no longer found
	{outcome{Escape, Ask, true, OfJob}, "escape_early escape_unverified"},
	{outcome{Escape, Advise, false, OfWindow}, "escape_high"},
	{outcome{Escape, Clear, false, OfWindow}, "escape_clear"},
	{outcome{Vents, Must, true, OfRoom}, "vents_keep vents_keep_unknown vents_keep_least vents_short"},
	{outcome{Vents, Ask, true, OfRoom}, "vents_ask vents_new vents_few vents_heritage vents_extract"},
	{outcome{Vents, Advise, false, OfJob}, "vents_few_windows"},
	{outcome{Vents, Ask, true, OfJob}, "vents_early vents_unverified"},
	{outcome{Vents, Clear, false, OfRoom}, "vents_clear vents_mvhr"},
	{outcome{Purge, Ask, true, OfWindow}, "purge_angle"},
	{outcome{Purge, Ask, true, OfRoom}, "purge_area"},
	{outcome{Purge, Ask, true, OfJob}, "purge_early purge_unverified"},
	{outcome{Purge, Advise, false, OfWindow}, "purge_none purge_small pull_purge_held"},
	{outcome{Purge, Clear, false, OfRoom}, "purge_clear"},
	{outcome{Heat, Must, true, OfJob}, "heat heat_door"},
	{outcome{Heat, Must, true, OfWindow}, "heat_over"},
	{outcome{Heat, Ask, true, OfWindow}, "heat_heritage_over"},
	{outcome{Heat, Ask, true, OfJob}, "heat_heritage heat_heritage_ask heat_door_unverified heat_early heat_unverified glass_only_rest not_house"},
	{outcome{Heat, Clear, false, OfWindow}, "heat_clear heat_heritage_clear"},
	{outcome{Paper, Stop, false, OfJob}, "higher_risk"},
	{outcome{Paper, Ask, true, OfJob}, "paper_scotland_flat paper_early paper_unverified"},
	{outcome{Paper, Ask, false, OfWindow}, "paper_more paper_ni_door"},
	{outcome{Paper, Advise, false, OfJob}, "paper_notify paper_installer paper_notice paper_scotland paper_ni"},
	{outcome{Hazards, Stop, false, OfRoom}, "open_flue"},
	{outcome{Hazards, Advise, false, OfRoom}, "caution_flue"},
	{outcome{Hazards, Advise, false, OfJob}, "caution_asbestos caution_lead caution_height caution_silica caution_glass"},
})

// outcomeRow is an outcome and its rules, parted by spaces.
type outcomeRow struct {
	outcome
	rules string
}

func byRule(rows []outcomeRow) map[string]outcome {
	out := map[string]outcome{}
	for _, row := range rows {
		for _, rule := range strings.Fields(row.rules) {
			out[rule] = row.outcome
		}
	}
	return out
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

// saying puts a person's own words into a finding still being made.
func (f Finding) saying(name, words string) Finding {
	if f.Said == nil {
		f.Said = make(map[string]string, 4)
	}
	f.Said[name] = words
	return f
}

// weaker is the mark that promises less.
func weaker(a, b calc.Mark) calc.Mark {
	if a == "" || b == "" {
		return cmp.Or(a, b)
	}
	return calc.Weakest(a, b)
}

// by is a finding that rests on something more: its mark is that of the weakest.
func (f Finding) by(m calc.Mark) Finding {
	mark := weaker(f.Mark, m)
	if f.Document != "" && mark != f.Mark && f.Own == "" {
		f.Own = f.Mark
	}
	f.Mark = mark
	return f
}

// softer is a finding of less weight than others of its rule.
func (f Finding) softer(s Severity) Finding {
	f.Severity = s
	return f
}

func (f Finding) on(lights []int) Finding {
	f.Lights = lights
	return f
}
