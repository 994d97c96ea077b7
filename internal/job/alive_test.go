package job

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A point is the same as another by its code, what it is about and its words.
func TestPointsAreToldApart(t *testing.T) {
	p := Point{Code: PointStop, About: AboutItems}
	require.True(t, p.same(Point{Code: PointStop, About: AboutItems}))
	require.False(t, p.same(Point{Code: PointStop, About: AboutCustomer}))
	require.False(t, p.same(Point{Code: AboutItems, About: AboutItems}))
}

// Who has a chair is told of once, and which links nobody has used, but for one that
// hands the job over.
func TestChairsAndUnusedLinks(t *testing.T) {
	j := Job{Shares: []Share{
		{Role: Lead, UsedBy: 7}, {Role: Desk}, {Role: Fitter}, {Role: Desk, UsedBy: 7}, {Role: Lead, UsedBy: 9, Revoked: true}, {Role: Lead, Revoked: true},
	}}
	chats, unused := j.Chairs()
	require.Equal(t, []int64{7}, chats)
	require.Equal(t, []Share{{Role: Desk}}, unused)
}

// A line counts as only told where somebody told of it, and the desk did not say it.
func TestOnlyToldIsTold(t *testing.T) {
	require.False(t, Opening{State: Confirmed}.OnlyTold())
}
