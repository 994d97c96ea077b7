package tryit

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestTheNextMorningIsEightWhereThePeopleAre: the clocks of London went forward on
// 29 March 2026 and back on 25 October 2026, both on Sundays at 01:00 UTC, as the IANA
// time zone database has it.
func TestTheNextMorningIsEightWhereThePeopleAre(t *testing.T) {
	for now, want := range map[string]string{
		"2026-11-26T09:05:00Z":      "2026-11-27T08:00:00Z",
		"2026-11-26T07:59:59Z":      "2026-11-27T08:00:00Z", // tomorrow, not today
		"2026-07-01T23:30:00Z":      "2026-07-03T07:00:00Z", // half past twelve of the 2nd in London
		"2026-03-28T20:00:00Z":      "2026-03-29T07:00:00Z",
		"2026-10-24T20:00:00+01:00": "2026-10-25T08:00:00Z",
		"2026-12-31T08:00:00Z":      "2027-01-01T08:00:00Z",
	} {
		from, err := time.Parse(time.RFC3339, now)
		require.NoError(t, err)
		require.Equal(t, want, from.Add(untilMorning(from)).UTC().Format(time.RFC3339), now)
	}
}
