package sheet

import (
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// What the table marks as standing on the order is in each form of it.
func TestWhatIsStatedStandsOnTheOrder(t *testing.T) {
	s := revised(t, 2, true).OrderCopy()
	for f := range opening.Fields {
		if !f.Is(opening.OnOrder) {
			continue
		}
		s.Lines[0].Stated = []opening.Pair{{Key: f.Key, Value: "=reeded"}}
		raw, err := printer(english).CSV(s)
		require.NoError(t, err)
		rows, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
		require.NoError(t, err)
		at := -1
		for i, title := range rows[0] {
			if title == f.Key {
				at = i
			}
		}
		require.GreaterOrEqual(t, at, 0, "no column %s", f.Key)
		require.Equal(t, "'=reeded", rows[1][at])
		require.Empty(t, rows[2][at])

		raw, err = printer(english).JSON(s)
		require.NoError(t, err)
		var got struct {
			Lines []struct{ Stated map[string]string }
		}
		require.NoError(t, json.Unmarshal(raw, &got))
		require.Equal(t, map[string]string{f.Key: "=reeded"}, got.Lines[0].Stated)

		o := &order{layout: newLayout(Printer{Say: english})}
		rowsOfGlass := o.glassRows(s.Lines[0].Line)
		require.Equal(t, "=reeded", rowsOfGlass[1].parts[0].words)
	}
}
