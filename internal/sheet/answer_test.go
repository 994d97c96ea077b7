package sheet

import (
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The columns for the supplier's answers stand last and are empty; a row is known
// by the window's own number, which a line's place on the order is not.
func TestTheColumnsForAnswers(t *testing.T) {
	names := csvHead()
	require.Equal(t, []string{"window", "confirm", "price", "day", "order number", "words"}, names[len(names)-6:])
	slices.Sort(names)
	require.Len(t, slices.Compact(names), len(csvHead()), "no two columns of one name")
	sheet := ordinary(t, 3)
	sheet.Lines = sheet.Lines[1:] // the first was deleted
	raw, err := printer(english).CSV(sheet)
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(raw), "\uFEFF"))).ReadAll()
	require.NoError(t, err)
	for i, row := range rows[1:] {
		require.Equal(t, []string{[]string{"2", "3"}[i], "", "", "", "", ""}, row[len(row)-6:])
	}
}
