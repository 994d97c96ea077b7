package card

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/typeface"
)

// warning is one thing that the fitter has to know.
type warning struct {
	words string
	grave bool // something must be done, or the work stops
}

// warningsOf are the plan's warnings, what stops the work first, then what the
// rules require, then what the arithmetic warns of, then the rest. A sentence
// stands once.
func warningsOf(p plan.Plan, say func(phrase.Text) string) []warning {
	var out []warning
	add := func(words string, grave bool) {
		if words != "" && !slices.ContainsFunc(out, func(w warning) bool { return w.words == words }) {
			out = append(out, warning{words, grave})
		}
	}
	findings := func(grave bool, severity safety.Severity) {
		for _, f := range p.Findings {
			if f.Severity == severity {
				add(aboutLights(p, f.Lights, say)+say(plan.FindingText(f)), grave)
			}
		}
	}
	findings(true, safety.Stop)
	findings(true, safety.Must)
	for _, r := range reasons(p) {
		add(say(plan.ReasonText(r)), false)
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

// aboutLights names the lights that a finding is about, where there are
// several.
func aboutLights(p plan.Plan, lights []int, say func(phrase.Text) string) string {
	if len(lights) == 0 || len(p.Layout.Lights) < 2 {
		return ""
	}
	numbers := make([]string, len(lights))
	for i, n := range lights {
		numbers[i] = strconv.Itoa(n + 1)
	}
	return say(phrase.Of("card.about_lights").Saying("numbers", strings.Join(numbers, ", "))) + " "
}

const (
	numberWidth = 58
	warningGap  = 8
)

func (w warning) face() *typeface.Face {
	if w.grave {
		return typeface.At(typeface.Bold, 28)
	}
	return typeface.At(typeface.Regular, 28)
}

func (w warning) lines() []string {
	return wrap(w.face(), w.words, cardWidth-2*margin-numberWidth)
}

// warningsHeight is the height that all of the warnings take.
func warningsHeight(warnings []warning) int {
	if len(warnings) == 0 {
		return 0
	}
	total := 80
	for _, w := range warnings {
		total += len(w.lines())*lineHeight(w.face()) + warningGap
	}
	return total
}

// mostGrave bounds how much taller than the tallest a card becomes for what
// must be done.
const mostGrave = 1400

// graveHeight is the height that the warnings of what must be done take with
// their title, and the words that say there are more.
func graveHeight(warnings []warning, rest []string) int {
	grave := slices.DeleteFunc(slices.Clone(warnings), func(w warning) bool { return !w.grave })
	if len(grave) == 0 {
		return 0
	}
	return warningsHeight(grave) + len(rest)*lineHeight(moreFace())
}

// drawWarnings writes as many warnings as fit above bottom and says how many
// more there are. The first is always begun.
func (s *sheet) drawWarnings(warnings []warning, bottom int) {
	if s.dropped > 0 {
		warnings = append(warnings, warning{s.sayKey("card.not_all_places"), false})
	}
	if len(warnings) == 0 {
		return
	}
	s.y += 14
	s.dashes(point{margin, float64(s.y)}, point{cardWidth - margin, float64(s.y)}, 3, black)
	s.y += 8
	s.paragraph(s.sayKey("card.warnings"), typeface.Bold, 34)
	for i, w := range warnings {
		rest := s.rest(len(warnings) - i - 1)
		lines := w.lines()
		room := (bottom - s.y - warningGap - len(rest)*lineHeight(moreFace())) / lineHeight(w.face())
		if i == 0 {
			lines = shorten(lines, max(1, room))
		} else if len(lines) > room {
			s.lines(s.rest(len(warnings)-i), moreFace(), black)
			return
		}
		s.drawWarning(i+1, lines, w.face())
	}
}

func moreFace() *typeface.Face { return typeface.At(typeface.Bold, 28) }

// rest says that the message has n more warnings.
func (s *sheet) rest(n int) []string {
	if n == 0 {
		return nil
	}
	return wrap(moreFace(), s.say(phrase.Of("card.more").WithInt("count", n)), cardWidth-2*margin)
}

func (s *sheet) drawWarning(number int, lines []string, f *typeface.Face) {
	s.text(strconv.Itoa(number)+".", typeface.At(typeface.Bold, 28), margin, s.y, black)
	for _, line := range lines {
		s.text(line, f, margin+numberWidth, s.y, black)
		s.y += lineHeight(f)
	}
	s.y += warningGap
}
