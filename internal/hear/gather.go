package hear

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/opening"
)

// Codes of the group "light" that say only part of how a light opens.
var halves = map[string][2]string{
	"side":      {"side-left", "side-right"},
	"tilt-turn": {"tilt-turn-left", "tilt-turn-right"},
}

var mirror = map[string]string{
	"side-left": "side-right", "side-right": "side-left",
	"tilt-turn-left": "tilt-turn-right", "tilt-turn-right": "tilt-turn-left",
}

// hinge is the code of the group "light" that the token means; open says that
// lights are asked for or named, where left alone is a side to hang on.
func hinge(t token, open bool) (code string, doubt bool) {
	for _, group := range []string{"light", "light" + doubtful, "light" + openOnly} {
		if code = t.codeOf(group); code != "" && (open || group != "light"+openOnly) {
			return code, group == "light"+doubtful
		}
	}
	return "", false
}

// arrangement is what a part says of the lights.
type arrangement struct {
	only    int               // the one light that was named; 0: all
	rowOpen bool              // with a fanlight: how does it open
	clauses []int             // how often each part between commas says how a light opens
	centred bool              // the second is said to be in the middle
	pair    bool              // a side and one more: left fixed
	places  map[string]string // how the light at a place opens
	all     bool              // each opens the same way
	count   string            // 2, 2t, …; "" when it is not said
	upper   []string          // how the lights open, from the left
	lower   []string
	bare    []bool // of lower: a side alone, without a word for a hinge
	doubt   bool
	inside  bool // said from inside
	typed   string
}

func (w *walk) ofLights(key opening.Key) bool {
	return key == "layout" || strings.HasPrefix(key, "light.")
}

// gathering is an arrangement as its tokens are gone through.
type gathering struct {
	arrangement
	rows  [][]string
	named map[string][]string // by row
	row   string
	place string
	sided bool              // bare sides are places
	half  func(side string) // fills how the last light opens, which was said by half
}

// arrangement gathers the tokens of the lights from i on.
func (w *walk) arrangement(i int) arrangement {
	g := gathering{rows: [][]string{nil}, named: map[string][]string{}, sided: w.sided(i)}
	end := i
	for j := i; j < len(w.list); j++ {
		if w.used[j] || betweenLights(w.list[j]) {
			continue
		}
		if !w.gather(&g, j) {
			break
		}
		w.use(j)
		end = j
	}
	for j := i; j < end; j++ {
		w.use(j)
	}
	a := g.arrangement
	a.clauses = clauses(w.list[i : end+1])
	a.rowOpen = g.row != "" && g.named[g.row] == nil
	a.typed = w.text[w.list[i].from:w.list[end].to]
	a.lower = g.rows[0]
	if len(g.rows) > 1 {
		a.upper, a.lower = g.rows[0], g.rows[1]
	}
	if len(g.named) > 0 {
		a.upper, a.lower = g.named["upper"], append(a.lower, g.named["lower"]...)
		w.spread(&a)
	}
	if len(w.names) == 1 && strings.HasPrefix(w.names[0], "light.") {
		a.only = opening.Find(w.names[0]).N
	}
	return a
}

// clauses is how often each part that commas cut the lights into says how a light
// opens; parts that don't say it are left out.
func clauses(list []token) []int {
	var counts []int
	for _, clause := range split(list, func(t token) bool { return t.kind == comma }) {
		n := 0
		for _, t := range clause {
			if code, _ := hinge(t, true); code != "" {
				n++
			}
		}
		if n > 0 {
			counts = append(counts, n)
		}
	}
	return counts
}

// uneven says whether some clauses say how one light opens and some how several do:
// left fixed, right hung right.
func uneven(clauses []int) bool {
	return len(clauses) > 0 && slices.Min(clauses) < slices.Max(clauses)
}

// gather takes token j; false when it is none of the lights'.
func (w *walk) gather(g *gathering, j int) bool {
	t := w.list[j]
	code, doubt := hinge(t, true)
	last := len(g.rows) - 1
	switch {
	case t.has("together"):
		g.rows[last] = append(g.rows[last], hingesOf(t.codeOf("together"))...)
	case t.has("ordinal"):
		g.place = t.codeOf("ordinal")
	case g.sided && j+1 < len(w.list) && hungTwice(t, w.list[j+1]):
		g.place = strings.TrimPrefix(cmp.Or(t.codeOf("light"), t.codeOf("light"+openOnly)), "side-")
	case t.has("place"), g.sided && t.has("pos") && t.has("light"+openOnly) && w.beforeHinge(j), (g.sided || g.places != nil) && t.codeOf("pos") == "middle" && w.beforeHinge(j):
		g.place = cmp.Or(t.codeOf("place"), t.codeOf("pos"))
	case t.codeOf("pos") == "middle" && g.places == nil && len(g.rows[last]) == 1 && w.beforeHinge(j):
		g.centred = true // left hung left, middle fixed, right hung right
	case t.has("row") && g.row == "" && last == 0 && len(g.rows[0]) > 1 && len(g.named) == 0 && w.afterHinge(j): // fixed with a top hung fanlight
		n := len(g.rows[0]) - 1
		g.named[t.codeOf("row")] = []string{g.rows[0][n]}
		g.rows[0], g.half = g.rows[0][:n], nil
	case t.has("row"):
		g.row = t.codeOf("row")
	case t.marker("over") && len(g.named) > 0:
	case code != "" && g.sided && g.place == "" && besideItself(t):
		g.place = strings.TrimPrefix(code, "side-")
		g.hinge(code, doubt, false)
	case code != "":
		g.hinge(code, doubt, t.has("pos") && t.has("light"+openOnly) && !t.has("light"))
	case g.count == "" && countOf(t) != "":
		g.count = countOf(t)
	case (t.kind == slash || t.marker("over")) && last == 0 && g.rows[0] != nil:
		g.rows = append(g.rows, nil)
	case t.marker("inside"):
		g.inside = true
	case t.codeOf("name") != "" && slices.ContainsFunc(opening.Fellows(t.codeOf("name")), w.ofLights):
	case t.marker("all"):
		g.all = true
	default:
		return false
	}
	return true
}

// hinge puts how a light opens where it belongs: at a place, in a row that was
// named, or next.
func (g *gathering) hinge(code string, doubt, bare bool) {
	g.doubt = g.doubt || doubt
	switch last := len(g.rows) - 1; {
	case g.half != nil && strings.HasPrefix(code, "side-"): // side hung, hinged on the right
		g.half(code)
		g.half = nil
		return
	case g.place != "":
		if g.places == nil {
			g.places = map[string]string{}
		}
		at := g.place
		g.places[at], g.place = code, ""
		g.wait(code, func(whole string) { g.places[at] = whole })
	case g.row != "":
		g.named[g.row] = append(g.named[g.row], code)
	default:
		g.pair = g.pair || bare
		g.rows[last], g.bare = append(g.rows[last], code), append(g.bare, bare)
		at := len(g.rows[last]) - 1
		g.wait(code, func(whole string) { g.rows[last][at] = whole })
	}
}

// twoBySide is how two lights open that were said by where they are, in words that
// could be three lights as well: right fixed left hung.
func (a arrangement) twoBySide() (lower []string, ok bool) {
	if len(a.lower) != 3 || len(a.bare) != 3 || a.upper != nil {
		return nil, false
	}
	at := slices.Index(a.bare, true)
	if at < 0 || at == 2 || slices.Contains(a.bare[at+1:], true) {
		return nil, false
	}
	place, there, other := a.lower[at], a.lower[at+1], a.lower[(at+2)%3]
	if halves[there] != [2]string{} || mirror[there] != "" || other != mirror[place] {
		return nil, false
	}
	if place == "side-left" {
		return []string{there, other}, true
	}
	return []string{other, there}, true
}

// cutBySide says whether commas cut what twoBySide gives into its two lights: left
// hung, right fixed, and not left hung right, fixed.
func (a arrangement) cutBySide() bool {
	return slices.Equal(a.clauses, []int{1, 2}) && a.bare[1] || slices.Equal(a.clauses, []int{2, 1}) && a.bare[0]
}

// wait lets the side that is said next fill a code that says only half.
func (g *gathering) wait(code string, fill func(whole string)) {
	g.half = nil
	if sides, half := halves[code]; half {
		g.half = func(side string) {
			if side == "side-left" {
				fill(sides[0])
			} else {
				fill(sides[1])
			}
		}
	}
}

// sided says whether a bare side is followed by a hinge that says its own side:
// left hinges left. Sides are places then.
func (w *walk) sided(i int) bool {
	for j := i; j+1 < len(w.list); j++ {
		if t := w.list[j]; t.has("pos") && t.has("light"+openOnly) && w.beforeHinge(j) && halvesOf(w.list[j+1]) {
			return true
		}
	}
	places := 0
	for _, clause := range split(w.list[i:], func(t token) bool { return t.kind == comma }) { // left fixed, right top hung
		switch {
		case placesOne(clause):
			places++
		case places > 0 || !slices.ContainsFunc(clause, func(t token) bool { return countOf(t) != "" }):
			return false
		}
	}
	return places > 1
}

// placesOne says whether the clause is of one light: where it is, and then how it
// opens.
func placesOne(clause []token) bool {
	clause = slices.DeleteFunc(slices.Clone(clause), betweenLights)
	if len(clause) == 1 {
		return besideItself(clause[0])
	}
	if len(clause) != 2 || !hungTwice(clause[0], clause[1]) && (!clause[0].has("pos") || clause[0].has("light")) {
		return false
	}
	code, _ := hinge(clause[1], true)
	return code != ""
}

// besideItself says whether the words say a side and the hinge on it: left hung left.
func besideItself(t token) bool {
	said := strings.Fields(t.text)
	return len(said) > 2 && strings.EqualFold(said[0], said[len(said)-1]) && mirror[t.codeOf("light")] != ""
}

// hungTwice says whether the first of two tokens is rather a place: right hinged, on
// the right.
func hungTwice(t, next token) bool {
	code := cmp.Or(t.codeOf("light"), t.codeOf("light"+openOnly))
	return strings.HasPrefix(code, "side-") && !t.has("pos") && next.has("pos") && strings.HasPrefix(next.codeOf("light"+openOnly), "side-")
}

// beforeHinge says whether a word for how a light opens follows token j.
func (w *walk) beforeHinge(j int) bool {
	for j++; j < len(w.list) && w.list[j].marker("is"); j++ {
	}
	return j < len(w.list) && (w.list[j].has("light") || w.list[j].has("light"+openOnly))
}

// halvesOf says whether the words name a hinge side themselves.
func halvesOf(t token) bool { return mirror[t.codeOf("light")] != "" }

// afterHinge says whether a word for how a light opens stands right before token j.
func (w *walk) afterHinge(j int) bool {
	return j > 0 && (w.list[j-1].has("light") || w.list[j-1].has("light"+openOnly))
}

// betweenLights says whether the token may stand between those of lights.
func betweenLights(t token) bool {
	return t.kind == comma || t.marker("and") || t.marker("is") || t.marker("outside")
}

// countOf is how many lights the token says; "" for none.
func countOf(t token) string { return cmp.Or(t.codeOf("layout"), t.codeOf("layout"+openOnly)) }

// hingesOf is how the lights of a shortcut open.
func hingesOf(code string) []string {
	var list []string
	for _, pair := range opening.Together(code) {
		if strings.HasPrefix(pair.Key, "light.") {
			list = append(list, pair.Value)
		}
	}
	return list
}

// spread gives one way of opening to all lights of a row.
func (w *walk) spread(a *arrangement) {
	columns := max(w.known.Columns(), len(a.lower), len(a.upper))
	if n, err := strconv.Atoi(strings.TrimSuffix(a.count, "t")); err == nil {
		columns = n
	}
	for _, row := range []*[]string{&a.upper, &a.lower} {
		if len(*row) == 1 {
			*row = slices.Repeat(*row, columns)
		}
	}
}
