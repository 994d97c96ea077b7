package hear

import (
	"slices"
	"strings"
	"sync"

	"sillbot/internal/opening"
)

// all reads the part; what is left is lost.
func (w *walk) all() {
	for i := range w.list {
		if w.used[i] {
			continue
		}
		if w.length != nil || w.trouble != nil {
			return
		}
		w.step(i)
	}
	w.forget()
	for i, t := range w.list {
		if !w.used[i] && !(t.marker("late") && t.marker("harmless")) {
			w.lose(t)
		}
	}
}

// step reads what begins with token i.
func (w *walk) step(i int) {
	t := w.list[i]
	switch t.kind {
	case comma, slash:
		w.use(i)
		return
	case day:
		by := placed
		if slices.Contains(w.names, "date") || w.open() == "date" {
			by = named
		}
		w.settle("date")
		w.day(i, by)
		return
	case glass:
		w.settle("glass")
		w.use(i)
		w.put(Value{Key: "glass", Value: t.code, Typed: t.text}, named)
		return
	}
	for _, read := range []func(int) bool{w.namesAnswer, w.marked, w.fall, w.figures, w.lights, w.material, w.lintel, w.passed, w.choice, w.name} {
		if read(i) {
			return
		}
	}
}

// namesAnswer takes the name of a question for yes or no before its answer: bath
// no.
func (w *walk) namesAnswer(i int) bool {
	keys := opening.Fellows(w.list[i].codeOf("name"))
	j := i + 1
	for j < len(w.list) && w.list[j].marker("is") {
		j++
	}
	return len(keys) == 1 && opening.Find(keys[0]).Group == "answer" && j < len(w.list) && w.list[j].has("answer") && w.name(i)
}

// marked takes the words that say how others are meant.
func (w *walk) marked(i int) bool {
	t := w.list[i]
	switch {
	case t.marker("correct"):
		w.correcting = true
	case t.marker("sameas"):
		return w.sameAs(i)
	case t.marker("same") && !w.clauseHas(i):
		return w.same(i)
	case t.has("before"):
		w.before = true
	case t.marker("late") && i == 0 && len(w.list) > 1: // got that wrong, it is timber
		w.sure = true
	case t.marker("wrong") && len(w.names) > 0:
		w.sure = true
	case t.marker("but") && markerAt(w.tokens, "not") < 0:
	case t.marker("and"), t.marker("is"), t.marker("outside") && !(t.has("name") && w.clauseHas(i)):
	case len(w.list) > 1 && len(w.names) == 0 && t.codeOf("answer") == "yes" && !strings.Contains(t.text, " ") && !w.fits(w.open(), t): // aye, it's 1204
	case t.marker("no") && (w.correction(i) || i > 0 && i+1 < len(w.list) && w.list[i-1].kind != phrase && w.list[i-1].kind == w.list[i+1].kind):
		w.correcting = true
	default:
		return false
	}
	w.use(i)
	return true
}

// correction says whether a no is none of its own: a value follows, and nothing
// open could be answered by it.
func (w *walk) correction(i int) bool {
	if i+1 >= len(w.list) || w.fits(w.open(), w.list[i]) || len(w.names) > 0 {
		return false
	}
	next := w.list[i+1]
	if next.kind == comma && i+2 < len(w.list) {
		next = w.list[i+2]
	}
	return next.kind == lengths || next.kind == phrase
}

// same takes "same" and "ditto": the reading before, or with "all" the first of
// the three for all.
func (w *walk) same(i int) bool {
	f := opening.Find(w.open())
	w.use(i)
	if i+1 < len(w.list) && w.list[i+1].marker("sameas") { // same again as the left
		return true
	}
	if w.namedSame(i) {
		return true
	}
	if before := opening.Nth("light", max(1, nth(f)-1)); f != nil && f.Name == "light" && f.N > 1 && w.known.Given(before) {
		w.put(Value{Key: f.Key, Value: w.known.Value(before), Typed: w.list[i].text}, named)
		return true
	}
	if f == nil || f.Kind != opening.Length {
		w.before = f != nil && f.Is(opening.Repeats)
		w.used[i] = w.before
		return true
	}
	fellows := opening.Fellows(f.Change)
	at := slices.Index(fellows, f.Key)
	if at < 1 || !w.known.Given(fellows[at-1]) {
		w.used[i] = false
		return true
	}
	keys := fellows[at : at+1]
	if k := markerAt(w.list, "all"); k >= 0 {
		w.use(k)
		keys = fellows[at:]
	}
	for _, key := range keys {
		w.put(Value{Key: key, Value: w.known.Value(fellows[at-1]), Typed: w.list[i].text}, named)
	}
	return true
}

// namedSame takes "right is the same": the reading named is as the one said before.
func (w *walk) namedSame(i int) bool {
	to := i
	for to > 0 && !w.used[to-1] && w.list[to-1].marker("is") || to > 0 && w.list[to-1].marker("is") && w.list[to-1].kind == phrase {
		to--
	}
	from := to
	for from > 0 && isName(w.list[from-1]) && !w.used[from-1] {
		from--
	}
	before := opening.Find(w.last)
	if from == to || before == nil || !before.Is(opening.Reading) || !w.known.Given(before.Key) {
		return false
	}
	w.axisOf(w.list[from:to])
	fields := w.fields(w.list[from:to])
	if len(fields) != 1 || len(fields[0].keys) != 1 || !slices.Contains(opening.Fellows(before.Change), fields[0].keys[0]) {
		return false
	}
	for k := from; k < to; k++ {
		w.use(k)
	}
	w.put(Value{Key: fields[0].keys[0], Value: w.known.Value(before.Key), Typed: w.text[w.list[from].from:w.list[i].to]}, named)
	return true
}

// nth is the number of a field that is one of several; 0 for none.
func nth(f *opening.Field) int {
	if f == nil {
		return 0
	}
	return f.N
}

// sameAs takes "same as top": the value of the field named.
func (w *walk) sameAs(i int) bool {
	open := opening.Find(w.open())
	j := i + 1
	if open == nil || open.Kind != opening.Length || j >= len(w.list) || !isName(w.list[j]) {
		return false
	}
	for j+1 < len(w.list) && isName(w.list[j+1]) {
		j++
	}
	w.axisOf(w.list[i+1 : j+1])
	fields := w.fields(w.list[i+1 : j+1])
	if len(fields) != 1 || len(fields[0].keys) != 1 || !w.known.Given(fields[0].keys[0]) {
		return false
	}
	for k := i; k <= j; k++ {
		w.use(k)
	}
	w.put(Value{Key: open.Key, Value: w.known.Value(fields[0].keys[0]), Typed: w.text[w.list[i].from:w.list[j].to]}, named)
	return true
}

// day takes the day of the work.
func (w *walk) day(i int, by how) {
	t := w.list[i]
	w.use(i)
	if len(t.days) == 0 {
		if t.day.IsZero() {
			w.lose(t)
			return
		}
		w.put(Value{Key: "date", Value: t.day.Format(opening.DateForm), Typed: t.text}, by)
		return
	}
	var ways [][]Value
	for _, d := range t.days {
		ways = append(ways, []Value{{Key: "date", Value: d.Format(opening.DateForm), Typed: t.text}})
	}
	w.ask(Either, ways...)
}

// passed takes "don't know" and its like for the field that is named or open.
func (w *walk) passed(i int) bool {
	t := w.list[i]
	own := t.codeOf("pass")
	if own == "" && !t.marker("skip") && !t.marker("dunno") || w.open() == "over" && w.fits("over", t) { // can't see is an answer
		return false
	}
	if t.marker("dunno") && len(w.names) == 0 && (len(w.said) > 0 || w.besides(i)) {
		w.unsure = true // not sure, brick
	}
	key := w.open()
	if len(w.names) > 0 {
		key = w.names[0]
	}
	several := false
	for j := i + 1; j < len(w.list) && own == "" && (w.list[j].marker("all") || w.list[j].has("name") && !w.list[j].marker("level")); j++ { // skip both diagonals
		if fellows := opening.Fellows(w.list[j].codeOf("name")); fellows != nil {
			key, several = fellows[0], len(fellows) > 1
			w.use(j)
		}
	}
	if k := i + 1; k < len(w.list) && own == "" {
		if w.list[k].kind == comma && k+1 < len(w.list) {
			k++
		}
		if w.list[k].kind == lengths {
			w.unsure = true // dunno, 900
		}
	}
	f := opening.Find(key)
	if f == nil || own != "" && own != f.Name {
		return false
	}
	if !f.Is(opening.Skips) {
		w.cantTell = true
		w.use(i)
		return true
	}
	w.use(i)
	if j := i + 1; t.marker("dunno") && j < len(w.list) && w.list[j].marker("skip") { // can't say, skip it
		w.use(j)
	}
	w.names = nil
	keys := []opening.Key{key}
	if k := markerAt(w.list, "all"); k >= 0 {
		w.use(k)
		several = true
	}
	if several {
		keys = onwards(key)
	}
	for _, key := range keys {
		w.put(Value{Key: key, Value: opening.Skipped, Typed: t.text}, named)
	}
	return true
}

// besides says whether the part says more than token i.
func (w *walk) besides(i int) bool {
	for j, t := range w.list {
		if j != i && (t.kind == lengths || t.kind == glass || t.kind == phrase && len(w.options(t)) > 0 && !t.has("answer")) {
			return true
		}
	}
	return false
}

// option is one field and code that a word may mean.
type option struct {
	key    opening.Key
	code   string
	strong bool // the word says it wherever it stands
	named  bool // and names its field
	ask    bool
}

// answeredBy are the fields that words of a group answer: by the field's own group, or
// by its key where it is a yes or no.
var answeredBy = sync.OnceValue(func() map[string][]*opening.Field {
	list := map[string][]*opening.Field{}
	for f := range opening.Fields {
		list[f.Group] = append(list[f.Group], f)
		if f.Group == "answer" {
			list[f.Key] = append(list[f.Key], f)
		}
	}
	return list
})

// options are all that a token may mean as a choice.
func (w *walk) options(t token) []option {
	var list []option
	for _, m := range t.means {
		group := base(m.group)
		if group == "light" || group == "material" || group == "fall" && m.code != "0" { // which end is lower says nothing without by how much
			continue
		}
		for _, f := range answeredBy()[group] {
			if !slices.ContainsFunc(list, func(o option) bool { return o.key == f.Key && o.code == m.code && !o.ask }) {
				list = append(list, option{f.Key, m.code, m.group == group && group != "answer", f.Key == m.group && f.Group != m.group, strings.HasSuffix(m.group, doubtful)})
			}
		}
	}
	return list
}

// choice takes a word that answers a question with a list.
func (w *walk) choice(i int) bool {
	list := w.options(w.list[i])
	if len(list) == 0 {
		return false
	}
	by := placed
	pick := func(ok func(option) bool) []option {
		return slices.DeleteFunc(slices.Clone(list), func(o option) bool { return !ok(o) })
	}
	chosen := pick(func(o option) bool { return slices.Contains(w.names, o.key) })
	if len(chosen) > 0 {
		by = named
		w.names = nil
	} else if chosen = pick(func(o option) bool { return w.correcting && o.key == w.target() }); len(chosen) == 0 {
		open := w.open()
		if chosen = pick(func(o option) bool { return o.key == open }); len(chosen) == 0 && w.aboutHouse() && w.list[i].codeOf("answer") == "" {
			chosen = pick(func(o option) bool { return !o.ask && w.ofHouse(w.list[i], o) })
		}
		if len(chosen) == 0 {
			if f := opening.Find(open); f != nil && f.Early != "" {
				chosen = pick(func(o option) bool { return o.key == f.Early && w.list[i].codeOf("answer") == "" })
			}
		}
	}
	if len(chosen) == 0 {
		chosen = pick(func(o option) bool { return o.strong || o.ask && !w.list[i].has("answer"+doubtful) })
	}
	if len(chosen) == 0 && w.saidNow(w.last) { // nope none; no lintel, steel
		chosen = pick(func(o option) bool { return o.key == w.last })
	}
	if len(chosen) == 0 { // said again
		chosen = pick(func(o option) bool { return w.known.Value(o.key) == o.code && w.list[i].codeOf("answer") == "" })
	}
	if len(chosen) == 0 && !slices.ContainsFunc(list, func(o option) bool { return o.key != list[0].key || !w.known.Has(o.key) }) {
		chosen, w.weak = list, list[0].key == "over" // and otherwise than before; what carries the wall is asked about
	}
	if len(chosen) == 0 {
		return false
	}
	w.use(i)
	if len(chosen) == 1 && chosen[0].named {
		by = named
	}
	w.choose(w.list[i], chosen, by)
	w.weak = false
	return true
}

// aboutHouse says whether the message answers the first question, to which what is
// special of the house is said, or nothing was said of the window yet.
func (w *walk) aboutHouse() bool {
	return w.ctx.Open == "nation" || w.ctx.Open == "date" || !w.ctx.Known.Started()
}

// ofHouse says whether the words mean that option of the house.
func (w *walk) ofHouse(t token, o option) bool {
	return opening.Find(o.key).Scope == opening.House && o.key != "nation" && o.key != "date" && slices.ContainsFunc(t.means, func(m meaning) bool {
		return base(m.group) == o.key && m.code == o.code
	})
}

// choose takes the only option, or asks which is meant.
func (w *walk) choose(t token, list []option, by how) {
	if len(list) == 1 && !list[0].ask {
		w.put(Value{Key: list[0].key, Value: list[0].code, Typed: t.text}, by)
		return
	}
	var ways [][]Value
	why := Either
	for _, o := range list {
		ways = append(ways, []Value{{Key: o.key, Value: o.code, Typed: t.text}})
		if o.ask {
			why = Unsaid
		}
	}
	w.last = list[0].key
	w.ask(why, ways...)
}

// name takes the name of a field whose choice follows, or has just been said.
func (w *walk) name(i int) bool {
	t := w.list[i]
	code := t.codeOf("name")
	if code == "" {
		return false
	}
	keys := opening.Fellows(code)
	switch {
	case slices.Contains(keys, w.last) && w.last != "":
	case i+1 < len(w.list):
		w.forget()
		w.names, w.named = keys, i
	default:
		return false
	}
	w.use(i)
	return true
}

// try reads the tokens apart from what r has so far.
func (r *reader) try(list []token) *reader {
	c := r.clone()
	c.walk(list)
	return c
}

// walk reads the tokens.
func (r *reader) walk(list []token) {
	w := &walk{reader: r, list: list, used: make([]bool, len(list))}
	w.all()
}
