package safety

import (
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

// Finding is one outcome of one rule. Rule names a sentence in the catalogue
// ("finding." + Rule); it is stored with the line of an order, and so are the
// JSON names.
type Finding struct {
	Rule     string   `json:"rule"`
	Severity Severity `json:"weight"`
	Topic    Topic    `json:"-"`                // follows from Rule
	OnOrder  bool     `json:"-"`                // it stands on the line of the order; follows from Rule
	Lights   []int    `json:"lights,omitempty"` // indexes in Layout.Lights; none: the whole window

	Figures  map[string]decimal.Decimal `json:"figures,omitempty"`
	Words    map[string]string          `json:"words,omitempty"`
	Document string                     `json:"document,omitempty"` // catalogue key after "source."
	Clause   string                     `json:"clause,omitempty"`
	Edition  string                     `json:"edition,omitempty"`
	Mark     calc.Mark                  `json:"mark,omitempty"`
}

// UnmarshalJSON adds what follows from the rule.
func (f *Finding) UnmarshalJSON(raw []byte) error {
	type stored Finding
	if err := json.Unmarshal(raw, (*stored)(f)); err != nil {
		return err
	}
	o := outcomes[f.Rule]
	f.Topic, f.OnOrder = o.topic, o.onOrder
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
}

// outcomes are all the rules. A rule that was ever on an order stays here: its
// finding is stored there.
var outcomes = byRule([]outcomeRow{
	{outcome{Missing, Ask, true}, "nation date height_floor height_outside"},
	{outcome{Structure, Stop, false}, "no_lintel bay widened"},
	{outcome{"", Stop, true}, "edition_ended"},
	{outcome{"", Ask, true}, "unverified"},

	{outcome{Glass, Must, true}, "glass_window glass_door glass_beside_door glass_small_thin"},
	{outcome{Glass, Ask, true}, "glass_early glass_unverified"},
	{outcome{Glass, Advise, false}, "glass_small glass_only glass_annealed glass_screen"},
	{outcome{Glass, Clear, false}, "glass_clear"},
	{outcome{Bath, Must, true}, "glass_bath"},
	{outcome{Bath, Ask, true}, "glass_bath_early glass_bath_unverified"},
	{outcome{Guarding, Must, true}, "guard guard_full guard_loose"},
	{outcome{Guarding, Ask, true}, "guard_early guard_unverified"},
	{outcome{Guarding, Advise, false}, "guard_held"},
	{outcome{Guarding, Clear, false}, "guard_clear"},
	{outcome{Escape, Must, true}, "escape_less pull_all pull_escape_held pull_escape_guard"},
	{outcome{Escape, Ask, true}, "escape_measure escape_small escape_early escape_unverified"},
	{outcome{Escape, Advise, false}, "escape_high"},
	{outcome{Escape, Clear, false}, "escape_clear"},
	{outcome{Vents, Must, true}, "vents_keep vents_keep_unknown vents_new vents_short"},
	{outcome{Vents, Ask, true}, "vents_ask vents_early vents_unverified"},
	{outcome{Vents, Clear, false}, "vents_clear vents_mvhr"},
	{outcome{Purge, Ask, true}, "purge_angle purge_area purge_early purge_unverified"},
	{outcome{Purge, Advise, false}, "purge_none purge_small pull_purge_held"},
	{outcome{Purge, Clear, false}, "purge_clear"},
	{outcome{Heat, Must, true}, "heat heat_over heat_heritage heat_heritage_over"},
	{outcome{Heat, Ask, true}, "heat_early heat_unverified glass_only_rest not_house"},
	{outcome{Heat, Clear, false}, "heat_clear heat_heritage_clear"},
	{outcome{Paper, Ask, true}, "paper_scotland_flat paper_early paper_unverified"},
	{outcome{Paper, Advise, false}, "paper_notify paper_scotland paper_ni"},
	{outcome{Hazards, Stop, false}, "open_flue"},
	{outcome{Hazards, Advise, false}, "caution_asbestos caution_lead caution_flue caution_height caution_silica caution_glass"},
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

func (f Finding) on(lights []int) Finding {
	f.Lights = lights
	return f
}
