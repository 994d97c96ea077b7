package sheet

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
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

// Each light's line says of what its own safety glass is: by number, or by the item for
// all; a light that no rule asks it for says so.
func TestEachPaneSaysItsOwnGlass(t *testing.T) {
	s := ordinary(t, 1)
	l := &s.Lines[0]
	l.Layout = calc.Layout{Mullions: l.Layout.Mullions, Lights: row0(calc.SideLeft, calc.FixedLight, calc.SideRight)}
	l.Worked = nil
	l.Safety = []safety.Finding{{Rule: "glass_window", Severity: safety.Must, Topic: safety.Glass, Lights: []int{0, 1}, Figures: map[string]decimal.Decimal{"class": decimal.NewFromInt(3)}}}
	l.Stated = []opening.Pair{{Key: "safeglass", Value: "toughened"}, {Key: "lightglass", Value: "2 laminated, 3 mixed"}}
	words := printed(t, s)
	require.Regexp(t, `Light 1: [^.]*class 3 [^.]*\. Toughened, both sheets\. Light 2: [^.]*class 3 [^.]*\. Laminated, both sheets\. Light 3, no rule asks for it: Outer sheet toughened, inner sheet laminated\.`, words)
	raw, err := printer(english).JSON(s)
	require.NoError(t, err)
	for _, code := range []string{"toughened", "laminated", "mixed"} {
		require.Contains(t, string(raw), `"safety_glass": "`+code+`"`)
	}
	l.Stated = []opening.Pair{{Key: "safeglass", Value: opening.DeskSays}}
	require.Contains(t, printed(t, s), "Toughened or laminated: the desk decides.")
	l.Stated = nil
	require.Contains(t, printed(t, s), "Toughened or laminated: not said, ask before making.")
}

// 8000 mm² over two windows is 4000 each, which is two vents of 2500.
func TestALineHasItsVentsAndItsShareOfTheRooms(t *testing.T) {
	s := ordinary(t, 2)
	for i := range s.Lines {
		s.Lines[i].Quantity = 1
		s.Lines[i].Safety = []safety.Finding{{Rule: "vents_new", Severity: safety.Ask, Topic: safety.Vents, Words: map[string]string{"room": "room.bedroom"}, Figures: map[string]decimal.Decimal{"area": decimal.NewFromInt(8000)}}}
		s.Lines[i].Stated = []opening.Pair{{Key: "trickle", Value: "2"}, {Key: "trickle.place", Value: "frame"}, {Key: "trickle.area", Value: "2500"}, {Key: "trickle.colour", Value: opening.DeskSays}}
	}
	words := printed(t, s)
	require.Contains(t, words, "2 vents, In the head of the frame, 2500 mm² equivalent area each, 5000 mm² in this window, Colour of the vents: the desk decides")
	require.Equal(t, 2, strings.Count(words, "4000 mm² each. That is 2 vents of 2500 mm²."), "on each line")
	s.Lines[0].Stated = []opening.Pair{{Key: "trickle", Value: "0"}}
	require.Contains(t, printed(t, s), "New vents None")
	s.Lines[0].Stated = []opening.Pair{{Key: "trickle", Value: "1"}}
	require.Contains(t, printed(t, s), "1 vent, Place of the vents: not said, ask, Area of one vent: not said, ask, Colour of the vents: not said, ask")
}
