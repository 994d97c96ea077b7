package sheet

import (
	"fmt"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// cyrillic writes every word with wide Cyrillic letters.
func cyrillic(t phrase.Text) string {
	const latin, other = "abcdefghijklmnopqrstuvwxyzHTSL", "абцдефгхийклмнопярстужвщызПНОД"
	from, to := []rune(latin), []rune(other)
	return strings.Map(func(r rune) rune {
		for i := range from {
			if r == from[i] {
				return to[i]
			}
		}
		return r
	}, english(t))
}

const slack = 0.02 // mm: a letter's width as the PDF library rounds it

func (b box) overlaps(c box) bool {
	return b.x < c.right()-slack && c.x < b.right()-slack && b.y < c.bottom()-slack && c.y < b.bottom()-slack
}

// glyphs is the part of a line's box that letters can touch: from the top of
// an accented capital to the bottom of a tail, of the typeface's 1.25.
func (m mark) glyphs() box {
	if m.turned {
		return m.box
	}
	size := m.font.size * point
	return box{m.x, m.y + m.font.base() - 0.93*size, m.w, 1.16 * size}
}

// tester is a test, or one try of a property.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
}

// checkLayout fails when words leave the page or their place, or lie on each
// other.
func checkLayout(t tester, name string, l *layout) {
	t.Helper()
	sheet := box{left, top - 3, width, lowest - top + 3}
	for n, p := range l.pages {
		var words []mark
		for _, m := range p.marks {
			if m.x < left-slack || m.right() > right+slack || m.y < sheet.y || m.bottom() > sheet.bottom()+0.5 {
				t.Errorf("%s, page %d: %q leaves the page: %+v", name, n+1, m.words, m.box)
			}
			if m.words == "" {
				continue
			}
			if m.x < m.within.x-slack || m.right() > m.within.right()+slack {
				t.Errorf("%s, page %d: %q leaves its place %+v: %+v", name, n+1, m.words, m.within, m.box)
			}
			for _, other := range words {
				if m.glyphs().overlaps(other.glyphs()) {
					t.Errorf("%s, page %d: %q %+v lies on %q %+v", name, n+1, m.words, m.glyphs(), other.words, other.glyphs())
				}
			}
			words = append(words, m)
		}
		if len(words) < 3 {
			t.Errorf("%s, page %d: an empty page", name, n+1)
		}
	}
}

func tongues() map[string]func(phrase.Text) string {
	return map[string]func(phrase.Text) string{"english": english, "compound": compound, "cyrillic": cyrillic}
}

func TestNothingIsClippedOrCovered(t *testing.T) {
	order := revised(t, 6, true)
	held := must(t)(order.SetCount(fitter, made, 3, 2))
	held = must(t)(held.Delete(fitter, made, 4))
	check, both := checking(t)
	for name, say := range tongues() {
		p := printer(say)
		checkLayout(t, name+" order", p.orderLayout(order.OrderCopy()))
		checkLayout(t, name+" held", p.orderLayout(held.OrderCopy()))
		checkLayout(t, name+" blank check", p.checkLayout(check.CheckCopy(), nil))
		checkLayout(t, name+" check", p.checkLayout(check.CheckCopy(), both))
	}
}

// The words of a layout are all that was to be said: nothing is dropped where
// lines are broken or pages end.
func TestLongWordsAreBrokenAndNoneIsLost(t *testing.T) {
	s := revised(t, 2, true).OrderCopy()
	name := strings.Repeat("Donaudampfschifffahrtsgesellschaft", 2)
	s.Lines[0].Name = name
	s.Lines[1].Colour = name
	s.Lines[1].Wanted = []string{strings.Repeat(name, 8)}
	note := s.Lines[1].Notes[0]
	for i := range 60 {
		note.Words = fmt.Sprintf("Sentence %d of many that went back and forth between the fitter and the desk.", i)
		s.Lines[1].Notes = append(s.Lines[1].Notes, note)
	}
	l := printer(english).orderLayout(s)
	checkLayout(t, "long", l)
	all := strings.Join(said(l), " ")
	squeezed := strings.ReplaceAll(all, " ", "")
	require.Contains(t, squeezed, strings.Repeat(name, 8))
	// Every note is there, whole, in its order.
	at := 0
	for i := range 60 {
		words := strings.ReplaceAll(fmt.Sprintf("Sentence %d of", i), " ", "")
		found := strings.Index(squeezed[at:], words)
		require.GreaterOrEqual(t, found, 0, "note %d", i)
		at += found
	}
	require.Contains(t, all, english(phrase.Of("sheet.continued").Saying("name", s.Lines[1].Name)))
}

func TestHeadingsAreRepeatedOnEveryPage(t *testing.T) {
	s := revised(t, 200, false).OrderCopy()
	l := printer(english).orderLayout(s)
	checkLayout(t, "200", l)
	pages := said(l)
	heading := english(phrase.Of("sheet.opening")) + " " + english(phrase.Of("sheet.quantity"))
	running := english(phrase.Of("sheet.order.name_revision").Saying("ref", s.Ref).Saying("revision", "B"))
	tables, blocks := 0, 0
	for i, page := range pages {
		if i > 0 {
			require.True(t, strings.HasPrefix(page, running), "page %d", i+1)
		}
		if strings.Contains(page, heading) {
			tables++
		}
		blocks += strings.Count(page, english(phrase.Of("sheet.size_label")))
	}
	require.Greater(t, tables, 3, "the table of 200 lines goes over pages")
	require.Equal(t, 200, blocks)
	rows := 0
	for i, page := range pages[:tables] {
		require.Contains(t, page, heading, "page %d", i+1)
		rows += strings.Count(page, english(phrase.Of("sheet.state.ordered"))) + strings.Count(page, english(phrase.Of("sheet.state.confirmed")))
	}
	require.GreaterOrEqual(t, rows, 200)
}

// drawn are the shapes of one drawing.
func drawn(t tester, line job.Line) (picture, []mark) {
	t.Helper()
	l := newLayout(english)
	l.newPage()
	p := l.picture(line)
	l.drawPicture(p, box{left, top, pictureWidth, p.height})
	checkLayout(t, "drawing", l)
	p.frame.x, p.frame.y = p.frame.x+left, p.frame.y+top
	for _, m := range l.pages[0].marks {
		if m.x < left-slack || m.right() > left+pictureWidth+slack || m.bottom() > top+p.height+slack {
			t.Errorf("%q leaves the drawing: %+v", m.words, m.box)
		}
	}
	return p, l.pages[0].marks
}

func wordsIn(marks []mark) map[string]bool {
	out := map[string]bool{}
	for _, m := range marks {
		if m.words != "" {
			out[m.words] = true
		}
	}
	return out
}

func TestDrawingIsToScaleAndSaysItsSizes(t *testing.T) {
	line := job.Line{
		Size:     calc.Size{Width: mm(2400), Height: mm(1250)},
		Sill:     mm(150),
		Material: calc.PVCUWhite,
		Layout: calc.Layout{
			Mullions: []decimal.Decimal{mm(700), mm(1500)}, Transoms: []decimal.Decimal{mm(850), {}, mm(900)},
			Lights: []calc.Light{
				{Column: 0, Hinge: calc.SideLeft}, {Column: 1, Hinge: calc.FixedLight}, {Column: 2, Hinge: calc.TiltTurnRight},
				{Column: 0, Row: 1, Hinge: calc.TopHung}, {Column: 2, Row: 1, Hinge: calc.BottomHung},
			},
		},
	}
	p, marks := drawn(t, line)
	require.InDelta(t, 2400/p.scale, p.frame.w, 1e-9)
	require.InDelta(t, 1250/p.scale, p.frame.h, 1e-9)
	require.Contains(t, scales, p.scale)
	words := wordsIn(marks)
	for _, figure := range []string{"2400", "1250", "700", "1500", "850", "900", "0"} {
		require.True(t, words[figure], figure)
	}
	at := func(x, y, w, h float64) bool {
		for _, m := range marks {
			if m.words == "" && m.shape == stroke && near(m.x, x) && near(m.w, w) && m.y <= y+1e-6 && m.bottom() >= y-1e-6 && m.h >= h {
				return true
			}
		}
		return false
	}
	for _, mullion := range []float64{700, 1500} {
		require.True(t, at(p.frame.x+mullion/p.scale, p.frame.y, 0, 2), "a line at the mullion's centre, %v", mullion)
	}
	// Two short bars on the hinge side of each light that opens, and no other.
	for n, side := range []calc.Side{calc.Left, "", calc.Right, calc.Head, calc.Sill} {
		bay := p.bay(line.Layout.Lights[n])
		bars := 0
		for _, m := range marks {
			if m.words != "" || m.shape != filled || m.ink != black || m.w > 6 || m.h > 6 {
				continue
			}
			if m.x < bay.x-1e-6 || m.right() > bay.right()+1e-6 || m.y < bay.y-1e-6 || m.bottom() > bay.bottom()+1e-6 {
				continue
			}
			bars++
			switch side {
			case calc.Left:
				require.InDelta(t, bay.x, m.x, 1e-6)
				require.Less(t, m.w, m.h)
			case calc.Right:
				require.InDelta(t, bay.right(), m.right(), 1e-6)
				require.Less(t, m.w, m.h)
			case calc.Head:
				require.InDelta(t, bay.y, m.y, 1e-6)
			case calc.Sill:
				require.InDelta(t, bay.bottom(), m.bottom(), 1e-6)
			}
		}
		require.Equal(t, map[bool]int{true: 2, false: 0}[side != ""], bars, "light %d", n+1)
	}
}

func near(a, b float64) bool { return a-b < 1e-6 && b-a < 1e-6 }

// Any layout that calc lets through is drawn within its place. Where a
// dimension is not written, a note says so.
func TestAnyWindowCanBeDrawn(t *testing.T) {
	hinges := []calc.Hinge{calc.FixedLight, calc.SideLeft, calc.SideRight, calc.TopHung, calc.BottomHung, calc.TiltTurnLeft, calc.TiltTurnRight}
	rapid.Check(t, func(r *rapid.T) {
		size := calc.Size{
			Width:  decimal.New(rapid.Int64Range(3000, 45000).Draw(r, "width"), -1),
			Height: decimal.New(rapid.Int64Range(3000, 45000).Draw(r, "height"), -1),
		}
		most := min(31, int(size.Width.IntPart()/100)-1)
		layout := calc.Layout{Mullions: calc.EvenMullions(size.Width, rapid.IntRange(0, most).Draw(r, "mullions"), calc.Settings{})}
		for i := range layout.Columns() {
			layout.Lights = append(layout.Lights, calc.Light{Column: i, Hinge: rapid.SampledFrom(hinges).Draw(r, "hinge")})
			at := decimal.Zero
			if rapid.Bool().Draw(r, "transom") {
				at = decimal.NewFromInt(rapid.Int64Range(100, size.Height.IntPart()-100).Draw(r, "at"))
				layout.Lights = append(layout.Lights, calc.Light{Column: i, Row: 1, Hinge: rapid.SampledFrom(hinges).Draw(r, "hinge above")})
			}
			layout.Transoms = append(layout.Transoms, at)
		}
		require.NoError(r, layout.Check(size))
		line := job.Line{Size: size, Layout: layout}
		p, marks := drawn(r, line)
		words := wordsIn(marks)
		require.True(r, words[size.Width.String()] && words[size.Height.String()])
		all := true
		for _, d := range append(append([]decimal.Decimal{}, layout.Mullions...), layout.Transoms...) {
			all = all && (d.IsZero() || words[d.String()])
		}
		require.Equal(r, !all, p.dropped)
		// A light whose number isn't on the drawing is told in the rows.
		numbered := true
		for n := range layout.Lights {
			numbered = numbered && (words[fmt.Sprint(n+1)] || len(layout.Lights) == 1)
		}
		o := &order{layout: newLayout(english)}
		rows := o.layoutRows(line, o.picture(line))
		last := rows[len(rows)-1].parts
		if !numbered {
			require.Contains(r, last[len(last)-1].words, english(lightPlaces(layout)[len(layout.Lights)-1]))
		}
	})
}

func TestMarksLieInTheirOrder(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(r, "labels")
		want, size := make([]float64, n), make([]float64, n)
		total, at := 0.0, 0.0
		for i := range want {
			at += rapid.Float64Range(0, 9).Draw(r, "step")
			want[i], size[i] = at, rapid.Float64Range(1, 8).Draw(r, "size")
			total += size[i]
		}
		low, high := -5.0, max(at, total)+10
		out := spread(want, size, low, high)
		for i := range out {
			require.GreaterOrEqual(r, out[i]-size[i]/2, low-1e-9)
			require.LessOrEqual(r, out[i]+size[i]/2, high+1e-9)
			if i > 0 {
				require.GreaterOrEqual(r, out[i]-out[i-1], (size[i]+size[i-1])/2-1e-9)
			}
		}
	})
}

func TestWrapKeepsEveryLetter(t *testing.T) {
	l := newLayout(english)
	rapid.Check(t, func(r *rapid.T) {
		words := clean(rapid.String().Draw(r, "words"))
		w := rapid.Float64Range(6, 90).Draw(r, "width")
		f := regular(rapid.Float64Range(5, 12).Draw(r, "size"))
		lines := l.wrap(f, words, w)
		require.Equal(r, strings.ReplaceAll(words, " ", ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""))
		for _, line := range lines {
			require.LessOrEqual(r, l.width(f, line), w+1e-9)
		}
	})
}
