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
