package day

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
	"sillbot/internal/reading"
)

// placed hears one message for the patches of a window and gives the places.
func placed(t *testing.T, messages ...string) string {
	t.Helper()
	j := delivered(t)
	for _, text := range messages {
		j = say(t, j, &patches, text)
	}
	return window(j).Value(&patches, "places")
}

// A place is three lengths, in the order length, width, depth unless they are named, in
// any unit of a tape; its number is the next one.
func TestPlaces(t *testing.T) {
	for text, want := range map[string]string{
		"1200 x 150, 22 deep":                   "1 1200 150 22",
		"1200 x 150 x 22":                       "1 1200 150 22",
		"1200×150×22":                           "1 1200 150 22",
		"22 deep, 1200 long, 150 wide":          "1 1200 150 22",
		"1.2 m x 15 cm, 22 mm deep":             "1 1200 150 22",
		"1200 150 22 deep, 900 x 100, 10 deep":  "1 1200 150 22;2 900 100 10",
		"place 1200 x 150, 22 deep, lime wall":  "1 1200 150 22",
		"1200 x 150, 22 deep, 4 degrees, frost": "1 1200 150 22",
	} {
		require.Equal(t, want, placed(t, text), text)
	}
	require.Equal(t, "1 1200 150 22;2 900 100 10", placed(t, "1200 x 150, 22 deep, 12 degrees", "900 x 100, 10 deep"))
}

// What can't be made good is refused with why, and what was noted stays.
func TestPlacesRefused(t *testing.T) {
	for text, key := range map[string]string{
		"1200 x 150":           "day.fail.place",
		"1200":                 "day.fail.place",
		"1200 x 150, 195 deep": "why.render_deep",
		"1200 x 150, 2 deep":   "why.patch_thin",
		"1200 x 150, 0 deep":   "day.fail.length",
	} {
		h := hear(t, &patches, window(delivered(t)), text)
		require.NotNil(t, h.Trouble, text)
		require.Equal(t, key, h.Trouble.Key, text)
		require.Empty(t, h.Said, text)
	}
	full := strings.Repeat("300 x 100, 10 deep, ", mostPlaces)
	h := hear(t, &patches, window(delivered(t)), full+"300 x 100, 10 deep")
	require.Equal(t, "day.fail.places", h.Trouble.Key)
}

// A place that was taken off is gone, and the others keep their numbers.
func TestGone(t *testing.T) {
	j := say(t, delivered(t), &patches, "1200 x 150, 22 deep, 900 x 100, 10 deep, hard wall, loose, 12 degrees")
	e, ok := window(j).Gone(1)
	require.True(t, ok)
	j, err := j.OnDay(fitter, noon, 1, e)
	require.NoError(t, err)
	require.Equal(t, "2 900 100 10", window(j).Value(&patches, "places"))
	_, ok = window(j).Gone(1)
	require.False(t, ok)
	require.Contains(t, keys(endPatches(&patches, window(j))), "patch.title")

	e, ok = window(j).Gone(2)
	require.True(t, ok)
	j, err = j.OnDay(fitter, noon, 1, e)
	require.NoError(t, err)
	require.Equal(t, "places", patches.Next(window(j)).Name)
	require.Equal(t, []string{"patch.none"}, keys(endPatches(&patches, window(j))))
}

// The patches go into the plan that the stores are of: 25 kg of cement is the bag.
func TestPatchesAreInThePlan(t *testing.T) {
	before, err := window(delivered(t)).Planned()
	require.NoError(t, err)
	j := say(t, delivered(t), &patches, "1200 x 150, 22 deep, brick, cement and sand, 12 degrees")
	p, err := window(j).Planned()
	require.NoError(t, err)
	require.Len(t, p.Patches, 1)
	require.Greater(t, len(p.Take.Items), len(before.Take.Items))
	require.Equal(t, "hard", string(p.Opening.Patches[0].Wall), "brick is a hard wall")
}

// Too cold, too hot, frost and rain (a render maker's page, as quoted by others: S).
func TestPatchWeather(t *testing.T) {
	for weather, want := range map[string]string{
		"5 degrees, falling": "why.patch_cold", "5 degrees": "why.patch_cold", "5 degrees, rising": "", "4 degrees rising": "why.patch_cold_rising",
		"30 degrees": "", "31 degrees": "why.patch_hot", "12 degrees, frost tonight": "why.patch_frost", "12 degrees rain": "why.patch_rain",
	} {
		j := say(t, delivered(t), &patches, "600 x 100, 10 deep, hard, loose, "+weather)
		first := endPatches(&patches, window(j)).Lines[0]
		got := ""
		if first.Key == "plan.marked" {
			got = first.Sub["reason"].Key
		}
		require.Equal(t, want, got, weather)
	}
}

// How a sash stands: the corners are as seen from outside, and only the free ones count.
// The window's light hangs at the left.
func TestSashReadings(t *testing.T) {
	for text, want := range map[string]string{
		"drags at the top right 3":           "1 drags free_top 3",
		"drags 3 mm at top right":            "1 drags free_top 3",
		"gap at bottom right 2 more":         "1 gap free_bottom 2",
		"light 1 rubs at the bottom right 4": "1 drags free_bottom 4",
		"diagonals 1195 1193":                "1 diagonals 1195 1193",
		"shuts":                              "1 shuts",
		"it shuts":                           "1 shuts",
	} {
		h := hear(t, &sash, window(delivered(t)), text)
		require.Len(t, h.Said, 1, "%s %v", text, h.Trouble)
		require.Equal(t, want, h.Said[0].Value, text)
	}
	for text, key := range map[string]string{
		"drags at the top left 3": "day.fail.sash.hinge", "drags at the top right": "day.fail.sash", "drags 3": "day.fail.sash", "diagonals 1195": "day.fail.sash",
		"drags at top right 400": "day.fail.sash",
	} {
		h := hear(t, &sash, window(delivered(t)), text)
		require.NotNil(t, h.Trouble, text)
		require.Equal(t, key, h.Trouble.Key, text)
	}
}

// The toe is packed round after round until the sash agrees: the gap between sash and
// frame is even within 2 mm (VinduesIndustrien, technical provisions, chapter 9, R).
func TestToeRounds(t *testing.T) {
	j := say(t, delivered(t), &sash, "drags at the bottom right 4")
	out := endSash(&sash, window(j))
	require.True(t, out.Again)
	require.Equal(t, []string{"plan.of.light why.toe_pack", "sash.again"}, keys(out))

	round := func(text string) Outcome {
		j, err := j.OnDay(fitter, noon, 1, sash.Again(window(j))...)
		require.NoError(t, err)
		j = say(t, j, &sash, text)
		return endSash(&sash, window(j))
	}
	out = round("drags at the bottom right 6")
	require.Equal(t, []string{"plan.of.light why.toe_worse", "sash.again"}, keys(out), "it is looked at before more goes in")
	out = round("gap at the bottom right 2 more")
	require.False(t, out.Again)
	require.Equal(t, "sash.done", out.Lines[len(out.Lines)-1].Key)
	out = round("shuts")
	require.Equal(t, []string{"sash.shuts", "sash.done"}, keys(out))
}

// Rebate and glass are heard by light, a second time in the place of the first.
func TestRebates(t *testing.T) {
	j := say(t, delivered(t), &glazing, "rebate 1 962 x 811, glass 1 956 x 800")
	require.Equal(t, "1 962 811 956 800", window(j).Value(&glazing, "rebates"))
	j = say(t, j, &glazing, "rebate 963 x 811")
	require.Equal(t, "1 963 811 956 800", window(j).Value(&glazing, "rebates"))
	p, err := window(j).Planned()
	require.NoError(t, err)
	made, err := p.Stacks(0)
	require.NoError(t, err)
	require.Equal(t, "7 11", made.Across.String()+" "+made.Up.String())
	require.Equal(t, "day.fail.pane", hear(t, &glazing, window(j), "rebate 1 962").Trouble.Key)
}

// A hinge carries 1.3 times the sash (an aluminium hardware sheet, R).
func TestRated(t *testing.T) {
	p, err := window(delivered(t)).Planned()
	require.NoError(t, err)
	require.Equal(t, "29", p.Weight.Lights[0].String(), "29 × 1.3 = 37.7")
	for text, wrong := range map[string]bool{"37.5 kg": true, "38 kg": false, "hinges 38": false, "38": false, "stays for 30 kg": true} {
		j := say(t, delivered(t), &glazing, text)
		require.Equal(t, wrong, glazing.Ends(&glazing, window(j)).Wrong, text)
	}
	require.Equal(t, "day.fail.mass", hear(t, &glazing, window(delivered(t)), "900 kg").Trouble.Key)
}

// What tells in passing is told once its turn comes, between what was done and what is
// due, and what is asked of the house need not be asked again.
func TestInPassing(t *testing.T) {
	w := window(delivered(t))
	require.Equal(t, []*Part{&takeout}, InPassing(w, &structure, nil))
	require.Empty(t, InPassing(w, nil, &structure))
	j, _, err := delivered(t).Advance(fitter, noon, 1, job.DoTakeOut)
	require.NoError(t, err)
	require.Equal(t, []*Part{&sillpiece}, InPassing(window(j), nil, &setting))
	require.Equal(t, []*Part{&sillpiece, &fixing}, OfWork(window(j)))
	require.Empty(t, InPassing(window(j), &setting, &bow), "the masonry is asked")
	j = say(t, j, &fixing, "brick")
	require.Equal(t, []*Part{&fixing}, InPassing(window(j), &setting, &bow))
	require.Contains(t, keys(Outcome{Lines: fixing.Told(window(j))}), "fixwork.title")
	require.Equal(t, "brick", window(j).Read("fixing.masonry"))
}

// Foam takes a can of 5 to 35 °C (makers' guides, R).
func TestCan(t *testing.T) {
	for degrees, again := range map[string]bool{"4.9 degrees": true, "5 degrees": false, "35 degrees": false, "36 degrees": true, "skip": false} {
		j := say(t, delivered(t), &seal, degrees)
		require.Equal(t, again, seal.Ends(&seal, window(j)).Again, degrees)
	}
}

// A reading of a later part passes over what is asked; words never do.
func TestLater(t *testing.T) {
	j, _, err := delivered(t).Advance(fitter, noon, 1, job.DoTakeOut)
	require.NoError(t, err)
	e := Ear{Words: words(), Lang: "en", Length: func(text string, usual reading.Range) (reading.Length, string, error) {
		return reading.Next(text, usual)
	}}
	p, said := e.Later(&fixing, window(j), "1072 1071 1072")
	require.Equal(t, &bow, p)
	require.Len(t, said, 3)
	p, _ = e.Later(&frame, window(delivered(t)), "a lump of mortar")
	require.Nil(t, p)
}

// Inside work is cut back to the frame's back and 3 mm: the back is 100 mm in, set back
// 30 and 70 deep (settings, common practice).
func TestInsideEdges(t *testing.T) {
	for text, want := range map[string]string{
		"board 88 92": "plan.marked why.cut_back_askew", "board 90": "plan.marked why.cut_back", "board 120 130": "plan.marked why.cut_back_clear",
		"plaster left 95": "plan.marked why.cut_back", "plaster 95 120": "plan.marked why.cut_back; plan.marked why.cut_back_clear",
	} {
		j := say(t, delivered(t), &takeout, text)
		require.Equal(t, want, strings.Join(keys(takeout.Ends(&takeout, window(j))), "; "), text)
	}
	j := say(t, delivered(t), &sillpiece, "overhang 50")
	p, err := window(j).Planned()
	require.NoError(t, err)
	require.Equal(t, "50", p.Opening.Items.SillPast.String())
}
