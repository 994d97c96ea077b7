package card

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"strconv"
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
	"sillbot/internal/typeface"
)

var voices = map[string]func(phrase.Text) string{"english": english, "compound": compound, "cyrillic": cyrillic}

func TestDrawIsAPortraitPNGInGreys(t *testing.T) {
	for name, p := range samples(t) {
		picture, err := Draw(p, english)
		require.NoError(t, err, name)
		img, err := png.Decode(bytes.NewReader(picture))
		require.NoError(t, err, name)
		size := img.Bounds().Size()
		require.Equal(t, cardWidth, size.X, name)
		require.Greater(t, size.Y, size.X, name)
		require.LessOrEqual(t, size.Y, tallest+mostGrave, name)
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
	first, err := Draw(samples(t)["huge"], english)
	require.NoError(t, err)
	var wg sync.WaitGroup
	again := make([][]byte, 6)
	for i := range again {
		wg.Go(func() { again[i], _ = Draw(samples(t)["huge"], english) })
	}
	wg.Wait()
	for _, picture := range again {
		require.True(t, bytes.Equal(first, picture))
	}
	other, err := Draw(samples(t)["one"], english)
	require.NoError(t, err)
	require.NotEqual(t, first, other)
}

func TestDrawRefusesAPlanWithoutASize(t *testing.T) {
	_, err := Draw(plan.Plan{}, english)
	require.ErrorIs(t, err, ErrNoFrame)
}

func TestDrawBareestPlan(t *testing.T) {
	p := plan.Plan{}
	p.Order.Size = calc.Size{Width: mm(1190), Height: mm(990)}
	_, err := Draw(p, english)
	require.NoError(t, err)
}

func TestCardSaysWhatMustBeOnIt(t *testing.T) {
	s, err := drawn(samples(t)["two-sill"], english)
	require.NoError(t, err)
	for _, words := range []string{
		"Front bedroom", "1785 × 1185 mm", "SEEN FROM OUTSIDE", "150 mm deep", "times too large",
		"Check against local codes", "England", "2026-03-02", "1795, 1797, 1799", "hinges left", "fixed",
	} {
		require.Contains(t, s.allText(), words)
	}
	require.NotContains(t, s.allText(), "[card.", "a word is missing from the catalogue")

	plain := samples(t)["one"]
	s, err = drawn(plain, english)
	require.NoError(t, err)
	require.NotContains(t, s.allText(), "sill piece")
}

func (s *sheet) allText() string {
	var all []string
	for _, l := range s.labels {
		all = append(all, l.text)
	}
	return strings.Join(all, " ")
}

func TestGraveWarningsComeFirst(t *testing.T) {
	p := warned(byHand(1190, 990, 0, 3, 3, calc.Layout{Lights: lights(calc.SideLeft)}))
	p.Fixings.Sides[0].Shortfall = []calc.Reason{{Rule: "lean"}, {Rule: "wide_gap"}}
	got := warningsOf(p, english)
	var order []string
	for _, w := range got {
		order = append(order, w.words)
	}
	require.Equal(t, []string{
		invented["finding.asbestos"], invented["finding.vents"], invented["finding.glass"], invented["finding.guarding"],
		invented["why.lean"], invented["why.wide_gap"], invented["finding.lead"],
	}, order, "a sentence stands once")
	require.True(t, got[3].grave)
	require.False(t, got[4].grave)
}

func TestClearFindingsAreNotWarnings(t *testing.T) {
	p := byHand(1190, 990, 0, 3, 3, calc.Layout{Lights: lights(calc.SideLeft)})
	p.Findings = []safety.Finding{{Rule: "glass", Severity: safety.Clear}}
	require.Empty(t, warningsOf(p, english))
}

func TestWarningsThatDoNotFitAreCounted(t *testing.T) {
	p := byHand(1190, 990, 0, 3, 3, calc.Layout{Lights: lights(calc.SideLeft)})
	for i := range 60 {
		p.Findings = append(p.Findings, safety.Finding{Rule: fmt.Sprint("unknown_rule_number_", i), Severity: safety.Must})
	}
	s, err := drawn(p, english)
	require.NoError(t, err)
	shown := strings.Count(s.allText(), "unknown_rule_number_")
	require.Greater(t, shown, 4)
	require.Contains(t, s.allText(), fmt.Sprintf("And %d more", 60-shown))
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
		s, err := drawn(p, english)
		require.NoError(t, err)
		require.Equal(t, 8, strings.Count(s.allText(), "unknown_rule_that_must_"), name)
		checkLayout(t, s, p)
	}
}

func TestWarningsNameTheirLights(t *testing.T) {
	p := samples(t)["three-transoms"]
	p.Findings = []safety.Finding{{Rule: "vents", Severity: safety.Must, Lights: []int{0, 2}}}
	require.Equal(t, "Light 1, 3: "+invented["finding.vents"], warningsOf(p, english)[0].words)
}

// checkLayout asserts what every card must keep: no text over another, none
// outside, each place on each side named with its distance, leaders that don't
// run through a tag.
func checkLayout(t require.TestingT, s *sheet, p plan.Plan) {
	card := image.Rect(0, 0, cardWidth, s.y)
	require.LessOrEqual(t, s.y, s.img.Rect.Max.Y)
	for i, a := range s.labels {
		require.True(t, a.box.In(card), "%q at %v leaves the card %v", a.text, a.box, card)
		for _, b := range s.labels[:i] {
			require.False(t, a.box.Overlaps(b.box), "%q %v over %q %v", a.text, a.box, b.text, b.box)
		}
	}
	named := map[string]bool{}
	for _, l := range s.labels {
		if l.mark != nil {
			named[string(l.mark.side)+" "+l.mark.number+" "+strconv.FormatBool(l.mark.screw)] = true
		}
	}
	for _, side := range p.Fixings.Sides {
		for _, at := range side.At {
			require.True(t, named[string(side.Side)+" "+whole(at)+" true"], "%s %s has no label", side.Side, at)
		}
	}
	for _, line := range s.leaders {
		for _, l := range s.labels {
			if l.mark == nil || l.mark == line.to {
				continue
			}
			for k := 1; k < len(line.points); k++ {
				require.False(t, crosses(line.points[k-1], line.points[k], l.box), "the leader of %s %s runs through %q", line.to.side, line.to.number, l.text)
			}
		}
	}
}

// crosses tells whether the line from a to b runs through box: it does when
// the stretch of it between the box's left and right edge and the stretch
// between top and bottom have a part in common.
func crosses(a, b point, box image.Rectangle) bool {
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
	within(a.x, b.x, float64(box.Min.X), float64(box.Max.X))
	within(a.y, b.y, float64(box.Min.Y), float64(box.Max.Y))
	return from < to
}

func TestCrosses(t *testing.T) {
	box := image.Rect(10, 10, 20, 20)
	require.True(t, crosses(point{0, 0}, point{30, 30}, box))
	require.True(t, crosses(point{15, 0}, point{15, 12}, box))
	require.False(t, crosses(point{5, 0}, point{5, 30}, box))
	require.False(t, crosses(point{0, 15}, point{9, 15}, box))
	require.False(t, crosses(point{0, 25}, point{25, 30}, box))
}

func TestSamplesKeepTheLayout(t *testing.T) {
	for name, p := range samples(t) {
		for voice, say := range voices {
			t.Run(name+"/"+voice, func(t *testing.T) {
				s, err := drawn(p, say)
				require.NoError(t, err)
				require.Zero(t, s.dropped)
				checkLayout(t, s, p)
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
		s, err := drawn(p, voices[rapid.SampledFrom(names).Draw(t, "voice")])
		require.NoError(t, err)
		checkLayout(t, s, p)
	})
}

func TestTooManyPlacesAreSaid(t *testing.T) {
	p := byHand(4400, 2100, 0, 40, 60, calc.Layout{Lights: lights(calc.FixedLight)})
	s, err := drawn(p, english)
	require.NoError(t, err)
	require.Positive(t, s.dropped)
	require.Contains(t, s.allText(), "Not every place")
}

func TestAPackerBesideAScrewSharesItsTag(t *testing.T) {
	p := byHand(1190, 990, 0, 2, 2, calc.Layout{Lights: lights(calc.FixedLight)})
	p.Packers.Places = []calc.PackerPlace{
		{Side: calc.Left, At: mm(170), Stack: []int{4, 1}}, {Side: calc.Left, At: mm(500), Stack: []int{5}},
		{Side: calc.Left, At: mm(0), Stack: []int{3}},
	}
	var got []string
	for _, tag := range tagsOf(p, calc.Left) {
		got = append(got, strings.TrimSpace(tag.number+" "+tag.stack))
	}
	require.Equal(t, []string{"0 3", "150 4+1", "500 5", "840"}, got)
}

func TestGapsAreDrawnInProportion(t *testing.T) {
	s, err := drawn(samples(t)["lean"], english)
	require.NoError(t, err)
	w := newWindow(s, samples(t)["lean"])
	w.measure(tallest)
	require.Greater(t, w.times, 1)
	corners := w.outline(w.gaps)
	// The opening leans 10.4 mm to the right going up: its left side goes from
	// 15.4 mm off the frame to 5.
	k := w.scale * float64(w.times)
	require.InDelta(t, 15.4*k, float64(w.frame.Min.X)-corners[0].x, 0.01)
	require.InDelta(t, 5*k, float64(w.frame.Min.X)-corners[6].x, 0.01)
	require.InDelta(t, float64(w.frame.Dx())/1180, float64(w.frame.Dy())/990, 0.002)
}

func TestWrap(t *testing.T) {
	f := typeface.At(typeface.Regular, 28)
	rapid.Check(t, func(t *rapid.T) {
		words := typeface.Line(rapid.StringOfN(rapid.RuneFrom([]rune("ab ЩШ-ß ")), 0, 200, -1).Draw(t, "words"))
		width := rapid.IntRange(60, 600).Draw(t, "width")
		lines := wrap(f, words, width)
		for _, line := range lines {
			require.LessOrEqual(t, f.Width(line), width)
			require.NotEmpty(t, line)
		}
		flat := strings.ReplaceAll(strings.Join(lines, ""), " ", "")
		require.Equal(t, strings.ReplaceAll(words, " ", ""), flat, "no letter is lost")
	})
	require.Equal(t, []string{"one two", "three"}, wrap(f, "one two three", f.Width("one two")))
}

func TestSpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		want, apart := make([]float64, n), make([]float64, n-1)
		for i := range want {
			want[i] = rapid.Float64Range(0, 1000).Draw(t, "want")
			if i > 0 {
				want[i] = max(want[i], want[i-1])
				apart[i-1] = rapid.Float64Range(1, 80).Draw(t, "apart")
			}
		}
		got := spread(want, apart, 0, 1000)
		for i := range got {
			require.GreaterOrEqual(t, got[i], 0.0)
			require.LessOrEqual(t, got[i], 1000.001)
			if i > 0 {
				require.GreaterOrEqual(t, got[i]-got[i-1], apart[i-1]-0.001)
			}
		}
	})
	require.Equal(t, []float64{100, 500}, spread([]float64{100, 500}, []float64{50}, 0, 1000), "what has room stays")
	require.Equal(t, []float64{475, 525}, spread([]float64{500, 500}, []float64{50}, 0, 1000), "both give way alike")
	require.Equal(t, []float64{20, 70}, spread([]float64{0, 0}, []float64{50}, 20, 1000))
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
			s, err := drawn(p, english)
			require.NoError(t, err)
			require.Zero(t, s.dropped)
			checkLayout(t, s, p)
			require.NotContains(t, s.allText(), "[card.")
			require.Equal(t, finish == calc.Bare, strings.Contains(s.allText(), "1190 × 990 mm"))
			require.Equal(t, finish != calc.Bare, strings.Contains(s.allText(), "opening as measured"))
		})
	}
}

func TestASideWithoutScrewsHasNoTags(t *testing.T) {
	p := byHand(1190, 990, 0, 2, 2, calc.Layout{Lights: lights(calc.FixedLight)})
	p.Packers.Places = nil
	p.Fixings.Sides[2].At = nil
	require.Empty(t, tagsOf(p, calc.Head))
	s, err := drawn(p, english)
	require.NoError(t, err)
	checkLayout(t, s, p)
}

func BenchmarkDraw(b *testing.B) {
	all := samples(b)
	for _, name := range []string{"one", "two-sill", "huge"} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Draw(all[name], english); err != nil {
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
	s, err := drawn(p, english)
	require.NoError(t, err)
	require.NotContains(t, s.allText(), "bracket")
	p.Opening.NoHead = true
	held, err := drawn(p, english)
	require.NoError(t, err)
	require.Contains(t, held.allText(), "bracket, mm from corner 0")
	require.Contains(t, held.allText(), "screw, mm from corner 0", "the other sides have screws")
	for _, tag := range tagsOf(p, calc.Left) {
		require.False(t, tag.bracket)
	}

	heart := point{200, 200}
	for _, bracket := range []bool{false, true} {
		c := &sheet{canvas: newCanvas(400, 400)}
		c.drawFixing(&tag{screw: true, bracket: bracket}, heart, 9)
		require.Equal(t, bracket, c.img.At(200, 200) == c.img.At(0, 0), "a bracket is hollow, a screw is not")
		require.NotEqual(t, c.img.At(0, 0), c.img.At(193, 200), "both are black at their edge")
	}
}
