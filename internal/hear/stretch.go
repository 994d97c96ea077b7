package hear

import (
	"slices"
	"strings"

	"sillbot/internal/opening"
)

// figures takes the stretch of names and lengths that begins with token i.
func (w *walk) figures(i int) bool {
	if t := w.list[i]; t.kind != lengths && !t.marker("all") && !(w.ofLength(t) && (w.clauseHas(i) || w.heads(i))) {
		return false
	}
	end := i
	for end < len(w.list) && !w.used[end] {
		t := w.list[end]
		joins := t.marker("and") || t.marker("is") || t.marker("was") && end > i && isName(w.list[end-1]) || t.marker("all") || t.kind == comma || (t.marker("correct") || t.marker("wrong")) && end > i && isName(w.list[end-1])
		if t.kind != lengths && !joins && !(w.ofLength(t) && (w.clauseHas(end) || end == i)) {
			break
		}
		end++
	}
	for end > i+1 && (w.list[end-1].kind == comma || w.list[end-1].marker("is") || w.list[end-1].marker("and") || w.list[end-1].kind != lengths && (w.leads(end-1, end) || w.hangs(end-1))) {
		end--
	}
	stretch := w.list[i:end]
	for j := i + 1; j+1 < end; j++ {
		if w.list[j-1].kind == lengths && w.list[j+1].kind == lengths && strings.EqualFold(w.list[j].text, "to") {
			w.unsure = true // from 1050 to 1060
		}
	}
	if !slices.ContainsFunc(stretch, func(t token) bool { return t.kind == lengths }) {
		return false
	}
	for j := i; j < end; j++ {
		w.use(j)
	}
	w.forget()
	w.stretch(stretch)
	return true
}

// hangs says whether the last of a stretch is rather how a light opens: left
// after several lengths.
func (w *walk) hangs(i int) bool {
	code, _ := hinge(w.list[i], true)
	return code != "" && w.list[i-1].kind == lengths && w.count(&w.list[i-1], nil) > 1
}

// leads says whether the name at i, the last of a stretch, is that of a choice
// that follows.
func (w *walk) leads(i, end int) bool {
	t := w.list[i]
	for end < len(w.list) && w.list[end].marker("is") {
		end++
	}
	if end >= len(w.list) || !isName(t) {
		return false
	}
	if w.list[end].kind == glass {
		return t.codeOf("name") == "glass"
	}
	for _, key := range opening.Fellows(t.codeOf("name")) {
		if w.fits(key, w.list[end]) || w.list[end].marker("skip") || w.list[end].marker("dunno") {
			return true
		}
	}
	return false
}

// ofLength says whether the token can name a field that has a length.
func (w *walk) ofLength(t token) bool {
	if !isName(t) {
		return false
	}
	if t.has("axis") || t.has("pos") || t.marker("others") {
		return true
	}
	keys := opening.Fellows(t.codeOf("name"))
	f := opening.Find(keys[0])
	return f != nil && numeric(f)
}

// heads says whether the name at i is followed by a comma and then lengths.
func (w *walk) heads(i int) bool {
	j := i + 1
	for j < len(w.list) && (isName(w.list[j]) || w.list[j].marker("is")) {
		j++
	}
	return j+1 < len(w.list) && w.list[j].kind == comma && w.list[j+1].kind == lengths
}

// stretch pairs names and lengths: over the whole where they alternate, else
// clause by clause.
func (w *walk) stretch(list []token) {
	if one := w.elements(list, true); len(one) == 2 && pairs(one) && oneGroup(one) { // widths 1204, 1202, 1203
		w.assign(one, list)
		return
	}
	w.after = ""
	whole := w.elements(list, false)
	switch {
	case pairs(whole) && whole[0].run != nil && parted(list):
	case w.tooMany(whole) && pairs(whole[1:]): // six readings, diagonals 1598 1606
		w.assign(whole[:1], list)
		w.assign(whole[1:], list)
		return
	case pairs(whole) && !slices.ContainsFunc(list, func(t token) bool {
		return t.kind == comma && whole[0].run == nil && len(whole) > 2 && whole[len(whole)-1].run == nil
	}):
		w.assign(whole, list)
		return
	case headed(whole):
		w.assign(whole[1:], list)
		return
	}
	for _, clause := range split(list, func(t token) bool { return t.kind == comma }) {
		w.clause(clause)
	}
}

// tooMany says whether the first run has more lengths than the name behind it takes.
func (w *walk) tooMany(list []element) bool {
	if len(list) < 3 || list[0].run == nil || list[1].run != nil {
		return false
	}
	room := 0
	for _, f := range list[1].fields {
		room += max(len(f.keys), 1)
	}
	return room > 0 && w.count(list[0].run, nil) > room
}

// parted says whether a comma stands between a length and the name of the next:
// 1049, diagonals 1595.
func parted(list []token) bool {
	for i := 1; i+1 < len(list); i++ {
		if list[i].kind == comma && list[i-1].kind == lengths && isName(list[i+1]) {
			return true
		}
	}
	return false
}

// headed says whether the name of a group stands before lengths that each have a
// name of the group behind: widths are 1204 at the top, 1202 at the bottom.
func headed(list []element) bool {
	if len(list) < 3 || list[0].run != nil || list[1].run == nil || !pairs(list[1:]) || len(list[0].fields) != 1 {
		return false
	}
	group := list[0].fields[0].keys
	return len(group) > 1 && !slices.ContainsFunc(list[1:], func(e element) bool {
		return e.run == nil && slices.ContainsFunc(e.fields, func(f named1) bool { return len(f.keys) != 1 || !slices.Contains(group, f.keys[0]) })
	})
}

// oneGroup says whether one name of several fields stands before or after all
// lengths.
func oneGroup(list []element) bool {
	for _, e := range list {
		if e.run == nil && (len(e.fields) != 1 || len(e.fields[0].keys) < 2) {
			return false
		}
	}
	return true
}

// clause reads one clause of names and lengths; one that does not pair may be
// several with an and between.
func (w *walk) clause(list []token) {
	if w.length != nil || w.trouble != nil {
		return
	}
	if el := w.elements(list, false); pairs(el) {
		w.assign(el, list)
		return
	}
	if el := w.elements(list, false); headed(el) {
		w.assign(el[1:], list)
		return
	}
	if w.around(list) {
		return
	}
	parts := split(list, func(t token) bool { return t.marker("and") })
	for _, part := range parts {
		if !pairs(w.elements(part, false)) {
			parts = nil
		}
	}
	if len(parts) < 2 {
		w.between(list)
		return
	}
	for _, part := range parts {
		if w.length == nil && w.trouble == nil {
			w.assign(w.elements(part, false), part)
		}
	}
}

// around takes "height 1050 on the left": one name in two parts.
func (w *walk) around(list []token) bool {
	n := slices.IndexFunc(list, func(t token) bool { return t.kind == lengths })
	var names []token
	axes, places := 0, 0
	for i, t := range list {
		switch {
		case i == n:
		case t.kind == lengths:
			return false
		case isName(t):
			names = append(names, t)
			if t.has("axis") {
				axes++
			} else if t.has("pos") {
				places++
			}
		}
	}
	if n < 0 || len(names) < 2 {
		return false
	}
	if axes == 1 && places == 1 && len(names) == 2 {
		w.give(w.fields(names), &list[n], true, false)
		return true
	}
	if of := slices.DeleteFunc(slices.Clone(names), ofGlass); slices.ContainsFunc(of, fromGround) {
		names = of // the glass is 900 off the floor
	}
	first := w.fields(names[:1])
	for i := range names { // the post is 580 from the left
		if other := w.fields(names[i : i+1]); len(other) != 1 || other[0].keys == nil || len(first) != 1 || !slices.Equal(first[0].keys, other[0].keys) {
			return false
		}
	}
	w.give(first, &list[n], true, false)
	return true
}

func ofGlass(t token) bool { return t.codeOf("name") == "glass" }

// fromGround says whether the name is a height of the glass.
func fromGround(t token) bool { return t.codeOf("name") == "floor" || t.codeOf("name") == "outside" }

// between asks how a name between two lengths is meant: 1202 bottom 1203.
func (w *walk) between(list []token) {
	el := w.elements(list, false)
	if len(el) == 3 && el[0].run != nil && el[2].run != nil && len(el[1].fields) == 1 && len(el[1].fields[0].keys) > 1 && w.count(el[2].run, el[1].fields) == len(el[1].fields[0].keys) {
		w.assign(el[:1], nil) // 1051, diagonals 1596 1597
		w.assign(el[1:], nil)
		return
	}
	if n := len(el); n%2 == 1 && n >= 3 && el[0].run != nil && el[n-1].run != nil && !slices.ContainsFunc(el, func(e element) bool { return e.run == nil && len(e.fields) != 1 }) {
		ways := [][]Value{}
		for _, halves := range [][2][]element{{el[:1], el[1:]}, {el[:n-1], el[n-1:]}} {
			c := w.clone()
			sub := &walk{reader: c}
			sub.assign(halves[0], nil)
			sub.assign(halves[1], nil)
			if len(c.lost) == 0 && c.trouble == nil && c.length == nil && c.ways == nil && len(c.said) > 0 {
				ways = append(ways, c.said)
			}
		}
		if len(ways) > 0 {
			w.ask(Either, ways...)
			return
		}
	}
	for _, t := range list {
		if !t.marker("and") && !t.marker("is") {
			w.lose(t)
		}
	}
}

// assign gives the lengths to the fields.
func (w *walk) assign(list []element, tokens []token) {
	w.every = markerAt(tokens, "all") >= 0
	w.explicit = w.correcting || w.sure || slices.ContainsFunc(tokens, func(t token) bool {
		return t.marker("is") || t.marker("was") || t.marker("correct") || t.marker("wrong")
	})
	if len(list) == 1 && w.every {
		w.everyOpen(list[0].run)
		return
	}
	if len(list) == 1 {
		if keys := w.onwardsOf(w.after, list[0].run); keys != nil { // top 1204, 1202, 1203
			w.series(keys, list[0].run, len(keys))
			w.after = keys[len(keys)-1]
			return
		}
		w.placed(list[0].run)
		return
	}
	for i := 0; i < len(list); i += 2 {
		names, run := list[i], list[i+1]
		after := names.run != nil
		if after {
			names, run = run, names
		}
		w.give(names.fields, run.run, after, names.joined || w.every)
		if w.length != nil || w.trouble != nil {
			return
		}
		w.after = w.last
	}
}

// onwardsOf are as many fields as a run has lengths, after a field of the same
// group that was named just before; nil where they do not fit.
func (w *walk) onwardsOf(key opening.Key, run *token) []opening.Key {
	if key == "" {
		return nil
	}
	next := onwards(key)[1:]
	n := w.count(run, []named1{{keys: []opening.Key{key}}})
	if n > len(next) || len(next) == 0 || slices.ContainsFunc(next[:n], w.known.Has) {
		return nil
	}
	return next[:n]
}
