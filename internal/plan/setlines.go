package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
)

// SetResultLines say how the frame stands on its packers, and what makes it true: what
// is out and by how much, which packers change, and how it stands then.
func SetResultLines(r calc.SetResult) []phrase.Text {
	lines := append(markedLines(r.Doubts), markedLines(r.Assumed)...)
	if r.True {
		lines = append(lines, phrase.Of("set.true").WithRow("reached", reached(r.Now, false)...))
		return append(lines, missingSet(r)...)
	}
	for _, v := range r.Now.Verdicts {
		if !v.Within {
			lines = append(lines, phrase.Of("arrival.wrong").Sub1("reason", markedText(v.Reason, ReasonText(v.Reason))))
		}
	}
	lines = append(lines, stanceLine(r.Now.Stance))
	lines = append(lines, cornerLines(r.Now.Corners)...)
	lines = append(lines, markedLines(r.Blocked)...)
	if len(r.Changes)+len(r.Moves) > 0 {
		lines = append(lines, phrase.Of("set.do").WithInt("count", len(r.Changes)+len(r.Moves)))
	}
	for i, c := range r.Changes {
		lines = append(lines, changeLine(i+1, c))
	}
	for i, m := range r.Moves {
		lines = append(lines, moveLine(len(r.Changes)+i+1, m))
	}
	if len(r.Changes)+len(r.Moves) > 0 {
		lines = append(lines, phrase.Of("set.then").WithRow("reached", reached(r.After, true)...))
	}
	return append(lines, missingSet(r)...)
}

// reached are the figures that a frame stands at, each in a word or two; of those to
// come only what is read by a level and a tape.
func reached(s calc.SetState, expected bool) []phrase.Text {
	var row []phrase.Text
	for _, v := range s.Verdicts {
		if !v.Read && !expected {
			continue
		}
		row = append(row, phrase.Of("set.reached").Word("member", "member."+string(v.What)).With("mm", v.Out))
	}
	return row
}

// stanceLine takes apart how the frame stands: turned, racked, twisted.
func stanceLine(s calc.Stance) phrase.Text {
	var row []phrase.Text
	way := func(key string, by decimal.Decimal, positive, negative string) {
		if by.IsZero() {
			return
		}
		to := positive
		if by.IsNegative() {
			to = negative
		}
		row = append(row, phrase.Of(key).With("by", by.Abs()).Word("way", to))
	}
	way("set.turned", s.Turned, "day.way.left_low", "day.way.right_low")
	way("set.racked", s.Racked, "day.way.top_right", "day.way.top_left")
	way("set.leans", s.Leans, "day.way.top_out", "day.way.top_in")
	if s.Twist.IsPositive() {
		row = append(row, phrase.Of("set.twist").With("by", s.Twist))
	}
	if len(row) == 0 {
		return phrase.Text{}
	}
	return phrase.Of("set.stance").WithRow("parts", row...)
}

// cornerLines are the corners that are out by a millimetre or more.
func cornerLines(corners [4]calc.CornerStand) []phrase.Text {
	var row []phrase.Text
	for _, c := range corners {
		var ways []phrase.Text
		for _, one := range []struct {
			by                 decimal.Decimal
			positive, negative calc.CornerTo
		}{{c.X, calc.CornerRight, calc.CornerLeft}, {c.Y, calc.CornerUp, calc.CornerDown}, {c.Z, calc.CornerOut, calc.CornerIn}} {
			to := one.positive
			if one.by.IsNegative() {
				to = one.negative
			}
			if one.by.Abs().GreaterThanOrEqual(decimal.NewFromInt(1)) {
				ways = append(ways, phrase.Of("set.way").With("mm", one.by.Abs()).Word("way", "day.cornerway."+string(to)))
			}
		}
		if len(ways) > 0 {
			row = append(row, phrase.Of("set.corner").Word("corner", "day.corner."+string(c.Corner)).WithRow("ways", ways...))
		}
	}
	if len(row) == 0 {
		return nil
	}
	return []phrase.Text{phrase.Of("set.corners").WithRow("corners", row...)}
}

// changeLine says which packers change, and by how much.
func changeLine(n int, c calc.Change) phrase.Text {
	key := "set.change"
	if c.Bed {
		key = "set.change.bed"
	}
	way := "set.add"
	if c.By < 0 {
		way = "set.take"
	}
	return phrase.Of(key).WithInt("n", n).Word("side", "side."+string(c.Side)).With("at", c.At).
		WithInt("from", total(c.From)).WithInt("to", total(c.To)).Sub1("way", phrase.Of(way).WithInt("mm", max(c.By, -c.By)))
}

func total(stack []int) int {
	sum := 0
	for _, piece := range stack {
		sum += piece
	}
	return sum
}

func moveLine(n int, m calc.Move) phrase.Text {
	key := "set.push"
	if m.By.IsNegative() {
		key = "set.pull"
	}
	return phrase.Of(key).WithInt("n", n).Word("side", "side."+string(m.Side)).With("at", m.At).With("mm", m.By.Abs())
}

// missingSet says what nobody read yet.
func missingSet(r calc.SetResult) []phrase.Text {
	if len(r.Missing) == 0 {
		return nil
	}
	var row []phrase.Text
	for _, what := range r.Missing {
		row = append(row, phrase.Of("member."+string(what)))
	}
	return []phrase.Text{phrase.Of("set.missing").WithRow("members", row...)}
}

// FixedLines say whether the screws or packers pulled the frame out of line, and which
// to ease.
func FixedLines(r calc.WidthResult) []phrase.Text {
	verdict := "set.wide"
	if !r.Within {
		verdict = "arrival.wrong"
	}
	lines := []phrase.Text{phrase.Of(verdict).Sub1("reason", markedText(r.Reason, ReasonText(r.Reason)))}
	for _, off := range r.Off {
		lines = append(lines, markedLines(off.Reasons)...)
		for i, e := range off.Eases {
			if e.Blocked != nil {
				lines = append(lines, ReasonText(*e.Blocked))
				continue
			}
			lines = append(lines, changeLine(i+1, e.Change))
		}
	}
	return lines
}

// standLines are how the frame stands on its packers after the last round, and whether
// the screws pulled it.
func (p Plan) standLines() []phrase.Text {
	var lines []phrase.Text
	if n := len(p.Set); n > 0 {
		lines = append(append(lines, phrase.Of("plan.set").WithInt("n", n)), SetResultLines(p.Set[n-1])...)
	}
	if p.Fixed != nil {
		lines = append(lines, FixedLines(*p.Fixed)...)
	}
	return lines
}
