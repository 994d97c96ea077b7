package hear

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestFiguresInWords(t *testing.T) {
	for want, list := range map[string][]int{
		"1204": {12, 0, 4}, "1214": {12, 14}, "900": {9, 100}, "150": {1, 50}, "180": {100, 80}, "1050": {1000, 50},
		"1052": {10, 50, 2}, "1596": {15, 90, 6}, "1202": {12, 100, 2}, "1005": {1000, 5}, "2100": {2, 1000, 100}, "1210": {12, 10},
	} {
		require.Equal(t, want, figureOf(list), list)
	}
	require.Equal(t, "1204", figureOf([]int{1, 2, 0, 4}))
}

func TestFiguresInARow(t *testing.T) {
	require.Equal(t, "1204 1202 1203", figuresOf([]int{12, 0, 4, 12, 0, 2, 12, 0, 3}))
	require.Equal(t, "1204 1202", figuresOf([]int{12, 100, 4, 12, 100, 2}))
	require.Empty(t, figuresOf([]int{12, 0, 4}))
	require.Empty(t, figuresOf([]int{1, 2, 0, 4}), "one figure, digit by digit")
	require.Empty(t, figuresOf([]int{12, 0, 4, 10, 50, 2}), "another figure follows")
}
