package hear

import (
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// What a maker needs besides the survey is heard at any time, in words of its own that
// the reading of a survey never meets: only a clause of which every word is of such
// items is taken, and it is taken before the rest of the message is read.

// items takes the clauses of items out of the message.
func (r *reader) items() {
	list := atoms(r.text)
	r.glassByLight = r.known.Value(opening.ByLight)
	for from := 0; from < len(list); {
		to := from
		for to < len(list) && !breaks(list, to) {
			to++
		}
		asked := to < len(list) && list[to].text == "?"
		if !asked && !r.takeItems(list[from:to]) {
			r.halves(list[from:to])
		}
		from = to + 1
	}
	if r.byLight {
		r.put(Value{Key: opening.ByLight, Value: r.glassByLight}, named)
	}
}

// halves tries the parts of a clause between the words for and.
func (r *reader) halves(list []atom) {
	at := -1
	for i, a := range list {
		if a.kind == word && (a.text == "and" || a.text == "with" || a.text == "plus") && r.takeItems(list[at+1:i]) {
			r.blank(list[i : i+1])
			at = i
		}
	}
	if at >= 0 {
		r.takeItems(list[at+1:])
		return
	}
	for i := len(list) - 1; i > 0; i-- {
		if list[i].kind == word && list[i].text == "and" && r.takeItems(list[i+1:]) {
			r.blank(list[i : i+1])
			list = list[:i]
		}
	}
}

// breaks says whether a clause ends before atom i.
func breaks(list []atom, i int) bool {
	a := list[i]
	if a.kind == lineEnd {
		return true
	}
	inFigure := a.glued && i+1 < len(list) && list[i+1].glued && list[i+1].kind == digits
	return a.kind == mark && strings.ContainsAny(a.text, ",;.!?") && !inFigure
}

// blank takes atoms out of the message. No byte moves.
func (r *reader) blank(list []atom) {
	if len(list) > 0 {
		from, to := list[0].from, list[len(list)-1].to
		r.text = r.text[:from] + strings.Repeat(" ", to-from) + r.text[to:]
	}
}

// takeItems takes a clause if every word of it is of items.
func (r *reader) takeItems(list []atom) bool {
	if r.panes(list) {
		return true
	}
	c := clause{reader: r, list: list}
	for c.at < len(c.list) {
		if !c.next() {
			return false
		}
	}
	if len(c.values) == 0 || c.waits {
		return false
	}
	for _, v := range c.values {
		r.put(v, named)
	}
	r.blank(list)
	return true
}

// clause is a clause as it is gone through.
type clause struct {
	*reader
	list   []atom
	at     int
	names  []opening.Key // the items that were named last
	waits  bool          // for the value of what was named
	values []Value
}

// next takes what begins at an atom; false when it is of no item.
func (c *clause) next() bool {
	if a := c.list[c.at]; a.kind == mark && strings.Contains(":-–—=()", a.text) {
		c.at++
		return true
	}
	means, end := c.phrase()
	for _, take := range []func([]meaning, int) bool{c.value, c.left, c.name} {
		if take(means, end) {
			return true
		}
	}
	if c.figure() || c.day() {
		return true
	}
	if slices.ContainsFunc(means, func(m meaning) bool { return m.group == fillers }) {
		c.at = end
		return true
	}
	return false
}

// phrase is the longest phrase of items that begins here.
func (c *clause) phrase() (means []meaning, end int) {
	joined := ""
	words := c.ctx.Words
	for n, j := 0, c.at; n < mostWords && j < len(c.list); j++ {
		a := c.list[j]
		if a.kind == mark && n > 0 && a.text == "-" {
			continue
		}
		if a.kind != word && a.kind != digits {
			break
		}
		joined = strings.TrimPrefix(joined+" "+words.mended(a.text), " ")
		n++
		if found := words.items.phrases[joined]; found != nil {
			means, end = found, j+1
		}
	}
	return means, end
}

// wanted says whether a value of the item may be meant: words of the old window's
// glass and vents are the survey's.
func (c *clause) wanted(f *opening.Field, strong bool) bool {
	open := opening.Find(c.ctx.Open)
	asked := open != nil && (open.Key == f.Key || open.Change == f.Change && open.Scope == opening.OfJob) || slices.Contains(c.names, f.Key)
	said := slices.ContainsFunc(c.values, func(v Value) bool { return opening.Find(v.Key).Change == "newvents" })
	switch {
	case asked:
		return true
	case !strong:
		return false
	case f.Key == "trickle":
		return c.known.Has("vents") && c.ctx.Open != "vents"
	case f.Change == "newvents":
		return c.known.Given("trickle") || said
	case f.Change == "unit", f.Key == opening.ByClass:
		return c.known.Has("glass") && c.ctx.Open != "glass"
	case f.Key == "inside":
		return c.known.Given("material") && c.ctx.Open != "material"
	}
	return true
}

// value takes words that answer an item.
func (c *clause) value(means []meaning, end int) bool {
	for _, strong := range []bool{true, false} {
		for _, m := range means {
			for _, f := range answeredBy()[base(m.group)] {
				if f.Scope != opening.OfJob || strings.HasSuffix(m.group, openOnly) == strong || !c.wanted(f, strong) {
					continue
				}
				c.give(f, m.code, end)
				return true
			}
		}
	}
	return false
}

func (c *clause) give(f *opening.Field, value string, end int) {
	c.values = append(c.values, Value{Key: f.Key, Value: value, Typed: c.text[c.list[c.at].from:c.list[end-1].to]})
	c.at, c.waits = end, false
}

// left takes that the desk decides, or that it is not known, of what is named, or of
// the open question.
func (c *clause) left(means []meaning, end int) bool {
	value := ""
	if slices.ContainsFunc(means, func(m meaning) bool { return m.group == deskWords }) {
		value = opening.DeskSays
	} else if means, stop := (&lexer{ctx: c.ctx, text: c.text, atoms: c.list}).phraseAt(c.at); (token{means: means}).marker("dunno") && len(c.names) > 0 {
		value, end = opening.Skipped, stop
	}
	keys := c.names
	if open := opening.Find(c.ctx.Open); len(keys) == 0 && open != nil && open.Is(opening.Maker) {
		keys = []opening.Key{open.Key}
	}
	if value == "" || len(keys) == 0 {
		return false
	}
	c.give(opening.Find(keys[0]), value, end)
	return true
}

// name takes the name of an item whose value comes.
func (c *clause) name(means []meaning, end int) bool {
	for _, m := range means {
		if m.group == "name" && !c.waits {
			if m.code == "newvents" && (!c.known.Has("vents") || c.ctx.Open == "vents") {
				return false // the old window's
			}
			c.names, c.at, c.waits = opening.Fellows(m.code), end, true
			return true
		}
	}
	return false
}

// figures are the items whose value is a number, in the order in which a bare one is
// tried: those that were named, or else the open question.
func (c *clause) figures() []*opening.Field {
	keys := c.names
	if len(keys) == 0 {
		keys = []opening.Key{c.ctx.Open}
		if c.ctx.Open == "trickle" {
			keys = append(keys, opening.Fellows("newvents")...)
		}
	}
	var list []*opening.Field
	for _, key := range keys {
		if f := opening.Find(key); f != nil && f.Scope == opening.OfJob && (f.Kind == opening.Length && len(c.names) > 0 || f.Kind == opening.Figure || f.Key == "trickle") {
			list = append(list, f)
		}
	}
	return list
}

// figure takes a number for an item.
func (c *clause) figure() bool {
	if c.list[c.at].kind != digits {
		return false
	}
	for _, f := range c.figures() {
		if f.Kind == opening.Length {
			if c.length(f) {
				return true
			}
			continue
		}
		if c.number(f) {
			return true
		}
	}
	return false
}

func (c *clause) length(f *opening.Field) bool {
	text := c.text[c.list[c.at].from:c.list[len(c.list)-1].to]
	l, rest, err := c.ctx.length(f, text)
	if err != nil || !l.Clear() {
		return false
	}
	end, stop := c.at, c.list[len(c.list)-1].to-len(rest)
	for end < len(c.list) && c.list[end].from < stop {
		end++
	}
	c.give(f, l.MM.String(), end)
	c.values[len(c.values)-1].Other = l.Unit != "" && l.Unit != "mm"
	return true
}

// number takes a plain number and its unit.
func (c *clause) number(f *opening.Field) bool {
	end := c.at + 1
	text := c.list[c.at].text
	if end+1 < len(c.list) && c.list[end].glued && strings.Contains(".,", c.list[end].text) && c.list[end+1].kind == digits {
		text, end = text+"."+c.list[end+1].text, end+2
	}
	least, most := decimal.Zero, decimal.NewFromInt(f.Most)
	switch f.Key {
	case "ug":
		least, most = opening.LeastUg, opening.MostUg
	case "trickle.area":
		least, most = opening.LeastVent, opening.MostVent
	}
	d, err := decimal.NewFromString(text)
	if err != nil || d.LessThan(least) || d.GreaterThan(most) || f.Key == "trickle" && !d.IsInteger() {
		return false
	}
	for end < len(c.list) && c.list[end].kind != lineEnd && strings.Contains(" mm mm2 2 ² w m2k m k / sq square ", " "+c.list[end].text+" ") {
		end++
	}
	c.give(f, d.String(), end)
	return true
}

// day takes the day wanted.
func (c *clause) day() bool {
	if c.ctx.Open != "wanted" && !slices.Contains(c.names, "wanted") {
		return false
	}
	l := &lexer{ctx: c.ctx, text: c.text, atoms: c.list}
	end := l.day(c.at)
	if end == 0 || len(l.list) != 1 || l.list[0].day.IsZero() {
		return false
	}
	c.give(opening.Find("wanted"), l.list[0].day.Format(opening.DateForm), end)
	return true
}

// panes takes a clause that says nothing else.
func (r *reader) panes(list []atom) bool {
	c := clause{reader: r, list: list}
	value, glass, found := r.glassByLight, "", false
	var lights []int
	named := r.ctx.Open == opening.ByLight
	for c.at < len(list) {
		a := list[c.at]
		means, end := c.phrase()
		of := func(group string) string {
			for _, m := range means {
				if base(m.group) == group {
					return m.code
				}
			}
			return ""
		}
		n, err := strconv.Atoi(a.text)
		switch {
		case a.kind == digits && err == nil && named && n >= 1 && n <= len(r.known.Layout().Lights):
			lights = append(lights, n)
			c.at++
		case of(lightWords) != "":
			named, c.at = true, end
		case of(string(opening.ByClass)) != "" && glass == "":
			glass, c.at = of(string(opening.ByClass)), end
		case of(fillers) != "", a.kind == mark && (a.text == ":" || a.text == "-" || a.text == "&"):
			c.at = max(end, c.at+1)
		default:
			return false
		}
		if glass != "" && len(lights) > 0 && (c.at == len(list) || !ofLights(list[c.at:])) {
			value, found = opening.WithPanes(value, opening.SafetyGlass(glass), lights...), true
			glass, lights = "", nil
		}
	}
	if !found || glass != "" || len(lights) > 0 {
		return false
	}
	r.glassByLight, r.byLight = value, true
	r.blank(list)
	return true
}

// ofLights says whether more numbers of lights follow.
func ofLights(list []atom) bool {
	i := slices.IndexFunc(list, func(a atom) bool { return a.kind == digits || a.kind == word && a.text != "and" })
	return i >= 0 && list[i].kind == digits
}
