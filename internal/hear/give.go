package hear

import (
	"slices"

	"sillbot/internal/opening"
	"sillbot/internal/reading"
)

// give gives the lengths of a run to the fields named.
func (w *walk) give(fields []named1, run *token, after, joined bool) {
	n := w.count(run, fields)
	w.by = named
	if slices.ContainsFunc(fields, func(f named1) bool { return f.bare }) && !w.explicit {
		w.by = placed
	}
	switch {
	case len(fields) == 0 || slices.ContainsFunc(fields, func(f named1) bool { return f.keys == nil && f.ways == nil }):
		w.lose(*run)
	case len(fields) > 1 && n == 1 && joined:
		for _, f := range fields {
			w.series(f.first(w), run, 1)
		}
	case len(fields) > 1 && n == len(fields):
		var keys []opening.Key
		for _, f := range fields {
			keys = append(keys, f.first(w)...)
		}
		w.series(keys, run, n)
	case len(fields) > 1:
		w.lose(*run)
	case fields[0].ways != nil:
		w.oneOf(fields[0].ways, run, n)
	case len(fields[0].keys) > 1:
		w.sides(fields[0].keys, n)
		w.group(fields[0].keys, run, n)
	case after && n > 1:
		w.lastNamed(fields[0].keys[0], run, n)
	default:
		w.series(onwards(fields[0].keys[0]), run, n)
	}
}

// lastNamed gives the last length of a run to the field named behind it, and those
// before it to the open question and those after that: 1203 and 1205 at the bottom.
func (w *walk) lastNamed(key opening.Key, run *token, n int) {
	rest := run.text
	for range n - 1 {
		_, after, err := reading.Next(rest, opening.SideRange)
		if err != nil {
			w.lose(*run)
			return
		}
		rest = after
	}
	c, first := w.clone(), *run
	first.text = run.text[:len(run.text)-len(rest)]
	(&walk{reader: c}).placed(&first)
	if len(c.said) != n-1 || c.lost != nil || c.trouble != nil || c.length != nil || c.unsure || slices.ContainsFunc(c.said, func(v Value) bool { return v.Key == key }) {
		w.lose(*run)
		return
	}
	for _, v := range c.said {
		w.put(v, placed)
	}
	last := *run
	last.text = rest
	w.series([]opening.Key{key}, &last, 1)
}
