package card

import (
	"bytes"
	"flag"
	"fmt"
	"image/png"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

var voices = map[string]func(phrase.Text) string{"english": english, "compound": compound, "cyrillic": cyrillic}

func TestDrawIsAPortraitPNGInGreys(t *testing.T) {
	for name, p := range samples(t) {
		picture, err := Draw(p, Of{}, english)
		require.NoError(t, err, name)
		img, err := png.Decode(bytes.NewReader(picture))
		require.NoError(t, err, name)
		size := img.Bounds().Size()
		require.Equal(t, 1080, size.X, name)
		require.Greater(t, size.Y, size.X, name)
		require.LessOrEqual(t, size.Y, int(10*(tallest+mostGrave)), name)
		require.Less(t, len(picture), 200_000, name)
		for y := 0; y < size.Y; y += 7 {
			for x := range size.X {
				r, g, b, a := img.At(x, y).RGBA()
				if r != g || g != b || a != 0xffff {
					t.Fatalf("%s: colour at %d, %d", name, x, y)
				}
			}
		}
	}
}

func TestDrawGivesTheSameBytes(t *testing.T) {
	first, err := Draw(samples(t)["huge"], Of{}, english)
	require.NoError(t, err)
	var wg sync.WaitGroup
	again := make([][]byte, 6)
	for i := range again {
		wg.Go(func() { again[i], _ = Draw(samples(t)["huge"], Of{}, english) })
	}
	wg.Wait()
	for _, picture := range again {
		require.True(t, bytes.Equal(first, picture))
	}
	other, err := Draw(samples(t)["one"], Of{}, english)
	require.NoError(t, err)
	require.NotEqual(t, first, other)
}

func TestDrawRefusesAPlanWithoutASize(t *testing.T) {
	_, err := Draw(plan.Plan{}, Of{}, english)
	require.ErrorIs(t, err, ErrNoFrame)
}

func TestDrawBareestPlan(t *testing.T) {
	p := plan.Plan{}
	p.Order.Size = calc.Size{Width: mm(1190), Height: mm(990)}
	_, err := Draw(p, Of{}, english)
	require.NoError(t, err)
}

func TestCardSaysWhatMustBeOnIt(t *testing.T) {
	c, err := drawn(samples(t)["two-sill"], Of{}, english)
	require.NoError(t, err)
	for _, words := range []string{
		"Front bedroom", "1785 × 1185 mm", "Seen from outside", "150 mm deep", "times too large",
		"Check against local codes", "England", "2 March 2026", "1795, 1797, 1799", "hinges left", "fixed",
	} {
		require.Contains(t, c.allText(), words)
	}
	require.NotContains(t, c.allText(), "[card.", "a word is missing from the catalogue")

	plain := samples(t)["one"]
	c, err = drawn(plain, Of{}, english)
	require.NoError(t, err)
	require.NotContains(t, c.allText(), "sill piece")
}

func (c *card) allText() string {
	var all []string
	for _, s := range c.Shapes {
		if s.Kind == scene.Lettered {
			all = append(all, s.Words)
		}
	}
	return strings.Join(all, " ")
}

func TestGraveWarningsComeFirst(t *testing.T) {
	p := warned(byHand(1190, 990, 0, 3, 3, calc.Layout{Lights: lights(calc.SideLeft)}))
	p.Fixings.Sides[0].Shortfall = []calc.Reason{{Rule: "lean"}, {Rule: "wide_gap"}}
	got := warningsOf(p, scene.NewVoice(english))
	var order []string
	for _, w := range got {
		order = append(order, w.words)
	}
	require.Equal(t, []string{
		invented["finding.vents"], invented["finding.glass"], invented["finding.guarding"],
		invented["why.lean"], invented["why.wide_gap"], invented["finding.lead"],
	}, order, "a sentence stands once, and what stops the work stands over the drawing")
	require.True(t, got[2].grave)
	require.False(t, got[3].grave)
}

func TestClearFindingsAreNotWarnings(t *testing.T) {
	p := byHand(1190, 990, 0, 3, 3, calc.Layout{Lights: lights(calc.SideLeft)})
	p.Findings = []safety.Finding{{Rule: "glass", Severity: safety.Clear}}
	require.Empty(t, warningsOf(p, scene.NewVoice(english)))
}

func TestWarningsThatDoNotFitAreCounted(t *testing.T) {
	p := byHand(1190, 990, 0, 3, 3, calc.Layout{Lights: lights(calc.SideLeft)})
	for i := range 60 {
		p.Findings = append(p.Findings, safety.Finding{Rule: fmt.Sprint("unknown_rule_number_", i), Severity: safety.Must})
	}
	c, err := drawn(p, Of{}, english)
	require.NoError(t, err)
	shown := strings.Count(c.allText(), "unknown_rule_number_")
	require.Greater(t, shown, 4)
	require.Contains(t, c.allText(), fmt.Sprintf("And %d more", 60-shown))
}

// What must be done stands on the card, however little room the drawing
// leaves; what is advised may be left to the message.
func TestAllThatMustBeDoneIsOnTheCard(t *testing.T) {
	for name, p := range samples(t) {
		p.Findings = nil
		for i := range 8 {
			p.Findings = append(p.Findings, safety.Finding{Rule: fmt.Sprint("unknown_rule_that_must_", i), Severity: safety.Must},
				safety.Finding{Rule: fmt.Sprint("unknown_rule_advised_", i), Severity: safety.Advise})
		}
		c, err := drawn(p, Of{}, english)
		require.NoError(t, err)
		require.Equal(t, 8, strings.Count(c.allText(), "unknown_rule_that_must_"), name)
		checkLayout(t, c, p)
	}
}

func TestWarningsNameTheirLights(t *testing.T) {
	p := samples(t)["three-transoms"]
	p.Findings = []safety.Finding{{Rule: "vents", Severity: safety.Must, Lights: []int{0, 2}}}
	require.Equal(t, "Light 1, 3: "+invented["finding.vents"], warningsOf(p, scene.NewVoice(english))[0].words)
}

// label is words, or a sign with words in it, and the room that they take.
type label struct {
	words string
	box   scene.Box
	part  string
}

// labels are what is written on a card. A tag and a block's sign are one label
// each with all that belongs to them.
func labels(c *card) []label {
	var out []label
	for _, s := range c.Shapes {
		sign := strings.HasPrefix(s.Part, "tag ") || strings.HasPrefix(s.Part, "block ")
		if s.Kind != scene.Lettered && !sign {
			continue
		}
		box := s.Box
		if s.Kind == scene.Lettered {
			// From the top of a capital to the bottom of a tail; figures have none.
			box.Y, box.H = s.Y+0.21*s.Font.Size, s.Font.Size
			if strings.Trim(s.Words, "0123456789") == "" {
				box.H = 0.76 * s.Font.Size
			}
		}
		if n := len(out) - 1; sign && n >= 0 && out[n].part == s.Part {
			out[n].words, out[n].box = out[n].words+s.Words, union(out[n].box, box)
			continue
		}
		out = append(out, label{s.Words, box, s.Part})
	}
	return out
}

func union(a, b scene.Box) scene.Box {
	x, y := min(a.X, b.X), min(a.Y, b.Y)
	return scene.Box{X: x, Y: y, W: max(a.Right(), b.Right()) - x, H: max(a.Bottom(), b.Bottom()) - y}
}

// checkLayout asserts what every card must keep: no text over another, none
// outside, each place on each side named with its distance, leaders that don't
// run through a tag.
func checkLayout(t require.TestingT, c *card, p plan.Plan) {
	page := scene.Box{W: cardWidth, H: c.y}
	all := labels(c)
	var tags, screws []string
	for i, a := range all {
		require.True(t, a.box.In(page), "%q at %v leaves the card %v", a.words, a.box, page)
		for _, b := range all[:i] {
			require.False(t, a.box.Inset(0.01).Overlaps(b.box), "%q %v over %q %v", a.words, a.box, b.words, b.box)
		}
		if strings.HasPrefix(a.part, "tag ") && strings.Contains(a.words, strings.Fields(a.part)[2]) {
			tags = append(tags, a.part)
		}
	}
	for _, s := range c.Shapes {
		if strings.HasPrefix(s.Part, "screw ") {
			screws = append(screws, s.Part)
		}
		if !strings.HasPrefix(s.Part, "leader ") {
			continue
		}
		a, b := s.Ends()
		for _, l := range all {
			if strings.HasPrefix(l.part, "tag ") && l.part != "tag "+s.Part[len("leader "):] {
				require.False(t, crosses(a, b, l.box), "%s runs through %q", s.Part, l.words)
			}
		}
	}
	for _, side := range p.Fixings.Sides {
		for _, at := range side.At {
			name := " " + string(side.Side) + " " + at.Round(0).String() + " "
			begins := func(with string) func(string) bool {
				return func(part string) bool { return strings.HasPrefix(part, with) }
			}
			require.True(t, slices.ContainsFunc(tags, begins("tag"+name)), "%s has no label", name)
			require.True(t, slices.ContainsFunc(screws, begins("screw"+name)), "%s has no screw", name)
		}
	}
}

// crosses tells whether the line from a to b runs through box: it does when
// the stretch of it between the box's left and right edge and the stretch
// between top and bottom have a part in common.
func crosses(a, b scene.Point, box scene.Box) bool {
	from, to := 0.0, 1.0
	within := func(a, b, low, high float64) {
		if a == b {
			if a <= low || a >= high {
				from, to = 1, 0
			}
			return
		}
		s, e := (low-a)/(b-a), (high-a)/(b-a)
		from, to = max(from, min(s, e)), min(to, max(s, e))
	}
	within(a.X, b.X, box.X, box.Right())
	within(a.Y, b.Y, box.Y, box.Bottom())
	return from < to
}

func TestCrosses(t *testing.T) {
	box := scene.Box{X: 10, Y: 10, W: 10, H: 10}
	at := func(x, y float64) scene.Point { return scene.Point{X: x, Y: y} }
	require.True(t, crosses(at(0, 0), at(30, 30), box))
	require.True(t, crosses(at(15, 0), at(15, 12), box))
	require.False(t, crosses(at(5, 0), at(5, 30), box))
	require.False(t, crosses(at(0, 15), at(9, 15), box))
	require.False(t, crosses(at(0, 25), at(25, 30), box))
}

func TestSamplesKeepTheLayout(t *testing.T) {
	for name, p := range samples(t) {
		for voice, say := range voices {
			t.Run(name+"/"+voice, func(t *testing.T) {
				c, err := drawn(p, Of{}, say)
				require.NoError(t, err)
				require.Zero(t, c.dropped)
				checkLayout(t, c, p)
			})
		}
	}
}

var hinges = []calc.Hinge{
	calc.FixedLight, calc.SideLeft, calc.SideRight, calc.TopHung, calc.BottomHung, calc.TiltTurnLeft, calc.TiltTurnRight,
}

// anyPlan draws plans by hand from tiny to huge, with one to four lights side
// by side, transoms or not, and up to eight screws a side.
func anyPlan(t *rapid.T) plan.Plan {
	columns := rapid.IntRange(1, 4).Draw(t, "columns")
	width := float64(rapid.IntRange(max(400, 260*columns), 4500).Draw(t, "width"))
	height := float64(rapid.IntRange(400, 2400).Draw(t, "height"))
	var layout calc.Layout
	for c := range columns {
		if c > 0 {
			layout.Mullions = append(layout.Mullions, mm(width*float64(c)/float64(columns)).Round(1))
		}
		layout.Lights = append(layout.Lights, calc.Light{Column: c, Hinge: rapid.SampledFrom(hinges).Draw(t, "hinge")})
		transom := decimal.Zero
		if rapid.Bool().Draw(t, "transom") {
			transom = mm(float64(rapid.IntRange(100, int(height)-100).Draw(t, "transom at")))
			layout.Lights = append(layout.Lights, calc.Light{Column: c, Row: 1, Hinge: rapid.SampledFrom(hinges).Draw(t, "hinge above")})
		}
		layout.Transoms = append(layout.Transoms, transom)
	}
	p := byHand(width, height, rapid.Float64Range(-40, 40).Draw(t, "lean"),
		rapid.IntRange(2, 8).Draw(t, "jamb screws"), rapid.IntRange(2, 8).Draw(t, "sill screws"), layout)
	if glass, err := calc.Glass(p.Order.Size, p.Layout, nil, calc.DefaultSettings()); err == nil {
		p.Glass = glass
	}
	if rapid.Bool().Draw(t, "warned") {
		p = warned(p)
	}
	if rapid.Bool().Draw(t, "sill piece") {
		p.Opening.SillDepth, p.Order.SillPiece = mm(180), mm(30)
	}
	for i := range p.Packers.Places {
		if rapid.IntRange(0, 9).Draw(t, "trouble") == 0 {
			p.Packers.Places[i].Trouble = &calc.Reason{Rule: "wide_gap"}
		}
	}
	p.Opening.Name = rapid.String().Draw(t, "name")
	return p
}

func TestAnyPlanKeepsTheLayout(t *testing.T) {
	names := []string{"english", "compound", "cyrillic"}
	rapid.Check(t, func(t *rapid.T) {
		p := anyPlan(t)
		c, err := drawn(p, Of{}, voices[rapid.SampledFrom(names).Draw(t, "voice")])
		require.NoError(t, err)
		checkLayout(t, c, p)
	})
}

func TestTooManyPlacesAreSaid(t *testing.T) {
	p := byHand(4400, 2100, 0, 40, 60, calc.Layout{Lights: lights(calc.FixedLight)})
	c, err := drawn(p, Of{}, english)
	require.NoError(t, err)
	require.Positive(t, c.dropped)
	require.Contains(t, c.allText(), "Not every place")
}

// survey is an opening as the conversation keeps it.
func survey(finish calc.Finish) plan.Opening {
	floor := mm(650)
	o := plan.Opening{
		Name: "Rear kitchen", Nation: safety.England, Date: "2026-03-02", Room: safety.Kitchen,
		Finish: finish, Material: calc.PVCUWhite, AboveFloor: &floor,
		Widths:  [3]decimal.Decimal{mm(1200), mm(1203), mm(1206)},
		Heights: [3]decimal.Decimal{mm(1000), mm(1001), mm(1002)},
		Panes:   []decimal.Decimal{mm(4), mm(4)},
		Layout:  calc.Layout{Lights: lights(calc.SideLeft, calc.FixedLight)},
	}
	if finish == calc.Check {
		o.Inner = calc.Size{Width: mm(1262), Height: mm(1040)}
	}
	return o
}

// The order size of the bare opening is arithmetic from the table of "Gaps
// around windows" (D): white 1200 × 1000 → 1190 × 990.
func TestCardOfAWholePlan(t *testing.T) {
	for _, finish := range []calc.Finish{calc.Bare, calc.Plaster, calc.Check} {
		t.Run(string(finish), func(t *testing.T) {
			p, err := plan.Make(survey(finish), calc.DefaultSettings())
			require.NoError(t, err)
			c, err := drawn(p, Of{}, english)
			require.NoError(t, err)
			require.Zero(t, c.dropped)
			checkLayout(t, c, p)
			require.NotContains(t, c.allText(), "[card.")
			require.Equal(t, finish == calc.Bare, strings.Contains(c.allText(), "1190 × 990 mm"))
			require.Equal(t, finish != calc.Bare, strings.Contains(c.allText(), "opening as measured"))
		})
	}
}

var update = flag.Bool("update", false, "draw testdata/card.png again")

// The README shows the card of testdata/survey-bare.txt. After a meant change:
// go test ./internal/card -update, and look at it.
func TestTheReadmesCardIsWhatTheProgramDraws(t *testing.T) {
	floor, outside := mm(900), mm(1400)
	p, err := plan.Make(plan.Opening{
		Nation: safety.England, Date: "2026-11-25", Room: safety.Bedroom, Finish: calc.Bare, Material: calc.PVCUWhite,
		Widths:  [3]decimal.Decimal{mm(1204), mm(1202), mm(1203)},
		Heights: [3]decimal.Decimal{mm(1050), mm(1052), mm(1051)}, Rising: mm(1595), Falling: mm(1596),
		AboveFloor: &floor, AboveOutside: &outside, Panes: []decimal.Decimal{mm(4), mm(4)},
		Layout: calc.Layout{Mullions: []decimal.Decimal{mm(595.5)}, Lights: lights(calc.SideLeft, calc.FixedLight)},
	}, calc.DefaultSettings())
	require.NoError(t, err)
	drawn, err := Draw(p, Of{}, func(t phrase.Text) string { return catalogue().Plain("en", t) })
	require.NoError(t, err)
	const path = "../../testdata/card.png"
	if *update {
		require.NoError(t, os.WriteFile(path, drawn, 0o644))
	}
	shown, err := os.ReadFile(path)
	require.NoError(t, err)
	require.True(t, bytes.Equal(shown, drawn), "%s is not what is drawn now: go test ./internal/card -update, and look at it", path)
}

func TestASideWithoutScrewsHasNoTags(t *testing.T) {
	p := byHand(1190, 990, 0, 2, 2, calc.Layout{Lights: lights(calc.FixedLight)})
	p.Packers.Places = nil
	p.Fixings.Sides[2].At = nil
	c, err := drawn(p, Of{}, english)
	require.NoError(t, err)
	checkLayout(t, c, p)
}

func BenchmarkDraw(b *testing.B) {
	all := samples(b)
	for _, name := range []string{"one", "two-sill", "huge"} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Draw(all[name], Of{}, english); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A head that can't be drilled is held by brackets, and a card that draws them
// as screws has somebody drill into the lintel.
func TestABracketIsDrawnAndNamedAsOne(t *testing.T) {
	p := byHand(1190, 990, 0, 2, 2, calc.Layout{Lights: lights(calc.FixedLight)})
	c, err := drawn(p, Of{}, english)
	require.NoError(t, err)
	require.NotContains(t, c.allText(), "bracket")
	p.Opening.NoHead = true
	held, err := drawn(p, Of{}, english)
	require.NoError(t, err)
	require.Contains(t, held.allText(), "bracket, mm from corner 0")
	require.Contains(t, held.allText(), "screw, mm from corner 0", "the other sides have screws")
}
