package job

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/plan"
)

func TestRevisionNames(t *testing.T) {
	for n, want := range map[int]string{0: "", 1: "A", 8: "H", 9: "J", 13: "N", 14: "P", 24: "Z", 25: "AA", 26: "AB", 48: "AZ", 49: "BA", 600: "ZZ", 601: "AAA"} {
		require.Equal(t, want, RevisionName(n))
	}
}

// A revision keeps the name on the paper that went out; none has that of another.
func TestARevisionKeepsTheNameItWasSentBy(t *testing.T) {
	before := Order{Revision: 10, Sent: []Sending{{Revision: 9}, {Revision: 10}}}
	require.Equal(t, []string{"I", "J"}, []string{before.Name(9), before.Name(10)})
	next := Order{Revision: 11, Sent: append(before.Sent, Sending{Revision: 11, Name: RevisionName(11)})}
	require.Equal(t, []string{"J", "L", ""}, []string{next.Name(10), next.Name(11), next.Name(0)})

	j := sent(t, 1)
	j.Order.Revision, j.Order.Sent[0].Revision, j.Order.Sent[0].Name = 9, 9, ""
	_, _, err := j.Confirm(desk, noon, "J", 1)
	require.Equal(t, "no_revision", reasonOf(t, err))
	j = must(t)(j.Confirm(desk, noon, "i", 1))
	require.Equal(t, Confirmed, j.Openings[0].State)
	require.Equal(t, "I", j.OrderCopy().Revision)
	require.Equal(t, "H", j.OrderCopy().Replaces)
}

// A day of delivery is one to come; near midnight it may be another day elsewhere.
func TestADayOfDeliveryIsToCome(t *testing.T) {
	j := sent(t, 1)
	today := noon.Format(plan.DateForm)
	require.Equal(t, Supply{Due: today}, must(t)(j.Promise(desk, noon, 1, today, nil)).Openings[0].Supply)
	before := noon.AddDate(0, 0, -1).Format(plan.DateForm)
	_, _, err := j.Promise(desk, noon.Add(time.Minute), 1, before, nil)
	require.Equal(t, "day_past", reasonOf(t, err))
	west := time.Date(noon.Year(), noon.Month(), noon.Day(), 11, 59, 0, 0, time.UTC)
	require.Equal(t, before, must(t)(j.Promise(desk, west, 1, before, nil)).Openings[0].Supply.Due)
}
