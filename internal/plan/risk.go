package plan

import (
	"math"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// riskLines are how likely it is that the frame has less room than it should, and what
// would lower that most. It is worked out for people alone: no figure of a plan hangs
// on it.
func (p Plan) riskLines() []phrase.Text {
	risk, ok := calc.RiskOf(p.Order, p.Opening.Readings())
	if !ok {
		return nil
	}
	lines := []phrase.Text{phrase.Of("plan.risk").Sub1("four", chance(risk.Under4)).Sub1("two", chance(risk.Under2))}
	if risk.Next != "" {
		lines = append(lines, phrase.Of("plan.risk.next").Word("reading", "reading."+risk.Next))
	}
	return lines
}

// chance is a probability in words.
func chance(p float64) phrase.Text {
	n := int(math.Round(100 * p))
	if n == 0 {
		return phrase.Of("chance.rare")
	}
	return phrase.Of("chance").WithInt("n", n)
}
