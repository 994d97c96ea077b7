package hear

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/reading"
)

// denies is where a value is denied: a not, or a no before what is known, as some
// say: 1061 no 1051. -1 for nowhere.
func (r *reader) denies(list []token) int {
	if i := markerAt(list, "not"); i >= 0 {
		return i
	}
	for i, t := range list[:len(list)-1] {
		if !t.marker("no") {
			continue
		}
		next := list[i+1]
		for j := i + 2; next.marker("is") && j < len(list); j++ {
			next = list[j]
		}
		if l, _, err := reading.Next(next.text, opening.SideRange); next.kind == lengths && i > 0 && err == nil && l.Clear() && len(r.with(l.MM)) > 0 {
			r.unsure = true // or the second figure is meant
			return i
		}
		if next.kind != phrase || next.has("answer") || next.has("name") && !next.has("stuff") {
			continue
		}
		if i == 0 && (next.has("stuff") || len((&walk{reader: r}).options(next)) > 0) {
			r.unsure = true // no timber: none of it, or rather timber
		}
		if w := (&walk{reader: r}); r.knows(next) || i == 0 && (w.fits(r.open(), next) || r.open() == "material" && next.has("stuff")) {
			r.unsure = true
			return i
		}
	}
	return -1
}

// knows says whether the word says a value that is known already.
func (r *reader) knows(t token) bool {
	w := &walk{reader: r}
	if t.has("answer") {
		return false
	}
	if slices.ContainsFunc(w.options(t), func(o option) bool { return r.known.Value(o.key) == o.code }) {
		return true
	}
	if t.codeOf("colour") == "white" && r.known.Value("material") == "pvcu-white" {
		return true
	}
	if stuff := t.codeOf("stuff"); stuff != "" && strings.HasPrefix(r.known.Value("material"), stuff) {
		return true
	}
	c := r.try([]token{t})
	return len(c.again) > 0 && len(c.said) == 0 && len(c.lost) == 0
}

// denied takes "not 1204 but 1024" and "plaster, not brick": the value that is
// not denied, for the field that has the denied one. False leaves the part to
// be read as it stands, without the not.
func (r *reader) denied(list []token, i int) bool {
	rest := slices.Clone(list[:i])
	no := i + 1
	for no < len(list) && (list[no].kind == comma || list[no].marker("is")) {
		no++
	}
	if no >= len(list) {
		return false
	}
	wrong := list[no]
	for no+1 < len(list) && ofStuff(wrong) && ofStuff(list[no+1]) && list[no+1].kind == phrase { // not white plastic
		no++
	}
	if after := list[no+1:]; len(after) > 0 && (after[0].marker("but") || after[0].kind == comma) {
		rest = append(rest, after[1:]...)
	} else {
		rest = append(rest, after...)
	}
	if len(rest) == 0 {
		r.loseAll(list)
		return true
	}
	if wrong.kind == lengths && slices.ContainsFunc(rest, func(t token) bool { return t.has("layout") }) && strings.HasPrefix(r.known.Value("layout"), wrong.text) { // 2 lights not 1
		r.correcting = true
		r.walk(rest)
		return true
	}
	if wrong.kind == lengths {
		return r.deniedLength(list, rest, wrong)
	}
	without, with := r.try(rest), r.try([]token{wrong})
	if r.ctx.Correct && len(with.again) == 0 && !r.knows(wrong) { // change steel to timber, where none is of steel
		r.loseAll(list)
		return true
	}
	same := without.last != "" && without.last == with.last
	if !same && len(with.said) > 0 {
		r.lost = append(r.lost, wrong.text)
	}
	r.correcting = true
	r.walk(rest)
	return true
}

// fromTo takes the old value out of "bottom width from 1203 to 1200", where it is the
// one that is known.
func (r *reader) fromTo(list []token) []token {
	to := slices.IndexFunc(list, func(t token) bool { return t.kind == phrase && strings.EqualFold(t.text, "to") })
	if to < 2 || to+1 >= len(list) || !slices.ContainsFunc(list[:to-1], isName) {
		return list
	}
	if c := r.try(list[:to]); len(c.again) == 0 || len(c.said)+len(c.lost) > 0 || c.ways != nil {
		return list
	}
	r.sure = true
	return slices.Concat(list[:to-1], list[to+1:])
}

func ofStuff(t token) bool { return t.has("stuff") || t.has("colour") }

// deniedLength corrects the reading that has the denied figure.
func (r *reader) deniedLength(list, rest []token, wrong token) bool {
	l, _, err := reading.Next(wrong.text, opening.SideRange)
	rest = slices.DeleteFunc(slices.Clone(rest), func(t token) bool {
		return t.kind == comma || t.marker("correct") || t.marker("wrong") || t.marker("is") || t.marker("but") || t.marker("and") && !slices.ContainsFunc(rest, isName)
	})
	n := slices.IndexFunc(rest, func(t token) bool { return t.kind == lengths })
	ofSill := r.known.Value("sill") == wrong.text || slices.ContainsFunc(rest, func(t token) bool { return t.codeOf("name") == "sill" })
	if n >= 0 && ofSill && r.otherSill(rest, n) {
		return true
	}
	if err != nil || !l.Clear() || n < 0 {
		r.loseAll(list)
		return true
	}
	if slices.ContainsFunc(rest, isName) {
		r.replaced = r.with(l.MM)
		r.walk(rest)
		r.replaced = nil
		return true
	}
	var ways [][]Value
	for _, key := range r.with(l.MM) {
		c := r.clone()
		(&walk{reader: c}).one(key, rest[n].text, &rest[n], certain)
		if len(c.said) == 1 {
			ways = append(ways, c.said)
		}
	}
	switch {
	case len(ways) == 1 && len(rest) == 1:
		r.put(ways[0][0], certain)
	case len(ways) > 0 && len(rest) == 1:
		r.ask(Either, ways...)
	case len(rest) == 1: // nothing has the figure denied
		r.walk(rest)
	default:
		r.loseAll(list)
	}
	return true
}

// otherSill takes the figure at n for the sill's, whose depth was denied: make the
// sill 180 not 150. A reading that is named besides is not meant.
func (r *reader) otherSill(rest []token, n int) bool {
	if slices.ContainsFunc(rest, func(t token) bool { return isName(t) && t.codeOf("name") != "sill" }) {
		return false
	}
	list := []token{{kind: phrase, means: []meaning{{"name", "sill"}}}, rest[n]}
	c := r.try(list)
	if len(c.said) != 1 || len(c.lost) > 0 || c.said[0].Key != "sill" || len(rest) > 2 {
		return false
	}
	r.put(c.said[0], certain)
	return true
}

// with are the fields that have that length.
func (r *reader) with(mm decimal.Decimal) []opening.Key {
	var keys []opening.Key
	for f := range opening.Fields {
		if f.Kind == opening.Length && f.Scope == opening.Window && r.known.Given(f.Key) && r.known.Number(f.Key).Equal(mm) {
			keys = append(keys, f.Key)
		}
	}
	return keys
}
