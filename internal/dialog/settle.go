package dialog

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// settle takes the answer to the open doubt: yes, no, keep, or a value.
func (t *turn) settle(text string) {
	d := *t.Doubt
	q := find(d.Key)
	code, rest, ok := words().Match(t.lang(), "answer", text)
	_, more, right := words().Match(t.lang(), "right", rest)
	sure := ok && code == "yes" && right && more == "" // yes it's right
	ok = ok && rest == ""                              // yes, the old one had vents: that is no answer to this
	command, after, _ := words().Match(t.lang(), "command", text)
	switch {
	case command == "skip" && after == "":
		t.leaveDoubt()
		return
	case sure && d.mayStand():
		rest = ""
		t.keep(q, d)
	case ok && code == "no":
		t.Doubt = nil
		t.drop(d.Key)
		t.say(phrase.Of("doubt.again").Sub1("name", tell.Name(q.Key)))
		return
	case ok && code == "yes" && d.Why == string(opening.FigureDoubt): // yes, a mistake, or yes, keep it
		t.sayUnread(d)
		return
	case ok && code == "yes" && len(d.Others) == 1:
		t.confirm(q, d, d.Others[0], true)
	case ok && code == "yes" && d.Why == "unit":
		t.say(phrase.Of("doubt.which"))
		return
	case ok && d.Why == "impossible":
		t.sayUnread(d)
		return
	case ok && d.Why != "unit":
		t.keep(q, d)
	default:
		var taken bool
		if rest, taken = t.settleWithMessage(q, d, text); !taken {
			return
		}
	}
	t.goOn(d, rest)
}

// mayStand says whether a reading may stay as it is, in doubt or not.
func (d Doubt) mayStand() bool { return d.Why != "unit" && d.Why != "impossible" }

// sayUnread says what the doubt takes for an answer.
func (t *turn) sayUnread(d Doubt) {
	text := phrase.Of("doubt.unread").Sub1("name", tell.Name(d.Key))
	if d.mayStand() {
		text.Key = "doubt.unread.leave"
	}
	t.say(text)
}

// leaveDoubt goes on with the reading in doubt: it is named with the answer.
func (t *turn) leaveDoubt() {
	d := *t.Doubt
	if !d.mayStand() {
		t.sayUnread(d)
		return
	}
	t.Doubt, t.Fails, t.ordered, t.measured = nil, 0, true, true
	t.say(t.openDoubts()...)
	t.goOn(d, "")
}

// takeLines takes a message line by line, as if each had been sent by itself: a
// doubt over one is settled by the next.
func (t *turn) takeLines(text string) {
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		switch {
		case line == "":
		case t.Doubt != nil && i > 0:
			t.settle(line)
		default:
			t.takeAll(line, t.fresh)
		}
	}
}

// goOn reads the rest of the message in which the doubt came up.
func (t *turn) goOn(d Doubt, rest string) {
	rest = strings.TrimSpace(strings.TrimSpace(d.restAfter(t.answers().Value(d.Key))) + " " + strings.TrimSpace(rest))
	if rest == "" {
		return
	}
	if t.Doubt != nil {
		t.Doubt.interrupt(rest)
		return
	}
	t.takeAll(rest, false)
}

// keep marks the questioned answer as sure.
func (t *turn) keep(q *question, d Doubt) {
	t.Doubt, t.ordered, t.measured = nil, true, true
	t.write(opening.Entry{Act: opening.Sure, Key: q.Key})
	if d.Why == string(opening.FigureDoubt) {
		t.say(phrase.Of("doubt.figure.kept"))
		return
	}
	t.say(phrase.Of("doubt.kept").With("mm", t.answers().Number(q.Key)))
	t.question(q.Key)
}

// confirm records the value that the person confirmed. One that was measured anew is
// not sure: it may be doubted too.
func (t *turn) confirm(q *question, d Doubt, value string, sure bool) {
	n, err := decimal.NewFromString(value)
	if err != nil {
		return
	}
	t.Doubt = nil
	t.accept(q, Answer{Key: q.Key, Value: n.String(), Sure: sure && d.Why != "unit"})
	t.echo(q, phrase.Of("length").With("mm", n))
	t.question(q.Key)
}

// settleWithMessage takes what is typed over a doubt: the figure in doubt, other
// readings or answers, or a question to the bot.
func (t *turn) settleWithMessage(q *question, d Doubt, text string) (rest string, taken bool) {
	c := t.context()
	c.Open, c.Last = d.Key, d.Key
	list, more := reading.All(strings.NewReplacer("x", " ", "×", " ").Replace(text), opening.SideRange)
	if more == "" && len(list) > 1 && d.Why != "unit" {
		if !t.sentAnew(d, text, list, &c) {
			t.Fails++
			t.sayUnread(d)
		}
		return "", false
	}
	h := hear.Read(text, c)
	i := slices.IndexFunc(h.Said, func(v hear.Value) bool { return v.Key == d.Key })
	switch {
	case h.Query != nil && len(h.Said) == 0:
		t.answerQuery(h.Query)
		return "", false
	case h.Trouble != nil && h.Trouble.Key == d.Key:
		t.Fails++
		t.say(*t.trouble(h.Trouble))
		return "", false
	case len(h.Said) == 0, i >= 0 && far(t.own(), d, h.Said[i]):
		t.Fails++
		t.sayUnread(d)
		return "", false
	}
	t.Fails = 0
	if i < 0 {
		return "", t.settleBesides(h.Said)
	}
	value := h.Said[i].Value
	others := slices.Delete(slices.Clone(h.Said), i, i+1)
	t.confirm(q, d, value, value == t.answers().Value(q.Key))
	if len(others) > 0 && t.Doubt == nil && t.store(others) {
		t.questionAll(others)
	}
	return "", !t.insteadOf(d, others)
}

// insteadOf says whether others of the side in doubt were sent once more. Then what the
// message before still held is of that side too, and would go to the next one.
func (t *turn) insteadOf(d Doubt, others []hear.Value) bool {
	side := opening.Fellows(opening.Find(d.Key).Change)
	again := slices.ContainsFunc(others, func(v hear.Value) bool { return slices.Contains(side, v.Key) })
	if again && d.Rest != "" {
		t.say(phrase.Of("rest.unread").Saying("rest", cut(d.Rest)))
	}
	return again
}

// sentAnew takes the three readings of the side in doubt, or all six, sent once
// more in the place of what is there.
func (t *turn) sentAnew(d Doubt, text string, list []reading.Length, c *hear.Context) bool {
	six := slices.Concat(opening.Widths[:], opening.Heights[:])
	i := slices.Index(six, d.Key)
	switch {
	case i < 0 || len(list) != 3 && len(list) != 6:
		return false
	case len(list) == 3:
		six = six[i/3*3 : i/3*3+3]
	}
	if now := c.Known.Number(six[(i+1)%len(six)]); len(six) == 3 && list[0].MM.Sub(now).Abs().GreaterThan(now.Mul(nearer)) {
		return false // those of another side
	}
	known := *c.Known
	for _, key := range six {
		known.Unset(key)
	}
	c.Known, c.Open = &known, six[0]
	h := hear.Read(text, *c)
	if len(h.Said) != len(six) || h.Held != nil {
		return false
	}
	t.Doubt, t.Fails = nil, 0
	t.ordered, t.measured = true, true
	if t.store(h.Said) {
		t.questionAll(h.Said)
	}
	return true
}

// settleBesides stores what was said besides the figure in doubt. Another
// reading may settle it.
func (t *turn) settleBesides(list []hear.Value) bool {
	if !t.store(list) || !slices.ContainsFunc(list, func(v hear.Value) bool { return isReading(v.Key) }) {
		return false
	}
	t.Doubt = nil
	t.questionAgain()
	return t.Doubt == nil
}

// nearer: readings of one side are within this part of each other.
var nearer = decimal.New(8, -2)

// farther: a figure that is this part of the one in doubt away from it is meant
// for another question.
var farther = decimal.New(2, -1)

// far says whether a figure is no reading of the field in doubt: far from it and from
// its fellows, which may be right where it is not.
func far(a *opening.Known, d Doubt, v hear.Value) bool {
	now := a.Number(d.Key)
	mm := figureOf(v.Value)
	if f := opening.Find(d.Key); f.Is(opening.Reading) {
		for _, key := range opening.Fellows(f.Change) {
			if fellow := a.Number(key); key != d.Key && fellow.IsPositive() {
				return mm.Sub(fellow).Abs().GreaterThan(fellow.Mul(farther))
			}
		}
	}
	return d.Why != "unit" && d.Why != "impossible" && now.IsPositive() && mm.Sub(now).Abs().GreaterThan(now.Mul(farther))
}
