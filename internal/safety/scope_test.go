package safety

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// How often a person needs to hear a finding: what holds for the house once a
// job, the vents once a room, the rest at its window.
func TestEachFindingHasItsScope(t *testing.T) {
	for scope, names := range map[Scope]string{
		OfJob: "caution_asbestos caution_lead caution_silica caution_glass caution_height paper_notify paper_scotland paper_ni " +
			"heat unverified edition_ended vents_unverified escape_early nation date",
		OfRoom:   "vents_new vents_keep vents_short vents_ask vents_mvhr",
		OfWindow: "glass_window glass_bath guard guard_full escape_small escape_less no_lintel bay widened height_floor heat_over",
	} {
		for _, name := range strings.Fields(names) {
			require.Equal(t, scope, ruling{}.finding(name).Scope, name)
		}
	}
	for name := range outcomes {
		f := ruling{}.finding(name)
		require.NotEmpty(t, f.Scope, name)
		require.Equal(t, strings.HasSuffix(name, "_clear") || name == "vents_mvhr", f.CardOnly, name)
	}
}
