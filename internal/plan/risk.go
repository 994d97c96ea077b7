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
	if next := risk.Next(); next != "" {
		lines = append(lines, phrase.Of("plan.risk.next").Word("reading", "reading."+next))
	}
	return lines
}

func in100(p float64) int { return int(math.Round(100 * p)) }

// chance is a probability in words.
func chance(p float64) phrase.Text {
	n := in100(p)
	if n == 0 {
		return phrase.Of("chance.rare")
	}
	return phrase.Of("chance").WithInt("n", n)
}
