package hear

import (
	"cmp"
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// fall takes how the sill falls and where a bar stands: words that are figures.
func (w *walk) fall(i int) bool {
	t := w.list[i]
	key := w.open()
	f := opening.Find(key)
	if n := slices.Index(w.names, opening.Key("sill.fall")); n >= 0 {
		key = "sill.fall"
	}
	switch {
	case t.marker("level") && key == "sill.fall":
		w.use(i)
		w.put(Value{Key: key, Value: "0", Typed: t.text}, named)
		return true
	case t.has("part") && f != nil && (f.Name == "mullion" || f.Name == "transom"):
		return w.share(i, f)
	case key == "lean":
		return w.plumb(i)
	case key == "sill.fall" && w.has(lengths):
		return w.slope(key, i)
	}
	return false
}

// mostFall is the most that a sill is said to fall in a word beside others, mm.
var mostFall = decimal.NewFromInt(40)

// fallSaid takes what a message that says more says of the sill's fall out of it: the
// name, a small length and the end that is lower ("sill 5 right", "fall 5 lower on the
// left"), or a small length and which end is how ("right end 3 lower").
func (r *reader) fallSaid(list []token) []token {
	for i := range list {
		from, to := i, i
		switch name := list[i].codeOf("name"); {
		case (name == "sill" || name == "sill.fall") && i+1 < len(list) && list[i+1].kind == lengths:
			for to = i + 2; to < len(list) && ofFall(list[to]); to++ {
			}
		case list[i].marker("lower") || list[i].marker("higher"):
			for from = i; from > 0 && (ofFall(list[from-1]) || list[from-1].kind == lengths || list[from-1].marker("is")); from-- {
			}
			for to = i + 1; to < len(list) && ofFall(list[to]); to++ {
			}
			if slices.ContainsFunc(slices.Concat(list[:from], list[to:]), ofFall) { // left is, once more, 8 higher than the right
				return list
			}
		default:
			continue
		}
		if mm, ok := r.fallOf(list[from:to]); ok && (to == len(list) || list[to].kind != lengths) {
			if r.open() != "sill.fall" && !slices.ContainsFunc(list[from:to], ofEnd) { // right is 3 lower: or the right height
				r.unsure = true
			}
			r.put(Value{Key: "sill.fall", Value: mm.String(), Typed: r.text[list[from].from:list[to-1].to]}, named)
			return append(slices.Clone(list[:from]), list[to:]...)
		}
	}
	return list
}

// ofFall says whether the token tells which end of the sill is how.
func ofFall(t token) bool {
	return t.marker("lower") || t.marker("higher") || t.codeOf("pos") == "left" || t.codeOf("pos") == "right"
}

// ofEnd says whether the token speaks of the sill or of its end.
func ofEnd(t token) bool {
	name := t.codeOf("name")
	return name == "sill" || name == "sill.fall" || t.marker("end")
}

// fallOf is how much lower the right end is by such words, in mm; false where they say
// no side, or no one small length.
func (r *reader) fallOf(list []token) (decimal.Decimal, bool) {
	side, lower, text := "", true, ""
	for _, t := range list {
		switch {
		case t.kind == lengths && text != "":
			return decimal.Zero, false
		case t.kind == lengths:
			text = t.text
		case t.marker("higher"):
			lower = false
		default:
			side = cmp.Or(side, t.codeOf("pos"))
		}
	}
	l, rest, err := r.ctx.length(opening.Find("sill.fall"), text)
	if side == "" || err != nil || !l.Clear() || rest != "" || l.MM.GreaterThan(mostFall) || l.MM.IsNegative() {
		return decimal.Zero, false
	}
	if (side == "left") == lower {
		return l.MM.Neg(), true
	}
	return l.MM, true
}

// plumb takes a plumb reading for which way it leans: 8 to the right at the top.
func (w *walk) plumb(from int) bool {
	side, mine := "", []int(nil)
	for i := from; i < len(w.list); i++ {
		t := w.list[i]
		pos := t.codeOf("pos")
		switch {
		case w.used[i]:
		case pos == "left" || pos == "right":
			side = cmp.Or(side, pos)
			fallthrough
		case t.kind == lengths, t.kind == comma, t.marker("is"), t.marker("outside"), pos == "top", t.codeOf("lean") != "":
			side = cmp.Or(side, t.codeOf("lean"))
			mine = append(mine, i)
		default:
			i = len(w.list)
		}
	}
	if side == "" {
		return false
	}
	w.use(mine...)
	w.put(Value{Key: "lean", Value: side, Typed: w.text[w.list[mine[0]].from:w.list[mine[len(mine)-1]].to]}, named)
	return true
}

// slope takes "5 low on the right": how much lower the right end is.
func (w *walk) slope(key opening.Key, from int) bool {
	var side, way string
	var run *token
	var mine []int
	for i := from; i < len(w.list); i++ {
		t := &w.list[i]
		switch {
		case w.used[i]:
			continue
		case t.kind == lengths && run == nil:
			run = t
		case t.marker("lower") || t.marker("higher"):
			way = t.codeOf("hear")
		case t.codeOf("pos") == "left" || t.codeOf("pos") == "right":
			side = cmp.Or(side, t.codeOf("pos")) // the first: left is 8 higher than the right
		case t.codeOf("name") == "sill" || t.codeOf("name") == "sill.fall" || t.kind == comma || t.marker("is") || t.marker("outside"):
		default:
			i = len(w.list)
			continue
		}
		mine = append(mine, i)
	}
	if run == nil {
		return false
	}
	if side == "" {
		return w.bareFall(key, run, mine)
	}
	l, rest, err := w.ctx.length(opening.Find(key), run.text)
	if way == "" {
		way = "lower" // 5 right
	}
	if err != nil || !l.Clear() || rest != "" || l.MM.IsNegative() {
		return false
	}
	mm := l.MM
	if (side == "left") == (way == "lower") {
		mm = decimal.Zero.Sub(mm)
	}
	w.use(mine...)
	w.put(Value{Key: key, Value: mm.String(), Typed: run.text}, named)
	return true
}

// bareFall asks which end is lower where only a figure was given, or that it falls.
func (w *walk) bareFall(key opening.Key, run *token, mine []int) bool {
	l, rest, err := w.ctx.length(opening.Find(key), run.text)
	others := func(key opening.Key) bool { return key != "sill" && key != "sill.fall" }
	if err != nil || !l.Clear() || rest != "" || !l.MM.IsPositive() || slices.ContainsFunc(w.names, others) {
		return false // 0 is level; with a minus it is said
	}
	w.use(mine...)
	w.eitherEnd(l.MM, run.text)
	return true
}

// share takes half way, thirds and quarters for a bar: as the program divides it
// where that is the same, else in mm of the frame.
func (w *walk) share(i int, f *opening.Field) bool {
	part := w.list[i].codeOf("part")
	columns := w.known.Columns()
	even := f.Name == "mullion" && (part == "half" && columns == 2 || part == "thirds" && columns == 3 || part == "quarters" && columns == 4) ||
		f.Name == "transom" && part == "two-thirds"
	v := Value{Key: f.Key, Value: opening.Skipped, Typed: w.list[i].text}
	if !even {
		_, height, ok := w.ctx.Frame()
		n := map[string]int64{"half": 2, "third": 3}[part]
		if f.Name != "transom" || !ok || n == 0 {
			return false
		}
		v.Value = height.Div(decimal.NewFromInt(n)).Round(0).String()
	}
	w.use(i)
	w.put(v, named)
	return true
}
