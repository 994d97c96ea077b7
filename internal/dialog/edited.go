package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/day"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// A person may correct what they said in the platform's own ways: by changing their
// message, or by answering a message of the bot, which asked something, or one of their
// own. What came of the message is then taken anew.

// edited takes a message that the person changed.
func (t *turn) edited(text string) {
	if t.msg == 0 || !t.correct(t.msg, text) {
		t.say(phrase.Of("kind.edited"))
	}
}

// correct takes a message anew, by its number; false when nothing came from it.
func (t *turn) correct(msg int64, text string) bool {
	if t.elsewhere() {
		return false
	}
	if keys := t.cameFrom(t.answers(), msg); keys != nil {
		t.retake(keys, text)
		return true
	}
	switch {
	case t.Doubt != nil && t.Doubt.Msg == msg:
		t.settle(text)
		return true
	case t.Proposed != nil && t.Proposed.Msg == msg:
		t.Proposed = nil
		t.takeLines(text)
		return true
	case t.FailMsg == msg && t.Fails > 0:
		t.takeLines(text)
		return true
	case t.retakeDay(msg, text):
		return true
	case t.dayMessage(msg):
		t.say(phrase.Of("edited.day"))
		return true
	}
	return t.correctElsewhere(msg, text)
}

// cameFrom are the fields whose values came from that message of the person, in the
// order of the questions.
func (t *turn) cameFrom(k *opening.Known, msg int64) (keys []opening.Key) {
	for f := range opening.Fields {
		e := k.Entry(f.Key)
		if e != nil && msg != 0 && e.Msg == msg && e.By == t.user && e.How != opening.Copied {
			keys = append(keys, f.Key)
		}
	}
	return keys
}

// dayMessage says whether a reading of the fitting day came from that message.
func (t *turn) dayMessage(msg int64) (found bool) {
	t.said().Standing(func(e *opening.Entry) {
		found = found || e.Msg == msg && e.By == t.user && e.Act == opening.Set && find(e.Key) == nil
	})
	return found
}

// retakeDay takes what was said last of the fitting day anew, by the message that it came
// from; false where something was said of the window since.
func (t *turn) retakeDay(msg int64, text string) bool {
	if !t.ownsDay() || t.Second != nil || t.Doubt != nil || t.Day.Last != 0 || len(t.Day.Also) > 0 {
		return false
	}
	id, was, lines := t.Day.Window, t.State, len(t.lines)
	p, said := t.lastOfDay(id, msg)
	if p == nil || !t.clearDay(p, said) {
		return false
	}
	if c, is := t.command(text); is && c.row != nil && c.row.name == p.Name {
		text = c.rest
	}
	t.takeDay(text)
	if now, _ := t.lastOfDay(id, msg); now == nil {
		t.restore(was)
		t.lines, t.buttons, t.quiet = t.lines[:lines:lines], nil, false
		var row []phrase.Text
		for _, v := range said {
			row = append(row, phrase.Of("before.value").Sub1("name", p.Title(v.Field)).Sub1("value", p.Said(v.Field, v.Value)))
		}
		t.say(phrase.Of("edited.stays").WithRow("values", row...))
	}
	return true
}

// clearDay asks anew for what was said of a part; false where its day is not on.
func (t *turn) clearDay(p *day.Part, said []day.Value) bool {
	var entries []opening.Entry
	for _, v := range said {
		entries = append(entries, opening.Entry{Act: opening.Clear, Key: p.Key(v.Field)})
	}
	j, err := t.Job.OnDay(t.who(), t.now, t.Day.Window, entries...)
	if err != nil {
		return false
	}
	t.Job, t.Day = &j, new(*t.Day) // what was before keeps its own
	t.Day.Part, t.Day.Told = p.Name, false
	return true
}

// lastOfDay is the part of which that message of the person said something, and what, if
// nothing was said of the window since; nil else.
func (t *turn) lastOfDay(id int, msg int64) (p *day.Part, said []day.Value) {
	o, _ := t.Job.Find(id)
	o.Said.Standing(func(e *opening.Entry) {
		part, _, _ := strings.Cut(e.Key, ".")
		of := day.Find(part)
		switch {
		case e.Msg != msg || e.By != t.user || of == nil || p != nil && of != p || e.Act == opening.Clear:
			p, said = nil, nil
		case e.Act == opening.Set:
			p = of
			if f := of.FieldOf(e.Key); f != nil {
				said = append(said, day.Value{Field: f, Value: e.Value})
			}
		}
	})
	return p, said
}

// correctElsewhere takes a message anew that was about another window of the job. If
// that raises a question, nothing is changed: it is to be asked there.
func (t *turn) correctElsewhere(msg int64, text string) bool {
	if t.Job == nil || t.Job.Ref != t.Ref || t.Second != nil {
		return false
	}
	for _, o := range t.Job.All() {
		k := o.Known()
		keys := t.cameFrom(&k, msg)
		if o.ID == t.Editing || keys == nil {
			continue
		}
		was, said := t.State, len(t.lines)
		t.Editing, t.Hand, t.Doubt, t.Proposed, t.Asking, t.Change, t.Day = o.ID, opening.Record{}, nil, nil, "", "", nil
		t.say(phrase.Of("edited.window").Saying("name", o.Name))
		t.retake(keys, text)
		asks := t.Doubt != nil || t.Proposed != nil
		if !asks {
			t.sayResized(&k)
		}
		now := t.State.Job
		t.restore(was)
		t.ordered, t.measured, t.refused, t.wasDone = false, false, false, t.done() // those are of the window at hand
		if asks {
			t.lines = append(t.lines[:said:said], phrase.Of("edited.there").Saying("name", o.Name).WithInt("n", o.ID))
			return true
		}
		t.Job = now
		return true
	}
	return false
}

// sayResized says the order size at hand where it is another than by what was known.
func (t *turn) sayResized(before *opening.Known) {
	now := t.answers()
	if !before.CanOrder() || !now.CanOrder() {
		return
	}
	old, gone := t.orderOf(before)
	order, err := t.orderOf(now)
	if err == nil && gone == nil && (!old.Size.Width.Equal(order.Size.Width) || !old.Size.Height.Equal(order.Size.Height)) {
		t.say(plan.NewOrderLines(order, now.Number("sill"), &old)...)
	}
}

// retake reads text in the place of what these fields had. What can't be read leaves them
// as they are.
func (t *turn) retake(keys []opening.Key, text string) {
	was, had := t.State, t.answers()
	t.begins(keys)
	t.Proposed = nil
	t.drop(keys...)
	if t.refused {
		t.restore(was)
		return
	}
	t.wasDone = false
	if t.open() != keys[0] {
		t.Asking = keys[0]
	}
	if c, is := t.command(text); is && c.row != nil && c.row.name == "change" {
		text = c.rest
	}
	t.takeLines(text)
	now := t.answers()
	var gone []opening.Key
	var falls []string
	for _, key := range keys {
		switch q := find(key); {
		case !now.Has(key):
			gone = append(gone, key)
		case now.Value(key) != had.Value(key) && q.Kind != opening.Length:
			falls = append(falls, q.Voids...)
		}
	}
	if len(gone) == len(keys) && t.Doubt == nil && t.Proposed == nil {
		t.restore(was)
		t.sayStays(keys)
		return
	}
	if t.Asking == keys[0] {
		t.Asking = ""
	}
	falls = slices.DeleteFunc(falls, func(key string) bool { return slices.Contains(keys, key) })
	gone = slices.DeleteFunc(gone, func(key opening.Key) bool { return key == t.open() || t.Doubt != nil && t.Doubt.Key == key })
	sayLost(t, append(t.drop(falls...), gone...))
}

// restore goes back to a state of this turn.
func (t *turn) restore(s State) {
	t.State = s
	t.folded, t.ownOf, t.openOf = nil, nil, asked{}
}

// sayStays says which answers stay as they were.
func (t *turn) sayStays(keys []opening.Key) {
	var row []phrase.Text
	for _, key := range keys {
		row = append(row, nameAndValue(key, find(key).stored(t.answers().Value(key))))
	}
	t.say(phrase.Of("edited.stays").WithRow("values", row...))
}

// answersMessage takes what is typed as an answer to a message: to the bot's question
// that stands there, though another is open, or in the place of what the person's own
// message said. false: it is taken as if it answered none.
func (t *turn) answersMessage(text string) bool {
	if t.replyTo == 0 || t.elsewhere() {
		return false
	}
	a := t.about
	if a == nil {
		return t.correct(t.replyTo, text) || t.lostSight(text)
	}
	switch {
	case a.Key == "" || a.Conv == t.Conv && a.Key == t.open():
		return false
	case a.Conv != t.Conv:
		return t.ofAnother(a, text)
	case find(a.Key) == nil:
		return t.lostSight(text)
	}
	keys := []opening.Key{a.Key}
	if list, rest := reading.All(text, opening.SideRange); rest == "" && len(list) > 1 {
		keys = slices.Clone(opening.Fellows(find(a.Key).Change))
	}
	if find(a.Key).is(opening.ByCommand) || !slices.ContainsFunc(keys, t.answers().Has) && t.Doubt != nil {
		return t.lostSight(text)
	}
	t.retake(keys, text)
	return true
}

// bareFigures says whether a message is nothing but figures, which say nothing of where
// they were taken.
func bareFigures(text string) bool {
	list, rest := reading.All(text, opening.SideRange)
	return len(list) > 0 && rest == ""
}

// lostSight refuses figures that answer a message of which nobody knows any more what it
// asked: as an answer to the open question they would be wrong, and nobody would see it.
func (t *turn) lostSight(text string) bool {
	if !bareFigures(text) || t.open() == "" {
		return false
	}
	t.say(phrase.Of("reply.unknown"))
	return true
}

// ofAnother is an answer to a question of an earlier survey, or of another window.
func (t *turn) ofAnother(a *Asked, text string) bool {
	if !bareFigures(text) {
		return false
	}
	if t.Job != nil && t.Job.Ref == t.Ref && t.Job.Has(a.Window) {
		t.say(phrase.Of("reply.window").WithInt("n", a.Window))
		return true
	}
	t.say(phrase.Of("reply.unknown"))
	return true
}
