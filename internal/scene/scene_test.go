package scene

import (
	"bytes"
	"image/png"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode"

	"github.com/ledongthuc/pdf"
	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/typeface"
	"sillbot/locales"
)

func mm(n float64) decimal.Decimal { return decimal.NewFromFloat(n) }

var catalogue = sync.OnceValue(func() *locales.Catalogue {
	c, err := locales.Load()
	if err != nil {
		panic(err)
	}
	return c
})

func english(t phrase.Text) string { return catalogue().Plain("en", t) }

// leaning is a plan by hand: an opening that leans to the right by 10.4 mm and
// a frame of 2400 × 1250 in it, every kind of light, a few screws and packers.
func leaning() plan.Plan {
	const w, h, lean = 2400, 1250, 10.4
	at := func(x, y float64) calc.Point { return calc.Point{X: mm(x), Y: mm(y)} }
	p := plan.Plan{Layout: calc.Layout{
		Mullions: []decimal.Decimal{mm(700), mm(1500)}, Transoms: []decimal.Decimal{mm(850), {}, mm(900)},
		Lights: []calc.Light{
			{Column: 0, Hinge: calc.SideLeft}, {Column: 1, Hinge: calc.FixedLight}, {Column: 2, Hinge: calc.TiltTurnRight},
			{Column: 0, Row: 1, Hinge: calc.TopHung}, {Column: 2, Row: 1, Hinge: calc.BottomHung},
		},
	}}
	p.Order.Size = calc.Size{Width: mm(w), Height: mm(h)}
	p.Order.Place = at(5+lean, 5)
	p.Order.Figure = calc.Figure{
		BottomLeft: at(0, 0), BottomRight: at(w+10+lean, 0), TopLeft: at(lean, h+10), TopRight: at(w+10+2*lean, h+10),
		MidLeft: at(lean/2, h/2+5), MidRight: at(w+10+1.5*lean, h/2+5), MidSill: at(w/2+5, 0), MidHead: at(w/2+5+lean, h+10),
	}
	p.Fixings.Sides = []calc.SideFixings{{Side: calc.Left, At: []decimal.Decimal{mm(150), mm(1100)}}, {Side: calc.Head, At: []decimal.Decimal{mm(1200)}}}
	p.Packers.Places = []calc.PackerPlace{
		{Side: calc.Left, At: mm(170), Stack: []int{4, 1}}, {Side: calc.Left, At: mm(500), Stack: []int{5}},
		{Side: calc.Left, At: mm(0), Stack: []int{3}},
	}
	return p
}

// fitted is the fitter's drawing of a plan, with its key, and where it ends.
func fitted(p plan.Plan, say func(phrase.Text) string) (*Fitting, float64) {
	d := NewFitting(&Scene{}, NewVoice(say), p, Box{2.8, 2.8, 102.4, 0})
	key := d.Key()
	y := d.Draw(200)
	key.Draw(Point{2.8, y})
	return d, y + key.Height()
}

// ordered is the supplier's drawing of the same window.
func ordered(p plan.Plan, say func(phrase.Text) string) *Order {
	d := NewOrder(NewVoice(say), Made{Size: p.Order.Size, Layout: p.Layout}, 84)
	d.Draw(&Scene{}, Point{15, 20})
	return d
}

// of are the shapes of a part of the window.
func (s *Scene) of(part string) []Shape {
	var out []Shape
	for _, m := range s.Shapes {
		if m.Part == part {
			out = append(out, m)
		}
	}
	return out
}

func (s *Scene) texts() []string {
	var out []string
	for _, m := range s.Shapes {
		if m.Kind == Lettered {
			out = append(out, m.Words)
		}
	}
	return out
}

// Card and order sheet can't differ in what the window is: frame, lights and
// hinges have the same places in both drawings, in parts of the frame.
func TestBothDrawingsShowTheSameWindow(t *testing.T) {
	p := leaning()
	fitter, _ := fitted(p, english)
	supplier := ordered(p, english)
	within := func(b, frame Box) []float64 {
		return []float64{(b.X - frame.X) / frame.W, (b.Y - frame.Y) / frame.H, b.W / frame.W, b.H / frame.H}
	}
	var parts []string
	for _, m := range supplier.Shapes {
		if strings.HasPrefix(m.Part, "light ") && !slices.Contains(parts, m.Part) {
			parts = append(parts, m.Part)
		}
	}
	require.Len(t, parts, 5)
	for n, light := range p.Layout.Lights {
		require.InDeltaSlice(t, within(fitter.bay(light), fitter.frame), within(supplier.bay(light), supplier.frame), 1e-9)
		require.InDeltaSlice(t, within(fitter.panes[n], fitter.frame), within(supplier.panes[n], supplier.frame), 1e-9)
		a, b := fitter.of(parts[n]), supplier.of(parts[n])
		require.Len(t, a, len(b), parts[n])
		for i := range a {
			require.Equal(t, a[i].Kind, b[i].Kind)
			require.Equal(t, a[i].Ink, b[i].Ink)
		}
	}
}

// Both forms are made of the same scene: what the PDF says is what the scene
// says, and where the scene has words the PNG has both ink and paper.
func TestBothFormsShowTheSameScene(t *testing.T) {
	d, end := fitted(leaning(), english)
	raw, err := PDF([]*Scene{d.Scene}, "a window", time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC))
	require.NoError(t, err)
	r, err := pdf.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	said, err := r.Page(1).GetPlainText(nil)
	require.NoError(t, err)
	require.Equal(t, strings.Join(d.texts(), ""), strings.ReplaceAll(said, "\n", ""))

	raw, err = PNG(d.Scene, 108, end)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(raw))
	require.NoError(t, err)
	require.Equal(t, 1080, img.Bounds().Dx())
	for _, m := range d.Shapes {
		if m.Kind != Lettered {
			continue
		}
		darkest, lightest := uint32(0xffff), uint32(0)
		for y := px(m.Y); y < px(m.Bottom()); y++ {
			for x := px(m.X); x < px(m.Right()); x++ {
				grey, _, _, _ := img.At(x, y).RGBA()
				darkest, lightest = min(darkest, grey), max(lightest, grey)
			}
		}
		require.Less(t, darkest, uint32(0x2000), "%q", m.Words)
		require.Greater(t, lightest, uint32(0xe000), "%q", m.Words)
	}
}

// A drawing says nothing of its own: with a catalogue that has no letters,
// there is none in the drawings.
func TestAllWordsAreTheCatalogues(t *testing.T) {
	mute := func(phrase.Text) string { return "¤¤¤" }
	fitter, _ := fitted(leaning(), mute)
	for _, words := range append(fitter.texts(), ordered(leaning(), mute).texts()...) {
		require.False(t, strings.ContainsFunc(words, unicode.IsLetter), words)
	}
	require.Contains(t, fitter.texts(), "¤¤¤")
}

func TestOrderIsToScaleAndSaysItsSizes(t *testing.T) {
	p := leaning()
	d := ordered(p, english)
	require.InDelta(t, 2400*d.scale, d.frame.W, 1e-9)
	require.InDelta(t, 1250*d.scale, d.frame.H, 1e-9)
	require.True(t, slices.ContainsFunc(scales, func(s float64) bool { return near(s*d.scale, 1) }))
	for _, figure := range []string{"2400", "1250", "700", "1500", "850", "900", "0"} {
		require.Contains(t, d.texts(), figure)
	}
	for _, mullion := range []float64{700, 1500} {
		require.True(t, slices.ContainsFunc(d.of("dimension"), func(m Shape) bool {
			return m.Kind == Stroke && near(m.X, d.frame.X+mullion*d.scale) && m.W == 0 && near(m.Bottom(), d.frame.Y)
		}), "a line at the mullion's centre, %v", mullion)
	}
}

func near(a, b float64) bool { return a-b < 1e-6 && b-a < 1e-6 }

// Two short bars on the hinge side of each light that opens, and no other.
func TestHingesAreMarkedOnTheirSide(t *testing.T) {
	p := leaning()
	d := ordered(p, english)
	for n, side := range []calc.Side{calc.Left, "", calc.Right, calc.Head, calc.Sill} {
		bay := d.bay(p.Layout.Lights[n])
		bars := 0
		for _, m := range d.Shapes {
			if !strings.HasPrefix(m.Part, "hinges "+strconv.Itoa(n+1)) {
				continue
			}
			bars++
			require.True(t, m.Box.In(bay.Inset(-1e-9)))
			require.Equal(t, level(side), m.W > m.H)
			switch side {
			case calc.Left:
				require.InDelta(t, bay.X, m.X, 1e-9)
			case calc.Right:
				require.InDelta(t, bay.Right(), m.Right(), 1e-9)
			case calc.Head:
				require.InDelta(t, bay.Y, m.Y, 1e-9)
			case calc.Sill:
				require.InDelta(t, bay.Bottom(), m.Bottom(), 1e-9)
			}
		}
		require.Equal(t, map[bool]int{true: 2, false: 0}[side != ""], bars, "light %d", n+1)
	}
}

func TestAPackerBesideAScrewSharesItsTag(t *testing.T) {
	var got []string
	for _, tag := range tagsOf(leaning(), NewVoice(english), calc.Left) {
		got = append(got, strings.TrimSpace(tag.number+" "+tag.stack))
	}
	require.Equal(t, []string{"0 3", "150 4+1", "500 5", "850", "1100", "1250"}, got, "the transom and the far corner run on with them")
	p := leaning()
	p.Layout.Transoms = nil
	require.Empty(t, tagsOf(p, NewVoice(english), calc.Right), "nothing goes there")
}

func TestGapsAreDrawnInProportion(t *testing.T) {
	d, _ := fitted(leaning(), english)
	require.Greater(t, d.times, 1)
	corners := d.outline(d.gaps)
	// The opening leans 10.4 mm to the right going up: its left side goes from
	// 15.4 mm off the frame to 5.
	k := d.scale * float64(d.times)
	require.InDelta(t, 15.4*k, d.frame.X-corners[0].X, 1e-9)
	require.InDelta(t, 5*k, d.frame.X-corners[6].X, 1e-9)
	require.InDelta(t, d.frame.W/2400, d.frame.H/1250, 1e-9)
}

// A head that can't be drilled is held by brackets, and a mark that looks like
// a screw has somebody drill into the lintel.
func TestABracketIsHollowAndAScrewFull(t *testing.T) {
	p := leaning()
	p.Opening.NoHead = true
	require.True(t, slices.ContainsFunc(tagsOf(p, NewVoice(english), calc.Head), func(t *tag) bool { return t.bracket }))
	require.False(t, tagsOf(p, NewVoice(english), calc.Left)[1].bracket)
	for _, bracket := range []bool{false, true} {
		var s Scene
		s.drawFixing(bracket, Point{20, 20}, 0.9)
		c := newCanvas(40, 40)
		s.Draw(c)
		require.Equal(t, bracket, c.img.At(200, 200) == c.img.At(0, 0), "a bracket is hollow, a screw is not")
		require.NotEqual(t, c.img.At(0, 0), c.img.At(193, 200), "both are black at their edge")
	}
}

func TestWrapKeepsEveryLetter(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		words := typeface.Line(rapid.OneOf(rapid.String(), rapid.StringOfN(rapid.RuneFrom([]rune("ab ЩШ-ß ")), 0, 200, -1)).Draw(r, "words"))
		w := rapid.Float64Range(6, 90).Draw(r, "width")
		f := Regular(rapid.Float64Range(5, 12).Draw(r, "size"))
		lines := f.Wrap(words, w)
		require.Equal(r, strings.ReplaceAll(words, " ", ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""))
		for _, line := range lines {
			require.LessOrEqual(r, f.Width(line), w+1e-9)
			require.NotEmpty(r, line)
		}
	})
	f := Regular(9)
	require.Equal(t, []string{"one two", "three"}, f.Wrap("one two three", f.Width("one two")+1e-9))
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

func TestAPDFOfAnotherFormIsRefused(t *testing.T) {
	font := "7 0 obj\n" + fontHead + ">>\nendobj\n"
	for _, raw := range []string{"", "%PDF-1.3\n", "7 0 obj\nx", font, font + "9 0 obj\n<<>>\nendobj\n"} {
		_, _, err := fontObjects([]byte(raw))
		require.ErrorIs(t, err, errFonts, "%q", raw)
	}
}

// triangle is the triangle of a part: its point, the ends of its base, and
// whether it is dashed.
func (s *Scene) triangleOf(t *testing.T, part string) (point Point, base [2]Point, dashed bool) {
	t.Helper()
	lines := s.of(part)
	require.Len(t, lines, 2, part)
	require.Equal(t, lines[0].Dashed, lines[1].Dashed)
	a, b := lines[0].Ends()
	c, d := lines[1].Ends()
	same := func(p, q Point) bool { return near(p.X, q.X) && near(p.Y, q.Y) }
	switch {
	case same(a, c):
		return a, [2]Point{b, d}, lines[0].Dashed
	case same(b, d):
		return b, [2]Point{a, c}, lines[0].Dashed
	case same(a, d):
		return a, [2]Point{b, c}, lines[0].Dashed
	}
	require.True(t, same(b, c), "two lines that don't meet: %s", part)
	return b, [2]Point{a, d}, lines[0].Dashed
}

// The base is the side of the hinges and the point the side that opens:
// OENORM A 6240-2, S. Full lines open outwards, dashed inwards, seen from
// outside: EN 12519 annex A.1, S. Which way a kind of light usually opens is
// common practice, C, and only this program's own default.
func TestTrianglesPointAwayFromTheHinges(t *testing.T) {
	for _, c := range []struct {
		hinge calc.Hinge
		sides []calc.Side
		dash  bool
	}{
		{calc.FixedLight, nil, false},
		{calc.SideLeft, []calc.Side{calc.Left}, false},
		{calc.SideRight, []calc.Side{calc.Right}, false},
		{calc.TopHung, []calc.Side{calc.Head}, false},
		{calc.BottomHung, []calc.Side{calc.Sill}, true},
		{calc.TiltTurnLeft, []calc.Side{calc.Left, calc.Sill}, true},
		{calc.TiltTurnRight, []calc.Side{calc.Right, calc.Sill}, true},
	} {
		p := leaning()
		p.Layout = calc.Layout{Lights: []calc.Light{{Hinge: c.hinge}}}
		fitter, _ := fitted(p, english)
		for name, w := range map[string]*window{"fitter": &fitter.window, "supplier": &ordered(p, english).window} {
			drawn := 0
			for _, m := range w.Shapes {
				if strings.HasPrefix(m.Part, "triangle ") {
					drawn++
				}
			}
			require.Equal(t, 2*len(c.sides), drawn, "%s, %s", name, c.hinge)
			sash := w.bay(p.Layout.Lights[0])
			x, y := sash.X+sash.W/2, sash.Y+sash.H/2
			for _, side := range c.sides {
				point, base, dashed := w.triangleOf(t, "triangle 1 "+string(side))
				require.Equal(t, c.dash, dashed, "%s, %s", name, c.hinge)
				want := map[calc.Side]Point{calc.Left: {sash.Right(), y}, calc.Right: {sash.X, y}, calc.Head: {x, sash.Bottom()}, calc.Sill: {x, sash.Y}}[side]
				require.InDelta(t, want.X, point.X, 1e-6, "%s, %s, %s", name, c.hinge, side)
				require.InDelta(t, want.Y, point.Y, 1e-6, "%s, %s, %s", name, c.hinge, side)
				for _, end := range base {
					require.True(t, near(end.X, sash.X) || near(end.X, sash.Right()), "a corner of the sash")
					require.True(t, near(end.Y, sash.Y) || near(end.Y, sash.Bottom()), "a corner of the sash")
					hinges := map[calc.Side]float64{calc.Left: sash.X - end.X, calc.Right: sash.Right() - end.X, calc.Head: sash.Y - end.Y, calc.Sill: sash.Bottom() - end.Y}[side]
					require.InDelta(t, 0, hinges, 1e-6, "%s, %s: the base is not on side %s", name, c.hinge, side)
				}
			}
		}
	}
}

// No triangle without its hinge side in words, without a key beside it, and
// without the note that nobody was asked.
func TestTrianglesAreExplainedInWords(t *testing.T) {
	p := leaning()
	fitter, _ := fitted(p, english)
	said := map[string]string{"fitter": strings.Join(fitter.texts(), " "), "supplier": strings.Join(ordered(p, english).texts(), " ")}
	for name, words := range said {
		for _, part := range []string{
			english(phrase.Of("card.legend.outward")), english(phrase.Of("card.legend.inward")), english(phrase.Of("card.direction_unasked")),
		} {
			require.Contains(t, words, part, name)
		}
	}
	for _, light := range p.Layout.Lights {
		require.Contains(t, said["fitter"], english(phrase.Of("card.light."+string(light.Hinge))))
	}
	require.Contains(t, said["supplier"], english(phrase.Of("card.seen_from_outside")))
	for _, key := range []string{"card.legend.outward", "card.legend.inward"} {
		// The key's small sash has its hinges on the left. Words that said so
		// would stand on the order of a window that has them on the right.
		require.NotRegexp(t, "left|right|above|below", english(phrase.Of(key)))
	}

	p.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.FixedLight}}}
	fitter, _ = fitted(p, english)
	for _, words := range [][]string{fitter.texts(), ordered(p, english).texts()} {
		require.NotContains(t, words, english(phrase.Of("card.legend.outward")))
		require.NotContains(t, words, english(phrase.Of("card.direction_unasked")))
	}
}

// The lines of a triangle run under a patch of paper where there are words.
func TestNoTriangleRunsThroughWords(t *testing.T) {
	fitter, _ := fitted(leaning(), english)
	for _, s := range []*Scene{fitter.Scene, ordered(leaning(), english).Scene} {
		last := 0
		for i, m := range s.Shapes {
			if strings.HasPrefix(m.Part, "triangle ") {
				last = i
			}
		}
		require.Positive(t, last)
		for i, m := range s.Shapes {
			if m.Kind != Lettered || m.Part != "" || i < last {
				continue
			}
			letters := Box{m.X, m.Y + m.Font.base() - m.Font.capital(), m.W, m.Font.capital()}
			crossed := slices.ContainsFunc(s.Shapes[:i], func(l Shape) bool {
				return strings.HasPrefix(l.Part, "triangle ") && l.Box.Overlaps(letters)
			})
			patched := slices.ContainsFunc(s.Shapes[last:i], func(p Shape) bool {
				return p.Kind == Filled && p.Ink == Paper && letters.In(p.Box.Inset(-1e-9))
			})
			require.True(t, patched || !crossed, "a triangle runs through %q", m.Words)
		}
	}
}

// Where somebody said which way the window opens, words and signs say that: EN 12519,
// annex A.1, quoted by a guide of the window trade (S), draws inwards dashed.
func TestAStatedDirectionIsDrawn(t *testing.T) {
	made := Made{Size: calc.Size{Width: mm(1200), Height: mm(1000)}, Layout: calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}}}}
	for value, key := range map[string]string{"in": "card.legend.inward", "out": "card.legend.outward"} {
		v := NewVoice(english).Opening([]opening.Pair{{Key: "opens", Value: value}})
		d := NewOrder(v, made, 84)
		d.Draw(&Scene{}, Point{15, 20})
		words := strings.Join(d.texts(), " ")
		require.Contains(t, words, english(phrase.Of(key)), value)
		require.NotContains(t, words, english(phrase.Of("card.direction_unasked")))
		require.Contains(t, v.Way(calc.SideLeft), "opens "+value)
		require.Contains(t, v.Way(calc.TiltTurnLeft), "opens in", "whatever is stated")
	}
}
