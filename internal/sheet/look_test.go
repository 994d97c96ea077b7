package sheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// ordinary is an order of n lines as most houses have them: one or two lights, with
// and without a sill piece, half of them with vents before.
func ordinary(t testing.TB, n int) job.OrderSheet {
	t.Helper()
	j := begun(t, 0)
	for k := range n {
		o := surveyed(fmt.Sprintf("Window %d", k+1), 1200+float64(10*k), 1050, row0(calc.SideLeft)...)
		if k%2 == 1 {
			o = surveyed(fmt.Sprintf("Window %d", k+1), 1790+float64(10*k), 1200, row0(calc.SideRight, calc.FixedLight)...)
			o.SillDepth, o.OldVents, o.VentArea = mm(150), true, mm(4000)
		}
		o.Rising, o.Falling = diagonal(o), diagonal(o)
		o.SillFall, o.Over = new(decimal.Decimal), safety.OverArch
		j = must(t)(add(j, fitter, made, o.Name))
		j = must(t)(store(j, fitter, made, k+1, job.Record{Plan: o, Colour: "white", MakeUp: "4-20-4"}))
	}
	return must(t)(send(j, made)).OrderCopy()
}

// diagonal is that of a square opening, whole mm.
func diagonal(o plan.Opening) decimal.Decimal {
	return mm(math.Round(math.Hypot(o.Widths[2].InexactFloat64(), o.Heights[1].InexactFloat64())))
}

func TestThreeOrdinaryLinesStandOnAPage(t *testing.T) {
	pages := said(printer(english).orderLayout(ordinary(t, 13)))
	label := english(phrase.Of("sheet.size_label"))
	for i, page := range pages[1 : len(pages)-1] {
		require.GreaterOrEqual(t, strings.Count(page, label), 3, "page %d", i+2)
	}
	require.LessOrEqual(t, len(pages), 6)
}

// No page but the last is a third empty: what stands under a block may go on over the
// page.
func TestNoPageIsAThirdEmpty(t *testing.T) {
	for name, s := range map[string]job.OrderSheet{"ordinary": ordinary(t, 13), "of all kinds": revised(t, 24, true).OrderCopy()} {
		l := printer(english).orderLayout(s)
		for n, p := range l.pages[:len(l.pages)-1] {
			low := 0.0
			for _, m := range p.Shapes {
				if m.Bottom() < l.footTop()-2 {
					low = max(low, m.Bottom())
				}
			}
			require.Greater(t, low, top+(l.bottom()-top)*2/3, "%s: page %d", name, n+1)
		}
	}
}

// Seven points are the least that is read on paper (common practice, no source), in
// long words too.
func TestNoTypeOnASheetIsUnderSevenPoints(t *testing.T) {
	check, both := checking(t)
	for name, say := range tongues() {
		p := printer(say)
		for _, l := range []*layout{p.orderLayout(revised(t, 6, true).OrderCopy()), p.checkLayout(check.CheckCopy(), both), p.checkLayout(check.CheckCopy(), nil)} {
			for _, page := range l.pages {
				for _, m := range page.Shapes {
					require.False(t, m.Words != "" && m.Font.Size < 7*scene.Point2mm-1e-9, "%s: %q", name, m.Words)
				}
			}
		}
	}
}

var (
	endsInFigure = regexp.MustCompile(`[0-9×]$`)
	beginsInUnit = regexp.MustCompile(`^(mm²?|m²?|kg|W/m²K|mg/m³|×)([ .,;:)]|$)`)
	isoDate      = regexp.MustCompile(`\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b`)
)

func TestFiguresKeepTheirUnitAndDaysOneForm(t *testing.T) {
	for _, s := range []job.OrderSheet{ordinary(t, 6), revised(t, 12, true).OrderCopy()} {
		for _, page := range printer(english).orderLayout(s).pages {
			before := ""
			for _, m := range page.Shapes {
				if m.Words == "" {
					continue
				}
				require.False(t, endsInFigure.MatchString(before) && beginsInUnit.MatchString(m.Words), "%q | %q", before, m.Words)
				require.NotRegexp(t, isoDate, m.Words)
				before = m.Words
			}
		}
	}
}

// White words on black are kept for what must not be made. The viewing side stands
// under each drawing.
func TestOnlyAStopIsWhiteOnBlack(t *testing.T) {
	white := func(l *layout) (words []string) {
		for _, p := range l.pages {
			for _, m := range p.Shapes {
				if m.Words != "" && m.Ink == scene.Paper {
					words = append(words, m.Words)
				}
			}
		}
		return words
	}
	check, both := checking(t)
	require.Empty(t, white(printer(english).orderLayout(ordinary(t, 6))))
	require.Empty(t, white(printer(english).checkLayout(check.CheckCopy(), both)))
	wrong := surveyed("wrong", 1204, 1006, row0(calc.SideLeft)...)
	wrong.Rising, wrong.Falling = mm(1570), mm(1620)
	p := made1(t, wrong)
	o := &order{layout: newLayout(printer(english)), sheet: job.OrderSheet{}}
	l, err := o.planLine(1, p)
	require.NoError(t, err)
	o.newPage()
	o.line(0, l)
	all := strings.Join(white(o.layout), " ")
	require.Contains(t, all, "DO NOT MAKE")
	require.Contains(t, all, english(p.Holds()[0].Text))

	seen := 0
	for _, page := range said(printer(english).orderLayout(ordinary(t, 6))) {
		seen += strings.Count(page, english(phrase.Of("card.seen_from_outside"))+" ")
	}
	require.Equal(t, 6, seen)
}

// A stop of a line that was sent stands on it in black, and so does, in a frame,
// what a qualified person said of one.
func TestAStopAndWhoLiftedItStandOnTheLine(t *testing.T) {
	s := ordinary(t, 2)
	s.Lines[0].Safety = append(s.Lines[0].Safety, safety.Finding{Rule: "edition_ended", Severity: safety.Stop, Scope: safety.OfJob, Words: map[string]string{"topic": "topic.heat", "nation": "nation.england"}})
	words := strings.Join(said(printer(english).orderLayout(s)), " ")
	require.Equal(t, 1, strings.Count(words, "DO NOT MAKE. "+english(plan.FindingText(s.Lines[0].Safety[len(s.Lines[0].Safety)-1]))))

	o := surveyed("held up", 1204, 1006, row0(calc.SideLeft)...)
	o.NoLintel = true
	o.Cleared = &opening.Cleared{Who: "A. Engineer (invented)", Capacity: "structural engineer", Day: "2026-05-20", Words: "Propped, the lintel goes in first."}
	p := made1(t, o)
	words = strings.Join(said(printer(english).orderLayout(planSheet([]plan.Plan{p}))), " ")
	for _, want := range []string{"A. Engineer (invented), structural engineer", "20 May 2026", "Propped, the lintel goes in first."} {
		require.Contains(t, words, want)
	}
	require.NotContains(t, words, "DO NOT MAKE")
}

// Readings that can't all be right stand on the line of a job with who took them on;
// nobody else can send them.
func TestReadingsThatCantAllBeRightStandOnTheJobsLine(t *testing.T) {
	wrong := surveyed("wrong", 1204, 1006, row0(calc.SideLeft)...)
	wrong.Rising, wrong.Falling = mm(1570), mm(1620)
	j := must(t)(add(begun(t, 1), fitter, made, wrong.Name))
	j = must(t)(store(j, fitter, made, 2, job.Record{Plan: wrong}))
	s := must(t)(send(j, made)).OrderCopy()
	why := english(made1(t, wrong).Holds()[0].Text)
	words := strings.Join(said(printer(english).orderLayout(s)), " ")
	require.Equal(t, 1, strings.Count(words, strings.TrimSuffix(why, ".")))
	require.Contains(t, words, "Taken on by the fitter")
	require.NotContains(t, words, "DO NOT MAKE")
	raw, err := printer(english).JSON(s)
	require.NoError(t, err)
	require.Contains(t, string(raw), why)
	rows, err := printer(english).CSV(s)
	require.NoError(t, err)
	require.Contains(t, string(rows), ",A,false,2,wrong,", "not held")
	require.Contains(t, string(rows), "Taken on by the fitter")
}

// What holds for the house is said once on the first page, with the lines that it
// is about where it is not about all.
func TestWhatHoldsForTheHouseIsSaidOnce(t *testing.T) {
	s := ordinary(t, 6)
	i := slices.IndexFunc(s.Lines[0].Safety, func(f safety.Finding) bool { return f.Rule == "heat" })
	require.GreaterOrEqual(t, i, 0)
	heat := english(plan.OrderText(s.Lines[0].Safety[i]))
	pages := said(printer(english).orderLayout(s))
	require.Equal(t, 1, strings.Count(strings.Join(pages, " "), heat))
	require.Contains(t, pages[0], heat)
	require.NotContains(t, pages[0], "Lines 1")
	s.Lines[2].Safety = slices.DeleteFunc(slices.Clone(s.Lines[2].Safety), func(f safety.Finding) bool { return f.Rule == "heat" })
	require.Contains(t, said(printer(english).orderLayout(s))[0], "Lines 1, 2, 4–6: "+heat)
}

func TestHardwareIsCountedAsPeopleDo(t *testing.T) {
	o := &order{layout: newLayout(printer(english))}
	line := planSheet([]plan.Plan{made1(t, surveyed("x", 2400, 1200, row0(calc.SideLeft, calc.SideLeft, calc.TiltTurnRight)...))}).Lines[0].Line
	require.Equal(t, []string{"2 pairs of hinges, side hung left", "1 tilt and turn gear, hinges right", "3 handles"}, o.hardware(line))
	line = planSheet([]plan.Plan{made1(t, surveyed("x", 1200, 1200, row0(calc.TopHung)...))}).Lines[0].Line
	require.Equal(t, []string{"1 pair of hinges, top hung", "1 handle"}, o.hardware(line))
}

// What is asked of the glass stands on the pane in the drawing, in few words where
// there is little room.
func TestTheSafetyMarkStandsOnThePane(t *testing.T) {
	low := mm(300)
	for width, want := range map[float64]string{1200: "both sheets safety glass, class 3", 620: "safety class 3"} {
		o := surveyed("low", width, 1050, row0(calc.FixedLight)...)
		o.AboveFloor = &low
		line := planSheet([]plan.Plan{made1(t, o)}).Lines[0].Line
		l := newLayout(printer(english))
		l.newPage()
		made := scene.Made{Size: line.Size, Layout: line.Layout, Marks: scene.Marks(line.Safety, 1)}
		scene.NewOrder(l.voice, made, pictureWidth).Draw(l.Scene, scene.Point{X: left, Y: top})
		require.Contains(t, said(&layout{pages: []*scene.Scene{l.Scene}})[0], want, "%v", width)
	}
}

// Figures of upright lines are read from the right: they run upwards, left of their
// line. The places of the bars run on from a ring. With a sill piece the height
// over all has its own line (ISO 129-1, from memory).
func TestDimensionsOfTheSuppliersDrawing(t *testing.T) {
	o := surveyed("x", 1800, 1200, above(row0(calc.SideLeft, calc.FixedLight), calc.TopHung, calc.TopHung)...)
	o.SillDepth = mm(150)
	line := planSheet([]plan.Plan{made1(t, o)}).Lines[0].Line
	l := newLayout(printer(english))
	l.newPage()
	scene.NewOrder(l.voice, scene.Made{Size: line.Size, Layout: line.Layout, Sill: true, SillPiece: line.SillPiece}, pictureWidth).Draw(l.Scene, scene.Point{X: left, Y: top})
	turned := map[string]bool{}
	rings := 0
	for _, m := range l.Shapes {
		if m.Words != "" && m.Part == "dimension" {
			turned[m.Words] = m.Turned
		}
		if m.Kind == scene.Disc && m.Ink == scene.Paper {
			rings++
		}
	}
	require.Equal(t, 2, rings, "one for the mullions, one for the transoms")
	over := line.Size.Height.Add(line.SillPiece).String()
	for figure, up := range map[string]bool{
		line.Size.Width.String(): false, line.Layout.Mullions[0].String(): false,
		line.Size.Height.String(): true, over: true, line.Layout.Transoms[0].String(): true,
	} {
		got, drawn := turned[figure]
		require.True(t, drawn, figure)
		require.Equal(t, up, got, figure)
	}
}
