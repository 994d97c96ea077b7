package dialog

import (
	"slices"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// houseFields are what is known of the house besides its nation and the day.
func houseFields() []*question {
	var list []*question
	for f := range opening.Fields {
		if f.Scope == opening.House && f.Is(opening.OnRequest) {
			list = append(list, (*question)(f))
		}
	}
	return list
}

// house says what was said of the house, and what is taken of it on the safe side.
func house(t *turn) {
	a := t.answers()
	var said, unsaid []phrase.Text
	for _, key := range []string{"nation", "date"} {
		if a.Given(key) {
			said = append(said, nameAndValue(key, find(key).stored(a.Value(key))))
		}
	}
	rows := [][]Button{{t.button("change.nation", "do", "change=nation"), t.button("change.date", "do", "change=date")}}
	var all []Button
	for _, q := range houseFields() {
		if q.Key == "higher" && a.Value("kind") != "flat" && !a.Given(q.Key) {
			continue // it is of flats
		}
		all = append(all, t.button("change."+q.Key, "do", "change="+q.Key))
		if a.Given(q.Key) {
			said = append(said, nameAndValue(q.Key, q.stored(a.Value(q.Key))))
		} else {
			unsaid = append(unsaid, phrase.Of("house.safe."+q.Key))
		}
	}
	if len(said) > 0 {
		t.say(phrase.Of("house.said").WithRow("values", said...))
	}
	if len(unsaid) > 0 {
		t.say(phrase.Of("house.unsaid").WithRow("values", unsaid...))
	}
	t.say(phrase.Of("house.how"))
	t.buttons = append(rows, slices.Collect(slices.Chunk(all, 2))...)
	t.quiet = true
}

// sayHouse says once, when nation and day are first there, what is taken of the house.
func (t *turn) sayHouse() {
	a := t.answers()
	now := a.Given("nation", "date") && !t.before.Given("nation", "date")
	if !now || t.Second != nil || a.Has("built") || a.Entry("nation").How == opening.Assumed && a.Entry("date").How == opening.Assumed {
		return
	}
	t.say(phrase.Of("house.taken"))
}

// asideHigh asks how high the building is when somebody first says that it is a flat.
// It holds nothing up: any other answer goes on with the survey.
func (t *turn) asideHigh() (rows [][]Button) {
	a := t.answers()
	if t.Second != nil || a.Value("kind") != "flat" || t.before.Value("kind") == "flat" || a.Has("higher") || t.open() == "higher" {
		return nil
	}
	q := find("higher")
	t.say(phrase.Of("ask.higher"))
	t.Aside = q.Key
	return [][]Button{{t.button("answer.yes", q.Key, "yes"), t.button("answer.no", q.Key, "no")}}
}

// answersAside takes a yes or no for what was asked aside in the message before, where
// the open question is not answered so.
func (t *turn) answersAside(aside, text string) bool {
	q := find(aside)
	open := t.next(t.answers())
	if q == nil || t.Doubt != nil || t.Proposed != nil || open != nil && (open.Group == "answer" || open.Key == "sill") || t.answers().Has(aside) {
		return false
	}
	code, rest, ok := words().Match(t.lang(), "answer", text)
	if !ok || rest != "" || code != "yes" && code != "no" {
		return false
	}
	t.give(q, code)
	return true
}

// leaveHouse lets go of what was said of another house.
func (t *turn) leaveHouse() {
	t.Kept = slices.DeleteFunc(slices.Clone(t.Kept), func(ans Answer) bool { return find(ans.Key).ofHouse() || find(ans.Key).is(opening.Maker) })
}

// keepHouse keeps what the open job says of its house for its next windows: that of
// the window that was measured last.
func (t *turn) keepHouse() {
	t.leaveHouse()
	if len(t.Job.Openings) == 0 {
		return
	}
	o, ok := t.Job.Find(t.Job.Openings[len(t.Job.Openings)-1].ID)
	if !ok {
		return
	}
	k := o.Known()
	for _, q := range houseFields() {
		if k.Has(q.Key) {
			t.Kept = append(t.Kept, Answer{Key: q.Key, Value: k.Value(q.Key)})
		}
	}
	for _, key := range opening.ItemKeys {
		if e := k.Entry(key); e != nil && e.How == opening.ForAll {
			t.Kept = append(t.Kept, Answer{Key: key, Value: e.Value})
		}
	}
}
