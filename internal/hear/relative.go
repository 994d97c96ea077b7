package hear

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// mostBeside is the largest difference that people say instead of a reading, mm.
var mostBeside = decimal.NewFromInt(100)

// exchanged takes two readings that were said the wrong way round. They are only
// proposed.
func (r *reader) exchanged(list []token) bool {
	if markerAt(list, "exchange") < 0 || slices.ContainsFunc(list, func(t token) bool { return t.kind == lengths }) {
		return false
	}
	var keys []opening.Key
	for _, f := range r.namedBy(list) {
		keys = append(keys, f.keys...)
	}
	if len(keys) != 2 || !r.known.Given(keys...) {
		return false
	}
	first, second := r.known.Value(keys[0]), r.known.Value(keys[1])
	r.ask(Unsaid, []Value{{Key: keys[0], Value: second}, {Key: keys[1], Value: first}})
	return true
}

// beside takes a reading that was said by its difference: 2 less than the top, add
// 10 to the top width. It is only proposed.
func (r *reader) beside(list []token) bool {
	i := slices.IndexFunc(list, func(t token) bool { return t.kind == lengths })
	var sign decimal.Decimal
	switch {
	case i < 0:
		return false
	case r.plainly(list, "less"):
		sign = decimal.NewFromInt(-1)
	case r.plainly(list, "more"):
		sign = decimal.NewFromInt(1)
	default:
		return false
	}
	l, rest, err := r.ctx.length(opening.Find("sill.fall"), list[i].text)
	if err != nil || rest != "" || !l.Clear() || l.MM.Sign() <= 0 || l.MM.GreaterThan(mostBeside) {
		return false
	}
	key, of := r.besideWhat(list, i)
	f := opening.Find(key)
	if f == nil || !f.Is(opening.Reading) || f.Key == "sill.fall" || r.ctx.Open == "sill.fall" || !r.known.Given(of) {
		return false
	}
	mm := r.known.Number(of).Add(l.MM.Mul(sign))
	if !r.ctx.Fits(&r.known, key, mm) {
		return false
	}
	r.ask(Unsaid, []Value{{Key: key, Value: mm.String(), Typed: list[i].text}})
	return true
}

// besideWhat is the reading that a difference at i is said for, and the one that
// it is from.
func (r *reader) besideWhat(list []token, i int) (key, of opening.Key) {
	before, after := r.namedBy(list[:i]), r.namedBy(list[i:])
	one := func(fields []named1) opening.Key {
		if len(fields) != 1 || len(fields[0].keys) != 1 {
			return ""
		}
		return fields[0].keys[0]
	}
	changes := slices.ContainsFunc(list[:i], func(t token) bool { return t.marker("less") || t.marker("more") }) // add 10 to
	switch {
	case len(before) == 0 && len(after) == 0 && changes:
		return r.target(), r.target()
	case len(before) == 0 && len(after) == 0:
		f := opening.Find(r.ctx.Open)
		if f == nil || !f.Is(opening.Reading) {
			return "", ""
		}
		fellows := opening.Fellows(f.Change)
		at := slices.Index(fellows, f.Key)
		return f.Key, fellows[max(at-1, 0)]
	case len(before) == 0 && changes:
		return one(after), one(after)
	case len(before) == 0:
		return r.ctx.Open, one(after)
	case len(after) == 0:
		return one(before), one(before)
	}
	return one(before), one(after)
}

// plainly says whether the marker stands among nothing but names, lengths and
// what joins them.
func (r *reader) plainly(list []token, code string) bool {
	return markerAt(list, code) >= 0 && !slices.ContainsFunc(list, func(t token) bool {
		return !isName(t) && t.kind != lengths && t.kind != comma &&
			!slices.ContainsFunc([]string{code, "is", "and", "was", "correct", "harmless", "late", "meant", "all"}, t.marker)
	})
}

// namedBy are the fields that the names among the tokens stand for.
func (r *reader) namedBy(list []token) []named1 {
	w := &walk{reader: r.clone()}
	w.axisOf(list)
	return w.fields(slices.DeleteFunc(slices.Clone(list), func(t token) bool { return !isName(t) }))
}
