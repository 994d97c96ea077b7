package hear

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/opening"
)

// lights takes how the window is divided and how each light opens.
func (w *walk) lights(i int) bool {
	open := w.open()
	asked := open == "layout" || strings.HasPrefix(open, "light.") || slices.Contains(w.names, "layout") || len(w.names) > 0 && w.ofLights(w.names[0]) || w.correcting && w.ofLights(w.target())
	first := w.list[i]
	if open == "layout" && w.ctx.Open != "layout" && i > 0 && first.has("layout"+openOnly) && !isDigits(first.text) && w.list[i-1].kind != comma && !w.beforeHinge(i) && len(w.names) == 0 && !w.correcting {
		asked = false // skip this one
	}
	code, _ := hinge(first, asked)
	if code == "" && !first.has("place") && !(first.has("row") && asked) && !(first.has("ordinal") && asked && len(w.list) > i+1) && !(first.marker("all") && asked && !w.clauseHas(i)) && !first.has("together") && !(first.has("layout") || asked && first.has("layout"+openOnly)) {
		return false
	}
	if code != "" && !asked && first.has("light"+openOnly) && !first.has("light") {
		return false
	}
	a := w.arrangement(i)
	w.names = nil
	w.arrange(a, open)
	return true
}

// arrange takes the lights where count and hinges agree.
func (w *walk) arrange(a arrangement, open opening.Key) {
	two, bySide := a.twoBySide()
	if bySide && (a.count == "2" || a.cutBySide()) {
		a.lower, a.bare, a.clauses, bySide = two, nil, nil, false
	}
	switch {
	case a.places != nil:
		w.atPlaces(a)
		return
	case a.only > 0:
		w.oneLight(a)
		return
	case uneven(a.clauses), a.rowOpen, a.centred && len(a.lower) != 3, a.all && a.count == "" && open == "layout", len(a.lower) == 2 && a.count == "" && a.lower[0] == "top" && halves[a.lower[1]] == [2]string{} && mirror[a.lower[1]] != "" && a.upper == nil:
		w.lost = append(w.lost, a.typed) // both fixed, of how many; top hung left
		return
	}
	columns, top, ok := w.columns(&a, open)
	var ways [][]Value
	if ok {
		ways = w.hung(a, columns, top, open)
	}
	if ways == nil {
		w.lost = append(w.lost, a.typed)
		return
	}
	if bySide && len(ways) == 1 && ways[0][0].Key == "layout" && a.count == "" && !a.inside {
		b := a
		b.lower = two
		w.ask(Either, w.hung(b, 2, false, open)[0], ways[0])
		return
	}
	w.hang(a, columns, ways, open)
}

// columns is how many lights stand side by side, and whether a row stands above;
// false where count and hinges don't agree. Lights that all open the same way are
// written out.
func (w *walk) columns(a *arrangement, open opening.Key) (columns int, top, ok bool) {
	columns, top = len(a.lower), len(a.upper) > 0
	switch {
	case a.count != "":
		n, _ := strconv.Atoi(strings.TrimSuffix(a.count, "t"))
		if a.all && columns == 1 {
			a.lower = slices.Repeat(a.lower, n)
			columns = n
		}
		top = top || strings.HasSuffix(a.count, "t")
		if columns != 0 && columns != n || a.upper != nil && len(a.upper) != n {
			return 0, false, false
		}
		columns = n
	case a.all && columns == 1 && strings.HasPrefix(open, "light."):
		a.lower = slices.Repeat(a.lower, w.known.Columns())
		columns = len(a.lower)
		if w.known.TopRow() {
			a.upper = slices.Clone(a.lower)
		}
	}
	return columns, top, columns > 0 && columns <= opening.MostColumns && (a.upper == nil || len(a.upper) == columns)
}

// hang takes the values, or asks about them.
func (w *walk) hang(a arrangement, columns int, ways [][]Value, open opening.Key) {
	unasked := open != "layout" && !strings.HasPrefix(open, "light.")
	other := w.known.Has("layout") && !(w.correcting && a.count != "") && (a.upper == nil && w.known.TopRow() || w.known.Columns() != columns)
	switch {
	case a.inside:
		w.ask(Mirrored, mirrored(ways[0], columns))
	case a.pair && len(a.lower) == 2 && strings.HasPrefix(open, "light.") && a.count == "" && a.lower[0] != a.lower[1]:
		w.pairOf(a, ways[0])
	case unasked && other && len(ways) == 1:
		w.ask(Differs, ways[0])
	case len(ways) > 1:
		w.ask(Either, ways...)
	case a.doubt:
		w.ask(Unsaid, ways[0])
	default:
		by, correcting := named, w.correcting
		if unasked && !correcting && a.count == "" {
			by = placed
		}
		for _, v := range ways[0] {
			w.correcting = correcting
			w.put(v, by)
		}
		w.correcting = false
	}
}

// pairOf asks how "left fixed" is meant where one light is asked for: the light on
// the left is fixed, or one is hung left and the next is fixed.
func (w *walk) pairOf(a arrangement, both []Value) {
	side, other := a.lower[0], a.lower[1]
	if side != "side-left" && side != "side-right" {
		side, other = other, side
	}
	n := 1
	if side == "side-right" {
		n = w.known.Columns()
	}
	w.ask(Either, []Value{{Key: opening.Nth("light", n), Value: other, Typed: a.typed}}, both)
}

// atPlaces takes the lights by where they are, from the left.
func (w *walk) atPlaces(a arrangement) {
	columns := w.known.Columns()
	if n, err := strconv.Atoi(a.count); err == nil {
		columns = n
	} else if columns == 0 {
		columns = max(2, len(a.places))
	}
	numbers := map[string]int{"left": 1, "right": columns, "1": 1, "2": 2, "3": 3, "4": 4}
	if columns == 3 {
		numbers["middle"] = 2
	}
	var values []Value
	if a.count != "" || !w.known.Has("layout") {
		values = append(values, Value{Key: "layout", Value: strconv.Itoa(columns), Typed: a.typed})
	}
	for _, place := range []string{"left", "middle", "right", "1", "2", "3", "4"} {
		hinge, said := a.places[place]
		if _, half := halves[hinge]; said && (numbers[place] == 0 || numbers[place] > columns || half || columns < 2) || len(a.lower) > 0 || a.upper != nil {
			w.lost = append(w.lost, a.typed)
			return
		}
		if said {
			values = append(values, Value{Key: opening.Nth("light", numbers[place]), Value: hinge, Typed: a.typed})
		}
	}
	switch {
	case a.inside:
		w.lost = append(w.lost, a.typed)
	case a.doubt:
		w.ask(Unsaid, values)
	default:
		for _, v := range values {
			w.put(v, named)
		}
	}
}

// oneLight changes the one light that was named.
func (w *walk) oneLight(a arrangement) {
	if len(a.lower) != 1 || a.upper != nil || a.count != "" || a.only > len(w.known.Layout().Lights) {
		w.lost = append(w.lost, a.typed)
		return
	}
	key := opening.Nth("light", a.only)
	var ways [][]Value
	if sides, half := halves[a.lower[0]]; half {
		for _, side := range sides {
			ways = append(ways, []Value{{Key: key, Value: side, Typed: a.typed}})
		}
		w.ask(Either, ways...)
		return
	}
	v := Value{Key: key, Value: a.lower[0], Typed: a.typed}
	switch {
	case a.inside:
		w.ask(Mirrored, mirrored([]Value{v}, 1))
	case a.doubt:
		w.ask(Unsaid, []Value{v})
	default:
		w.put(v, named)
	}
}

// hung are the values of the lights: for the light that is asked for and those
// after it, or for the whole window. A hinge said by half gives two ways.
func (w *walk) hung(a arrangement, columns int, top bool, open opening.Key) [][]Value {
	if len(a.lower) == 2 && a.upper == nil && a.count != "2" { // tilt and turn, hinges on the right
		if sides, half := halves[a.lower[0]]; half && strings.HasPrefix(a.lower[1], "side-") {
			hinge := sides[0]
			if a.lower[1] == "side-right" {
				hinge = sides[1]
			}
			a.lower, columns = []string{hinge}, 1
		}
	}
	hinges := append(slices.Clone(a.lower), a.upper...)
	var values []Value
	start := 1
	lights := len(w.known.Layout().Lights)
	switch {
	case strings.HasPrefix(open, "light.") && a.count == "" && a.upper != nil && len(hinges) == lights:
	case strings.HasPrefix(open, "light.") && a.count == "" && a.upper == nil && !w.correcting:
		start = opening.Find(open).N
		if start+len(hinges)-1 > lights {
			return nil
		}
	default:
		code := strconv.Itoa(columns)
		if top {
			code += "t"
		}
		f := opening.Find("layout")
		if columns > 1 && !slices.ContainsFunc(f.Rows, func(row []string) bool { return slices.Contains(row, code) }) {
			return nil
		}
		values = append(values, Value{Key: "layout", Value: code, Typed: a.typed})
	}
	split := -1
	for i, h := range hinges {
		if _, half := halves[h]; half {
			if split >= 0 {
				return nil
			}
			split = len(values)
		}
		values = append(values, Value{Key: opening.Nth("light", start+i), Value: h})
	}
	if split < 0 {
		return [][]Value{values}
	}
	var ways [][]Value
	for _, side := range halves[values[split].Value] {
		way := slices.Clone(values)
		way[split].Value = side
		ways = append(ways, way)
	}
	return ways
}

// mirrored are the lights as they are seen from the other side: each row the
// other way round, with its hinges on the other side.
func mirrored(list []Value, columns int) []Value {
	var out []Value
	var codes []string
	for _, v := range list {
		if v.Key == "layout" {
			out = append(out, v)
			continue
		}
		codes = append(codes, v.Value)
	}
	first := len(out)
	for i := range codes {
		row, column := i/columns, i%columns
		from := row*columns + min(columns, len(codes)-row*columns) - 1 - column
		v := list[first+i]
		v.Value = codes[from]
		if other := mirror[v.Value]; other != "" {
			v.Value = other
		}
		out = append(out, v)
	}
	return out
}
