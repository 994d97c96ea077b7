package dialog

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// storesCommand lists what the windows of the job take, those that are named or all that
// are still to be fitted, in one list; or says where it comes from.
func storesCommand(t *turn, text string) {
	t.quiet = true
	code, rest, why := words().Match(t.lang(), "command", text)
	if why = why && code == "why"; !why {
		rest = text
	}
	n, rest := someNumbers(t, rest, reads{there: t.Job.Has})
	if code, after, ok := words().Match(t.lang(), "command", rest); ok && code == "why" {
		why, rest = true, after
	}
	if rest != "" || len(n.ids) == 1 && !t.Job.Has(n.ids[0]) {
		t.say(phrase.Of("stores.how"))
		return
	}
	var s plan.Stores
	var left []phrase.Text
	for _, o := range t.Job.All() {
		if n.ids != nil && !slices.Contains(n.ids, o.ID) || n.ids == nil && (o.State == job.Handed || o.State == job.Replaced || o.State == job.Sealed) {
			continue
		}
		made, err := day.Of(o).Planned()
		if err != nil || len(o.Lacks()) > 0 {
			left = append(left, phrase.Of("job.words").Saying("words", strconv.Itoa(o.ID)+" "+o.Name))
			continue
		}
		made.Count, made.Opening.Name = max(1, o.Count), o.Name
		s.Add(o.ID, made)
	}
	t.sayStores(&s, why, left)
}

// sayStores says the list, or why, and which windows are not in it.
func (t *turn) sayStores(s *plan.Stores, why bool, left []phrase.Text) {
	lines, err := s.Lines()
	switch {
	case err != nil:
		text, _ := plan.WhyRefused(err)
		t.say(text)
	case len(lines) == 0:
		t.say(phrase.Of("stores.none"))
	case why:
		t.say(s.Why()...)
	default:
		t.say(append(lines, phrase.Of("stores.ask"))...)
	}
	if len(left) > 0 {
		t.say(phrase.Of("stores.left").WithRow("names", left[:min(len(left), mostNamed)]...).WithInt("count", len(left)))
	}
}

// asksStores says whether why is asked of the stores.
func (t *turn) asksStores(rest string) (windows string, ok bool) {
	rest = strings.TrimPrefix(rest, "the ")
	code, after, ok := words().Match(t.lang(), "command", rest)
	return after, ok && code == "stores" && t.Job != nil
}
