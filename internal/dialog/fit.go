package dialog

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// lowestGlass is the least height of glass above a floor, but for 0: whatever is
// less is a floor's number or a pane.
var lowestGlass = decimal.NewFromInt(20)

// unfit refuses a length that can't be beside those already given.
func (t *turn) unfit(a *opening.Known, q *question, value decimal.Decimal) *phrase.Text {
	switch q.Key {
	case "diagonal.rising", "diagonal.falling":
		longest := decimal.Zero
		for _, key := range append(opening.Widths[:], opening.Heights[:]...) {
			longest = decimal.Max(longest, a.Number(key))
		}
		if value.LessThanOrEqual(longest) {
			return sorry(phrase.Of("fail.diagonal").With("mm", value).With("longest", longest))
		}
	case "floor", "outside":
		if value.IsPositive() && value.LessThan(lowestGlass) {
			return sorry(phrase.Of("fail.low").With("mm", value))
		}
	case "inner.width":
		return behind(value, a, opening.Widths)
	case "inner.height":
		return behind(value, a, opening.Heights)
	}
	return t.misplaced(a, q, value)
}

// behind refuses an opening behind the overlap that is smaller than the one
// in front of it.
func behind(value decimal.Decimal, a *opening.Known, keys [3]string) *phrase.Text {
	smallest := decimal.Min(a.Number(keys[0]), a.Number(keys[1]), a.Number(keys[2]))
	if value.GreaterThan(smallest) {
		return nil
	}
	return sorry(phrase.Of("fail.inner").With("mm", value).With("outer", smallest))
}

// misplaced refuses a mullion or transom that can't stand where it is said to
// be.
func (t *turn) misplaced(a *opening.Known, q *question, value decimal.Decimal) *phrase.Text {
	name, n := q.Name, q.N
	if name != "mullion" && name != "transom" {
		return nil
	}
	order, err := t.order(a)
	if err != nil {
		return nil // said when the order was worked out
	}
	least, most := decimal.NewFromInt(150), order.Size.Width
	if name == "transom" {
		most = order.Size.Height
	}
	if n > 1 && a.Given(opening.Nth("mullion", n-1)) {
		least = a.Number(opening.Nth("mullion", n-1)).Add(least)
	}
	most = most.Sub(decimal.NewFromInt(150))
	if value.LessThan(least) || value.GreaterThan(most) {
		return sorry(phrase.Of("fail.bar").Sub1("name", tell.Name(q.Key)).With("mm", value).With("least", least).With("most", most))
	}
	return nil
}
