package dialog

import (
	"errors"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// question looks whether a reading just recorded goes with its fellows, and with all.
// Each doubt is asked about when it comes up; until it is confirmed it stays in what is
// known, see opening.Known.Doubted.
func (t *turn) question(key string) {
	own := t.own()
	if isReading(key) && t.Proposed == nil && own.AllGiven() {
		if _, err := calc.Survey(own.Readings()); err != nil {
			t.Doubt = t.impossible(err, own)
			return
		}
	}
	if !opening.Find(key).Questions() {
		return
	}
	for _, d := range t.doubts() {
		ofAll := d.Why == opening.FigureDoubt || d.Why == opening.ExchangedDoubt
		if ofAll && isReading(key) && t.Proposed == nil || !ofAll && opening.Find(d.Key).Change == opening.Find(key).Change {
			t.doubt(d)
			return
		}
	}
}

// doubt opens a doubt: readings that seem to be each other's are proposed the other way
// round.
func (t *turn) doubt(d opening.Doubt) {
	if d.Why == opening.ExchangedDoubt {
		t.hold(&hear.Held{Why: hear.Exchanged, Ways: [][]hear.Value{{
			{Key: d.Key, Value: d.Closes.String()}, {Key: d.With, Value: d.Now.String()},
		}}})
		return
	}
	t.Doubt = &Doubt{Key: d.Key, Why: string(d.Why), Given: d.Now.String()}
	switch {
	case d.Why == opening.FigureDoubt:
		t.Doubt.Given = d.Now.Sub(d.Closes).Round(0).String()
		if d.Slip {
			t.Doubt.Others = []string{d.Closes.Round(0).String()}
		}
	case d.Why == opening.SwapDoubt:
		t.Doubt.Others = []string{d.Closes.String()}
	}
}

func (t *turn) sure(key string) bool { return t.answers().Sure(key) }

var otherDiagonal = map[string]string{"diagonal.rising": "diagonal.falling", "diagonal.falling": "diagonal.rising"}

// impossible is the doubt over a reading that no opening can have beside the
// others. When that one was measured again already, it is the other diagonal.
// Nil when there is none to name; the order size is then refused.
func (t *turn) impossible(err error, a *opening.Known) *Doubt {
	var refused *calc.RefusalError
	if !errors.As(err, &refused) {
		return nil
	}
	key := strings.TrimPrefix(refused.Reason.Words["reading"], "reading.")
	if other := otherDiagonal[key]; t.sure(key) && other != "" {
		key = other
	}
	if !isReading(key) || !a.Given(key) || t.sure(key) {
		return nil
	}
	return &Doubt{Key: key, Why: "impossible", Given: a.Value(key)}
}

// interrupt keeps what of the message is still to be taken, as far as there
// is room in a stored conversation.
func (d *Doubt) interrupt(rest string) {
	d.Rest = rest
	for _, list := range append(d.Rests, rest) {
		if len(list) > mostRest {
			d.Rest, d.Rests = "", nil
			return
		}
	}
}

// restAfter is what follows when the doubtful text meant value.
func (d Doubt) restAfter(value string) string {
	if i := slices.Index(d.Others, value); i >= 0 && i < len(d.Rests) {
		return d.Rests[i]
	}
	return d.Rest
}

// mostRest is how many bytes of an interrupted message are kept.
const mostRest = 400

// isOf says whether a button's mark, KEY or KEY@VALUE, is of this doubt. A
// button of before has no mark.
func (d *Doubt) isOf(mark string) bool {
	return mark == "" || mark == d.Key || mark == d.Key+"@"+d.Given
}

// askDoubt shows the open doubt and its buttons.
func (t *turn) askDoubt() {
	d := t.Doubt
	q := find(d.Key)
	text := phrase.Of("doubt."+d.Why).Sub1("name", tell.Name(q.Key)).Saying("given", cut(d.Given))
	text = text.With("now", t.answers().Number(d.Key))
	var options []phrase.Text
	var row []Button
	for _, other := range d.Others {
		n, err := decimal.NewFromString(other)
		if err != nil {
			continue
		}
		options = append(options, phrase.Of("length").With("mm", n))
		b := t.button("length", confirmKey, other+"@"+d.Key)
		b.Label = b.Label.With("mm", n)
		row = append(row, b)
	}
	switch {
	case d.Why == "unit" && len(options) > 1:
		text.Key = "doubt.unit.several"
	case d.Why == string(opening.BesideDoubt):
		text = t.besideWhat(text, d.Key)
	case d.Why == string(opening.FigureDoubt):
		text = offBy(text, d.Given)
		if len(options) > 0 {
			text.Key = "doubt.figure.slip"
		}
	}
	t.say(text.WithRow("others", options...))
	if t.buttons == nil {
		t.buttons = t.doubtButtons(row)
	}
}

// besideWhat fills in what the window has that this one was copied from.
func (t *turn) besideWhat(text phrase.Text, key opening.Key) phrase.Text {
	e := t.answers().Source(key)
	if e == nil {
		return text
	}
	return text.Sub1("source", sourceName(e.Of)).With("like", figureOf(e.Value))
}

// sourceName names the window that another was copied from.
func sourceName(of int) phrase.Text {
	if of == 0 {
		return phrase.Of("copy.source.last")
	}
	return phrase.Of("copy.source").WithInt("n", of)
}

// offBy fills in by how much a reading is too long, or too short where the figure is
// negative.
func offBy(text phrase.Text, figure string) phrase.Text {
	mm, err := decimal.NewFromString(figure)
	if err != nil || mm.IsNegative() {
		return text.With("apart", mm.Abs()).Word("off", "off.short")
	}
	return text.With("apart", mm).Word("off", "off.long")
}

// doubtButtons are the ways out of the doubt; others are the values that may
// have been meant.
func (t *turn) doubtButtons(others []Button) [][]Button {
	d := t.Doubt
	rows := [][]Button{{t.button("again", confirmKey, "no@"+d.Key)}}
	if len(others) > 0 {
		rows = append(rows, others)
	}
	if d.Why != "unit" && d.Why != "impossible" {
		mark := d.Key
		if len(d.Given) <= 20 { // there is room for no more
			mark += "@" + d.Given
		}
		rows = append(rows, []Button{t.button("keep", confirmKey, "keep@"+mark)})
	}
	if t.Fails >= 3 {
		rows = append(rows, []Button{t.button("back", "do", "back"), t.button("cancel", "do", "cancel")})
	}
	return rows
}

// questionAll looks whether the readings just taken go with their fellows.
func (t *turn) questionAll(list []hear.Value) {
	for _, v := range list {
		if t.Doubt != nil || t.refused {
			return
		}
		if v.Value != skipped {
			t.question(v.Key)
		}
	}
}

// questionAgain looks whether the readings go together after something else was
// done over a doubt.
func (t *turn) questionAgain() {
	for _, key := range []opening.Key{opening.Widths[0], opening.Heights[0], "diagonal.rising"} {
		if t.Doubt == nil {
			t.question(key)
		}
	}
}

// doubtLength asks in which way a figure is meant.
func (t *turn) doubtLength(l *hear.Length) {
	d := &Doubt{Key: l.Key, Why: "unit", Given: l.Given, Rests: l.Rests}
	for _, other := range l.Others {
		d.Others = append(d.Others, other.String())
	}
	t.Doubt = d
	t.Doubt.interrupt(l.Rest)
}

// openDoubts name the readings that are in doubt and are not being asked about.
func (t *turn) openDoubts() []phrase.Text {
	if t.Doubt != nil {
		return nil
	}
	var lines []phrase.Text
	for _, key := range opening.InDoubt(t.doubts()) {
		lines = append(lines, phrase.Of("doubt.open").Sub1("name", tell.Name(key)).With("mm", t.answers().Number(key)))
	}
	return lines
}

// rightPress begins the data of a button that says so: right=KEY@VALUE.
const rightPress = "right="

// rightButtons say of each reading in doubt that it is right.
func (t *turn) rightButtons() [][]Button {
	if t.Doubt != nil {
		return nil
	}
	var rows [][]Button
	for _, key := range opening.InDoubt(t.doubts()) {
		value := t.answers().Value(key)
		b := t.button("right", "do", rightPress+key+"@"+value)
		b.Label = b.Label.Sub1("name", tell.Name(key)).With("mm", figureOf(value))
		rows = append(rows, []Button{b})
	}
	return rows
}
