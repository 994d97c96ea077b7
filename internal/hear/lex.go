package hear

import (
	"cmp"
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/opening"
	"sillbot/internal/reading"
)

// lettered are digits in which O stands for 0 and l or I for 1: 12O4.
var lettered = regexp.MustCompile(`\b([lI]?\d[\doOlI]+)(mm|cm|m)?\b`)

// withDigits puts the digits that were meant into such figures. No byte moves.
func withDigits(text string) string {
	if !letterByDigit(text) {
		return text
	}
	return lettered.ReplaceAllStringFunc(text, func(s string) string {
		figure := strings.TrimRight(s, "cm")
		switch {
		case len(figure) < 3 && strings.ContainsAny(figure, "lI"), len(figure) > 4 && (s[0] == 'l' || s[0] == 'I'): // l1050 is the left height
			return s
		}
		return strings.NewReplacer("o", "0", "O", "0", "l", "1", "I", "1").Replace(figure) + s[len(figure):]
	})
}

// letterByDigit says whether an o, an l or an I stands beside a digit.
func letterByDigit(text string) bool {
	for i := 1; i < len(text); i++ {
		a, b := text[i-1], text[i]
		if isDigit(a) && strings.IndexByte("oOlI", b) >= 0 || isDigit(b) && strings.IndexByte("oOlI", a) >= 0 {
			return true
		}
	}
	return false
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

func (c Context) tokens(text string) []token {
	l := &lexer{ctx: c, text: text, atoms: atoms(text)}
	for i := range l.atoms {
		a := &l.atoms[i]
		if code := (token{means: c.Words.phrases[a.text]}).codeOf("alias"); a.kind == word && code != "" {
			a.text = code
		}
		if a.owner && !c.Words.single[a.text] {
			a.text = strings.TrimSuffix(a.text, "s") // the middle's 1204
		}
		real := a.kind == word && c.Words.only(a.text, "real") && !l.inPhrase(i)
		if a.kind == word && (real || !c.Words.single[a.text]) {
			if mended, doubtful, ok := c.Words.mend(a.text); ok {
				a.text, a.doubtful = mended, doubtful || real
			}
		}
	}
	for i := 0; i < len(l.atoms); {
		i = l.next(i)
	}
	return l.list
}

// inPhrase says whether a phrase of several words begins with atom i or with the
// one before and covers it.
func (l *lexer) inPhrase(i int) bool {
	_, end := l.phraseAt(i)
	if end <= i+1 && i > 0 {
		_, end = l.phraseAt(i - 1)
	}
	return end > i+1 || i > 0 && end == i+1
}

// next takes the token that begins with atom i and gives the atom after it.
func (l *lexer) next(i int) int {
	a := l.atoms[i]
	if j := l.built(i); j > 0 {
		return j
	}
	switch {
	case a.kind == lineEnd:
		return l.add(token{kind: stop}, i, i+1)
	case a.kind == digits || l.startsLength(i):
		return l.figure(i)
	case a.kind == word:
		if j := l.spoken(i); j > 0 {
			return j
		}
		return l.word(i)
	}
	switch a.text {
	case ",":
		return l.add(token{kind: comma}, i, i+1)
	case ";", ".", "!":
		return l.add(token{kind: stop}, i, i+1)
	case "?":
		return l.add(token{kind: asks}, i, i+1)
	case "/":
		return l.add(token{kind: slash}, i, i+1)
	case "*":
		if i == 0 && len(l.atoms) > 1 && l.atoms[1].glued { // as people mend a slip in a chat
			return l.add(token{kind: phrase, means: []meaning{{"hear", "correct"}}}, i, i+1)
		}
	}
	if strings.ContainsAny(a.text, crossedOut) {
		return l.add(token{kind: unknown}, i, i+1)
	}
	if r, _ := utf8.DecodeRuneInString(a.text); strings.ContainsAny(a.text, `:=-–—−()[]"'’‘“”*·•|_…`) || unicode.Is(unicode.So, r) || unicode.Is(unicode.Sk, r) || r == '\ufe0f' || r == '\u200d' {
		return i + 1 // an emoji says nothing
	}
	return l.add(token{kind: unknown}, i, i+1)
}

// crossedOut are signs that take back what stands beside them.
const crossedOut = "❌👎✖✗🚫⛔🙅❎~̶"

// startsLength says whether a length begins with the mark at i: a sign, a point
// or a fraction.
func (l *lexer) startsLength(i int) bool {
	a := l.atoms[i]
	if a.kind != mark {
		return false
	}
	if strings.ContainsAny(a.text, "½¼¾⅛⅜⅝⅞") {
		return true
	}
	return strings.ContainsAny(a.text, "-−–.") && i+1 < len(l.atoms) && l.atoms[i+1].kind == digits && l.atoms[i+1].glued && (!a.glued || i == 0)
}

// word takes a phrase or a day; a word that stands nowhere is unknown.
func (l *lexer) word(i int) int {
	means, end := l.phraseAt(i)
	if means = ageless(means); len(means) == 0 {
		return l.add(token{kind: unknown}, i, max(end, i+1))
	}
	end = l.swallow(means, end)
	t := token{kind: phrase, means: means}
	switch {
	case t.has("when"), t.has("monthday"):
		if j := l.day(i); j > 0 {
			return j
		}
	case len(means) == 1 && t.marker("real"):
		return l.add(token{kind: unknown}, i, end)
	case t.marker("minus") && end < len(l.atoms) && l.atoms[end].kind == digits:
		j := l.lengths(end)
		minus := &l.list[len(l.list)-1]
		minus.text, minus.from = "-"+minus.text, l.atoms[i].from
		return j
	}
	return l.add(t, i, end)
}

// mostDay is how many atoms a day has: wednesday, 3rd of december, 2026.
const mostDay = 12

// day takes a day that begins with atom i; 0 for none. Package reading reads it
// in the codes of its words.
func (l *lexer) day(i int) int {
	var b strings.Builder
	var ends []int
	for j := i; j < len(l.atoms) && j < i+mostDay && l.atoms[j].kind != lineEnd; j++ {
		a := l.atoms[j]
		if _, _, decade := l.year(j); decade { // 3 december, 1930s terrace
			break
		}
		if j > i && !a.glued {
			b.WriteByte(' ')
		}
		if means, end := l.phraseAt(j); end > j+1 && dayWord(token{means: means}) != "" { // 2day
			b.WriteString(dayWord(token{means: means}))
			for ; j < end-1; j++ {
				ends = append(ends, b.Len())
			}
		} else if code := l.dayCode(a); code != "" {
			b.WriteString(code)
		} else {
			b.WriteString(a.text)
		}
		ends = append(ends, b.Len())
	}
	text := b.String()
	date, rest, err := reading.NextDate(text, l.ctx.Now)
	if err != nil {
		found, ok := dateError(err)
		if !ok {
			return 0
		}
		return l.add(token{kind: day, days: found.Others}, i, l.dayEnd(i))
	}
	end := len(strings.TrimRight(text[:len(text)-len(rest)], " ,.;"))
	n := 0
	for n < len(ends) && ends[n] <= end {
		n++
	}
	return l.add(token{kind: day, day: date}, i, i+max(n, 1))
}

// dayCode is the code of a word that can stand in a day, as package reading
// reads it; "" for no such word.
func (l *lexer) dayCode(a atom) string {
	if a.kind != word {
		return ""
	}
	return dayWord(l.alone(a))
}

// dayWord is the code of what stands in a day; "" for anything else.
func dayWord(t token) string {
	return cmp.Or(t.codeOf("when"), t.codeOf("inday"), t.codeOf("monthday"))
}

// dayEnd is where a day that may be several ends: with the words and figures of
// days that follow.
func (l *lexer) dayEnd(i int) int {
	j := i
	for j < len(l.atoms) {
		a := l.atoms[j]
		means, end := l.phraseAt(j)
		switch {
		case dayWord(token{means: means}) != "":
			j = end
		case j == i || a.kind == digits && len(a.text) <= 2 || a.kind == mark && a.glued && a.text != "," && a.text != "?":
			j++
		default:
			return j
		}
	}
	return j
}

// makeUp is a glass make-up: panes and spaces by turns.
var makeUp = regexp.MustCompile(`^\d{1,2}(?:mm)?(?:\s*[-/–x×]\s*\d{1,2}(?:mm)?){2}(?:(?:\s*[-/–x×]\s*\d{1,2}(?:mm)?){2})?`)

// spaced is 4 20 4.
var spaced = regexp.MustCompile(`^\d{1,2}(?:mm)? \d{1,2}(?:mm)? \d{1,2}(?:mm)?(?: \d{1,2}(?:mm)? \d{1,2}(?:mm)?)?\b`)

// figure takes what begins with a digit.
func (l *lexer) figure(i int) int {
	rest := l.text[l.atoms[i].from:]
	if l.dated(i) {
		if j := l.day(i); j > 0 {
			return j
		}
	}
	if means, end := l.phraseAt(i); end > i+1 || end == i+1 && (l.opens(means) || l.named(means)) && !l.goesOn(end) {
		if (token{means: means}).has("when") {
			if j := l.day(i); j > 0 {
				return j
			}
		}
		return l.add(token{kind: phrase, means: means}, i, end)
	}
	if found, code := makeUpAt(rest); code != "" {
		j := i
		for j < len(l.atoms) && l.atoms[j].from < l.atoms[i].from+len(strings.TrimRight(found, " \n,")) {
			j++
		}
		if j >= len(l.atoms) || !l.atoms[j].glued || l.atoms[j].kind == mark {
			return l.add(token{kind: glass, code: code}, i, j)
		}
	}
	return l.lengths(i)
}

// makeUpAt is the make-up that text begins with, as written and as stored; "" for
// none.
func makeUpAt(text string) (found, code string) {
	for _, form := range []*regexp.Regexp{makeUp, spaced} {
		if found = form.FindString(text); found != "" {
			code, _ = glassCode(found)
			return found, code
		}
	}
	return "", ""
}

// opens says whether a bare figure answers the open question as a choice.
func (l *lexer) opens(means []meaning) bool {
	f := opening.Find(l.ctx.Open)
	return f != nil && slices.ContainsFunc(means, func(m meaning) bool {
		group := strings.TrimSuffix(m.group, openOnly)
		return group == f.Group || f.Kind == opening.Lights && group == "layout"
	})
}

// named says whether a bare figure answers, as a choice, the field that was named
// last: change layout to 2.
func (l *lexer) named(means []meaning) bool {
	for i := len(l.list) - 1; i >= 0; i-- {
		code := l.list[i].codeOf("name")
		if code == "" {
			continue
		}
		f := opening.Find(code)
		return f != nil && (f.Kind == opening.Lights || f.Kind == opening.FloorOf) && slices.ContainsFunc(means, func(m meaning) bool {
			return base(m.group) == f.Group || f.Kind == opening.Lights && base(m.group) == "layout"
		})
	}
	return false
}

// goesOn says whether more of a figure follows before atom j.
func (l *lexer) goesOn(j int) bool {
	if j >= len(l.atoms) {
		return false
	}
	a := l.atoms[j]
	if a.text == "," && a.glued && j+1 < len(l.atoms) && l.atoms[j+1].glued && len(l.atoms[j+1].text) == 3 { // 1,300 is no first floor
		return l.atoms[j+1].kind == digits
	}
	return a.kind == digits || a.glued && a.kind == word && a.text != "x" || a.kind == mark && a.glued && strings.ContainsAny(a.text, `./-"'`+"½¼¾") || l.unit(a) != ""
}

// dated says whether the figure at i is a day: figures with a year, with the
// name of a month behind, or any where the day is asked for.
func (l *lexer) dated(i int) bool {
	if l.ctx.Open == "date" {
		return i == 0 || l.alone(l.atoms[i-1]).codeOf("name") != "glass"
	}
	if (i > 0 && l.atoms[i-1].kind == word && l.alone(l.atoms[i-1]).codeOf("name") == "date") || yearForm.MatchString(l.text[l.atoms[i].from:]) {
		return true
	}
	for j := i + 1; j < len(l.atoms) && j < i+4; j++ {
		a := l.atoms[j]
		if a.kind == word && l.alone(a).has("inday") || a.kind == mark && a.text == "-" {
			continue
		}
		return l.alone(a).has("when")
	}
	return false
}

var yearForm = regexp.MustCompile(`^(?:\d{1,2}[/.-]\d{1,2}[/.-](?:20)?\d\d|20\d\d-\d\d-\d\d)\b`)

// lengths takes figures in a row with what stands between them. Units are put
// in their codes, and what joins is left out, for package reading.
func (l *lexer) lengths(i int) int {
	var b strings.Builder
	end, kept := i, 0
	last := ""
	done := func() int {
		return l.add(token{kind: lengths, text: sharedUnit(b.String()[:kept], last)}, i, end)
	}
	for j := i; j < len(l.atoms); j++ {
		a := l.atoms[j]
		more := j+1 < len(l.atoms) && (l.atoms[j+1].kind == digits || l.startsLength(j+1))
		glued := more && l.atoms[j+1].glued
		said, ends := a.text, false
		switch {
		case j == i:
			ends = true
		case a.kind == word && l.half(j) > j:
			j, said, ends = l.half(j)-1, "½", true
		case a.kind == digits:
			if !a.glued && l.begins(j) {
				return done()
			}
			ends = true
		case l.unit(a) != "" && !l.middle(j) && !(glued && !a.glued) && !l.colon(j+1) && !(a.text == "in" && !a.glued && j+1 < len(l.atoms) && l.atoms[j+1].kind == word):
			said, ends = l.unit(a), true
			last = said
		case a.kind == word && a.glued && strings.HasSuffix(a.text, "x") && l.unit(atom{kind: word, text: a.text[:len(a.text)-1]}) != "":
			said, ends = a.text[:len(a.text)-1]+" x", true // 1204mmx1050
		case a.kind == word && a.text == "x" && more:
		case a.kind == word && l.alone(a).marker("joins") && more:
			said = ""
		case a.kind == mark && strings.ContainsAny(a.text, "½¼¾⅛⅜⅝⅞²"):
			ends = true
		case a.kind == mark && strings.ContainsAny(a.text, "\"'″′”’“‘") && a.glued:
			ends = true
		case a.kind == mark && a.text == "." && l.atoms[j-1].text == "." && glued:
			said = " " // 1204..1202
		case a.kind == mark && strings.ContainsAny(a.text, ".,/-–⁄") && a.glued && glued:
		case a.kind == mark && a.text == "." && j+1 < len(l.atoms) && l.atoms[j+1].text == "." && l.atoms[j+1].glued && j+2 < len(l.atoms) && l.atoms[j+2].kind == digits:
			said = " "
		case a.kind == mark && strings.ContainsAny(a.text, "×✕*/-–") && more:
		default:
			return done()
		}
		if j > i && (!a.glued || said == "") {
			b.WriteByte(' ')
		}
		b.WriteString(said)
		if ends {
			end, kept = j+1, b.Len()
		}
	}
	return done()
}

// middle says whether atom j is the short name of a middle, not the unit that is
// written alike: 1206 m 1205.
func (l *lexer) middle(j int) bool {
	a, before := l.atoms[j], l.atoms[j-1]
	decimals := before.glued && j > 1 && l.atoms[j-2].kind == mark
	return !a.glued && before.kind == digits && len(before.text) > 2 && !decimals && l.unit(a) == "m" &&
		l.alone(a).codeOf("pos") == "middle"
}

// colon says whether atom j is a colon: what stands before it is a name.
func (l *lexer) colon(j int) bool {
	return j < len(l.atoms) && l.atoms[j].kind == mark && l.atoms[j].text == ":"
}

// begins says whether figures at j are no length but the beginning of a phrase,
// a day or a make-up.
func (l *lexer) begins(j int) bool {
	if _, end := l.phraseAt(j); end > j+1 {
		return true
	}
	if l.dated(j) && l.ctx.Open != "date" {
		return true
	}
	_, code := makeUpAt(l.text[l.atoms[j].from:])
	return code != ""
}

// small are figures that are too small for a side in mm.
var small = regexp.MustCompile(`^\d{1,3}(?:[.,]\d{1,2})?(?: \d{1,3}(?:[.,]\d{1,2})?)+ (?:cm|in|m)$`)

// sharedUnit gives the unit behind the last of several figures to all: 120.4 120.2
// 120.3 cm.
func sharedUnit(text, unit string) string {
	if unit == "" || unit == "mm" || !small.MatchString(text) {
		return text
	}
	parts := strings.Fields(strings.TrimSuffix(text, unit))
	return strings.Join(parts, " "+unit+" ") + " " + unit
}
