package plan

import (
	"maps"
	"slices"

	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// OrderRules are the rules whose finding is said otherwise on an order, as
// order.finding.RULE: who reads it makes the window, and what was to be settled before
// ordering is now to be settled with the fitter before making.
var OrderRules = []string{
	"vents_ask", "vents_new", "vents_few", "vents_keep_unknown", "vents_keep_least",
	"heat", "heat_door", "heat_unverified", "heat_door_unverified", "heat_heritage", "heat_heritage_over",
}

// OrderText is FindingText for who makes the window.
func OrderText(f safety.Finding) phrase.Text {
	t := FindingText(f)
	if slices.Contains(OrderRules, f.Rule) {
		t.Key = "order.finding." + f.Rule
	}
	if t.Sub["then"].Key == "escape.then.check" {
		t.Sub = maps.Clone(t.Sub)
		t.Sub["then"] = phrase.Of("order.escape.then")
	}
	return t
}
