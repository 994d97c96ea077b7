package day

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// Hear reads a message for the part. Figures go in the order in which they are
// asked, unless a field's name stands before them.
func (e Ear) Hear(p *Part, w *Window, text string) Heard {
	l := listening{Ear: e, part: p, window: w}
	rest := strings.TrimSpace(text)
	for rest = l.skip(rest); rest != ""; rest = l.skip(rest) {
		after, ok := l.one(rest)
		if l.trouble != nil {
			return Heard{Trouble: l.trouble, Left: rest}
		}
		if !ok {
			return Heard{Left: rest}
		}
		rest = after
	}
	if l.bare != "" {
		return Heard{Left: l.bare}
	}
	return Heard{Said: l.said}
}

// one reads one thing from the front of the text.
func (l *listening) one(text string) (rest string, ok bool) {
	if code, after, ok := l.Words.Match(l.Lang, "dayok"+l.part.Name, text); ok && l.ends(text, after) {
		for _, f := range l.fields(code) {
			l.take(f, OK, "")
		}
		return after, true
	}
	if _, _, but := l.Words.Match(l.Lang, "daybut", text); but && len(l.said) > 0 && l.bare == "" {
		after := l.butFor(text)
		return after, after != text
	}
	if f, ok := l.leansFirst(text); ok {
		return l.value(f, text)
	}
	if code, after, ok := l.Words.Match(l.Lang, "day"+l.part.Name, text); ok && !l.again(code) {
		if l.bare != "" {
			return text, false // nothing was said of what was named before
		}
		if l.named = l.fields(code); l.named != nil {
			l.bare, l.wasNamed = text, true
			return after, true
		}
	}
	if _, after, ok := l.Words.Match(l.Lang, "dayall", text); ok && len(l.named) == 0 {
		return l.butFor(after), l.all()
	}
	if after, ok := l.flat(text); ok {
		return after, true
	}
	if f, code, after := l.code(text); f != nil && len(l.named) == 0 {
		l.take(f, code, "")
		return after, true
	}
	for _, hear := range []func(string) (string, bool){l.corner, l.place, l.panes, l.sashCorner, l.mass} {
		after, ok := hear(text)
		if ok {
			l.named, l.bare = nil, ""
		}
		if ok || l.trouble != nil {
			return after, ok
		}
	}
	f := l.next(text)
	if f == nil {
		return text, false
	}
	return l.value(f, text)
}

// fields are those of a name: one, or several that are given together.
func (l *listening) fields(code string) []*Field {
	var list []*Field
	for _, name := range strings.Split(code, "+") {
		if f := l.part.field(name); f != nil {
			list = append(list, f)
		}
	}
	return list
}

// code is the field that words of its own answer, whatever is asked; nil for none.
func (l *listening) code(text string) (f *Field, code, rest string) {
	code, rest, ok := l.Words.Match(l.Lang, "daycode", text)
	if !ok {
		return nil, "", text
	}
	for i := range l.part.Fields {
		f := &l.part.Fields[i]
		if slices.Contains(f.Codes, code) {
			return f, code, rest
		}
		if means := f.Means[code]; means != "" {
			return f, means, rest
		}
	}
	return nil, "", text
}

// next is the field that what follows is of: the named one, else the first that is
// open and takes it.
func (l *listening) next(text string) *Field {
	if len(l.named) > 0 {
		f := l.named[0]
		l.named, l.guessed, l.bareOf, l.bare = l.named[1:], false, l.bare, ""
		return f
	}
	if f := l.degrees(text); f != nil {
		return f
	}
	l.guessed = true
	figure := startsFigure(text)
	_, _, not := l.Words.Match(l.Lang, "daynot", text)
	for i := range l.part.Fields {
		f := &l.part.Fields[i]
		if !l.open(f) {
			continue
		}
		if not || figure == f.Kind.isFigure() || l.answers(f, text) {
			return f
		}
		if !figure {
			return nil // words answer what is asked, and no later one
		}
	}
	return nil
}

// isFigure says whether it is given in figures.
func (k Kind) isFigure() bool {
	return k == Length || k == Degree || k == Slope || k == Patch || k == Panes || k == Mass
}

// all says that all is right that is open; false where the part has no such thing.
func (l *listening) all() bool {
	found := false
	for i := range l.part.Fields {
		f := &l.part.Fields[i]
		value := ""
		switch f.Kind {
		case Tick:
			value = OK
		case Choice:
			if f.Sorts {
				continue
			}
			value = f.Codes[0]
		case Slope:
			value = level
		default:
			continue
		}
		if found = true; l.open(f) {
			l.take(f, value, "")
		}
	}
	return found
}

// value reads the value of a field.
func (l *listening) value(f *Field, text string) (rest string, ok bool) {
	if _, after, ok := l.Words.Match(l.Lang, "daynot", text); ok && f.Kind != Words && f.Kind != Tick {
		l.take(f, opening.Skipped, "")
		return after, true
	}
	switch f.Kind {
	case Length:
		return l.length(f, text)
	case Choice:
		return l.choice(f, text)
	case Tick:
		return l.tick(f, text)
	case Degree:
		return l.degree(f, text)
	case Slope:
		return l.slope(f, text)
	case Words:
		line, after, _ := strings.Cut(text, "\n")
		return after, l.isName(line) && l.words(f, line)
	}
	return text, false
}

func (l *listening) length(f *Field, text string) (rest string, ok bool) {
	got, rest, err := l.Length(text, f.Usual)
	switch {
	case err == nil && got.Clear():
		f, rest, ok = l.namedAfter(f, rest)
		if ok {
			l.take(f, got.MM.String(), got.Text)
		}
		return rest, ok
	case !startsFigure(text):
		return text, false
	}
	given, _, _ := strings.Cut(text, " ")
	fail := phrase.Of("day.fail.length").Sub1("name", l.part.Title(f)).Saying("given", given).With("least", f.Usual.Least).With("most", f.Usual.Most)
	l.trouble = &fail
	return text, false
}

func (l *listening) choice(f *Field, text string) (rest string, ok bool) {
	code, rest, ok := l.Words.Match(l.Lang, "daycode", text)
	if means := f.Means[code]; means != "" {
		code = means
	}
	if ok = ok && slices.Contains(f.Codes, code); !ok && !f.Sorts {
		code, rest, ok = l.Words.Match(l.Lang, "dayanswer", text)
		if ok && code == "yes" {
			code = f.Codes[0]
		} else if ok {
			code = f.Codes[1]
		}
	}
	if !ok {
		return text, false
	}
	l.take(f, code, "")
	return rest, true
}

// tick takes that something is all right, or else the rest of the clause as what is
// not.
func (l *listening) tick(f *Field, text string) (rest string, ok bool) {
	if rest, ok := l.badThing(f, text); ok {
		return rest, true
	}
	if code, after, ok := l.Words.Match(l.Lang, "dayanswer", text); ok && code == "yes" && l.ends(text, after) {
		l.take(f, OK, "")
		return after, true
	}
	i := strings.IndexAny(text, ",;\n")
	clause, rest := text, ""
	if i >= 0 {
		clause, rest = text[:i], text[i+1:]
	}
	if _, after, ok := l.Words.Match(l.Lang, "daynot", clause); ok && strings.TrimSpace(after) == "" {
		l.take(f, opening.Skipped, "")
		return rest, true
	}
	if _, _, asks := l.Words.Match(l.Lang, "query", clause); asks && l.guessed {
		return text, false // what does services mean: that is nothing that was seen
	}
	return rest, l.words(f, l.withThing(clause, text))
}

// ends says whether nothing of a clause follows: another name may.
func (l *listening) ends(text, after string) bool {
	heard := strings.TrimRight(text[:len(text)-len(after)], " \t\r")
	if after == "" || strings.ContainsAny(heard[max(0, len(heard)-1):], ",;.\n") {
		return true
	}
	for _, group := range []string{"day" + l.part.Name, "dayall"} {
		if _, _, follows := l.Words.Match(l.Lang, group, after); follows {
			return true
		}
	}
	if l.butFor(after) != after {
		return true
	}
	_, _, yes := l.Words.Match(l.Lang, "dayanswer", after)
	return yes || !unicode.IsLetter([]rune(after)[0])
}

func (l *listening) words(f *Field, text string) bool {
	seen := strings.Join(strings.Fields(text), " ")
	n := utf8.RuneCountInString(seen)
	if !strings.ContainsFunc(seen, unicode.IsLetter) {
		return false
	}
	if n > mostWords {
		fail := phrase.Of("day.fail.words").WithInt("most", mostWords)
		l.trouble = &fail
		return false
	}
	l.take(f, seen, "")
	return true
}

// degree reads a temperature in °C.
func (l *listening) degree(f *Field, text string) (rest string, ok bool) {
	i := 0
	text = strings.Replace(text, "−", "-", 1)
	for i < len(text) && (text[i] >= '0' && text[i] <= '9' || text[i] == '.' || i == 0 && text[i] == '-') {
		i++
	}
	d, err := decimal.NewFromString(text[:i])
	if err != nil {
		return text, false
	}
	if d.LessThan(coldest) || d.GreaterThan(hottest) {
		fail := phrase.Of("day.fail.degree").Saying("given", text[:i]).With("least", coldest).With("most", hottest)
		l.trouble = &fail
		return text, false
	}
	rest = strings.TrimLeft(text[i:], " °")
	if _, after, ok := l.Words.Match(l.Lang, "daydegree", rest); ok {
		rest = after
	}
	l.take(f, d.String(), "")
	return rest, true
}

// The temperatures that are taken, °C; common practice, no source.
var coldest, hottest = decimal.NewFromInt(-30), decimal.NewFromInt(60)

// Entries are what was heard as entries of the window's record.
func (p *Part) Entries(said []Value) []opening.Entry {
	var list []opening.Entry
	for _, v := range said {
		typed := v.Typed
		if typed == v.Value {
			typed = ""
		}
		list = append(list, opening.Entry{Act: opening.Set, Key: p.Key(v.Field), Value: v.Value, Typed: typed})
	}
	return list
}

// Said is a value in words.
func (p *Part) Said(f *Field, value string) phrase.Text {
	d, err := decimal.NewFromString(value)
	switch {
	case value == opening.Skipped:
		return phrase.Of("day.skipped")
	case f.Kind == Length && err == nil:
		return phrase.Of("length").With("mm", d)
	case f.Kind == Slope:
		return slopeText(value)
	case f.Kind == Patch:
		return placesText(value)
	case f.Kind == Panes:
		return panesText(value)
	case f.Kind == Corner:
		return sashText(value)
	case f.Kind == Mass && err == nil:
		return phrase.Of("day.mass").With("mass", d)
	case f.Name == "corner":
		return cornerText(value)
	case f.Kind == Degree && err == nil:
		return phrase.Of("day.degree").With("degree", d)
	case f.Kind == Tick && value == OK:
		return phrase.Of("day.ok")
	case f.Kind == Choice:
		return phrase.Of("day.code." + value)
	}
	return phrase.Of("job.words").Saying("words", value)
}

// badThing reads of something that should not be there whether it is: cracks yes, no
// pipes seen. Else yes would be taken for all right.
func (l *listening) badThing(f *Field, text string) (rest string, ok bool) {
	if l.guessed {
		return text, false
	}
	if _, _, bad := l.Words.Match(l.Lang, "daybad", l.bareOf); !bad {
		return text, false
	}
	code, rest, ok := l.Words.Match(l.Lang, "daythere", text)
	if !ok || !l.ends(text, rest) {
		return text, false
	}
	if code == "no" {
		l.take(f, OK, "")
		return rest, true
	}
	said, _, _ := strings.Cut(l.bareOf, "\n")
	return rest, l.words(f, strings.TrimRight(strings.TrimSuffix(said, rest), " ,;."))
}

// again says whether a name is of what was just named, whose words it rather begins:
// services pipe behind the plaster.
func (l *listening) again(code string) bool {
	return l.bare != "" && len(l.named) == 1 && l.named[0].Kind == Tick && l.named[0].Name == code
}

// butFor leaves out but, except and the like where what is not all right is named then.
func (l *listening) butFor(text string) string {
	_, after, ok := l.Words.Match(l.Lang, "daybut", text)
	if !ok {
		return text
	}
	after = l.skip(after)
	if _, _, named := l.Words.Match(l.Lang, "day"+l.part.Name, after); named {
		return after
	}
	return text
}

// isName says whether words that no name of a field stands before can be a person's:
// after all ok, raining is none.
func (l *listening) isName(text string) bool {
	if !l.guessed {
		return true
	}
	name := strings.TrimSpace(text)
	upper := false
	for i, word := range strings.Fields(name) {
		for _, group := range []string{"daybut", "dayanswer", "daynot", "daynoname", "day" + l.part.Name} {
			if _, rest, ok := l.Words.Match(l.Lang, group, word); ok && rest == "" {
				return l.noName(name)
			}
		}
		upper = upper || i == 0 && unicode.IsUpper([]rune(word)[0])
	}
	if len(l.said) > 0 && !upper {
		return l.noName(name)
	}
	return true
}

func (l *listening) noName(given string) bool {
	fail := phrase.Of("day.fail.who").Saying("given", given)
	l.trouble = &fail
	return false
}

// answers says whether words are of a level, where that is asked and nothing of the
// message was of something else: level, half a bubble left low. What is plumb is no
// sill.
func (l *listening) answers(f *Field, text string) bool {
	if f.Kind != Slope || l.wasNamed {
		return false
	}
	if _, _, plumb := l.Words.Match(l.Lang, "dayplumb", text); plumb && !f.upright() && !f.across() {
		return false
	}
	for _, group := range []string{"daytrue", "daytilt", "daybubble"} {
		if _, _, ok := l.Words.Match(l.Lang, group, text); ok {
			return true
		}
	}
	return false
}

// leansFirst is the field of a reading whose way stands before its figure, where the way
// begins like the name of a jamb: right low 2 in 600.
func (l *listening) leansFirst(text string) (*Field, bool) {
	code, after, ok := l.Words.Match(l.Lang, "daytilt", text)
	_, named, is := l.Words.Match(l.Lang, "day"+l.part.Name, text)
	if !ok || !is || len(after) >= len(named) {
		return nil, false
	}
	if len(l.named) > 0 {
		if l.named[0].Kind != Slope {
			return nil, false
		}
		return l.next(text), true
	}
	for i := range l.part.Fields {
		f := &l.part.Fields[i]
		if l.open(f) {
			l.guessed = true
			return f, f.Kind == Slope && !l.wasNamed && tilts(f, code)
		}
	}
	return nil, false
}

// namedAfter is the field of a length whose name stands after it: 1192 wide. It is not
// ok where that may as well be of the next figure.
func (l *listening) namedAfter(f *Field, text string) (of *Field, rest string, ok bool) {
	if !l.guessed || text == "" {
		return f, text, true
	}
	code, after, ok := l.Words.Match(l.Lang, "dayafter", text)
	named := l.part.field(code)
	if !ok || named == nil || named.Kind != Length {
		return f, text, true
	}
	if startsFigure(l.skip(after)) {
		next := strings.TrimLeftFunc(l.skip(after), func(r rune) bool { return !unicode.IsSpace(r) && !unicode.IsLetter(r) })
		if _, _, more := l.Words.Match(l.Lang, "dayafter", l.skip(next)); !more {
			return f, text, false
		}
	}
	return named, after, true
}
