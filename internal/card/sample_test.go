package card

import (
	"strings"
	"sync"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
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

// invented are sentences of the length that findings have, so that the tests
// of the layout don't hang on the wording of the rules.
var invented = map[string]string{
	"finding.glass":    "The lowest glass is 650 mm above the inside floor, which is under 800 mm. It must be safety glass, class 3 of BS EN 12600 or better, in every pane marked here.",
	"finding.guarding": "The window opens less than 800 mm above the floor and the drop outside is more than 600 mm. Put a guard up or keep the opening under 100 mm.",
	"finding.lead":     "Old paint may hold lead. Keep the dust wet and wear a mask.",
	"finding.asbestos": "Stop and ask: a house built before 2000 may hold asbestos in panels, soffits, sills and putty.",
	"finding.vents":    "The old window had background vents. The new ones must not be smaller.",
	"why.lean":         "The diagonals are 16 mm apart: the opening leans by 10.4 mm, and all of it came off the width.",
	"why.wide_gap":     "The gap is 17 mm here, more than the 10 mm that the warranty standard allows. Make the opening good first.",
}

// english says what the catalogue says.
func english(t phrase.Text) string {
	if words, ok := invented[t.Key]; ok {
		return words
	}
	return catalogue().Plain("en", t)
}

// compound makes every longer word as long as German ones get.
func compound(t phrase.Text) string {
	words := strings.Fields(english(t))
	for i, w := range words {
		if len(w) > 5 {
			words[i] = w + "befestigungsmittelabstandsmaßüberprüfung"
		}
	}
	return strings.Join(words, " ")
}

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

// places are a side's fixings by hand: ends at 150, the rest evenly between.
func places(length float64, n int) []decimal.Decimal {
	var out []decimal.Decimal
	for i := range n {
		out = append(out, mm(150+(length-300)*float64(i)/float64(n-1)).Round(0))
	}
	return out
}

// byHand builds a plan without the arithmetic: an opening that leans to the
// right by lean mm, a frame in its middle, n fixings a side with packers, and
// bed packers under jambs and mullions.
func byHand(width, height, lean float64, jambs, level int, layout calc.Layout) plan.Plan {
	p := plan.Plan{Layout: layout}
	p.Order.Size = calc.Size{Width: mm(width), Height: mm(height)}
	p.Order.Place = calc.Point{X: mm(5 + lean), Y: mm(5)}
	w, h := width+10+lean, height+10
	at := func(x, y float64) calc.Point { return calc.Point{X: mm(x), Y: mm(y)} }
	p.Order.Figure = calc.Figure{
		BottomLeft: at(0, 0), BottomRight: at(w, 0), TopLeft: at(lean, h), TopRight: at(w+lean, h),
		MidLeft: at(lean/2, h/2), MidRight: at(w+lean/2, h/2), MidSill: at(w/2, 0), MidHead: at(w/2+lean, h),
	}
	p.Order.Gap = map[calc.Side]decimal.Decimal{calc.Left: mm(5), calc.Right: mm(5), calc.Head: mm(5), calc.Sill: mm(5)}
	p.Opening = plan.Opening{
		Name: "Front bedroom", Nation: safety.England, Date: "2026-03-02", Room: safety.Bedroom,
		Material: calc.PVCUWhite, Finish: calc.Bare,
		Widths: [3]decimal.Decimal{mm(w), mm(w + 2), mm(w + 4)}, Heights: [3]decimal.Decimal{mm(h), mm(h + 1), mm(h + 3)},
	}
	for _, side := range sides {
		length, n := height, jambs
		if side == calc.Head || side == calc.Sill {
			length, n = width, level
		}
		fixings := calc.SideFixings{Side: side, At: places(length, n)}
		for i, f := range fixings.At {
			stack := []int{5}
			if i%2 == 1 {
				stack = []int{4, 1}
			}
			p.Packers.Places = append(p.Packers.Places, calc.PackerPlace{Side: side, At: f, Gap: mm(5), Stack: stack})
		}
		p.Fixings.Sides = append(p.Fixings.Sides, fixings)
	}
	for _, x := range append([]decimal.Decimal{mm(30), mm(width - 30)}, layout.Mullions...) {
		p.Packers.Places = append(p.Packers.Places, calc.PackerPlace{Side: calc.Sill, At: x, Gap: mm(5), Stack: []int{5}, Bed: true})
	}
	return p
}

// glazed adds the glass by calc.
func glazed(t testing.TB, p plan.Plan) plan.Plan {
	glass, err := calc.Glass(p.Order.Size, p.Layout, []decimal.Decimal{mm(4), mm(4)}, calc.DefaultSettings())
	require.NoError(t, err)
	p.Glass = glass
	return p
}

func warned(p plan.Plan) plan.Plan {
	p.Order.Warnings = []calc.Reason{{Rule: "lean"}}
	p.Findings = []safety.Finding{
		{Rule: "lead", Severity: safety.Advise}, {Rule: "vents", Severity: safety.Must},
		{Rule: "glass", Severity: safety.Must, Lights: []int{0}}, {Rule: "asbestos", Severity: safety.Stop},
		{Rule: "guarding", Severity: safety.Must},
	}
	return p
}

func lights(hinges ...calc.Hinge) (out []calc.Light) {
	for i, h := range hinges {
		out = append(out, calc.Light{Column: i, Hinge: h})
	}
	return out
}

// samples are plans of many shapes.
func samples(t testing.TB) map[string]plan.Plan {
	out := map[string]plan.Plan{}
	out["one"] = glazed(t, byHand(1190, 990, 0, 3, 3, calc.Layout{Lights: lights(calc.SideLeft)}))

	two := byHand(1785, 1185, 0, 3, 4, calc.Layout{Mullions: []decimal.Decimal{mm(892.5)}, Lights: lights(calc.TiltTurnLeft, calc.FixedLight)})
	two.Opening.SillDepth = mm(150)
	two.Order.Place.Y, two.Order.SillPiece = mm(35), mm(30)
	two.Order.Figure.TopLeft.Y, two.Order.Figure.MidHead.Y, two.Order.Figure.TopRight.Y = mm(1225), mm(1225), mm(1225)
	out["two-sill"] = warned(glazed(t, two))

	three := calc.Layout{Mullions: []decimal.Decimal{mm(800), mm(1600)}, Transoms: []decimal.Decimal{mm(850), {}, mm(850)}}
	three.Lights = append(lights(calc.SideLeft, calc.FixedLight, calc.SideRight),
		calc.Light{Column: 0, Row: 1, Hinge: calc.TopHung}, calc.Light{Column: 2, Row: 1, Hinge: calc.TopHung})
	out["three-transoms"] = warned(glazed(t, byHand(2400, 1250, 3, 3, 5, three)))

	lean := warned(glazed(t, byHand(1180, 990, 10.4, 3, 3, calc.Layout{Lights: lights(calc.TopHung)})))
	lean.Opening.Rising, lean.Opening.Falling = mm(1570), mm(1554)
	lean.Packers.Places[1].Trouble = &calc.Reason{Rule: "wide_gap"}
	lean.Packers.Places[1].Stack = nil
	out["lean"] = lean

	out["tiny"] = glazed(t, byHand(400, 400, 0, 2, 2, calc.Layout{Lights: lights(calc.BottomHung)}))

	huge := calc.Layout{Mullions: []decimal.Decimal{mm(1100), mm(2200), mm(3300)}, Transoms: []decimal.Decimal{mm(1500), mm(1500), mm(1500), mm(1500)}}
	huge.Lights = lights(calc.SideLeft, calc.TiltTurnRight, calc.TiltTurnLeft, calc.SideRight)
	for i := range 4 {
		huge.Lights = append(huge.Lights, calc.Light{Column: i, Row: 1, Hinge: calc.FixedLight})
	}
	out["huge"] = warned(glazed(t, byHand(4400, 2100, 4, 5, 10, huge)))

	tall := calc.Layout{Transoms: []decimal.Decimal{mm(1700)}, Lights: []calc.Light{{Hinge: calc.SideRight}, {Row: 1, Hinge: calc.FixedLight}}}
	out["tall"] = warned(glazed(t, byHand(700, 2300, 2, 5, 2, tall)))

	plaster := glazed(t, byHand(1214, 1014, 2, 3, 3, calc.Layout{Lights: lights(calc.TiltTurnRight)}))
	plaster.Opening.Finish = calc.Plaster
	plaster.Order.Masonry = map[calc.Side]decimal.Decimal{calc.Left: mm(12), calc.Right: mm(12), calc.Head: mm(12), calc.Sill: {}}
	plaster.Order.Place.X = mm(0)
	f := &plaster.Order.Figure
	for _, pt := range []*calc.Point{&f.BottomLeft, &f.MidLeft, &f.TopLeft} {
		pt.X = pt.X.Add(mm(6))
	}
	for _, pt := range []*calc.Point{&f.BottomRight, &f.MidRight, &f.TopRight} {
		pt.X = pt.X.Sub(mm(19))
	}
	for _, pt := range []*calc.Point{&f.TopLeft, &f.MidHead, &f.TopRight} {
		pt.Y = pt.Y.Sub(mm(12))
	}
	out["plaster"] = warned(plaster)
	return out
}

var sides = []calc.Side{calc.Left, calc.Right, calc.Head, calc.Sill}
