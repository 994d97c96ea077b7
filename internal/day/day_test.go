package day

import (
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/opening/openingtest"
	"sillbot/internal/reading"
	"sillbot/internal/safety"
	"sillbot/locales"
)

var (
	noon   = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	fitter = job.Who{Chat: 1, Person: 1, Role: job.Fitter}
)

// words is the catalogue; a file of it that can't be read is found in package locales.
var words = sync.OnceValue(func() *locales.Catalogue {
	c, _ := locales.Load()
	return c
})

func mm(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

// plain is an opening whose frame is ordered 1192 × 1040.
func plain() opening.Opening {
	floor := mm(900)
	level := mm(0)
	return opening.Opening{
		Nation: safety.England, Date: "2026-11-25", Finish: calc.Bare, Material: calc.PVCUWhite,
		Widths: [3]decimal.Decimal{mm(1204), mm(1202), mm(1203)}, Heights: [3]decimal.Decimal{mm(1050), mm(1052), mm(1051)},
		Rising: mm(1596), Falling: mm(1597), SillFall: &level,
		Layout: calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}}}, Room: safety.Bedroom, Storey: 1, AboveFloor: &floor,
	}
}

// delivered is a job of one window whose frame is here.
func delivered(t testing.TB) job.Job {
	j := job.New("TESTAB", fitter, noon, job.Settings{})
	said := opening.Record{}.Put(opening.Stamp{By: 1, Role: opening.Fitter, At: noon.Unix()},
		openingtest.Complete(opening.Known{}, openingtest.Window{Plan: plain(), MakeUp: "4-20-4"})...)
	j, err := j.Begin(fitter, noon, "kitchen", said)
	require.NoError(t, err)
	j, _, err = j.Review(fitter, noon, 1)
	require.NoError(t, err)
	j, _, err = j.Send(fitter, noon, calc.DefaultSettings(), 1)
	require.NoError(t, err)
	j, _, err = j.ConfirmTold(fitter, noon, job.Reply{Heard: job.Heard{Way: job.ByPhone, By: "Anna"}}, 1)
	require.NoError(t, err)
	j, _, err = j.Advance(fitter, noon, 1, job.DoDeliver)
	require.NoError(t, err)
	return j
}

func window(j job.Job) *Window {
	o, _ := j.Find(1)
	return Of(o)
}

// say reads a message for a part and keeps what was heard.
func say(t testing.TB, j job.Job, p *Part, text string) job.Job {
	h := hear(t, p, window(j), text)
	require.Empty(t, h.Left, text)
	require.Nil(t, h.Trouble, text)
	j, err := j.OnDay(fitter, noon, 1, p.Entries(h.Said)...)
	require.NoError(t, err)
	return j
}

func hear(t testing.TB, p *Part, w *Window, text string) Heard {
	t.Helper()
	return Ear{Words: words(), Lang: "en", Length: func(text string, usual reading.Range) (reading.Length, string, error) {
		return reading.Next(text, usual)
	}}.Hear(p, w, text)
}

func heard(h Heard) string {
	var list []string
	for _, v := range h.Said {
		list = append(list, v.Field.Name+"="+v.Value)
	}
	return strings.Join(list, "; ")
}

func keys(o Outcome) []string {
	var list []string
	for _, l := range o.Lines {
		key := l.Key
		if sub, ok := l.Sub["reason"]; ok {
			key += " " + sub.Sub["reason"].Key + sub.Key
		}
		list = append(list, key)
	}
	return list
}

// What is heard of a message, whole; what nobody understands keeps all of it back.
func TestHear(t *testing.T) {
	w := Of(job.Opening{})
	for _, c := range []struct {
		part *Part
		text string
		want string // "" where nothing is taken
	}{
		{&frame, "1192 1040 1581 1582 1 as drawn", "width=1192; height=1040; rising=1581; falling=1582; twist=1; hand=asdrawn"},
		{&frame, "1192 x 1040, diags 1581 and 1582", "width=1192; height=1040; rising=1581; falling=1582"},
		{&frame, "height 1040 width 1192", "height=1040; width=1192"},
		{&frame, "119.2 cm", "width=1192"},
		{&frame, "wrong hand", "hand=mirrored"},
		{&frame, "hand wrong", "hand=mirrored"},
		{&frame, "-3 degrees", "warmth=-3"},
		{&frame, "3°C", "warmth=3"},
		{&frame, "skip", "width=-"},
		{&frame, "1192 skip skip skip 1", "width=1192; height=-; rising=-; falling=-; twist=1"},
		{&frame, "bananas", ""},
		{&frame, "1192 bananas", ""},
		{&structure, "all ok, J Doe", "lintel=ok; cracks=ok; services=ok; inside=ok; weather=ok; stand=ok; who=J Doe"},
		{&structure, "no cracks", "cracks=ok"},
		{&structure, "lintel seen, wall cracked over the left, pipe behind the plaster", "lintel=ok; cracks=cracked over the left; services=pipe behind the plaster"},
		{&structure, "cant see one", "lintel=cant see one"},
		{&structure, "ok ok ok", "lintel=ok; cracks=ok; services=ok"},
		{&setting, "sill 2 in 600 right low", "sill=gap 2 600 right_low"},
		{&setting, "sill 2mm under a 1.2 m level, left high", "sill=gap 2 1200 right_low"},
		{&setting, "sill level, left plumb, right 1.5 in 1200 leans left", "sill=level; left=level; right=gap 1.5 1200 top_left"},
		{&setting, "left half a bubble leans right", "left=bubble 0.5 top_right"},
		{&setting, "sill 2 bubbles left low", "sill=bubble 2 left_low"},
		{&setting, "right jamb 2 mm per metre top left", "right=metre 2 top_left"},
		{&setting, "left in and out 0.2° leans out", "leftface=metre 3.49 top_out"},
		{&setting, "in and out plumb", "leftface=level; rightface=level"},
		{&setting, "jambs 3 in 1200 leans right", "left=gap 3 1200 top_right; right=gap 3 1200 top_right"},
		{&setting, "all true, diagonals 1581 1582", "sill=level; left=level; right=level; leftface=level; rightface=level; rising=1581; falling=1582"},
		{&setting, "my level 1200, sill 2 right low", "length=1200; sill=gap 2 1200 right_low"},
		{&setting, "3 mm low at top right", "corner=3 down top_right"},
		{&setting, "2 proud at the bottom left", "corner=2 out bottom_left"},
		{&setting, "sill 2 in 600 right low left 1 in 600 leans left", "sill=gap 2 600 right_low; left=gap 1 600 top_left"},
		{&setting, "sill 0", "sill=level"},
		{&setting, "sill wobbly", ""},
		{&setting, "sill, left plumb", ""}, // nothing was said of the sill
		{&setting, "left plumb, sill", ""},
		{&bow, "1072 1071 1072", "top=1072; middle=1071; bottom=1072"},
		{&bow, "middle 1075", "middle=1075"},
		{&structure, "all ok but lintel not seen", "lintel=not seen; cracks=ok; services=ok; inside=ok; weather=ok; stand=ok"},
		{&structure, "cracks yes", "cracks=cracks yes"},
		{&structure, "cracks seen, no pipes", "cracks=cracks seen; services=ok"},
		{&structure, "cables there", "services=cables there"},
		{&structure, "cracks none", "cracks=ok"},
		{&structure, "services pipe behind the plaster", "services=pipe behind the plaster"},
		{&structure, "gas pipe inside the wall", "services=gas pipe inside the wall"},
		{&structure, "lintel seen, no cracks, no gas", "lintel=ok; cracks=ok; services=ok"},
		{&structure, "dunno", "lintel=-"},
		{&fixing, "done", ""},
		{&fixing, "all ok", ""},
		{&fixing, "brick", "masonry=brick"},
		{&structure, "lintel yes but rusty", "lintel=yes but rusty"},
		{&structure, "by J Doe", "who=J Doe"},
		{&structure, "all ok except weather", ""},
		{&structure, "all fine apart from a crack", ""},
		{&structure, "lintel yes, weather wet", "lintel=ok; weather=wet"},
		{&structure, "lintel yes, cracks none, by J Doe", "lintel=ok; cracks=ok; who=J Doe"},
		{&structure, "lintel good, by J Doe", "lintel=ok; who=J Doe"},
		{&structure, "cracks none, by J Doe", "cracks=ok; who=J Doe"},
		{&structure, "cracks seen, all ok, J Doe", "cracks=cracks seen; lintel=ok; services=ok; inside=ok; weather=ok; stand=ok; who=J Doe"},
		{&structure, "lintel ok, but rusty", ""},
		{&lastlook, "shuts ok rest ok", "shuts=ok; drains=ok; screws=ok; board=ok; rubbish=ok; papers=ok"},
		{&lastlook, "all ok but shuts drags at the top", "drains=ok; screws=ok; board=ok; rubbish=ok; papers=ok; shuts=drags at the top"},
		{&frame, "1192x1010", "width=1192; height=1010"},
		{&frame, "1010 high 1192 wide", "height=1010; width=1192"},
		{&frame, "1010 high 1192", ""},
		{&frame, "its twisted 4", "twist=4"},
		{&frame, "no twist", "twist=0"},
		{&setting, "lvl", "sill=level"},
		{&setting, "spot on", "sill=level"},
		{&setting, "plumb", ""},
		{&setting, "yes", "sill=level"},
		{&setting, "level plumb plumb", "sill=level; left=level; right=level"},
		{&setting, "right 2 in 600 left plumb", ""},
		{&setting, "sil 2mm rite low 600", "sill=gap 2 600 right_low"},
		{&setting, "2 mil low on right over 600", "sill=gap 2 600 right_low"},
		{&setting, "right low 2 in 600", "sill=gap 2 600 right_low"},
		{&setting, "sill .5 in 600 right low", "sill=gap 0.5 600 right_low"},
		{&setting, "sill 1,5 in 600 right low", "sill=gap 1.5 600 right_low"},
		{&setting, "sill 1 1/2 in 600 right low", "sill=gap 1.5 600 right_low"},
		{&setting, "sill 2/600 right low", "sill=gap 2 600 right_low"},
		{&setting, "left jam leaning out 3 in 1200", "leftface=gap 3 1200 top_out"},
		{&setting, "jambs plumb both ways", "left=level; leftface=level; right=level; rightface=level"},
		{&setting, "top right 3 low", "corner=3 down top_right"},
		{&bow, "1072/1071/1072", "top=1072; middle=1071; bottom=1072"},
		{&bow, "1072 top 1071 mid 1070 bottom", "top=1072; middle=1071; bottom=1070"},
	} {
		h := hear(t, c.part, w, c.text)
		require.Equal(t, c.want, heard(h), "%s: %s (left %q)", c.part.Name, c.text, h.Left)
		require.Equal(t, c.want == "", h.Left != "", c.text)
	}
}

// A figure that lacks what it means says what to type.
func TestHearAsksBack(t *testing.T) {
	w := Of(job.Opening{})
	for text, want := range map[string]string{
		"sill 2 in 600":                       "day.fail.way",
		"left 2 in 600":                       "day.fail.way.jamb",
		"left in and out 2 in 600":            "day.fail.way.face",
		"sill 2 right low":                    "day.fail.run",
		"sill 2 mm 3 right low":               "day.fail.run", // no level is 3 mm long
		"sill 199 in 600 right low":           "day.fail.run",
		"left half a bubble right":            "day.fail.way.bubble", // it goes to the high side
		"sill bubble touching the right line": "day.fail.way.bubble",
		"left in and out 2 in 600 out":        "day.fail.way.face", // out of plumb, or outwards
		"3 mm out at top right":               "day.fail.corner",
		"diagonals 12 15":                     "day.fail.length",
		"sill 2 in 600 right low 77":          "day.fail.way.jamb", // the next figure is of the left jamb
	} {
		h := hear(t, &setting, w, text)
		require.Empty(t, h.Said, text)
		require.NotNil(t, h.Trouble, text)
		require.Equal(t, want, h.Trouble.Key, text)
	}
	long := hear(t, &structure, w, "lintel "+strings.Repeat("x", mostWords+1))
	require.Equal(t, "day.fail.words", long.Trouble.Key)
	for _, text := range []string{"all ok, raining", "all good, no lintel seen"} {
		who := hear(t, &structure, w, text)
		require.NotNil(t, who.Trouble, text)
		require.Equal(t, "day.fail.who", who.Trouble.Key, text)
	}
	part, _ := Ear{Words: words(), Lang: "en", Length: reading.Next}.Later(&setting, w, "1072 1071 1072")
	require.Nil(t, part, "where a figure is asked it is of nothing later")
	require.Equal(t, "day.fail.degree", hear(t, &frame, w, "99 degrees").Trouble.Key)
}

// What is stored is read back as the same reading, and any text at all is no panic.
func TestStoredTilts(t *testing.T) {
	for _, value := range []string{"gap 1.6 600 right_low", "bubble 0.5 top_left", "metre 2 top_out", level} {
		require.NotNil(t, tiltOf(value), value)
		require.NotEqual(t, "job.words", slopeText(value).Key, value)
	}
	for _, value := range []string{"", "skipped", "gap", "gap x 600 left_low", "gap 1 x left_low", "gap 1"} {
		require.Nil(t, tiltOf(value), value)
	}
	require.Nil(t, cornerOf("3 down"))
	require.Nil(t, cornerOf("x down top_right"))
	require.Equal(t, calc.TopRightCorner, cornerOf("3 down top_right").At)
}

// A delivered frame is right, fits but is to be told, or wrong.
func TestFrameAsDelivered(t *testing.T) {
	for _, c := range []struct {
		text         string
		first        string
		again, wrong bool
	}{
		{"1192 1040 1581 1582 1 as drawn", "day.frame.right", false, false},
		// VinduesIndustrien, technical provisions, 6.4.1 and 9: ±2 mm under 2 m (R).
		{"1194 1040 1581 1582 1 as drawn", "day.frame.note", false, false}, // the gap is narrow then
		{"1190 1040 1581 1582 1 as drawn", "day.frame.right", false, false},
		{"1189 1040 1581 1582 1 as drawn", "day.frame.note", false, false},
		{"1192 1040 1581 1582 1 wrong hand", "day.frame.wrong", false, true},
		{"1192 1040 1581 1588 1 as drawn", "day.frame.wrong", false, true}, // VMRG 4.12: 3 mm (R)
		{"1192 1040 1581 1582 4 as drawn", "day.frame.wrong", false, true}, // a window maker's guide: 3 mm (R)
		{"1203 1040 1581 1582 1 as drawn", "day.frame.wrong", false, true}, // no packer goes in
		{"skip skip skip skip skip as drawn", "day.frame.unmeasured", false, false},
	} {
		j := say(t, delivered(t), &frame, c.text)
		w := window(j)
		require.Nil(t, frame.Next(w), c.text)
		out := frame.Ends(&frame, w)
		require.Equal(t, c.first, out.Lines[0].Key, "%s: %v", c.text, keys(out))
		require.Equal(t, c.again, out.Again, c.text)
		require.Equal(t, c.wrong, out.Wrong, c.text)
		if c.wrong {
			require.Equal(t, &frame, Due(w, nil), "a wrong frame is due again: %s", c.text)
		} else {
			require.Equal(t, &structure, Due(w, nil), c.text)
		}
	}
}

// The plan is that of the frame that came, and the order stays as it was.
func TestThePlanIsOfTheFrameThatCame(t *testing.T) {
	before := delivered(t)
	j := say(t, before, &frame, "1188 1040 1578 1579 1 as drawn")
	p, err := window(j).Planned()
	require.NoError(t, err)
	require.Equal(t, "1188", p.Order.Size.Width.String())
	require.Contains(t, keys(frame.Ends(&frame, window(j))), "day.frame.plan")
	o, _ := j.Find(1)
	was, _ := before.Find(1)
	require.Equal(t, was.Version, o.Version, "no signature covers the day")
	require.Equal(t, was.State, o.State)
	line, _ := o.Told()
	require.Equal(t, "1192", line.Size.Width.String())
}

// The structure holds the old window in while nobody is sure what carries the wall.
func TestStructure(t *testing.T) {
	for _, c := range []struct {
		text         string
		again, wrong bool
	}{
		{"all ok, J Doe", false, false},
		{"skip, all ok, J Doe", false, true},
		{"lintel none seen, all ok, J Doe", false, true},
		{"cracks stepped over the head, all ok, J Doe", false, true},
		{"weather pouring, all ok, J Doe", true, false},
	} {
		j := say(t, delivered(t), &structure, c.text)
		out := structure.Ends(&structure, window(j))
		require.Equal(t, []bool{c.again, c.wrong}, []bool{out.Again, out.Wrong}, "%s: %v", c.text, keys(out))
		for _, e := range structure.Again(window(j)) {
			if c.again || c.wrong {
				require.Equal(t, opening.Clear, e.Act, "only what was wrong is looked at again")
			}
		}
	}
}

// Rounds of the level: the packers that are advised count as changed in the next one.
func TestRoundsOfTheLevel(t *testing.T) {
	j := delivered(t)
	j, _, err := j.Advance(fitter, noon, 1, job.DoTakeOut)
	require.NoError(t, err)
	j = say(t, j, &setting, "sill 2 in 600 right low, jambs 4 in 1200 leans right, in and out plumb, diagonals 1582 1582")
	w := window(j)
	out := setting.Ends(&setting, w)
	require.True(t, out.Again)
	first, err := w.Planned()
	require.NoError(t, err)
	require.NotEmpty(t, first.Set[0].Changes)

	j, err = j.OnDay(fitter, noon, 1, setting.Again(w)...)
	require.NoError(t, err)
	w = window(j)
	require.False(t, setting.Begun(w))
	require.Equal(t, "sill", setting.Next(w).Name)
	j = say(t, j, &setting, "all true, diagonals 1582 1582")
	p, err := window(j).Planned()
	require.NoError(t, err)
	require.Len(t, p.Set, 2)
	require.Equal(t, first.Set[0].Places, p.Set[1].Places, "nothing changed in the second round")
	out = setting.Ends(&setting, window(j))
	require.False(t, out.Again)
	require.Equal(t, "set.true", out.Lines[0].Key)
	require.Equal(t, &fixing, Due(window(j), &setting), "what the screws go into is asked first")
}

// A jamb that the screws pulled: 1.6 mm between the three places (a window maker's
// dimensions guide, R).
func TestBow(t *testing.T) {
	j := say(t, delivered(t), &bow, "1072 1073.6 1072")
	require.False(t, bow.Ends(&bow, window(j)).Again)
	j = say(t, delivered(t), &bow, "1072 1073.7 1072")
	require.True(t, bow.Ends(&bow, window(j)).Again)
	j = say(t, delivered(t), &bow, "1072 skip 1072")
	require.Equal(t, []string{"day.bow.nothing"}, keys(bow.Ends(&bow, window(j))))
}

// The last reading is the one that back takes away, and a cleared one is asked again.
func TestLastAndCleared(t *testing.T) {
	j := say(t, delivered(t), &frame, "1192 1040")
	require.Equal(t, "height", frame.Last(window(j)).Name)
	j, err := j.OnDay(fitter, noon, 1, opening.Entry{Act: opening.Clear, Key: "frame.height"})
	require.NoError(t, err)
	require.Equal(t, "height", frame.Next(window(j)).Name)
	require.Equal(t, "width", frame.Last(window(j)).Name)
	require.Nil(t, frame.Last(Of(job.Opening{})))
	require.Nil(t, Find("nothing"))
}

// No frame is read before there is one, and nobody but the fitter reads it.
func TestOnDayIsRefused(t *testing.T) {
	j := job.New("TESTAB", fitter, noon, job.Settings{})
	said := opening.Record{}.Put(opening.Stamp{By: 1, Role: opening.Fitter, At: noon.Unix()},
		openingtest.Complete(opening.Known{}, openingtest.Window{Plan: plain(), MakeUp: "4-20-4"})...)
	j, err := j.Begin(fitter, noon, "kitchen", said)
	require.NoError(t, err)
	_, err = j.OnDay(fitter, noon, 1, opening.Entry{Act: opening.Set, Key: "frame.width", Value: "1192"})
	var refused *job.Refusal
	require.ErrorAs(t, err, &refused)
	require.Equal(t, "no_frame", refused.Reason)
	_, err = delivered(t).OnDay(job.Who{Chat: 9, Person: 9, Role: job.Lead}, noon, 1)
	require.Error(t, err)
}

// Whatever is typed, a part hears it or leaves it, and stores nothing that it can't read
// back.
func FuzzHear(f *testing.F) {
	for _, text := range []string{"1192 x 1040", "sill 2 in 600 right low", "all ok, J Doe", "3 mm low at top right", "½ bubble", "−3°", "left 1/2 in 1200 left"} {
		f.Add(text)
	}
	w := Of(job.Opening{})
	f.Fuzz(func(t *testing.T, text string) {
		for _, p := range All {
			h := hear(t, p, w, text)
			if h.Left != "" || h.Trouble != nil {
				require.Empty(t, h.Said)
				continue
			}
			for _, v := range h.Said {
				require.NotEmpty(t, v.Value)
				if v.Field.Kind == Slope && v.Value != opening.Skipped {
					require.NotNil(t, tiltOf(v.Value), v.Value)
				}
			}
		}
	})
}
