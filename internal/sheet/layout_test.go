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
	"sillbot/internal/scene"
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

func overlaps(b, c scene.Box) bool { return b.Inset(slack / 2).Overlaps(c.Inset(slack / 2)) }

// glyphs is the part of a line's box that letters can touch: from the top of
// an accented capital to the bottom of a tail, of the typeface's 1.25.
func glyphs(m scene.Shape) scene.Box {
	if m.Turned {
		return m.Box
	}
	return box(m.X, m.Y+0.04*m.Font.Size, m.W, 1.16*m.Font.Size)
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
	sheet := box(left, top-3, width, lowest-top+3)
	for n, p := range l.pages {
		var words []scene.Shape
		for _, m := range p.Shapes {
			if m.X < left-slack || m.Right() > right+slack || m.Y < sheet.Y || m.Bottom() > sheet.Bottom()+0.5 {
				t.Errorf("%s, page %d: %q leaves the page: %+v", name, n+1, m.Words, m.Box)
			}
			if m.Words == "" {
				continue
			}
			if m.X < m.Within.X-slack || m.Right() > m.Within.Right()+slack {
				t.Errorf("%s, page %d: %q leaves its place %+v: %+v", name, n+1, m.Words, m.Within, m.Box)
			}
			for _, other := range words {
				if overlaps(glyphs(m), glyphs(other)) {
					t.Errorf("%s, page %d: %q %+v lies on %q %+v", name, n+1, m.Words, glyphs(m), other.Words, glyphs(other))
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

// drawn is one drawing and the words in it.
func drawn(t tester, line job.Line) (*scene.Order, map[string]bool) {
	t.Helper()
	l := newLayout(Printer{Say: english})
	l.newPage()
	d := scene.NewOrder(l.voice, scene.Made{Size: line.Size, Layout: line.Layout, Sill: line.Sill.IsPositive(), SillPiece: line.SillPiece}, pictureWidth)
	d.Draw(l.Scene, scene.Point{X: left, Y: top})
	checkLayout(t, "drawing", l)
	words := map[string]bool{}
	for _, m := range l.Shapes {
		if m.X < left-slack || m.Right() > left+pictureWidth+slack || m.Bottom() > top+d.Height+slack {
			t.Errorf("%q leaves the drawing: %+v", m.Words, m.Box)
		}
		words[m.Words] = true
	}
	return d, words
}

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
		d, words := drawn(r, line)
		require.True(r, words[size.Width.String()] && words[size.Height.String()])
		all := true
		for _, d := range append(append([]decimal.Decimal{}, layout.Mullions...), layout.Transoms...) {
			all = all && (d.IsZero() || words[d.String()])
		}
		require.Equal(r, !all, d.Dropped)
		// A light whose number isn't on the drawing is told in the rows.
		numbered := true
		for n := range layout.Lights {
			numbered = numbered && (words[fmt.Sprint(n+1)] || len(layout.Lights) == 1)
		}
		o := &order{layout: newLayout(Printer{Say: english})}
		rows := o.layoutRows(line, d)
		last := rows[len(rows)-1].parts
		if !numbered {
			require.Contains(r, last[len(last)-1].words, english(lightPlaces(layout)[len(layout.Lights)-1]))
		}
	})
}
