package plan

import (
	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// Said is a reason or warning: its rule, the sentence, and on whose authority.
type Said struct {
	Rule   string    `json:"rule"`
	Text   string    `json:"text"`
	Source string    `json:"source,omitempty"`
	Mark   calc.Mark `json:"mark,omitempty"` // of the weakest that it rests on
	// Own is how far Source by itself may be trusted, where Mark is weaker.
	Own calc.Mark `json:"source_mark,omitempty"`
}

// reporter writes reports in the words of say.
type reporter struct {
	say func(phrase.Text) string
}

// list is never nil, so that an empty one is written as one.
func list[T any](items []T) []T {
	if items == nil {
		return []T{}
	}
	return items
}

func (w reporter) said(r calc.Reason) Said {
	s := Said{Rule: r.Rule, Text: w.say(ReasonText(r)), Mark: r.Mark, Own: r.Own}
	if r.Source != "" {
		s.Source = w.say(phrase.Of("source." + r.Source))
	}
	return s
}

// maybe is nil where there is no reason.
func (w reporter) maybe(r *calc.Reason) *Said {
	if r == nil {
		return nil
	}
	s := w.said(*r)
	return &s
}

func (w reporter) all(rs []calc.Reason) []Said {
	var out []Said
	for _, r := range rs {
		out = append(out, w.said(r))
	}
	return out
}
