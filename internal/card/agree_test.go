package card

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// shown are invented openings of the kinds that a fitter meets.
func shown() map[string]plan.Opening {
	d := func(n float64) *decimal.Decimal { x := mm(n); return &x }
	base := func(w, h float64, ls ...calc.Light) plan.Opening {
		return plan.Opening{
			Name: "Front bedroom", Nation: safety.England, Date: "2026-11-25", Finish: calc.Bare, Material: calc.PVCUWhite,
			Widths: [3]decimal.Decimal{mm(w), mm(w + 2), mm(w + 1)}, Heights: [3]decimal.Decimal{mm(h), mm(h + 1), mm(h + 2)},
			Layout: calc.Layout{Lights: ls}, Room: safety.Bedroom, AboveFloor: d(900), AboveOutside: d(1400), Panes: []decimal.Decimal{mm(4), mm(4)},
		}
	}
	out := map[string]plan.Opening{"one light": base(1204, 1006, lights(calc.SideLeft)...)}
	top := base(1804, 1206, lights(calc.SideLeft, calc.FixedLight)...)
	top.Layout.Lights = append(top.Layout.Lights, calc.Light{Column: 0, Row: 1, Hinge: calc.TopHung}, calc.Light{Column: 1, Row: 1, Hinge: calc.TopHung})
	top.SillDepth, top.Layout.Mullions, top.VentAreaNew = mm(150), []decimal.Decimal{mm(790)}, mm(4000)
	out["two with top lights"] = top
	lean := base(1204, 1006, lights(calc.TiltTurnRight)...)
	lean.Finish, lean.Rising, lean.Falling = calc.Plaster, mm(1575), mm(1566)
	out["plaster with lean"] = lean
	over := base(1204, 1006, lights(calc.SideLeft, calc.FixedLight)...)
	over.Finish, over.Inner = calc.Check, calc.Size{Width: mm(1262), Height: mm(1040)}
	out["overlap"] = over
	stop := base(1204, 1006, lights(calc.SideLeft)...)
	stop.NoLintel, stop.Bay = true, true
	out["stop"] = stop
	stop.Cleared = &opening.Cleared{Who: "A. Engineer (invented)", Capacity: "structural engineer", Day: "2026-11-20", Words: "Propped, the lintel goes in first."}
	out["cleared"] = stop
	low := base(1204, 1506, lights(calc.SideLeft, calc.FixedLight)...)
	low.AboveFloor, low.AboveOutside, low.Storey = d(300), nil, 1
	out["low glass upstairs"] = low
	three := base(2410, 1260, lights(calc.SideLeft, calc.TiltTurnRight, calc.FixedLight)...)
	three.AboveFloor, three.Material = nil, calc.PVCUColour
	out["three lights"] = three
	wrong := base(1204, 1006, lights(calc.SideLeft)...)
	wrong.Rising, wrong.Falling = mm(1570), mm(1620)
	out["readings that can't all be right"] = wrong
	return out
}

// made are the plans of all shown openings and of all in testdata/openings.json.
func made(t testing.TB) map[string]plan.Plan {
	out := map[string]plan.Plan{}
	for name, o := range shown() {
		p, err := plan.Make(o, calc.DefaultSettings())
		require.NoError(t, err, name)
		out[name] = p
	}
	raw, err := os.ReadFile("../../testdata/openings.json")
	require.NoError(t, err)
	require.NoError(t, plan.Read(bytes.NewReader(raw), func(plan.Job) error { return nil }, func(r plan.Record) error {
		o, err := r.Opening()
		require.NoError(t, err)
		if p, err := plan.Make(o, calc.DefaultSettings()); err == nil {
			out[fmt.Sprint("file ", r.Position)] = p
		}
		return nil
	}))
	require.Greater(t, len(out), len(shown())+3, "the file has openings")
	return out
}

// spoken says what the catalogue says, with no sentence of a test's own.
func spoken(t phrase.Text) string { return catalogue().Plain("en", t) }

var figures = regexp.MustCompile(`[0-9]+(?:\.[0-9]+)?`)

// text is the whole plan in words.
func text(p plan.Plan) string {
	var all []string
	for _, line := range p.TextLines() {
		all = append(all, spoken(line))
	}
	return strings.Join(all, "\n")
}

// tagsOn are the figures at the places of one side that have a mark of a kind, and
// what stands in their boxes.
func tagsOn(c *card, side calc.Side, mark string) (at []string, stacks map[string]string) {
	stacks = map[string]string{}
	words := map[string][]string{}
	for _, s := range c.Shapes {
		if rest, ok := strings.CutPrefix(s.Part, "tag "+string(side)+" "); ok && s.Kind == scene.Lettered {
			words[rest] = append(words[rest], s.Words)
		}
	}
	for _, s := range c.Shapes {
		rest, ok := strings.CutPrefix(s.Part, mark+" "+string(side)+" ")
		if !ok {
			continue
		}
		if w := words[rest]; len(w) > 0 && !slices.Contains(at, w[0]) {
			at = append(at, w[0])
		}
	}
	for _, w := range words {
		if len(w) > 1 {
			stacks[w[0]] = w[1]
		}
	}
	return at, stacks
}

// What the message says and what the card says of a window is the same: the size,
// each screw's and packer's place, how each light opens, where its blocks go, and
// what must be done or forbids to make it.
func TestTextAndCardAgree(t *testing.T) {
	for name, p := range made(t) {
		t.Run(name, func(t *testing.T) {
			c, err := drawn(p, Of{}, spoken)
			require.NoError(t, err)
			require.Zero(t, c.dropped)
			said, seen := text(p), c.allText()
			inText := figures.FindAllString(said, -1)
			for _, n := range []decimal.Decimal{p.Order.Size.Width, p.Order.Size.Height} {
				require.Contains(t, inText, n.String())
				require.Contains(t, figures.FindAllString(seen, -1), n.String())
			}
			agreePlaces(t, c, p, inText)
			agreeLights(t, c, p, said)
			agreeFindings(t, p, said, seen)
		})
	}
}

// The plans by hand of the layout's tests say the same places too.
func TestTextAndCardAgreeOnPlansByHand(t *testing.T) {
	for name, p := range samples(t) {
		t.Run(name, func(t *testing.T) {
			c, err := drawn(p, Of{}, spoken)
			require.NoError(t, err)
			agreePlaces(t, c, p, figures.FindAllString(text(p), -1))
		})
	}
}

func agreePlaces(t *testing.T, c *card, p plan.Plan, inText []string) {
	for _, side := range sides {
		screws, stacks := tagsOn(c, side, "screw")
		var want []string
		for _, f := range p.Fixings.Sides {
			for _, at := range f.At {
				if f.Side == side {
					want = append(want, at.String())
				}
			}
		}
		require.ElementsMatch(t, want, screws, "screws at the %s", side)
		for _, at := range screws {
			require.Contains(t, inText, at, "the card has a screw where the text has none")
		}
		for _, place := range p.Packers.Places {
			var stack []string
			for _, n := range place.Stack {
				stack = append(stack, strconv.Itoa(n))
			}
			if place.Side != side || len(stack) == 0 {
				continue
			}
			found := false
			for at, words := range stacks {
				near, err := decimal.NewFromString(at)
				require.NoError(t, err)
				found = found || near.Sub(place.At).Abs().LessThanOrEqual(mm(25)) && strings.TrimPrefix(words, "! ") == strings.Join(stack, "+")
			}
			require.True(t, found, "%s %s: %v is not on the card: %v", side, place.At, stack, stacks)
		}
	}
}

var corner = regexp.MustCompile(`(heel|toe) at the (bottom|top) (left|right)`)

// agreeLights compares how each light opens and where its heel and toe are.
func agreeLights(t *testing.T, c *card, p plan.Plan, said string) {
	seen := strings.ToLower(c.allText())
	for n, light := range p.Layout.Lights {
		opens, blocks := strings.ToLower(spoken(phrase.Of("button.light."+string(light.Hinge)))), spoken(phrase.Of("blocks."+string(light.Hinge)))
		require.Contains(t, strings.ToLower(said), opens)
		require.Contains(t, said, blocks)
		way := spoken(phrase.Of("card.light." + string(light.Hinge)))
		require.Contains(t, strings.Join(strings.Fields(seen), " "), strings.Fields(way)[0])
		require.Contains(t, way, opens, "another word on the card than in the text")
		var pane scene.Box
		for _, s := range c.Shapes {
			if s.Part == fmt.Sprint("light ", n+1) && s.Kind == scene.Filled && s.Ink == scene.Paper {
				pane = s.Box
			}
		}
		for _, m := range corner.FindAllStringSubmatch(blocks, -1) {
			for _, s := range c.Shapes {
				if !strings.HasPrefix(s.Part, fmt.Sprintf("block %d %s ", n+1, m[1])) {
					continue
				}
				x, y := s.X+s.W/2-pane.X-pane.W/2, s.Y+s.H/2-pane.Y-pane.H/2
				require.Equal(t, m[2] == "bottom", y > 0, "%s of light %d", m[1], n+1)
				require.Equal(t, m[3] == "right", x > 0, "%s of light %d", m[1], n+1)
			}
		}
	}
}

// agreeFindings compares what must be done, and what forbids to make the window.
func agreeFindings(t *testing.T, p plan.Plan, said, seen string) {
	flat := func(words string) string { return strings.Join(strings.Fields(words), " ") }
	voice := scene.NewVoice(spoken)
	for _, f := range p.Findings {
		words := flat(spoken(plan.FindingText(f)))
		switch {
		case f.Severity == safety.Stop, f.Severity == safety.Must:
			require.Contains(t, flat(said), words)
			require.Contains(t, flat(seen), flat(voice.Finding(f)), "not on the card")
		case scene.Lifts(f):
			require.Contains(t, flat(said), words)
			require.Contains(t, flat(seen), flat(voice.Finding(f)), "a lifted stop is printed")
		case f.Severity == safety.Clear:
			require.Contains(t, flat(seen), flat(spoken(phrase.Of("card.tick").Word("topic", "topic."+string(f.Topic)).Word("mark", "mark."+string(f.Mark)))),
				"a tick stands with how far it may be trusted")
		}
	}
	holds := p.Holds()
	require.Equal(t, len(holds) > 0, strings.Contains(seen, spoken(phrase.Of("card.stop"))))
	for _, h := range holds {
		require.Contains(t, flat(said), flat(spoken(h.Text)))
		require.Contains(t, flat(seen), flat(spoken(h.Text)))
	}
}
