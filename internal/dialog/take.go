package dialog

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// takeBefore takes over what the window before has; false when there is
// nothing to take over.
func (t *turn) takeBefore(q *question) bool {
	list := t.asBefore(q)
	for _, ans := range list {
		q := find(ans.Key)
		if ans.Value == skipped {
			t.skip(q)
			continue
		}
		t.accept(q, ans)
		t.echo(q, q.stored(ans.Value))
	}
	return list != nil
}

// skip passes the question over and says what that means.
func (t *turn) skip(q *question) {
	q = find(passedOver(q.Key))
	t.accept(q, Answer{Key: q.Key, Value: skipped})
	if !t.refused {
		t.say(skippedText(q))
	}
}

// passedOver is the question that is skipped with key: one way of the opening
// behind says nothing by itself.
func passedOver(key opening.Key) opening.Key {
	if key == "inner.height" {
		return "inner.width"
	}
	return key
}

// skippedText says what it means that a question was passed over.
func skippedText(q *question) phrase.Text {
	if q.Key == "diagonal.falling" { // one diagonal by itself says nothing
		q = find("diagonal.rising")
	}
	if q.is(opening.Maker) {
		return phrase.Of("item.skipped").Sub1("name", tell.Name(q.Key))
	}
	return phrase.Of("skipped." + q.Name)
}

// accept records an answer and what hangs on it.
func (t *turn) accept(q *question, ans Answer) {
	a := t.answers()
	before, again := a.Value(q.Key), a.Has(q.Key)
	remeasured := q.Kind == opening.Length && before != skipped && ans.Value != skipped
	var falls []opening.Entry
	if again && before != ans.Value && !remeasured {
		falls = t.clears(q.Voids...)
	}
	if !again && ans.Value == "yes" && (q.Key == "cracks" || q.Key == "bowed") { // seen since
		falls = t.clears(q.Voids...)
	}
	t.record(ans, falls...)
	t.measured = t.measured || q.is(opening.Reading)
	// One diagonal by itself changes nothing.
	t.ordered = t.ordered || q.is(opening.Sizes) && (q.Key != "diagonal.rising" || ans.Value == skipped || t.taken().Has("diagonal.falling"))
	if t.Asking == q.Key {
		t.Asking = t.fellowOf(t.taken(), q.Key)
	}
	t.Change = ""
}

// echo says what was taken; what was refused is not.
func (t *turn) echo(q *question, value phrase.Text) {
	if t.refused {
		return
	}
	t.say(phrase.Of("echo").Sub1("name", tell.Name(q.Key)).Sub1("value", value))
}

// sayTight says when there is nothing over that could be moved to a side.
func (t *turn) sayTight() {
	o := t.answers().Opening()
	tight, err := plan.Make(o, calc.DefaultSettings())
	o.TightTo = ""
	middle, err2 := plan.Make(o, calc.DefaultSettings())
	if err == nil && err2 == nil && tight.Order.Place.X.Equal(middle.Order.Place.X) {
		t.say(phrase.Of("tight.nothing"))
	}
}

func (t *turn) noFloor(q *question, text string) *phrase.Text {
	return sorry(phrase.Of("fail.storey").Saying("given", cut(text)))
}

// length takes one length for the question from the front of text.
func (t *turn) length(q *question, text string) (reading.Length, string, error) {
	return hear.Figure(text, q.Usual, t.Unit)
}

// figureOf is a stored figure; zero for what is none.
func figureOf(value string) decimal.Decimal {
	if d := decimalOf(value); d != nil {
		return *d
	}
	return decimal.Zero
}

// store records values and says them back; false when one was refused. Then
// those after it were not taken, and it says which.
func (t *turn) store(list []hear.Value) bool {
	before := t.taken()
	var done []hear.Value
	for i, v := range list {
		if v.Value == skipped {
			v.Key = passedOver(v.Key)
		}
		q := find(v.Key)
		if q.Kind == opening.Length && v.Value != skipped {
			if trouble := t.unfit(t.taken(), q, figureOf(v.Value)); trouble != nil {
				t.echoAll(done)
				t.say(*trouble)
				if i+1 < len(list) {
					t.say(phrase.Of("rest.unread").Saying("rest", cut(typedOf(list[i+1:]))))
				}
				return false
			}
		}
		t.accept(q, Answer{Key: v.Key, Value: v.Value, Typed: typedIf(v)})
		if q.Key == "tight" && v.Value != "middle" && !t.refused {
			t.sayTight()
		}
		done = append(done, v)
	}
	t.echoAll(done)
	if !t.refused && slices.ContainsFunc(list, movedWall) {
		t.say(phrase.Of("wall.stop"))
	}
	t.sayFallen(before, list)
	t.checkLean(list)
	return true
}

// movedWall says whether it was seen that the wall over the opening moves.
func movedWall(v hear.Value) bool {
	return v.Value == "yes" && (v.Key == "cracks" || v.Key == "bowed")
}

// checkLean proposes to exchange the diagonals where they show the opposite of the lean
// that was just said: exchanged they fit as well, and nothing else shows it.
func (t *turn) checkLean(list []hear.Value) {
	a := t.answers()
	said := a.Value("lean")
	if !slices.ContainsFunc(list, func(v hear.Value) bool { return v.Key == "lean" }) || said != "left" && said != "right" {
		return
	}
	f, err := calc.Survey(a.Readings())
	if err != nil || f.Lean.IsZero() || (said == "right") == f.Lean.IsPositive() {
		return
	}
	t.hold(&hear.Held{Why: hear.Exchanged, Ways: [][]hear.Value{{
		{Key: "diagonal.rising", Value: a.Value("diagonal.falling")},
		{Key: "diagonal.falling", Value: a.Value("diagonal.rising")},
		{Key: "lean", Value: said},
	}}})
}

// sayFallen says which answers fell with what was stored. Lights and bars fall
// with the layout, and are asked anew.
func (t *turn) sayFallen(before *opening.Known, list []hear.Value) {
	if slices.ContainsFunc(list, func(v hear.Value) bool { return v.Key == "layout" }) {
		return
	}
	sayLost(t, before.Lost(t.taken()))
}

// sayLost says which answers fell: those that are asked again, and what lifted a stop.
func sayLost(t *turn, lost []string) {
	if slices.Contains(lost, "cleared") {
		t.say(phrase.Of("cleared.fell"))
	}
	lost = slices.DeleteFunc(slices.Clone(lost), func(key opening.Key) bool { return find(key).is(opening.ByCommand) || find(key).is(opening.OnRequest) })
	if len(lost) == 0 {
		return
	}
	var names []phrase.Text
	for _, key := range slices.Compact(slices.Sorted(slices.Values(lost))) {
		names = append(names, tell.Name(key))
	}
	t.say(phrase.Of("change.dropped").WithRow("names", names...))
}

// typedIf is what was typed, if that says more than the value.
func typedIf(v hear.Value) string {
	if typed := cut(v.Typed); typed != v.Value {
		return typed
	}
	return ""
}

func typedOf(list []hear.Value) string {
	var all []string
	for _, v := range list {
		if len(all) == 0 || all[len(all)-1] != v.Typed {
			all = append(all, v.Typed)
		}
	}
	return strings.Join(all, ", ")
}

// echoAll says back what was taken, in one line a group of fields.
func (t *turn) echoAll(list []hear.Value) {
	if t.refused {
		return
	}
	if len(list) > mostSingly {
		list = t.understood(list)
	}
	for len(list) > 0 {
		change := find(list[0].Key).Change
		n := 1
		for n < len(list) && find(list[n].Key).Change == change {
			n++
		}
		if list[0].Value == skipped {
			t.say(skippedText(find(list[0].Key)))
			list = list[1:]
			continue
		}
		if fellows := opening.Fellows(change); n < 2 || anySkipped(list[:n]) || n != len(fellows) || find(list[0].Key).Kind != opening.Length {
			t.echo(find(list[0].Key), t.valueOf(list[0]))
			list = list[1:]
			continue
		}
		slices.SortFunc(list[:n], func(a, b hear.Value) int { return opening.Order(a.Key, b.Key) })
		var row []phrase.Text
		for _, v := range list[:n] {
			row = append(row, t.valueOf(v))
		}
		t.say(phrase.Of("echo").Sub1("name", phrase.Of("button.change."+change)).WithRow("value", row...))
		list = list[n:]
	}
}

// mostSingly is how many values are said back one by one.
const mostSingly = 4

// understood says all in one line but what was passed over and the readings,
// which it gives back.
func (t *turn) understood(list []hear.Value) (rest []hear.Value) {
	var row []phrase.Text
	for _, v := range list {
		if q := find(v.Key); v.Value == skipped || q.is(opening.Reading) {
			rest = append(rest, v)
			continue
		}
		row = append(row, nameAndValue(v.Key, t.valueOf(v)))
	}
	if len(row) > 0 {
		t.say(phrase.Of("understood").WithRow("values", row...))
	}
	return rest
}

func anySkipped(list []hear.Value) bool {
	return slices.ContainsFunc(list, func(v hear.Value) bool { return v.Value == skipped })
}

// valueOf is a value in words, with what was typed when that was another unit.
func (t *turn) valueOf(v hear.Value) phrase.Text {
	q := find(v.Key)
	if v.Other {
		return phrase.Of("length.from").With("mm", figureOf(v.Value).Round(1)).Saying("given", cut(v.Typed))
	}
	return q.stored(v.Value)
}

// sayAgain says that it was known already.
func (t *turn) sayAgain(list []hear.Value) {
	var row []phrase.Text
	for _, v := range list {
		row = append(row, nameAndValue(v.Key, find(v.Key).stored(v.Value)))
	}
	t.say(phrase.Of("again").WithRow("values", row...))
}
