package card

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// warning is one thing that the fitter has to know.
type warning struct {
	words string
	grave bool // something must be done
	kept  bool // it is never left to the message
}

// warningsOf are the warnings of this window: what the rules require, what they
// ask to be found out, what the arithmetic warns of, and what is advised. A
// sentence stands once. What stops the work stands over the drawing, and what holds for the
// whole job in the foot.
func warningsOf(p plan.Plan, v scene.Voice) []warning {
	var out []warning
	add := func(w warning) {
		if w.words != "" && !slices.ContainsFunc(out, func(o warning) bool { return o.words == w.words }) {
			out = append(out, w)
		}
	}
	findings := func(severity safety.Severity) {
		for _, f := range p.Findings {
			if f.Severity == severity && !scene.OfJob(f) && !scene.Lifts(f) {
				must := severity == safety.Must
				add(warning{said(f, p, v), must, must || severity == safety.Ask && forLife(f)})
			}
		}
	}
	findings(safety.Must)
	findings(safety.Ask)
	for _, r := range reasons(p) {
		add(warning{words: v.Say(plan.ReasonText(r))})
	}
	findings(safety.Advise)
	return out
}

// forLife tells whether somebody may fall, be buried or not get out by what a
// finding is about.
func forLife(f safety.Finding) bool {
	return f.Topic == safety.Guarding || f.Topic == safety.Structure || f.Topic == safety.Escape
}

// ofTheJob is what the rules say of the whole job: what must be done in full, the
// rest in one line by its name, for the message says it.
func ofTheJob(p plan.Plan, v scene.Voice) (must, more string) {
	var musts, rest []string
	for _, f := range p.Findings {
		switch {
		case !scene.OfJob(f) || f.Severity == safety.Stop || f.Severity == safety.Clear:
		case f.Severity == safety.Must:
			musts = append(musts, said(f, p, v))
		default:
			key := "topic." + string(f.Topic)
			if f.Topic == safety.Hazards {
				key = "card.hazards"
			}
			if name := v.Key(key); !slices.Contains(rest, name) {
				rest = append(rest, name)
			}
		}
	}
	if len(rest) > 0 {
		more = v.Say(phrase.Of("card.whole_job").Saying("topics", strings.Join(rest, ", ")))
	}
	return strings.Join(musts, " "), more
}

// ticks are what was looked at and needs nothing, each by its name and with how
// far it may be trusted. No message says them.
func ticks(p plan.Plan, v scene.Voice) string {
	var all []string
	for _, f := range p.Findings {
		if f.Severity != safety.Clear {
			continue
		}
		tick := v.Say(phrase.Of("card.tick").Word("topic", "topic."+string(f.Topic)).Word("mark", "mark."+string(f.Mark)))
		if !slices.Contains(all, tick) {
			all = append(all, tick)
		}
	}
	if len(all) == 0 {
		return ""
	}
	return v.Say(phrase.Of("card.ticks").Saying("ticks", strings.Join(all, ", ")))
}

// said is a finding in words with the lights that it is about, and how far it may
// be trusted where that is less than what was read.
func said(f safety.Finding, p plan.Plan, v scene.Voice) string {
	words := v.About(f.Lights, p.Layout) + v.Finding(f)
	if f.Mark == "" || f.Mark == calc.Read || f.Mark == calc.Derived {
		return words
	}
	return words + " " + v.Say(phrase.Of("card.mark").Word("mark", "mark."+string(f.Mark)))
}

// reasons are the warnings of the arithmetic: the size, the screws, the
// packers. What forbids to make the window stands over the drawing.
func reasons(p plan.Plan) []calc.Reason {
	holds := p.Holds()
	out := slices.DeleteFunc(slices.Clone(p.Order.Warnings), func(r calc.Reason) bool {
		return slices.ContainsFunc(holds, func(h plan.Hold) bool { return h.Finding == nil && h.Rule == r.Rule })
	})
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
		return bold(2.9)
	}
	return regular(2.9)
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

// mostGrave bounds how much taller than the tallest a card becomes for what is
// never left to the message.
const mostGrave = 140.0

// graveHeight is the height that the warnings up to the last that is never left to
// the message take with their title, and the words that say there are more.
func graveHeight(warnings []warning, rest part) float64 {
	last := -1
	for i, w := range warnings {
		if w.kept {
			last = i
		}
	}
	if last < 0 {
		return 0
	}
	return warningsHeight(warnings[:last+1]) + rest.font.Height(rest.lines)
}

// drawWarnings writes as many warnings as fit above bottom and says how many
// more there are. The first is always begun.
func (c *card) drawWarnings(warnings []warning, bottom float64) {
	if c.dropped > 0 {
		warnings = append(warnings, warning{words: c.Key("card.not_all_places")})
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
	c.Text(strconv.Itoa(number)+".", bold(2.9), b, scene.Black)
	b.X, b.W = b.X+numberWidth, b.W-numberWidth
	c.y += c.Lines(lines, f, b, scene.Black) + warningGap
}
