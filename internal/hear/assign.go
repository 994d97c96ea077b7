package hear

import (
	"regexp"
	"slices"
	"strings"

	"sillbot/internal/opening"
	"sillbot/internal/reading"
)

// sides doubts one width and one height for the whole opening.
func (w *walk) sides(keys []opening.Key, n int) {
	if n != 1 || w.every || keys[0] != opening.Widths[0] && keys[0] != opening.Heights[0] {
		return
	}
	if w.pair != "" && w.pair != keys[0] {
		w.unsure = true
	}
	w.pair = keys[0]
}

// onwards is the field and those of its group after it.
func onwards(key opening.Key) []opening.Key {
	f := opening.Find(key)
	if f == nil {
		return nil
	}
	fellows := opening.Fellows(f.Change)
	if i := slices.Index(fellows, key); i >= 0 {
		return fellows[i:]
	}
	return []opening.Key{key}
}

// group gives lengths to several fields named together: all of them anew, or one
// by one to those without a value.
func (w *walk) group(keys []opening.Key, run *token, n int) {
	open := slices.DeleteFunc(slices.Clone(keys), func(key opening.Key) bool { return w.known.Has(key) && key != w.ctx.Open })
	switch {
	case (w.every && n == 1 || timesThree.MatchString(run.text)) && len(keys) > 1:
		run := *run
		run.text = strings.TrimLeft(threeTimes.ReplaceAllString(run.text, ""), " ")
		for _, key := range keys {
			w.series([]opening.Key{key}, &run, 1)
		}
	case n > len(keys):
		w.series(append(slices.Clone(keys), w.following(keys)...), run, n)
	case n == len(keys):
		w.series(keys, run, n)
	case n <= len(open):
		w.series(open, run, n)
	default:
		w.oneOf(keys, run, n)
	}
}

// following are the readings after the last of keys.
func (w *walk) following(keys []opening.Key) []opening.Key {
	var out []opening.Key
	after := false
	for f := range opening.Fields {
		if after && f.Is(opening.Reading) {
			out = append(out, f.Key)
		}
		after = after || f.Key == keys[len(keys)-1]
	}
	return out
}

// oneOf asks for which of the fields a length is.
func (w *walk) oneOf(keys []opening.Key, run *token, n int) {
	var ways [][]Value
	for _, key := range keys {
		c := w.clone()
		(&walk{reader: c}).series([]opening.Key{key}, run, 1)
		if len(c.said) == 1 {
			ways = append(ways, c.said)
		}
	}
	if n != 1 || len(ways) == 0 {
		w.lose(*run)
		return
	}
	w.ask(Either, ways...)
}

// count is how many lengths a run has for those fields.
func (w *walk) count(run *token, fields []named1) int {
	want := opening.SideRange
	if len(fields) > 0 && len(fields[0].keys) > 0 {
		if f := opening.Find(fields[0].keys[0]); f != nil && f.Kind == opening.Length {
			want = f.Usual
		}
	}
	if timesThree.MatchString(run.text) {
		return 1
	}
	n := 0
	for rest := run.text; rest != "" && n < 20; n++ {
		_, after, err := reading.Next(rest, want)
		if err != nil {
			return max(n, 1)
		}
		rest = after
	}
	return n
}

// series gives the lengths of a run to the keys in order.
func (w *walk) series(keys []opening.Key, run *token, n int) {
	rest := run.text
	for i := 0; i < n && rest != ""; i++ {
		if i >= len(keys) {
			w.lost = append(w.lost, strings.TrimSpace(rest))
			return
		}
		if rest = w.one(keys[i], rest, run, w.by); w.length != nil || w.trouble != nil {
			return
		}
	}
}

// threeTimes is the beginning of 3 x 1204.
var threeTimes = regexp.MustCompile(`^\s*3\s*[x×*]\s*`)

// timesThree is one reading for all three: 1204 x 3.
var timesThree = regexp.MustCompile(`^\s*(?:\d{3,4}\s*(?:mm)?\s*[x×*]\s*3|3\s*[x×*]\s*\d{3,4}(?:\s*mm)?)\s*$`)
