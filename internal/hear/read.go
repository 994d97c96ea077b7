package hear

import (
	"regexp"
	"slices"
	"strings"

	"sillbot/internal/opening"
)

// doubtfulOne is a figure that begins with a letter for a 1: l204.
var doubtfulOne = regexp.MustCompile(`\b[lI]\d{2,3}(?:mm|cm|m)?\b`)

// numberedList is a list with its own numbers: 1. 1204 2. 1202 3. 1203.
var numberedList = regexp.MustCompile(`^\s*1[.)](\s.*)\b2[.)](\s.*?)(?:\b3[.)](\s.*))?$`)

// withoutNumbers takes the numbers of such a list out.
func withoutNumbers(text string) string {
	m := numberedList.FindStringSubmatch(strings.ReplaceAll(text, "\n", " "))
	if m == nil {
		return text
	}
	return strings.Join(m[1:], " ")
}

// parts cuts a message at line ends and full stops, and before a question to
// the bot.
func parts(list []token) [][]token {
	var out [][]token
	var part []token
	flush := func() {
		if len(part) > 0 {
			out = append(out, part)
		}
		part = nil
	}
	for _, t := range list {
		switch {
		case t.kind == stop:
			flush()
			continue
		case t.has("query") && t.codeOf("query") != string(Other) && (len(part) == 0 || !part[0].has("query") || part[len(part)-1].kind == comma):
			flush()
		}
		part = append(part, t)
		if t.kind == asks {
			flush()
		}
	}
	flush()
	return out
}

// toRead is what of the tokens between two breaks is left to be read when questions,
// words that say nothing and what has a form of its own are out.
func (r *reader) toRead(list []token) []token {
	if r.question(list) {
		return nil
	}
	if list[len(list)-1].kind == asks {
		r.asked = true
		list = list[:len(list)-1]
	}
	return r.fromTo(r.namedWrong(r.fallSaid(saidTwice(r.meaningful(r.presences(list))))))
}

// part reads the tokens between two breaks.
func (r *reader) part(list []token) {
	r.partFrom, r.sure = len(r.said), false
	if list = r.toRead(list); len(list) == 0 {
		return
	}
	if r.exchanged(list) || r.beside(list) {
		return
	}
	switch i := markerAt(list, "or"); {
	case i > 0 && i+1 < len(list):
		r.either(list, i)
		return
	case i >= 0 && len(r.lost) > 0:
		r.whichOf(list)
		return
	}
	if i := markerAt(list, "wrong"); i > 0 && i+1 < len(list) && list[i-1].kind == lengths && list[i+1].kind == lengths {
		r.deniedLength(list, list[i+1:], list[i-1])
		return
	}
	if n := len(list); n > 2 && (list[n-1].marker("late") || list[n-1].marker("meant")) && r.namesAny(list[:n-1]) { // bottom is 1205 actually
		r.sure = true
		list = list[:n-1]
	}
	if n := len(list); n > 1 && list[n-1].marker("correct") {
		if !list[n-1].marker("meant") { // 1050 scrap that
			r.loseAll(list)
			return
		}
		list = append([]token{list[n-1]}, list[:n-1]...) // 85 i mean
	}
	if i := r.changed(list); i > 0 && r.denied(append(append(slices.Clone(list[i+1:]), token{kind: phrase, means: []meaning{{"hear", "not"}}}), list[i-1]), len(list)-i-1) {
		return
	}
	if i := r.denies(list); i >= 0 && r.denied(list, i) {
		return
	}
	w := &walk{reader: r, list: list, used: make([]bool, len(list))}
	i := markerAt(list, "inside")
	sides := i >= 0 && !list[i].has("name") && slices.ContainsFunc(list, func(t token) bool { return t.kind == lengths }) &&
		slices.ContainsFunc(list, func(t token) bool { return t.codeOf("pos") == "left" || t.codeOf("pos") == "right" })
	if sides {
		w.use(i)
	}
	from := len(r.said)
	w.all()
	if sides && r.ways == nil && len(r.said) > from {
		r.ask(Mirrored, otherSide(r.said[from:]))
		r.said = r.said[:from]
	}
}

// saidTwice takes the second out of a figure that is said, and said again with a
// yes: 1204 yeah 1204. It is no next reading.
func saidTwice(list []token) []token {
	for i := 2; i < len(list); i++ {
		if list[i].kind == lengths && list[i-2].kind == lengths && list[i].text == list[i-2].text && list[i-1].codeOf("answer") == "yes" {
			list = slices.Delete(list, i-1, i+1)
		}
	}
	return list
}

// namesAny says whether the tokens have a name with a length, or a choice that
// names its own field.
func (r *reader) namesAny(list []token) bool {
	w := &walk{reader: r}
	named := slices.ContainsFunc(list, isName)
	return named && slices.ContainsFunc(list, func(t token) bool { return t.kind == lengths || t.kind == phrase && len(w.options(t)) > 0 }) ||
		slices.ContainsFunc(list, func(t token) bool {
			return slices.ContainsFunc(w.options(t), func(o option) bool { return o.strong })
		})
}

// namedWrong takes out what stands between the name of a reading that is wrong and
// its new figure: left height is wrong, make it 1053.
func (r *reader) namedWrong(list []token) []token {
	n := slices.IndexFunc(list, func(t token) bool { return t.kind == lengths })
	from := slices.IndexFunc(list, isName)
	if n < 0 || from < 0 || from > n || slices.ContainsFunc(list[n+1:], func(t token) bool { return t.kind == lengths || isName(t) }) {
		return list
	}
	wrong := from > 0 && list[from-1].marker("wrong") // scrap the middle height, its 1049
	to := from
	for to < n && (isName(list[to]) || list[to].marker("is")) {
		to++
	}
	for _, t := range list[to:n] {
		if t.kind != comma && !t.marker("is") && !t.marker("correct") && !t.marker("wrong") && !t.marker("late") {
			return list
		}
		wrong = wrong || t.marker("wrong") || t.marker("correct") && !t.marker("meant")
	}
	if !wrong {
		return list
	}
	if from > 0 && list[from-1].marker("wrong") {
		list = slices.Delete(slices.Clone(list), from-1, from)
		to, n = to-1, n-1
	}
	r.sure = true
	return slices.Concat(list[:to], list[n:])
}

// changed is where "change 1500 to 1100" has its to; -1 for nowhere.
func (r *reader) changed(list []token) int {
	if !r.ctx.Correct || slices.ContainsFunc(list, isName) {
		return -1
	}
	return slices.IndexFunc(list, func(t token) bool { return t.kind == phrase && strings.EqualFold(t.text, "to") })
}

// otherSide are readings that were said from inside, as they are from outside.
func otherSide(list []Value) []Value {
	swap := map[opening.Key]opening.Key{"height.left": "height.right", "height.right": "height.left",
		"diagonal.rising": "diagonal.falling", "diagonal.falling": "diagonal.rising"}
	out := slices.Clone(list)
	for i := range out {
		if other := swap[out[i].Key]; other != "" {
			out[i].Key = other
		}
	}
	return out
}

// meaningful leaves out the words to ignore, and notes those that nobody knows.
func (r *reader) meaningful(list []token) []token {
	var out []token
	for _, t := range list {
		switch {
		case t.kind == unknown:
			r.lose(t)
		case t.marker("sides") && strings.HasPrefix(r.open(), "height."):
			left, right := t, t
			left.means, right.means = []meaning{{"pos", "left"}}, []meaning{{"pos", "right"}}
			out = append(out, left, token{kind: phrase, means: []meaning{{"hear", "and"}}}, right)
		case t.kind == phrase && t.marker("harmless") && !slices.ContainsFunc(t.means, func(m meaning) bool {
			return m != meaning{"hear", "harmless"} && !m.fills() && m.group != "when" && m.group != "inday" && m.group != "measure"
		}):
		case t.doubtful:
			r.lose(t)
			out = append(out, t)
		default:
			out = append(out, t)
		}
	}
	return out
}

// either asks which of two values beside an or is meant.
func (r *reader) either(list []token, i int) {
	first := r.try(append(slices.Clone(list[:i]), list[i+2:]...))
	second := r.try(append(slices.Clone(list[:i-1]), list[i+1:]...))
	if len(first.lost)+len(second.lost) > 0 || first.said == nil || second.said == nil || first.length != nil || second.length != nil {
		r.whichOf(list)
		return
	}
	r.ask(Either, first.said, second.said)
}

// whichOf takes "carpet or boards" as a question to the bot; no value of it is
// taken.
func (r *reader) whichOf(list []token) {
	r.loseAll(list)
	topic := Method
	for _, t := range list {
		if t.has("pos") || t.marker("inside") || t.marker("outside") {
			topic = Sides
		}
	}
	if r.query == nil {
		r.query = &Query{Topic: topic, Key: r.about(list)}
	}
}

// Read reads a message. It stores nothing and never fails.
func Read(message string, ctx Context) Heard {
	text := withoutNumbers(withDigits(message))
	r := &reader{ctx: ctx, text: text, known: *ctx.Known, correcting: ctx.Correct, unsure: letterByDigit(message) && doubtfulOne.MatchString(message)}
	r.items()
	r.tokens = ctx.tokens(r.text)
	for _, part := range parts(r.tokens) {
		r.part(part)
		if r.length != nil || r.trouble != nil {
			break
		}
	}
	r.rename()
	h := r.heard()
	if h.Said == nil && h.Held == nil && h.Length == nil && h.Trouble == nil {
		h.Held = r.guess(&h)
	}
	return h
}
