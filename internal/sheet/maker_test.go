package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/safety"
)

// A coloured frame without a colour says once whose it is.
func TestOneTruthOfTheColour(t *testing.T) {
	for left, want := range map[string]string{
		opening.DeskSays: "Colour: the desk decides", opening.Skipped: "Colour not known: ask before making", "": "Colour not stated: ask before making",
	} {
		s := ordinary(t, 1)
		l := &s.Lines[0]
		l.Colour, l.Material, l.DeskDecides, l.NotKnown, l.NotSaid = "", calc.PVCUColour, nil, nil, nil
		switch left {
		case opening.DeskSays:
			l.DeskDecides = []opening.Key{"colour"}
		case opening.Skipped:
			l.NotKnown = []opening.Key{"colour"}
		}
		if left != "" {
			l.Stated = append(l.Stated, opening.Pair{Key: "colour", Value: left})
		}
		words := printed(t, s)
		require.Contains(t, words, want)
		require.Equal(t, left == "", strings.Contains(words, "Colour, Frame depth: not said"), left)
		require.Equal(t, left != opening.DeskSays, strings.Contains(words, "Colour not"), left)
	}
}

// What the desk decides on the same lines is one sentence, and what it decides on some
// alone another.
func TestWhatIsLeftToTheDeskStandsTogether(t *testing.T) {
	s := ordinary(t, 2)
	for i, keys := range [][]opening.Key{{"gas", "obscure", "spacer"}, {"gas", "spacer"}} {
		s.Lines[i].DeskDecides, s.Lines[i].NotKnown, s.Lines[i].NotSaid = keys, nil, nil
	}
	words := printed(t, s)
	require.Contains(t, words, "Gas, Spacer: the desk decides (all lines)")
	require.Contains(t, words, "Obscure glass: the desk decides (line 1)")
}

// A line names the room that it is for on every paper, unless its name does.
func TestALineNamesItsRoom(t *testing.T) {
	s := ordinary(t, 2)
	s.Lines[0].Name, s.Lines[0].Room = "Window 1", safety.Bathroom
	s.Lines[1].Name, s.Lines[1].Room = "back bedroom", safety.Bedroom
	words := printed(t, s)
	require.Equal(t, 2, strings.Count(words, "Window 1, bathroom"), "in the table and over the line")
	require.NotContains(t, words, "back bedroom, bedroom")
	rows, err := printer(english).CSV(s)
	require.NoError(t, err)
	require.Contains(t, string(rows), ",bathroom,")
	raw, err := printer(english).JSON(s)
	require.NoError(t, err)
	require.Contains(t, string(raw), `"room": "bathroom"`)
	page := said(printer(english).customerLayout(job.CustomerSheet{Windows: []job.CustomerWindow{{Opening: 1, Name: "Window 1", Room: safety.Bathroom, Quantity: 1}}}))
	require.Contains(t, strings.Join(page, " "), "Window 1, bathroom")
}

// The maker reads no sentence that tells somebody what to do before ordering.
func TestNothingOnAnOrderIsToBeSettledBeforeOrdering(t *testing.T) {
	s := ordinary(t, 1)
	s.Lines[0].Safety = nil
	for _, rule := range []string{"vents_ask", "vents_new", "vents_few", "heat_unverified", "heat_door_unverified", "heat_heritage", "escape_size"} {
		s.Lines[0].Safety = append(s.Lines[0].Safety, safety.Finding{
			Rule: rule, Severity: safety.Ask, Topic: safety.Escape, Words: map[string]string{"then": "escape.then.check", "room": "room.bedroom", "nation": "nation.wales", "fails": "escape.fails.area"},
		})
	}
	words := printed(t, s)
	require.NotContains(t, words, "before ordering")
	require.NotContains(t, words, "Put it on the order")
	require.Contains(t, words, "ask the fitter before you make it")
}
