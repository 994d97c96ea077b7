package hear

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// reader reads one message.
type reader struct {
	ctx    Context
	text   string
	tokens []token
	// glassByLight is the value of opening.ByLight with what this message said.
	glassByLight string
	byLight      bool          // it did say so
	known        opening.Known // with what this message said so far

	said, again []Value
	ways        [][]Value // what a part of it may mean, to be asked about
	why         Why
	unsure      bool     // a no may be a not
	asked       bool     // a value was put as a question
	lost        []string // what of the message could not be explained
	length      *Length
	trouble     *Trouble
	query       *Query
	before      bool
	cantTell    bool
	partFrom    int           // how many values were said before this part
	last        opening.Key   // said last in this message
	correcting  bool          // the next value corrects what was said last
	replaced    []opening.Key // whose value was denied: what is said of them corrects it
	pair        opening.Key   // the side that was given one length for the whole of it
	after       opening.Key   // named before the lengths that come
	by          how           // of the lengths that are given
	explicit    bool          // of a clause: it is, it should be
	sure        bool          // of a part: it corrects what it names
	every       bool          // of a clause: all of them
	axis        string        // of the middles of this stretch
	weak        bool          // of a choice: its word alone does not say it
}

// heard is the result: nothing is taken while a word is unexplained or a value
// was put as a question.
func (r *reader) heard() Heard {
	h := Heard{Said: r.said, Again: r.again, Length: r.length, Trouble: r.trouble, Query: r.query, Unknown: r.lost, Before: r.before, CantTell: r.cantTell}
	if r.ways != nil {
		h.Held = &Held{Why: r.why, Ways: r.ways}
	}
	if len(r.lost) == 0 && !r.asked && !r.unsure {
		return h
	}
	h.Before, h.Trouble = false, nil
	why := Unknown
	switch {
	case r.asked:
		why = Asked
	case len(r.lost) == 0:
		why = Either
	}
	ways := r.ways
	if ways == nil && len(r.said) > 0 {
		ways = [][]Value{nil}
	}
	for i := range ways {
		ways[i] = append(slices.Clone(r.said), ways[i]...)
	}
	h.Said, h.Held, h.Length = nil, nil, nil
	if ways != nil && r.length == nil && r.trouble == nil {
		h.Held = &Held{Why: why, Words: strings.Join(r.lost, ", "), Ways: ways}
	}
	return h
}

func (r *reader) lose(t token) {
	if t.kind != comma && t.kind != slash {
		r.lost = append(r.lost, t.text)
	}
}

func (r *reader) loseAll(list []token) {
	for _, t := range list {
		r.lose(t)
	}
}

func markerAt(list []token, code string) int {
	return slices.IndexFunc(list, func(t token) bool { return t.marker(code) })
}

// clone is the reader with nothing said yet.
func (r *reader) clone() *reader {
	c := *r
	c.said, c.again, c.ways, c.lost, c.length, c.trouble = nil, nil, nil, nil, nil, nil
	return &c
}

// ask notes what a part may mean. Only the first such part of a message is asked
// about; the others' questions come by themselves.
func (r *reader) ask(why Why, ways ...[]Value) {
	switch {
	case r.ways == nil:
		r.ways, r.why = ways, why
	case len(r.ways) == 1 && len(ways) == 1:
		r.ways[0] = append(r.ways[0], ways[0]...)
	}
}

// open is the open question of what is known with this message.
func (r *reader) open() opening.Key {
	if len(r.said) == 0 {
		return r.ctx.Open
	}
	key := r.ctx.Next(&r.known)
	if !r.passedOver(key) {
		return key
	}
	k := r.known
	for r.passedOver(key) {
		k.Set(key, opening.Skipped)
		key = r.ctx.Next(&k)
	}
	return key
}

// passedOver says whether who dictates a window passes over the question: of what is
// mostly level, nobody speaks. It is asked when the rest is there.
func (r *reader) passedOver(key opening.Key) bool {
	if key != "sill.fall" && key != "lean" || key == r.ctx.Open {
		return false
	}
	return !slices.ContainsFunc(r.tokens, func(t token) bool {
		return t.marker("level") || t.marker("lower") || t.marker("higher") || t.codeOf("name") == "sill.fall" || t.codeOf("name") == "lean"
	})
}

// how says how sure it is which field a value is for.
type how int

const (
	placed  how = iota // by its place or by its word alone
	named              // by name, or as a correction
	certain            // the figure that it replaces was said
)

// put takes a value. One that contradicts an earlier answer is asked about
// unless its field was named; a reading far from the one before always is.
func (r *reader) put(v Value, by how) {
	r.last = v.Key
	if v.Key == "over" && coarser(v.Value, r.known.Value("over")) && r.saidNow("over") { // a timber lintel, it takes a drill
		return
	}
	if before := r.known.Value("over"); v.Key == "over" && !r.correcting && (coarser(before, v.Value) || before == "hidden" && !r.saidNow("over")) { // brick, and now an arch of it
		r.said, by = without(r.said, "over"), named
	}
	if i := slices.IndexFunc(r.said, func(s Value) bool { return s.Key == v.Key && s.Value != v.Value }); i >= 0 && !r.correcting {
		other := r.said[i]
		r.said = without(r.said, v.Key)
		r.ask(Either, []Value{other}, []Value{v}) // two answers to one question
		return
	}
	before, had := r.known.Value(v.Key), r.known.Has(v.Key)
	switch {
	case slices.Contains(r.replaced, v.Key):
		by = certain
	case r.sure && by == placed:
		by = named
	}
	open := r.ctx.Open == v.Key
	switch {
	case had && before == v.Value && !open:
		if !r.saidNow(v.Key) {
			r.again = append(slices.Clip(r.again), v)
		}
		r.correcting = false
		return
	case had && !open && !r.over(v.Key) && (by == placed && !r.correcting || by != certain && r.far(v)):
		r.correcting = false
		r.ask(Differs, []Value{v})
		return
	}
	r.correcting = false
	for _, key := range opening.Find(v.Key).Voids {
		r.known.Unset(key)
	}
	r.known.Set(v.Key, v.Value)
	r.said = append(without(r.said, v.Key), v)
}

// over says whether the field was copied from another window and may be said otherwise.
func (r *reader) over(key opening.Key) bool {
	e := r.ctx.Known.Entry(key)
	return r.ctx.Over && !r.weak && e != nil && e.How == opening.Copied && !r.saidNow(key)
}

// coarser says whether an answer to what is over the opening says less than the other
// and nothing against it: it can be drilled, and it is timber.
func coarser(code, other string) bool {
	switch code {
	case "drill":
		return slices.Contains([]string{"arch", "timber", "bricks"}, other)
	case "nodrill":
		return other == "lintel"
	}
	return false
}

// without is the list without the values of a field, in an array of its own.
func without(list []Value, key opening.Key) []Value {
	return slices.DeleteFunc(slices.Clone(list), func(v Value) bool { return v.Key == key })
}

// farther is the part of a reading that no correction of it is away from it.
var farther = decimal.New(2, -1)

// far says whether a reading is far from the one that it would replace.
func (r *reader) far(v Value) bool {
	f := opening.Find(v.Key)
	if f.Kind != opening.Length || !r.known.Given(v.Key) || f.Key == "sill.fall" || f.Scope != opening.Window || r.saidNow(v.Key) {
		return false
	}
	now, err := decimal.NewFromString(v.Value)
	before := r.known.Number(v.Key)
	return err == nil && now.Sub(before).Abs().GreaterThan(before.Abs().Mul(farther))
}

// target is the field that a correction without a name is of.
func (r *reader) target() opening.Key {
	if r.last != "" {
		return r.last
	}
	return r.ctx.Last
}

// glued says whether a value stands before that place with no break between.
func (r *reader) glued(at int) bool {
	i := slices.IndexFunc(r.tokens, func(t token) bool { return t.from >= at })
	return i > 0 && r.tokens[i-1].kind != stop && len(r.said) > 0
}

// walk goes through the tokens of one part, in order.
type walk struct {
	*reader
	list  []token
	used  []bool
	names []opening.Key // a field that was just named and waits for its choice
	named int           // where
}

// forget loses a name whose choice did not come.
func (w *walk) forget() {
	if len(w.names) > 0 {
		w.names = nil
		w.lose(w.list[w.named])
	}
}

// settle takes the name of the field whose value comes.
func (w *walk) settle(key opening.Key) {
	if slices.Contains(w.names, key) {
		w.names = nil
	}
}

func (w *walk) use(list ...int) {
	for _, i := range list {
		w.used[i] = true
	}
}

// fits says whether the token is a choice of the field.
func (w *walk) fits(key opening.Key, t token) bool {
	f := opening.Find(key)
	return f != nil && f.Group != "" && slices.ContainsFunc(t.means, func(m meaning) bool { return base(m.group) == f.Group })
}

func (w *walk) has(kind tokenKind) bool {
	return slices.ContainsFunc(w.list, func(t token) bool { return t.kind == kind })
}

// saidNow says whether this message said the field.
func (r *reader) saidNow(key opening.Key) bool {
	return slices.ContainsFunc(r.said, func(v Value) bool { return v.Key == key })
}

// isName says whether a token can name a field with a length.
func isName(t token) bool {
	return t.kind == phrase && (t.has("name") || t.has("axis") || t.has("pos") || t.marker("others"))
}

// clauseHas says whether the clause of token i has a length.
func (w *walk) clauseHas(i int) bool {
	for j := i; j >= 0 && w.list[j].kind != comma; j-- {
		if w.list[j].kind == lengths {
			return true
		}
	}
	for j := i; j < len(w.list) && w.list[j].kind != comma; j++ {
		if w.list[j].kind == lengths {
			return true
		}
	}
	return false
}

// split cuts a list where at says so, and leaves empty parts out.
func split(list []token, at func(token) bool) [][]token {
	var out [][]token
	for len(list) > 0 {
		n := slices.IndexFunc(list, at)
		if n < 0 {
			n = len(list)
		}
		if n > 0 {
			out = append(out, list[:n])
		}
		list = list[min(n+1, len(list)):]
	}
	return out
}
