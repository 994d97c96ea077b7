package sheet

import (
	"encoding/csv"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// What is not known stands in each form of the order once, and what is left to the
// desk says so.
func TestWhatIsNotKnownStandsOnTheOrder(t *testing.T) {
	s := revised(t, 2, true).OrderCopy()
	l := &s.Lines[0]
	l.MakeUp, l.Panes = "", nil
	o := &order{layout: newLayout(Printer{Say: english})}
	require.Equal(t, english(phrase.Of("sheet.no_glass")), o.makeUpWords(*l), "of a file nobody says who decides")
	l.NotKnown, l.DeskDecides = []opening.Key{"bath", "vents"}, []opening.Key{"glass"}
	l.Safety = nil
	require.Equal(t, "the desk decides", o.makeUpWords(*l))
	require.Equal(t, "Bath or shower near Old vents", wordsOf(o.notKnownParts(*l)))

	raw, err := printer(english).CSV(s)
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(raw))).ReadAll()
	require.NoError(t, err)
	require.Equal(t, "the desk decides", rows[1][slices.Index(rows[0], "glass")])
	require.Equal(t, "Bath or shower near Old vents", rows[1][slices.Index(rows[0], "not_known")])
	raw, err = printer(english).JSON(s)
	require.NoError(t, err)
	require.Contains(t, string(raw), `"desk_decides": [`)
	require.Contains(t, string(raw), `"fields_not_known": [`)

	// The row of the vents says it where a rule asks.
	l.Safety = []safety.Finding{{Rule: "vents_unverified", Topic: safety.Vents, Severity: safety.Ask, Scope: safety.OfJob}}
	require.Equal(t, english(phrase.Of("sheet.vents.unknown")), o.ventRow(l.Line).parts[0].words)
	require.NotContains(t, wordsOf(o.notKnownParts(*l)), "Old vents")
	require.Contains(t, wordsOf(o.notKnownParts(*l)), "Bath or shower near")
}

// What the table marks as standing on the order is in each form of it.
func TestWhatIsStatedStandsOnTheOrder(t *testing.T) {
	s := revised(t, 2, true).OrderCopy()
	s.Lines[1].Stated = nil
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
		rowsOfGlass := o.glassRows(s.Lines[0])
		require.Regexp(t, "(^|.* )=reeded$", rowsOfGlass[1].parts[0].words)
	}
}
