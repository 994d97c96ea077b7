package plan

import (
	"encoding/json"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// onItsDay is an opening whose frame came 2 mm wide, was set in two rounds, and was pulled
// by a screw.
const onItsDay = `{"name":"kitchen","nation":"england","date":"2026-11-25","finish":"bare","material":"pvcu-white",
"widths":[1204,1202,1203],"heights":[1050,1052,1051],"rising":1596,"falling":1597,"sill_fall":0,
"layout":{"lights":[{"hinge":"side-left"}]},"room":"bedroom","storey":1,"above_floor":900,"panes":[4,4],
"delivered":{"width":1194,"height":1040,"rising":1582,"falling":1583,"twist":1},
"set":[{"sill":{"gap":2,"level":600,"to":"right_low"},"left":{"gap":4,"level":1200,"to":"top_right"},"rising":1582,"falling":1582},
{"sill":{},"left":{},"right":{"per_metre":1,"to":"top_left"},"left_face":{"bubble":0.25,"to":"top_in"},"rising":1582,"falling":1582,"strings":1}],
"fixed":[1072,1075,1072]}`

func TestAFileOfTheDay(t *testing.T) {
	o, err := opening.Parse([]byte(onItsDay), nil)
	require.NoError(t, err)
	p, err := Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	report := p.Report(func(phrase.Text) string { return "" })
	require.Equal(t, "1192", report.Order.Width.String(), "what was ordered")
	require.Equal(t, "1194", p.Order.Size.Width.String(), "all else is of the frame that came")
	require.Equal(t, calc.VerdictNote, report.Arrival.Verdict)
	require.True(t, report.Arrival.GoesIn)

	require.Len(t, report.Set, 2)
	require.False(t, report.Set[0].True)
	require.NotEmpty(t, report.Set[0].Changes)
	require.True(t, report.Set[1].True)
	require.Equal(t, []calc.SetWhat{calc.SetRightFace}, report.Set[1].Missing)
	// 2 mm under a level of 600 mm is 3.33 mm a metre, the right end low.
	require.Equal(t, "-3.33", report.Set[0].Turned.String())

	require.False(t, report.Fixed.Within)
	require.Equal(t, "3", report.Fixed.Apart.String())
	require.NotEmpty(t, report.Fixed.Changes)
	_, err = json.Marshal(report)
	require.NoError(t, err)
}

// What can't be of a frame is refused with what it is, and the order is none the worse.
func TestAFileOfTheDayIsRefused(t *testing.T) {
	for name, change := range map[string]func(*opening.Opening){
		"arrive_diagonal_alone": func(o *opening.Opening) { o.Delivered.Falling = decimal.Zero },
		"set_which_way":         func(o *opening.Opening) { o.Set[0].Sill.To = calc.LeansIn },
		"set_level_length":      func(o *opening.Opening) { o.Set[0].Sill.Level = mm(50) },
		"set_widths_impossible": func(o *opening.Opening) { o.Fixed[0] = mm(12) },
	} {
		o, err := opening.Parse([]byte(onItsDay), nil)
		require.NoError(t, err)
		change(&o)
		_, err = Make(o, calc.DefaultSettings())
		var refused *calc.RefusalError
		require.ErrorAs(t, err, &refused, name)
		require.Equal(t, name, refused.Reason.Rule)
	}
}

// A frame that does not go in is said before all that follows of it: the old one stays.
func TestAPlanOfAWrongFrameLeavesTheOldOneIn(t *testing.T) {
	for width, stays := range map[string]bool{"1194": false, "1230": true} {
		o, err := opening.Parse([]byte(onItsDay), nil)
		require.NoError(t, err)
		o.Set, o.Fixed = nil, [3]decimal.Decimal{}
		o.Delivered.Width, o.Delivered.Rising, o.Delivered.Falling = decimal.RequireFromString(width), decimal.Zero, decimal.Zero
		p, err := Make(o, calc.DefaultSettings())
		require.NoError(t, err)
		keys := map[string]bool{}
		for _, line := range p.TextLines() {
			keys[line.Key] = true
		}
		require.Equal(t, stays, keys["plan.delivered.wrong"], width)
	}
}
