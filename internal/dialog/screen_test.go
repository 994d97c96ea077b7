package dialog

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"sillbot/internal/plan"
)

// phoneRows is how many lines a text takes on a phone of 40 characters, broken
// between words, and in a word that is longer than a line. The issue that asked for one
// screen counts so.
func phoneRows(text string) int {
	rows := 0
	for _, paragraph := range strings.Split(text, "\n") {
		line := ""
		rows++
		for _, word := range strings.Fields(paragraph) {
			if line != "" && utf8.RuneCountInString(line+" "+word) > 40 {
				line = ""
				rows++
			}
			line = strings.TrimSpace(line + " " + word)
			for utf8.RuneCountInString(line) > 40 {
				line = string([]rune(line)[40:])
				rows++
			}
		}
	}
	return rows
}

func TestPhoneRows(t *testing.T) {
	forty := strings.Repeat("x", 40)
	for text, rows := range map[string]int{
		"": 1, "one": 1, forty: 1, forty + "x": 2, forty + " x": 2, "a\n\nb": 3, forty + forty: 2,
		strings.Repeat("abc ", 10): 1, strings.Repeat("abcd ", 9): 2,
	} {
		require.Equal(t, rows, phoneRows(text), text)
		require.Equal(t, rows, screenRows(text), text)
	}
}

// survey answers each question by its key until none is open, and gives the replies to
// the last answer. A question that answers does not name is skipped, or else has its
// first button pressed.
func survey(t *testing.T, s State, answers map[string]string) (State, []Reply) {
	usual := map[string]string{
		"nation": "England", "date": "today", "finish": "brick", "sill": "none", "material": "white",
		"width.top": "1204", "width.middle": "1202", "width.bottom": "1203", "height.left": "1050", "height.middle": "1052", "height.right": "1051",
		"diagonal.rising": "1595", "diagonal.falling": "1596", "sill.fall": "level", "layout": "left",
		"over": "brick", "room": "bedroom", "floor": "900", "storey": "first", "glass": "4-20-4", "vents": "no", "bath": "no", "door": "no",
	}
	var said []Reply
	if s.Version == 0 {
		s, said = Step(s, typed("/start"))
	}
	for n := 0; n < 80; n++ {
		turn := &turn{State: s}
		key := turn.open()
		if key == "" {
			return s, said
		}
		text, ok := answers[key]
		if !ok {
			text, ok = usual[key]
		}
		in := Input{Kind: Typed, Text: text, Now: firstDay, Chat: 1, User: 1}
		if !ok {
			in.Kind, in.Text = Pressed, pressFor(t, said, key)
		}
		s, said = Step(s, in)
	}
	require.Fail(t, "the survey does not end", (&turn{State: s}).open())
	return s, nil
}

// pressFor is what is pressed at a question that no answer is given for.
func pressFor(t *testing.T, said []Reply, key string) string {
	last := said[len(said)-1]
	require.NotEmpty(t, last.Buttons, "no answer for %s", key)
	for _, label := range []string{"Skip", "Keep it", "Keep all"} {
		if data, ok := onButton(last, label); ok {
			return data
		}
	}
	return last.Buttons[0][0].Data
}

// answer is what of the replies is the answer, without the card's caption, and how many
// particular points stand in it, wrapped packer rows and lights.
func answer(said []Reply) (text string, points, wraps int) {
	var texts []string
	for _, r := range said {
		if r.Picture != nil {
			continue
		}
		for _, line := range strings.Split(words().Plain("en", r.Text), "\n") {
			if strings.HasPrefix(line, "Order size ") && strings.Contains(line, "seen from outside") {
				continue // the card's caption, in the message before it
			}
			texts = append(texts, line)
			if strings.HasPrefix(line, "⛔") || strings.HasPrefix(line, "⚠") || strings.HasPrefix(line, "▸") {
				points++
			}
			if side, _, ok := strings.Cut(line, ": "); ok && (strings.Contains("Left, right", side) || side == "Right" || side == "Head" || side == "Sill") {
				wraps += phoneRows(line) - 1
			}
		}
	}
	return strings.Join(texts, "\n"), points, wraps
}

// kinds are twelve windows of different kinds.
var kinds = []struct {
	name    string
	lights  int
	answers map[string]string
}{
	{"one light", 1, nil},
	{"two lights, sill piece", 2, map[string]string{"layout": "left fixed", "sill": "150"}},
	{"three lights", 3, map[string]string{"layout": "left fixed right", "width.top": "1804", "width.middle": "1802", "width.bottom": "1803", "diagonal.rising": "2084", "diagonal.falling": "2085"}},
	{"three with top lights", 6, map[string]string{"layout": "3t", "mullion.1": "evenly", "mullion.2": "evenly", "transom": "800", "light.1": "left", "light.2": "fixed", "light.3": "right", "light.4": "top", "light.5": "top", "light.6": "top",
		"width.top": "1804", "width.middle": "1802", "width.bottom": "1803", "height.left": "1250", "height.middle": "1252", "height.right": "1251", "diagonal.rising": "2192", "diagonal.falling": "2193"}},
	{"plaster", 2, map[string]string{"finish": "plaster", "layout": "left fixed", "material": "colour"}},
	{"overlap, not measured behind", 1, map[string]string{"finish": "overlap", "inner.width": "skip", "inner.height": "skip"}},
	{"sill piece 85, ground", 1, map[string]string{"sill": "85", "storey": "ground"}},
	{"low glass upstairs", 1, map[string]string{"floor": "600", "storey": "first", "height.left": "1650", "height.middle": "1652", "height.right": "1651", "diagonal.rising": "2042", "diagonal.falling": "2043"}},
	{"bathroom", 1, map[string]string{"room": "bathroom", "bath": "yes", "layout": "top", "floor": "1100"}},
	{"kitchen", 2, map[string]string{"room": "kitchen", "layout": "left right", "storey": "1400", "vents": "yes"}},
	{"a leaning opening", 2, map[string]string{"layout": "left fixed", "diagonal.rising": "1603", "diagonal.falling": "1588", "sill.fall": "can't tell"}},
	{"Scotland", 2, map[string]string{"nation": "Scotland", "layout": "tilt-turn left, fixed", "room": "living room", "glass": "skip"}},
}

// TestOneScreen prints the lines of the answer on twelve windows, each the first of its
// job, and fails where one is over the limit: 24 lines of 40 characters for one or two
// lights with one particular point at most; one more for a further light, two for a
// point, one for a line of packers that wraps; never over 40.
func TestOneScreen(t *testing.T) {
	for _, k := range kinds {
		s, said := survey(t, State{}, k.answers)
		text, points, wraps := answer(said)
		limit := min(24+max(0, k.lights-2)+2*max(0, points-1)+wraps, 40)
		rows := phoneRows(text)
		t.Logf("%-30s %2d of %2d lines: %d lights, %d points, %d packer lines wrapped", k.name, rows, limit, k.lights, points, wraps)
		if rows > limit {
			t.Errorf("%s: %d lines, %d are the most\n%s", k.name, rows, limit, text)
		}
		require.Contains(t, text, "Not measured", k.name)
		for _, topic := range append([]string{""}, plan.Topics...) {
			_, why := Step(s, typed("why "+topic))
			text, _, _ := answer(why)
			require.LessOrEqual(t, phoneRows(text), 24, "%s, why %s:\n%s", k.name, topic, text)
			if topic == "" {
				require.LessOrEqual(t, phoneRows(text), 4, "%s, why:\n%s", k.name, text)
			}
		}
		if testing.Verbose() && testing.Short() {
			t.Log("\n" + text)
		}
	}
}

// After a change only what changed is said, and what holds for the whole job is said
// once.
func TestAfterAChangeOnlyWhatChangedIsSaid(t *testing.T) {
	s, said := survey(t, State{}, nil)
	whole, _, _ := answer(said)
	require.Contains(t, whole, "\nJob: ")
	s, said = Step(s, typed("change material timber"))
	changed, _, _ := answer(said)
	require.Contains(t, changed, "What changed")
	require.NotContains(t, changed, "Not measured")
	require.NotContains(t, changed, "\nJob: ")
	require.Less(t, phoneRows(changed), phoneRows(whole))
	_, said = Step(s, typed("summary"))
	again, _, _ := answer(said)
	require.Contains(t, again, "Not measured")
	require.NotContains(t, again, "\nJob: ", "said once a job")
}

// A figure is explained where it stands.
func TestWhyOfAFigure(t *testing.T) {
	s, _ := survey(t, State{}, nil)
	for asked, want := range map[string]string{
		"why 790": "a fixing on the left jamb", "why 1192": "Width 1192 = ", "why 1202": "as measured", "why 77": "No figure 77", "why head": "Head, from the left corner",
	} {
		_, said := Step(s, typed(asked))
		text, _, _ := answer(said)
		require.Contains(t, text, want, asked)
	}
}
