package card

import (
	"slices"
	"strconv"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// warning is one thing that the fitter has to know.
type warning struct {
	words string
	grave bool // something must be done, or the work stops
}

// warningsOf are the plan's warnings, what stops the work first, then what the
// rules require, then what the arithmetic warns of, then the rest. A sentence
// stands once.
func warningsOf(p plan.Plan, v scene.Voice) []warning {
	var out []warning
	add := func(words string, grave bool) {
		if words != "" && !slices.ContainsFunc(out, func(w warning) bool { return w.words == words }) {
			out = append(out, warning{words, grave})
		}
	}
	findings := func(grave bool, severity safety.Severity) {
		for _, f := range p.Findings {
			if f.Severity == severity {
				add(v.About(f.Lights, p.Layout)+v.Say(plan.FindingText(f)), grave)
			}
		}
	}
	findings(true, safety.Stop)
	findings(true, safety.Must)
	for _, r := range reasons(p) {
		add(v.Say(plan.ReasonText(r)), false)
	}
	findings(false, safety.Ask)
	findings(false, safety.Advise)
	return out
}

// reasons are the warnings of the arithmetic: the size, the screws, the
// packers.
func reasons(p plan.Plan) []calc.Reason {
	out := slices.Clone(p.Order.Warnings)
	for _, side := range p.Fixings.Sides {
		out = append(out, side.Shortfall...)
	}
	return append(out, p.NewTroubles()...)
}

const (
	numberWidth = 5.8
	warningGap  = 0.8
)

func (w warning) font() scene.Font {
	if w.grave {
		return bold(2.8)
	}
	return regular(2.8)
}

func (w warning) lines() []string { return w.font().Wrap(w.words, width-numberWidth) }

func (w warning) height() float64 { return w.font().Height(w.lines()) + warningGap }

// warningsHeight is the height that all of the warnings take.
func warningsHeight(warnings []warning) float64 {
	if len(warnings) == 0 {
		return 0
	}
	total := 8.0
	for _, w := range warnings {
		total += w.height()
	}
	return total
}

// mostGrave bounds how much taller than the tallest a card becomes for what
// must be done.
const mostGrave = 140.0

// graveHeight is the height that the warnings of what must be done take with
// their title, and the words that say there are more.
func graveHeight(warnings []warning, rest part) float64 {
	grave := slices.DeleteFunc(slices.Clone(warnings), func(w warning) bool { return !w.grave })
	if len(grave) == 0 {
		return 0
	}
	return warningsHeight(grave) + rest.font.Height(rest.lines)
}

// drawWarnings writes as many warnings as fit above bottom and says how many
// more there are. The first is always begun.
func (c *card) drawWarnings(warnings []warning, bottom float64) {
	if c.dropped > 0 {
		warnings = append(warnings, warning{c.Key("card.not_all_places"), false})
	}
	if len(warnings) == 0 {
		return
	}
	c.rule()
	c.paragraph(c.Key("card.warnings"), bold(3.4))
	for i, w := range warnings {
		rest, lines := c.rest(len(warnings)-i-1), w.lines()
		room := int((bottom - c.y - warningGap - rest.font.Height(rest.lines)) / w.font().Line())
		if i == 0 {
			lines = shorten(lines, max(1, room))
		} else if len(lines) > room {
			rest = c.rest(len(warnings) - i)
			c.lines(rest.lines, rest.font)
			return
		}
		c.drawWarning(i+1, lines, w.font())
	}
}

// shorten keeps at most n lines and marks the cut.
func shorten(lines []string, n int) []string {
	if len(lines) <= n {
		return lines
	}
	last := []rune(lines[n-1])
	return append(lines[:n-1:n-1], string(last[:len(last)-min(2, len(last))])+"…")
}

// rest says that the message has n more warnings.
func (c *card) rest(n int) part {
	if n == 0 {
		return part{}
	}
	return wrapped(c.Say(phrase.Of("card.more").WithInt("count", n)), bold(2.8))
}

func (c *card) drawWarning(number int, lines []string, f scene.Font) {
	b := scene.Box{X: margin, Y: c.y, W: width}
	c.Text(strconv.Itoa(number)+".", bold(2.8), b, scene.Black)
	b.X, b.W = b.X+numberWidth, b.W-numberWidth
	c.y += c.Lines(lines, f, b, scene.Black) + warningGap
}
