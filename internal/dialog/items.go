package dialog

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"sillbot/internal/calc"
	"sillbot/internal/hear"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// What the maker needs besides the survey is asked once a job. An answer holds for all
// its windows, those to come too; one that was said for a window alone stays there.

// unsaid are the items that nobody has said: of the job's complete windows, and of the
// one at hand.
func (t *turn) unsaid() []job.Blank {
	var left []job.Blank
	if t.Job != nil && t.Job.Ref == t.Ref {
		left = t.Job.Unsaid(calc.DefaultSettings())
	}
	if len(left) > 0 || t.inJob() || t.elsewhere() || !t.answers().CanOrder() {
		return left
	}
	for _, key := range t.answers().Unsaid() {
		if key != opening.ByClass { // which glass a rule asks for is looked at in the job
			left = append(left, job.Blank{Key: key})
		}
	}
	return left
}

// askItems begins to ask what the maker needs, or says what was said of it.
func askItems(t *turn) {
	if t.elsewhere() {
		return
	}
	left := t.unsaid()
	if len(left) == 0 {
		t.sayItems()
		return
	}
	t.Items, t.Asking = true, ""
	t.say(phrase.Of("items.begin").WithInt("count", len(left)))
}

// sayItems says what the maker is told of the window at hand, with a button for each
// to change it.
func (t *turn) sayItems() {
	a := t.answers()
	var said []phrase.Text
	var all []Button
	var names []string
	for _, key := range append([]opening.Key{opening.ByLight}, opening.ItemKeys...) {
		q := find(key)
		if !a.Has(key) || a.Value(key) == "" {
			continue
		}
		said = append(said, nameAndValue(key, q.stored(a.Value(key))))
		if !q.is(opening.ByCommand) && !slices.Contains(names, q.Change) {
			names = append(names, q.Change)
			all = append(all, t.button("change."+q.Change, "do", "change="+q.Change))
		}
	}
	if len(said) == 0 {
		t.say(phrase.Of("items.none"))
		return
	}
	t.say(phrase.Of("items.said").WithRow("values", said...))
	t.buttons, t.quiet = slices.Collect(slices.Chunk(all, 2)), true
}

// goOnItems opens the next of the items, or ends their asking.
func (t *turn) goOnItems() {
	if t.Items && t.Asking == "" && t.Doubt == nil && t.Proposed == nil && t.Second == nil {
		left := t.unsaid()
		if len(left) > 0 {
			t.Asking = left[0].Key
		} else {
			t.Items = false
			t.say(phrase.Of("items.end"))
		}
	}
	if t.itemised {
		t.reviewItems()
	}
	if t.itemised && !t.Items && t.Job != nil && len(t.Job.Openings) > 1 && !t.refused {
		t.say(phrase.Of("items.forall"))
	}
}

// reviewItems looks at the window at hand, which was told of before, after an item of
// it: nothing of its plan is another.
func (t *turn) reviewItems() {
	o, ok := t.window()
	if ok && o.Said.LastAct(opening.Reviewed, "") != nil && len(o.Lacks()) == 0 {
		j, events, err := t.Job.Review(t.who(), t.now, t.Editing)
		t.tookItems(j, events, err)
	}
	if t.before.Next(false, "") == nil {
		t.wasDone = t.done() // the screen stays as it is
	}
}

// decideAll leaves all items that nobody has said to the desk.
func decideAll(t *turn) {
	if t.elsewhere() {
		return
	}
	left := t.unsaid()
	if len(left) == 0 {
		t.say(phrase.Of("items.nothing"))
		return
	}
	t.say(phrase.Of("items.decided").WithRow("items", tell.BlankNames(left, 0)...))
	t.Items = true // so that each holds for all windows
	for _, l := range left {
		q := find(l.Key)
		if t.answers().Value(l.Key) != "" { // here it was said
			t.spread(Answer{Key: l.Key, Value: opening.DeskSays})
			t.Kept = append(slices.Clip(t.Kept), Answer{Key: l.Key, Value: opening.DeskSays})
			continue
		}
		t.accept(q, Answer{Key: l.Key, Value: opening.DeskSays})
	}
	t.Items, t.Asking = false, ""
}

// sayUnsaid lists once, by question, what the maker needs and nobody has said.
func (t *turn) sayUnsaid(key string) {
	left := t.unsaid()
	if len(left) == 0 {
		return
	}
	t.say(phrase.Of(key).WithRow("items", tell.BlankNames(left, len(t.Job.Openings))...))
	t.buttons = append(t.buttons, t.itemButtons()...)
}

// mostAsked is of how many windows the list of a job looks into each: of a longer one
// the order says what is missing.
const mostAsked = 40

func (t *turn) itemButtons() [][]Button {
	return [][]Button{{t.button("do.items", "do", "items")}, {t.button("do.decideall", "do", "decideall")}}
}

// ofWindow is what is said of some windows alone: window 2 opens in; handle 2, 3 middle.
var ofWindow = regexp.MustCompile(`(?i)^(?:(?:on|in|for|only|just)\s+)?(?:windows?|lines?|no\.?|numbers?|nos\.?)\s*(\d{1,3}(?:\s*(?:,|and|&|\+)\s*\d{1,3})*)\s*[:,]?\s+(\S.*)$`)

// namedWindow is the same with the item's name before the numbers.
var namedWindow = regexp.MustCompile(`^(\d{1,3}(?:\s*(?:,|and|&|\+)\s*\d{1,3})*)\s*[:,]?\s+(\S.*)$`)

var numberOf = regexp.MustCompile(`\d+`)

// itemOf takes what is said of some windows of the job alone.
func (t *turn) itemOf(text string) bool {
	if t.Job == nil || t.Job.Ref != t.Ref || t.Second != nil || len(text) > 200 {
		return false
	}
	numbers, rest := "", ""
	if m := ofWindow.FindStringSubmatch(text); m != nil {
		numbers, rest = m[1], m[2]
	} else if code, after, ok := words().Match(t.lang(), "name", text); ok {
		m := namedWindow.FindStringSubmatch(after)
		fellows := opening.Fellows(code)
		if m == nil || len(fellows) == 0 || opening.Find(fellows[0]).Scope != opening.OfJob {
			return false
		}
		numbers, rest = m[1], text[:len(text)-len(after)]+" "+m[2]
	}
	var ids []int
	for _, n := range numberOf.FindAllString(numbers, -1) {
		if id, err := strconv.Atoi(n); err == nil && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return len(ids) > 0 && t.saidOf(ids, rest)
}

// saidOf takes items for those windows; false where the words are of something else.
func (t *turn) saidOf(ids []int, text string) bool {
	type one struct {
		o    job.Opening
		said []hear.Value
	}
	var list []one
	for _, id := range ids {
		o, ok := t.Job.Find(id)
		known := o.Known()
		c := t.context()
		c.Known, c.Open, c.Last = &known, "", ""
		h := hear.Read(text, c)
		said := slices.Concat(h.Said, h.Again)
		item := func(v hear.Value) bool { return find(v.Key).is(opening.Maker) }
		other := func(v hear.Value) bool { return !item(v) }
		if own, ok := t.ownWords(text); ok && (h.Held != nil || len(h.Unknown) > 0 || len(said) == 0 || slices.ContainsFunc(said, other)) {
			h, said = hear.Heard{}, []hear.Value{own}
		}
		if h.Held != nil || h.Trouble != nil || h.Length != nil || len(h.Unknown) > 0 || len(said) == 0 || slices.ContainsFunc(said, other) {
			return false
		}
		if !ok {
			t.say(phrase.Of("job.nosuch").WithInt("n", id))
			return true
		}
		list = append(list, one{o, said})
	}
	for _, l := range list {
		var entries []opening.Entry
		var row []phrase.Text
		for _, v := range l.said {
			entries = append(entries, opening.Entry{Act: opening.Set, Key: v.Key, Value: v.Value, Typed: typedIf(v)})
			row = append(row, nameAndValue(v.Key, t.valueOf(v)))
		}
		before := len(t.lines)
		j, err := t.Job.Say(t.who(), t.now, l.o.ID, entries...)
		if err != nil {
			t.say(tell.Refusal(err))
			continue
		}
		t.Job = &j
		if l.o.Said.LastAct(opening.Reviewed, "") != nil {
			j, events, err := t.Job.Review(t.who(), t.now, l.o.ID)
			t.tookItems(j, events, err)
		}
		t.lines = slices.Insert(t.lines, before, phrase.Of("items.one").Saying("name", l.o.Name).WithRow("values", row...))
		if l.o.ID == t.Editing {
			t.wasDone = t.done()
		}
	}
	return true
}

// offerItems says once, under the first window of a job, what there is to ask for the
// maker.
func (t *turn) offerItems() [][]Button {
	if _, ok := t.window(); !ok || slices.ContainsFunc(opening.ItemKeys, t.answers().Has) {
		return nil
	}
	left := t.unsaid()
	if len(left) == 0 {
		return nil
	}
	t.say(phrase.Of("items.offer").WithInt("count", len(left)))
	return [][]Button{{t.button("do.items", "do", "items")}}
}

// ownWords is an item in a person's own words, or that nobody knows it or the desk
// decides, behind its name: obscure oak leaf; colour: the desk decides.
func (t *turn) ownWords(text string) (v hear.Value, ok bool) {
	code, rest, named := words().Match(t.lang(), "name", text)
	f := opening.Find(code)
	if !named || f == nil || !f.Is(opening.Maker) { // colour by itself is a name of the frame
		code, rest, named = words().Match(t.lang(), "ownname", text)
		f = opening.Find(code)
	}
	rest = strings.Trim(rest, " :,=.")
	if !named || f == nil || f.Kind != opening.Words || !f.Is(opening.Maker) || f.Key == opening.ByLight || rest == "" || int64(utf8.RuneCountInString(rest)) > f.Most {
		return hear.Value{}, false
	}
	v = hear.Value{Key: f.Key, Value: seenOf(rest), Typed: rest}
	if _, more, desk := words().Match(t.lang(), "itemdesk", rest); desk && more == "" {
		v.Value = opening.DeskSays
	} else if code, more, chosen := words().Match(t.lang(), "obscure-open", rest); f.Key == "obscure" && chosen && more == "" {
		v.Value = code
	}
	return v, true
}
