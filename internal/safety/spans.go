package safety

import (
	"cmp"
	"slices"
	"time"

	"sillbot/internal/calc"
)

// Span is how the rule on a topic stands in a nation from one day on, until the
// day before another.
type Span struct {
	Topic       Topic
	Nation      Nation
	From, Until string // first day, and the day after the last, 2006-01-02; "": open
	// Standing is known, borrowed (England's limits stand in), ended (the last
	// edition known here has ended), early (before the first) or unverified. Each
	// is a key of the catalogue after "rules.".
	Standing string
	Document string // catalogue key after "source."; empty where nothing is known
	Clause   string
	Edition  string
	Mark     calc.Mark
	// HigherRisk: of buildings of 18 m or seven storeys or more, where an edition
	// ends on another day for them.
	HigherRisk bool
}

var standings = [...]string{"known", "borrowed", "ended", "early", "unverified"}

// Spans are how every rule stands in every nation on the days until one, in the
// order of topics, nations and days. They come from the same table as the
// findings.
func Spans(until time.Time) []Span {
	var out []Span
	for _, t := range append(topics(), Hazards) {
		for _, n := range []Nation{England, Wales, Scotland, NI} {
			out = append(out, spans(t, n, until, false)...)
			if slices.ContainsFunc(rulings, func(r ruling) bool { return r.topic == t && r.nation == n && r.untilHigh != "" }) {
				out = append(out, spans(t, n, until, true)...)
			}
		}
	}
	return out
}

// weakest is the mark of the least sure of what the ruling says.
func (r ruling) weakest() calc.Mark {
	m := r.mark
	for _, p := range r.parts {
		m = weaker(m, p.mark)
	}
	return m
}

// topics are those with documents, in reading order.
func topics() []Topic {
	out := make([]Topic, len(topicRules))
	for i, row := range topicRules {
		out[i] = row.topic
	}
	return out
}

// spans are those of one topic in one nation, parted where the standing or the
// edition changes.
func spans(t Topic, n Nation, until time.Time, high bool) []Span {
	days := []string{""}
	for i := range rulings {
		r := &rulings[i]
		if r.topic == t && (r.nation == n || r.nation == "" || r.nation == England && r.lent) {
			days = append(days, r.from, r.lasts(high))
		}
	}
	slices.Sort(days)
	var out []Span
	for _, day := range slices.Compact(days) {
		if day > until.Format(time.DateOnly) {
			break
		}
		at, _ := time.Parse(time.DateOnly, cmp.Or(day, "0001-01-01"))
		r := look(t, n, at, high)
		s := Span{
			Topic: t, Nation: n, From: day, Standing: standings[r.standing],
			Document: r.document, Clause: r.clause, Edition: r.edition, Mark: r.weakest(), HigherRisk: high,
		}
		if last := len(out) - 1; last >= 0 {
			out[last].Until = day
			if before := out[last]; before.Standing == s.Standing && before.Edition == s.Edition && before.Document == s.Document {
				out[last].Until = ""
				continue
			}
		}
		out = append(out, s)
	}
	return out
}
