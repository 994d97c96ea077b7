package safety

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// What a qualified person said lifts a stop only where who said it, as what, on which
// day and in which words are all known.
func TestAStopIsLiftedOnlyByAWholeStatement(t *testing.T) {
	lifted := func(c *Clearance) bool {
		f := Facts{Nation: England, Date: on("2026-11-25"), Over: OverBricks, Cracks: true, Cleared: c}
		all := Findings(f)
		stopped := slices.ContainsFunc(all, func(fd Finding) bool { return fd.Severity == Stop })
		cleared := slices.ContainsFunc(all, func(fd Finding) bool { return fd.Rule == "cleared" })
		require.NotEqual(t, stopped, cleared)
		return cleared
	}
	whole := Clearance{"A. N. Other (invented)", "structural engineer", "2026-11-20", "sound"}
	require.True(t, lifted(&whole))
	require.False(t, lifted(nil))
	for i := range 4 {
		part := whole
		*[]*string{&part.Who, &part.Capacity, &part.Day, &part.Words}[i] = ""
		require.False(t, lifted(&part), "%v", part)
	}
}
