package dialog

import (
	"errors"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// take takes one answer to q from the front of text and gives the rest back,
// or says what is wrong. Some answers open a doubt instead of being recorded.
func (t *turn) take(q *question, text string) (rest string, trouble *phrase.Text) {
	if rest, ok := t.passes(q, text); ok {
		if !q.skips() {
			return text, sorry(phrase.Of("skip.needed").Sub1("name", tell.Name(q.Key)))
		}
		t.skip(q)
		return rest, nil
	}
	if q.Early != "" && hasLetter(firstWord(text)) {
		later := find(q.Early)
		if _, _, ok := words().Match(t.lang(), later.Group, text); ok {
			return t.takeChoice(later, text)
		}
	}
	if _, rest, ok := words().Match(t.lang(), beforeCode, text); ok && t.takeBefore(q) {
		return rest, nil
	}
	switch q.Kind {
	case opening.Length:
		return t.takeLength(q, text)
	case opening.Day:
		return t.takeDate(q, text)
	case opening.SillPiece:
		return t.takeSill(q, text)
	case opening.FloorOf:
		return t.takeFloor(q, text)
	case opening.Lights:
		return t.takeLights(q, text)
	case opening.MakeUp:
		return t.takeMakeUp(q, text)
	case opening.FloorArea:
		return t.takeArea(q, text)
	case opening.Words:
		return t.takeWords(q, text)
	}
	return t.takeChoice(q, text)
}

// takeBefore takes over what the window before has; false when there is
// nothing to take over.
func (t *turn) takeBefore(q *question) bool {
	list := t.asBefore(q)
	for _, ans := range list {
		q := find(ans.Key)
		if ans.Value == skipped {
			t.skip(q)
			continue
		}
		t.accept(q, ans)
		t.echo(q, q.stored(ans.Value))
	}
	return list != nil
}

// passes says whether the text skips the question, by the general word or by
// the question's own, such as evenly for the mullions.
func (t *turn) passes(q *question, text string) (rest string, ok bool) {
	if code, rest, ok := words().Match(t.lang(), "command", text); ok && code == "skip" {
		return rest, true
	}
	code, rest, ok := words().Match(t.lang(), "pass", text)
	return rest, ok && code == q.Name
}

// hasLetter tells 1st and ground from a figure.
func hasLetter(word string) bool { return strings.ContainsFunc(word, unicode.IsLetter) }

// skip passes the question over and says what that means.
func (t *turn) skip(q *question) {
	if q.Key == "diagonal.falling" {
		q = find("diagonal.rising") // one diagonal by itself says nothing
	}
	if q.Key == "inner.height" {
		q = find("inner.width") // nor one way of the opening behind
	}
	t.accept(q, Answer{Key: q.Key, Value: skipped})
	if !t.refused {
		t.say(phrase.Of("skipped." + q.Name))
	}
}

// accept records an answer and what hangs on it.
func (t *turn) accept(q *question, ans Answer) {
	a := t.answers()
	before, again := a.Value(q.Key), a.Has(q.Key)
	remeasured := q.Kind == opening.Length && before != skipped && ans.Value != skipped
	var falls []opening.Entry
	if again && before != ans.Value && !remeasured {
		falls = t.clears(q.Voids...)
	}
	t.record(ans, falls...)
	t.measured = t.measured || q.is(opening.Reading)
	// One diagonal by itself changes nothing.
	t.ordered = t.ordered || q.is(opening.Sizes) && (q.Key != "diagonal.rising" || ans.Value == skipped)
	if t.Asking == q.Key {
		t.Asking = ""
	}
	t.Change = ""
}

// echo says what was taken; what was refused is not.
func (t *turn) echo(q *question, value phrase.Text) {
	if t.refused {
		return
	}
	t.say(phrase.Of("echo").Sub1("name", tell.Name(q.Key)).Sub1("value", value))
}

// takeChoice matches the words of the question's group.
func (t *turn) takeChoice(q *question, text string) (string, *phrase.Text) {
	code, rest, ok := t.option(q, text)
	if !ok {
		return text, sorry(phrase.Of("fail.choice").Saying("given", cut(text)).WithRow("options", optionLabels(q)...))
	}
	t.accept(q, Answer{Key: q.Key, Value: code, Typed: typedAs(text, rest, code)})
	t.echo(q, phrase.Of("button."+q.label(code)))
	if q.Key == "tight" && code != "middle" {
		t.sayTight()
	}
	return rest, nil
}

// typedAs is what of text was read when rest is left, if that says more than the
// value.
func typedAs(text, rest, value string) string {
	read, whole := strings.CutSuffix(text, rest)
	if read = cut(read); !whole || read == value {
		return ""
	}
	return read
}

// sayTight says when there is nothing over that could be moved to a side.
func (t *turn) sayTight() {
	o := t.answers().Opening()
	tight, err := plan.Make(o, calc.DefaultSettings())
	o.TightTo = ""
	middle, err2 := plan.Make(o, calc.DefaultSettings())
	if err == nil && err2 == nil && tight.Order.Place.X.Equal(middle.Order.Place.X) {
		t.say(phrase.Of("tight.nothing"))
	}
}

// option takes one of the question's options from the front of text, by its
// code or by the words of the language.
func (t *turn) option(q *question, text string) (code, rest string, ok bool) {
	if code, rest, ok = words().Match(t.lang(), q.Group, text); ok {
		return code, rest, true
	}
	first, after, _ := strings.Cut(text, " ")
	for _, row := range q.Rows {
		if slices.Contains(row, first) {
			return first, strings.TrimSpace(after), true
		}
	}
	return "", text, false
}

func (t *turn) takeDate(q *question, text string) (string, *phrase.Text) {
	d, rest, err := reading.NextDate(text, t.now)
	if err != nil {
		return text, sorry(dateTrouble(err).Saying("given", cut(text)))
	}
	t.accept(q, Answer{Key: q.Key, Value: d.Format(dateForm), Typed: typedAs(text, rest, d.Format(dateForm))})
	t.echo(q, tell.Day(d))
	return rest, nil
}

func dateTrouble(err error) phrase.Text {
	switch {
	case errors.Is(err, reading.ErrOutOfRange):
		return phrase.Of("fail.date.far")
	case errors.Is(err, reading.ErrAmbiguousDate):
		return phrase.Of("fail.date.two")
	case errors.Is(err, reading.ErrImpossibleDate):
		return phrase.Of("fail.date.none")
	}
	return phrase.Of("fail.date")
}

func (t *turn) takeSill(q *question, text string) (string, *phrase.Text) {
	if code, rest, ok := words().Match(t.lang(), q.Group, text); ok {
		t.accept(q, Answer{Key: q.Key, Value: code, Typed: typedAs(text, rest, code)})
		t.echo(q, phrase.Of("button."+q.Group+"."+code))
		return rest, nil
	}
	return t.takeLength(q, text)
}

// highestFloor: a bare whole figure up to this is rather a floor than a height.
var highestFloor = decimal.NewFromInt(30)

// takeFloor takes a floor. A height is that of the glass above the ground
// outside: then it is the ground floor. A figure is read as a length first, lest
// 2' or 1 m be taken for a floor and the height be lost.
func (t *turn) takeFloor(q *question, text string) (string, *phrase.Text) {
	outside := find("outside")
	l, rest, err := reading.Next(text, outside.Usual)
	if err == nil && isDigits(l.Text) && isDigits(firstWord(rest)) {
		return text, t.noFloor(q, text) // 1 200: no floor, and nobody knows
	}
	bare := err == nil && isDigits(l.Text) && !l.MM.GreaterThan(highestFloor) && l.Clear()
	if _, _, ok := t.option(q, text); ok && (bare || hasLetter(firstWord(text)) && err != nil || errors.Is(err, reading.ErrNoNumber)) {
		return t.takeChoice(q, text)
	}
	var beyond *reading.RangeError
	switch {
	case errors.As(err, &beyond):
		return text, sorry(lengthTrouble(outside, err).Saying("given", cut(firstWord(text))))
	case bare || err != nil:
		return text, t.noFloor(q, text)
	}
	t.takeChoice(q, "0")
	return t.takeLength(outside, text)
}

func (t *turn) noFloor(q *question, text string) *phrase.Text {
	return sorry(phrase.Of("fail.storey").Saying("given", cut(text)).WithRow("options", optionLabels(q)...))
}

func isDigits(text string) bool {
	return text != "" && strings.Trim(text, "0123456789") == ""
}

// takeLength takes a length. What can be read in more than one way, or only
// in another unit, becomes a doubt.
func (t *turn) takeLength(q *question, text string) (string, *phrase.Text) {
	if makeUpForm.MatchString(firstWord(text)) {
		return text, sorry(phrase.Of("fail.number").Sub1("name", tell.Name(q.Key)).Saying("given", cut(firstWord(text))))
	}
	l, rest, err := t.length(q, text)
	if err != nil {
		return text, sorry(lengthTrouble(q, err).Saying("given", cut(firstWord(text))))
	}
	if !l.Clear() {
		d := &Doubt{Key: q.Key, Why: "unit", Given: l.Text}
		for _, other := range l.Others {
			d.Others = append(d.Others, other.String())
		}
		if slices.ContainsFunc(l.OtherRests, func(after string) bool { return after != rest }) {
			d.Rests = l.OtherRests
		}
		t.Doubt = d
		return rest, nil
	}
	if trouble := t.unfit(q, l.MM); trouble != nil {
		return text, trouble
	}
	t.takeValue(q, l.MM, l)
	return rest, nil
}

// length reads one length; a bare number is in the unit that the person
// chose, where that makes sense for the question.
func (t *turn) length(q *question, text string) (reading.Length, string, error) {
	l, rest, err := reading.Next(text, q.Usual)
	if t.Unit == "" || l.Unit != "" || l.Text == "" {
		return l, rest, err
	}
	for i, unit := range l.OtherUnits {
		if unit == t.Unit {
			rest = l.OtherRests[i]
			l.MM, l.Unit, l.Others, l.OtherUnits, l.OtherRests = l.Others[i], unit, nil, nil, nil
			return l, rest, err
		}
	}
	mm := l.MM.Mul(unitLength[t.Unit])
	switch {
	case err != nil || !l.Clear():
	case q.Usual.Has(mm):
		l.MM, l.Unit = mm, t.Unit
	default:
		// It only makes sense in another unit than the one chosen.
		l.Others, l.OtherUnits, l.OtherRests, l.MM = []decimal.Decimal{l.MM}, []string{"mm"}, []string{rest}, decimal.Zero
	}
	return l, rest, err
}

// unitLength is a unit in mm.
var unitLength = map[string]decimal.Decimal{
	"cm": decimal.NewFromInt(10), "m": decimal.NewFromInt(1000), "in": decimal.New(254, -1),
}

func firstWord(text string) string {
	if i := strings.IndexAny(text, " \n\t"); i > 0 {
		return text[:i]
	}
	return text
}

func lengthTrouble(q *question, err error) phrase.Text {
	var beyond *reading.RangeError
	switch {
	case errors.As(err, &beyond):
		return phrase.Of("fail.range").With("mm", beyond.MM).With("least", q.Usual.Least).With("most", q.Usual.Most)
	case errors.Is(err, reading.ErrNegative):
		return phrase.Of("fail.negative")
	}
	return phrase.Of("fail.number").Sub1("name", tell.Name(q.Key))
}

// takeValue records a length and says it back, then looks whether it goes
// with its fellows.
func (t *turn) takeValue(q *question, value decimal.Decimal, l reading.Length) {
	t.accept(q, Answer{Key: q.Key, Value: value.String(), Typed: typedAs(l.Text, "", value.String())})
	t.echo(q, lengthText(value, l))
	if strings.HasPrefix(q.Key, "inner.") && t.Doubt == nil && value.GreaterThan(widestBehind(t.answers(), q.Key)) {
		t.Doubt = &Doubt{Key: q.Key, Why: "inner", Given: value.String()}
		return
	}
	t.question(q.Key)
}

// lengthText is a length in mm, with what was typed when that was another
// unit.
func lengthText(value decimal.Decimal, l reading.Length) phrase.Text {
	if l.Unit != "" && l.Unit != "mm" {
		return phrase.Of("length.from").With("mm", value.Round(1)).Saying("given", cut(l.Text))
	}
	return phrase.Of("length").With("mm", value)
}

// takeLights takes how many lights there are, or at once how each opens.
func (t *turn) takeLights(q *question, text string) (string, *phrase.Text) {
	if code, rest, ok := words().Match(t.lang(), "layout", text); ok {
		t.accept(q, Answer{Key: q.Key, Value: code, Typed: typedAs(text, rest, code)})
		t.echo(q, phrase.Of("button.layout."+code))
		return rest, nil
	}
	rows, rest := t.hinges(text)
	lower, upper := rows[0], rows[1]
	columns := len(lower)
	if columns == 0 || columns > opening.MostColumns || len(upper) != 0 && len(upper) != columns {
		return text, sorry(phrase.Of("fail.layout").Saying("given", cut(text)).WithInt("most", opening.MostColumns))
	}
	code := strconv.Itoa(columns)
	if len(upper) > 0 {
		code += "t"
	}
	t.accept(q, Answer{Key: q.Key, Value: code})
	t.echo(q, phrase.Of("button.layout."+code))
	for i, hinge := range append(lower, upper...) {
		light := find(opening.Nth("light", i+1))
		t.accept(light, Answer{Key: light.Key, Value: hinge})
		t.echo(light, phrase.Of("button.light."+hinge))
	}
	return rest, nil
}

// hinges takes as many ways of opening as stand in text: those before a slash
// are the upper row, as they are seen; without a slash there is one row.
func (t *turn) hinges(text string) (rows [2][]string, rest string) {
	light := find("light.1")
	for rest = text; rest != ""; {
		if after, ok := strings.CutPrefix(strings.TrimSpace(rest), "/"); ok && len(rows[1]) == 0 && len(rows[0]) > 0 {
			rows[1], rows[0] = rows[0], nil
			rest = strings.TrimSpace(after)
			continue
		}
		code, after, ok := t.option(light, rest)
		if !ok || len(rows[0]) == opening.MostColumns {
			break
		}
		rows[0] = append(rows[0], code)
		rest = after
	}
	return rows, rest
}

// makeUpForm is glass, never a length: of 4-20-4 the 4 would be taken.
var makeUpForm = regexp.MustCompile(`^\d{1,2}([-/]\d{1,2}){2,4},?$`)

// spacedMakeUp is 4 20 4.
var spacedMakeUp = regexp.MustCompile(`^(\d{1,2}) (\d{1,2}) (\d{1,2})( |$)`)

// takeMakeUp takes a glass make-up such as 4-20-4 or 4/16/4, in mm.
func (t *turn) takeMakeUp(q *question, text string) (string, *phrase.Text) {
	if code, rest, ok := words().Match(t.lang(), q.Group, text); ok {
		t.accept(q, Answer{Key: q.Key, Value: code, Typed: typedAs(text, rest, code)})
		t.echo(q, phrase.Of("glass.makeup").Saying("makeup", code))
		return rest, nil
	}
	text = spacedMakeUp.ReplaceAllString(text, "$1-$2-$3$4")
	first, rest, _ := strings.Cut(text, " ")
	parts := strings.FieldsFunc(strings.TrimRight(first, ",;."), func(r rune) bool { return strings.ContainsRune("-/+–x×", r) })
	if len(parts) != 1 && len(parts) != 3 && len(parts) != 5 {
		return text, sorry(phrase.Of("fail.glass").Saying("given", cut(first)))
	}
	for i, part := range parts {
		n, err := strconv.Atoi(strings.TrimSuffix(part, "mm"))
		pane := i%2 == 0
		if err != nil || pane && (n < 3 || n > 25) || !pane && (n < 4 || n > 36) {
			return text, sorry(phrase.Of("fail.glass").Saying("given", cut(first)))
		}
		parts[i] = strconv.Itoa(n)
	}
	code := strings.Join(parts, "-")
	t.accept(q, Answer{Key: q.Key, Value: code})
	t.echo(q, phrase.Of("glass.makeup").Saying("makeup", code))
	return strings.TrimSpace(rest), nil
}

// A room is no smaller and no larger than this, m².
var areaLeast, areaMost = decimal.New(5, -1), decimal.NewFromInt(200)

// takeArea takes the floor area of the room in m².
func (t *turn) takeArea(q *question, text string) (string, *phrase.Text) {
	first, rest, _ := strings.Cut(text, " ")
	for _, unit := range []string{"m²", "m2", "sqm"} {
		first = strings.TrimSuffix(first, unit)
		rest = strings.TrimSpace(strings.TrimPrefix(rest, unit))
	}
	area, err := decimal.NewFromString(strings.ReplaceAll(first, ",", "."))
	if err != nil || area.Exponent() < -3 || area.LessThan(areaLeast) || area.GreaterThan(areaMost) {
		return text, sorry(phrase.Of("fail.area").Saying("given", cut(first)).With("least", areaLeast).With("most", areaMost))
	}
	t.accept(q, Answer{Key: q.Key, Value: area.String()})
	t.echo(q, phrase.Of("area").With("area", area))
	return rest, nil
}

// takeWords takes all that follows as the person's own words, without what
// can't be seen and the marks around it.
func (t *turn) takeWords(q *question, text string) (string, *phrase.Text) {
	if _, rest, ok := t.option(q, text); ok && rest == "" {
		return t.takeChoice(q, text)
	}
	seen := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return ' '
		}
		return r
	}, text)
	seen = strings.Join(strings.FieldsFunc(seen, unicode.IsSpace), " ")
	seen = strings.TrimFunc(seen, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) })
	if n := utf8.RuneCountInString(seen); n == 0 || int64(n) > q.Most {
		return text, sorry(phrase.Of("fail.words").Sub1("name", tell.Name(q.Key)).WithInt("most", int(q.Most)))
	}
	t.accept(q, Answer{Key: q.Key, Value: seen})
	t.echo(q, q.stored(seen))
	return "", nil
}
