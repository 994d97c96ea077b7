package hear

import (
	"regexp"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/reading"
)

// placed gives a run without a name to the open question and those after it.
func (w *walk) placed(run *token) {
	if w.correcting {
		w.corrected(run)
		return
	}
	if open := opening.Find(w.open()); open != nil && open.Is(opening.Reading) && timesThree.MatchString(run.text) {
		if keys := opening.Fellows(open.Change); len(keys) == 3 {
			w.group(keys, run, 1)
			return
		}
	}
	w.unlikely(run)
	early := w.readingsEarly(run)
	previous := opening.Key("")
	from := len(w.said)
	defer func() {
		if (w.trouble != nil || w.length != nil && strings.Contains(run.text, "/")) && len(w.said) > from {
			w.unsure = true // 1050/52/51
		}
	}()
	for rest := w.repeated(run.text); rest != ""; {
		key := w.open()
		f := opening.Find(key)
		if next := after(previous); next != "" && (f == nil || !numeric(f)) {
			key = next // all readings anew
		} else if early || f == nil || !numeric(f) {
			if key = w.earlyReading(rest, early); key == "" {
				w.lost = append(w.lost, strings.TrimSpace(rest))
				return
			}
			early = true
		}
		if spacedThousand.MatchString(rest) {
			w.unsure = true // or it is one figure, 1204
		}
		previous = key
		left := w.one(key, rest, run, placed)
		if w.length != nil || w.trouble != nil {
			return
		}
		if left == rest {
			w.lost = append(w.lost, strings.TrimSpace(rest))
			return
		}
		rest = left
	}
}

// repeated takes the readings that are known already from the front of text:
// three widths, or six readings, in their order.
func (w *walk) repeated(text string) string {
	keys := slices.Concat(opening.Widths[:], opening.Heights[:])
	if !w.known.Given(keys[:3]...) || slices.Contains(keys[:3], w.open()) {
		return text
	}
	rest, n := text, 0
	for n < len(keys) && w.known.Given(keys[n]) {
		l, after, err := reading.Next(rest, opening.SideRange)
		if err != nil || !l.Clear() || !l.MM.Equal(w.known.Number(keys[n])) {
			break
		}
		rest, n = after, n+1
	}
	if n != 3 && n != 6 {
		return text
	}
	for _, key := range keys[:n] {
		w.put(Value{Key: key, Value: w.known.Value(key)}, named)
	}
	return rest
}

// unlikely doubts a run that starts with a side and stops inside the next, and two
// lengths that are rather a width and a height.
func (w *walk) unlikely(run *token) {
	open := w.open()
	if open != opening.Widths[0] && open != opening.Heights[0] {
		return
	}
	list, _ := reading.All(strings.Map(noCross, run.text), opening.SideRange)
	switch n := len(list); {
	case open == opening.Widths[0] && (n == 4 || n == 5) && near(list[3].MM, list[2].MM): // rather a fourth width
		w.unsure = true
	case n == 2 && !near(list[0].MM, list[1].MM):
		w.unsure = true
	}
}

// near says whether two lengths are within a twentieth of each other.
func near(a, b decimal.Decimal) bool {
	return decimal.Max(a, b).LessThanOrEqual(decimal.Min(a, b).Mul(decimal.New(105, -2)))
}

// spacedThousand is 1000 204, which may be 1204 as it was said.
var spacedThousand = regexp.MustCompile(`^\s*\d000 \d{2,3}\b`)

// after is the reading after one of the six; "" for none.
func after(key opening.Key) opening.Key {
	six := slices.Concat(opening.Widths[:], opening.Heights[:])
	if i := slices.Index(six, key); i >= 0 && i+1 < len(six) {
		return six[i+1]
	}
	return ""
}

func numeric(f *opening.Field) bool {
	switch f.Kind {
	case opening.Length, opening.SillPiece, opening.FloorOf, opening.FloorArea, opening.MakeUp:
		return true
	}
	return false
}

// readingsEarly says whether the run has three readings or more that can't be what the
// open question asks for.
func (w *walk) readingsEarly(run *token) bool {
	open := opening.Find(w.open())
	if open == nil || open.Is(opening.Reading) || open.Kind != opening.Length && open.Kind != opening.SillPiece {
		return false
	}
	list, _ := reading.All(strings.Map(noCross, run.text), opening.SideRange)
	l, _, err := w.ctx.length(open, run.text)
	return len(list) >= 3 && list[0].Clear() && (err != nil || !l.Clear())
}

// earlyReading is where readings go that come before they are asked for: three
// of one side, or six.
func (w *walk) earlyReading(rest string, begun bool) opening.Key {
	list, more := reading.All(strings.Map(noCross, rest), opening.SideRange)
	if !begun && (len(list) < 3 || more != "" && len(list) < 6) {
		return ""
	}
	for f := range opening.Fields {
		if f.Is(opening.Reading) && f.Key != "sill.fall" && !w.known.Has(f.Key) {
			return f.Key
		}
	}
	return ""
}

func noCross(r rune) rune {
	if strings.ContainsRune("xX×✕*", r) {
		return ' '
	}
	return r
}

// corrected puts the only length of a run in the place of what was said last.
func (w *walk) corrected(run *token) {
	key := w.target()
	f := opening.Find(key)
	if f != nil && f.Is(opening.Reading) && w.saidNow(key) && w.count(run, []named1{{keys: []opening.Key{key}}}) > 1 { // 1204 sorry 1214 1202 1203
		w.corrects(key, run)
		return
	}
	if f == nil || f.Kind != opening.Length && f.Kind != opening.SillPiece || w.count(run, []named1{{keys: []opening.Key{key}}}) != 1 {
		if open := opening.Find(w.open()); open != nil && numeric(open) {
			w.correcting = false
			c := w.clone()
			(&walk{reader: c}).placed(run)
			if len(c.said) > 0 && len(c.lost) == 0 {
				w.ask(Unsaid, c.said)
				return
			}
		}
		w.lose(*run)
		return
	}
	if l, _, err := w.ctx.length(f, run.text); err == nil && l.Clear() && f.Kind == opening.Length && !w.saidNow(key) && (f.Is(opening.Reading) && f.Key != "sill.fall" && !near(l.MM, w.known.Number(key)) || w.far(Value{Key: key, Value: l.MM.String()})) {
		w.correcting = false
		w.lose(*run) // that is no correction of it
		return
	}
	w.one(key, run.text, run, named)
}

// corrects puts several lengths in the place of what was said last: of a whole side
// that was just said, or of its last reading and what comes after.
func (w *walk) corrects(key opening.Key, run *token) {
	side := opening.Fellows(opening.Find(key).Change)
	n := w.count(run, []named1{{keys: side}})
	if n == len(side) && !slices.ContainsFunc(side, func(key opening.Key) bool { return !w.saidNow(key) }) {
		for rest, i := run.text, 0; i < n; i++ {
			w.correcting = true
			if rest = w.one(side[i], rest, run, named); w.trouble != nil || w.length != nil {
				break
			}
		}
		w.correcting = false
		return
	}
	left := *run
	left.text = w.one(key, run.text, run, named)
	w.correcting = false
	if w.trouble == nil && w.length == nil && left.text != run.text {
		w.placed(&left)
	}
}

// everyOpen gives one length to all readings of the open question's group.
func (w *walk) everyOpen(run *token) {
	f := opening.Find(w.open())
	if f == nil || !f.Is(opening.Reading) || len(opening.Fellows(f.Change)) < 2 {
		w.lose(*run)
		return
	}
	keys := opening.Fellows(f.Change)
	if n := w.count(run, []named1{{keys: keys}}); n > 1 {
		w.placed(run)
		return
	}
	w.group(keys, run, 1)
}
