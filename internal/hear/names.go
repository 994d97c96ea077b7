package hear

import (
	"slices"
	"strings"

	"sillbot/internal/opening"
)

// element is a part of a stretch of names and lengths: fields, or a run of
// lengths.
type element struct {
	fields []named1
	joined bool // with an and between the names
	run    *token
}

// named1 is what one name stands for: a field, or several together.
type named1 struct {
	keys []opening.Key
	ways []opening.Key // a middle whose axis nobody said
	bare bool          // a place alone, such as left
}

// elements puts names that stand together into one, and takes what joins out.
func (w *walk) elements(list []token, merge bool) []element {
	w.axisOf(list)
	var out []element
	var names []token
	joined := false
	flush := func() {
		if names != nil {
			out = append(out, element{fields: w.fields(names), joined: joined})
		}
		names, joined = nil, false
	}
	for i := range list {
		switch t := &list[i]; {
		case t.kind == lengths && names == nil && len(out) > 0 && out[len(out)-1].run != nil && (merge || list[i-1].kind != comma):
			both := *out[len(out)-1].run
			both.text, both.to = both.text+" "+t.text, t.to
			out[len(out)-1].run = &both
		case t.kind == lengths:
			flush()
			out = append(out, element{run: t})
		case isName(*t):
			names = append(names, *t)
			joined = joined || t.marker("others")
		case names != nil && (t.marker("and") || t.kind == comma):
			joined = true
		}
	}
	flush()
	return out
}

// pairs says whether names stand all before their lengths, or all after them,
// or there are none.
func pairs(list []element) bool {
	if len(list) == 1 {
		return list[0].run != nil
	}
	if len(list) == 0 {
		return false
	}
	for i := 1; i < len(list); i++ {
		if (list[i].run == nil) == (list[i-1].run == nil) {
			return false
		}
	}
	return len(list)%2 == 0
}

// fields are what names that stand together name.
func (w *walk) fields(names []token) []named1 {
	axis := ""
	var out []named1
	for _, t := range names {
		if a := t.codeOf("axis"); a != "" {
			axis, w.axis = a, a
		}
	}
	placed := false
	for _, t := range names {
		code, pos := t.codeOf("name"), t.codeOf("pos")
		if axis == "" && (code == "widths" || code == "heights") {
			axis = strings.TrimSuffix(code, "s")
		}
		switch {
		case t.marker("others"):
			placed = true
			out = append(out, w.others()...)
		case pos != "" && !(code != "" && pos != "middle" && axis == ""):
			placed = true
			at := w.at(pos, axis)
			at.bare = axis == ""
			out = append(out, at)
			if own := axisOf(t); own != "" {
				w.axis = own
			}
		case code != "" && code != "widths" && code != "heights":
			placed = true
			keys := opening.Fellows(code)
			if n := len(out); n == 0 || !slices.Equal(out[n-1].keys, keys) { // off the floor, to the glass
				out = append(out, named1{keys: keys})
			}
		}
	}
	if !placed && axis != "" {
		out = append(out, named1{keys: opening.Fellows(axis + "s")})
	}
	return out
}

// others are the readings of a side that this message did not say yet.
func (w *walk) others() []named1 {
	var out []named1
	for _, key := range placesOf[w.axis] {
		if key != "" && !w.saidNow(key) {
			out = append(out, named1{keys: []opening.Key{key}})
		}
	}
	return out
}

// at is the reading at a place: top, middle, bottom, left, right.
func (w *walk) at(pos, axis string) named1 {
	if axis == "" {
		switch pos {
		case "top", "bottom":
			axis = "width"
		case "left", "right":
			axis = "height"
		default:
			axis = w.axis
		}
	}
	if axis == "" {
		return named1{ways: []opening.Key{opening.Widths[1], opening.Heights[1]}}
	}
	for _, key := range placesOf[axis] {
		if strings.HasSuffix(key, "."+pos) {
			return named1{keys: []opening.Key{key}}
		}
	}
	return named1{}
}

// first is the field of a name, the first open one of several.
func (f named1) first(w *walk) []opening.Key {
	for _, key := range f.keys {
		if !w.known.Has(key) {
			return []opening.Key{key}
		}
	}
	return f.keys[:min(1, len(f.keys))]
}

// axisOf notes the axis that the names speak of, for a middle that stands before
// any other; else the axis of what is asked.
func (w *walk) axisOf(list []token) {
	w.axis = ""
	for _, t := range list {
		if w.axis = axisOf(t); w.axis != "" {
			return
		}
	}
	open := w.open()
	if w.saidNow(w.last) {
		open = w.last
	}
	switch {
	case strings.HasPrefix(open, "width."):
		w.axis = "width"
	case strings.HasPrefix(open, "height.") && (open != "height.left" || w.saidNow(open)):
		w.axis = "height"
	}
}

// axisOf is the axis of a name; "" for a middle and what is on neither.
func axisOf(t token) string {
	axis, code, pos := t.codeOf("axis"), t.codeOf("name"), t.codeOf("pos")
	switch {
	case axis != "":
		return axis
	case strings.HasPrefix(code, "width"), pos == "top", pos == "bottom":
		return "width"
	case strings.HasPrefix(code, "height"), pos == "left", pos == "right":
		return "height"
	}
	return ""
}

var placesOf = map[string][3]opening.Key{"width": opening.Widths, "height": opening.Heights}
