package card

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// every draws each shown opening, each of the file, and each sample.
func every(t testing.TB) map[string]*card {
	out := map[string]*card{}
	plans := made(t)
	for name, p := range samples(t) {
		plans["sample "+name] = p
	}
	for name, p := range plans {
		c, err := drawn(p, Of{Job: "YJGRRX, Invented Row", Glass: "4-20-4"}, spoken)
		require.NoError(t, err, name)
		out[name] = c
	}
	return out
}

// White words on black are kept for what forbids to make the window: nothing else
// may look as grave.
func TestOnlyAStopIsWhiteOnBlack(t *testing.T) {
	stops := 0
	for name, p := range made(t) {
		c, err := drawn(p, Of{}, spoken)
		require.NoError(t, err)
		white := false
		for _, s := range c.Shapes {
			white = white || s.Kind == scene.Lettered && s.Ink == scene.Paper
			bar := s.Kind == scene.Filled && s.Ink == scene.Black && s.W > cardWidth/2
			require.False(t, bar && len(p.Holds()) == 0, "%s: a black bar", name)
		}
		require.Equal(t, len(p.Holds()) > 0, white, name)
		if white {
			stops++
		}
	}
	require.Greater(t, stops, 1, "a stop, and readings that can't all be right")
}

// Seven points are the least that is read on paper at arm's length (common
// practice, no source): 2.47 mm.
func TestNoTypeOnACardIsUnderSevenPoints(t *testing.T) {
	for name, c := range every(t) {
		for _, s := range c.Shapes {
			require.False(t, s.Kind == scene.Lettered && s.Font.Size < 7*scene.Point2mm, "%s: %q", name, s.Words)
		}
	}
}

var (
	endsInFigure = regexp.MustCompile(`[0-9×]$`)
	beginsInUnit = regexp.MustCompile(`^(mm²?|m²?|kg|W/m²K|mg/m³|×)([ .,;:)]|$)`)
	isoDate      = regexp.MustCompile(`\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b`)
)

func TestNoLineEndsBetweenAFigureAndItsUnit(t *testing.T) {
	for name, c := range every(t) {
		before := ""
		for _, s := range c.Shapes {
			if s.Kind != scene.Lettered {
				continue
			}
			require.False(t, endsInFigure.MatchString(before) && beginsInUnit.MatchString(s.Words), "%s: %q | %q", name, before, s.Words)
			require.NotRegexp(t, isoDate, s.Words, "%s: days have one form", name)
			before = s.Words
		}
	}
}

// The viewing side stands in bold under the drawing, once.
func TestTheViewingSideStandsUnderTheDrawing(t *testing.T) {
	words := spoken(phrase.Of("card.seen_from_outside"))
	for name, c := range every(t) {
		lowest, at, n := 0.0, 0.0, 0
		for _, s := range c.Shapes {
			if strings.HasPrefix(s.Part, "tag ") || s.Part == "frame" || s.Part == "wall" {
				lowest = max(lowest, s.Bottom())
			}
			if s.Words == words {
				n, at = n+1, s.Y
				require.Equal(t, bold(1).Weight, s.Font.Weight)
			}
		}
		require.Equal(t, 1, n, name)
		require.Greater(t, at, lowest-0.5, name)
	}
}

// Distances run on from a marked corner, and the far corner has its figure: the
// whole width at the head, the whole height at the left (ISO 129-1, from memory).
// The middle of each bar is among them, with a sill piece and without.
func TestDistancesRunOnFromAMarkedCorner(t *testing.T) {
	for name, p := range made(t) {
		c, err := drawn(p, Of{}, spoken)
		require.NoError(t, err)
		on := map[calc.Side]string{}
		origins := map[calc.Side]bool{}
		for _, s := range c.Shapes {
			for _, side := range sides {
				if strings.HasPrefix(s.Part, "tag "+string(side)+" ") && s.Kind == scene.Lettered {
					on[side] += s.Words + " "
				}
				origins[side] = origins[side] || strings.HasPrefix(s.Part, "origin "+string(side)+" ") && s.Kind == scene.Disc
			}
		}
		for _, side := range sides {
			require.True(t, origins[side], "%s: no origin at the %s", name, side)
		}
		require.Contains(t, on[calc.Head], p.Order.Size.Width.String()+" ", name)
		require.Contains(t, on[calc.Left], p.Order.Size.Height.String()+" ", name)
		for _, m := range p.Layout.Mullions {
			require.Contains(t, on[calc.Head], m.String()+" ", name)
		}
		for _, at := range p.Layout.Transoms {
			require.True(t, at.IsZero() || strings.Contains(on[calc.Left]+on[calc.Right], at.String()+" "), name)
		}
	}
}

// What carries is solid, what only keeps a distance is hollow: packers and blocks
// alike. Each block has its letter, or shares that of its fellow beside it.
func TestWhatCarriesIsSolid(t *testing.T) {
	p := made(t)["three lights"]
	c, err := drawn(p, Of{}, spoken)
	require.NoError(t, err)
	hollow := map[string]bool{}
	for _, s := range c.Shapes {
		if strings.HasPrefix(s.Part, "packer ") {
			hollow[s.Part] = hollow[s.Part] || s.Ink == scene.Paper
		}
	}
	for _, place := range p.Packers.Places {
		part := "packer " + string(place.Side) + " " + place.At.String()
		got, drawn := hollow[part]
		require.True(t, drawn, part)
		require.Equal(t, !place.Bed, got, part)
	}
	require.Contains(t, c.allText(), spoken(phrase.Of("card.legend.bed")))
	letters := map[string]int{}
	for _, s := range c.Shapes {
		if strings.HasPrefix(s.Part, "block ") && s.Kind == scene.Lettered {
			letters[strings.Join(strings.Fields(s.Part)[:3], " ")]++
		}
	}
	require.Equal(t, map[string]int{"block 1 heel": 2, "block 1 toe": 2, "block 2 heel": 2, "block 2 toe": 2, "block 3 setting": 2}, letters)
}

// A light that is large enough says in itself how it opens.
func TestALargeLightSaysInItselfHowItOpens(t *testing.T) {
	for _, name := range []string{"one light", "stop", "cleared", "plaster with lean"} {
		p := made(t)[name]
		c, err := drawn(p, Of{}, spoken)
		require.NoError(t, err)
		var pane scene.Box
		inside := ""
		for _, s := range c.Shapes {
			if s.Part == "light 1" && s.Kind == scene.Filled && s.Ink == scene.Paper {
				pane = s.Box
			}
			if s.Kind == scene.Lettered && s.Box.In(pane) && s.Part == "" {
				inside += s.Words + " "
			}
		}
		require.Equal(t, scene.NewVoice(spoken).Way(p.Layout.Lights[0].Hinge)+" ", inside, name)
	}
}

func TestJobWindowGlassAndSafetyMarkStandOnTheCard(t *testing.T) {
	o := shown()["low glass upstairs"]
	p, err := plan.Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	c, err := drawn(p, Of{Job: "YJGRRX, Invented Row", Glass: "4-20-4"}, spoken)
	require.NoError(t, err)
	words := strings.Join(strings.Fields(c.allText()), " ")
	for _, want := range []string{"Job YJGRRX, Invented Row", "Front bedroom", "Glass 4-20-4", "inner sheet safety glass, class 3", "25 November 2026"} {
		require.Contains(t, words, want)
	}
	c = every(t)["two with top lights"]
	require.Contains(t, c.allText(), "With the sill piece, 150 mm deep: 1794 × 1196 mm")
	require.Contains(t, c.allText(), "New vents 4000 mm² equivalent area")
}

// What holds for the whole house takes no place among the warnings of the window,
// and what somebody may fall or not get out by is never left to the message.
func TestTheParticularStandsBeforeTheGeneral(t *testing.T) {
	p := made(t)["low glass upstairs"]
	for _, w := range warningsOf(p, scene.NewVoice(spoken)) {
		for _, f := range p.Findings {
			require.False(t, scene.OfJob(f) && strings.Contains(w.words, spoken(plan.FindingText(f))), w.words)
		}
	}
	p.Order.Warnings = nil
	for range 40 {
		p.Findings = append(p.Findings, safety.Finding{Rule: "unknown_rule_advised", Severity: safety.Advise})
	}
	c, err := drawn(p, Of{}, spoken)
	require.NoError(t, err)
	kept := 0
	for _, f := range p.Findings {
		if f.Severity == safety.Ask && forLife(f) {
			kept++
			require.Contains(t, strings.Join(strings.Fields(c.allText()), " "), spoken(plan.FindingText(f)))
		}
	}
	require.Positive(t, kept)
	require.Contains(t, c.allText(), "For the whole job, in the message:")
}
