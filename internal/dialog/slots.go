package dialog

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/internal/talk"
)

// slot takes one typed argument from the front of text into the ask. trouble
// is what to say when it does not fit: see unfitting.
type slot func(t *turn, a *Ask, text string) (rest string, trouble *phrase.Text)

// unfitting is the trouble of a slot that has nothing to say itself: the row
// says how its arguments are typed.
var unfitting = &phrase.Text{}

// field is one argument in the data of a button; "" when it is missing.
type field func(a *Ask, text string)

// The fields. A number that can't be read is 0, which no window has.
var (
	dataWindow field = func(a *Ask, text string) { a.Opening = atoi(text) }
	version    field = func(a *Ask, text string) { a.Version = text }
	revision   field = func(a *Ask, text string) { a.Revision = text }
	readingKey field = func(a *Ask, text string) { a.Reading = text }
	pick       field = func(a *Ask, text string) { a.Pick = job.Pick(text) }
	figure     field = func(a *Ask, text string) { a.Value = decimalOf(text) }
	sentence   field = func(a *Ask, text string) { a.Words = text }
	action     field = func(a *Ask, text string) { a.Step = job.Action(text) }
	amount     field = func(a *Ask, text string) {
		if amounts, certain, err := reading.Money(text); err == nil && certain {
			a.Value = &amounts[0]
		}
	}
)

func atoi(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil {
		return 0
	}
	return n
}

// decimalOf is nil for what is no number: buttons of before have none.
func decimalOf(text string) *decimal.Decimal {
	d, err := decimal.NewFromString(text)
	if err != nil {
		return nil
	}
	return &d
}

// as makes the typed words ask for the row of another name.
func as(name string) slot {
	return func(_ *turn, a *Ask, text string) (string, *phrase.Text) {
		a.Do = name
		return text, nil
	}
}

// code is one word of a group of the catalogue.
func code(group string) slot {
	return func(t *turn, a *Ask, text string) (string, *phrase.Text) {
		code, rest, ok := words().Match(t.lang(), group, text)
		if !ok {
			return text, unfitting
		}
		a.Words = code
		return rest, nil
	}
}

// anything is what is left, which may be nothing.
func anything(_ *turn, a *Ask, text string) (string, *phrase.Text) {
	a.Words = text
	return "", nil
}

// some asks for anything at all before the next slot.
func some(_ *turn, _ *Ask, text string) (string, *phrase.Text) {
	if text == "" {
		return text, unfitting
	}
	return text, nil
}

// line is the number of a window of a job whose record may be elsewhere.
func line(_ *turn, a *Ask, text string) (string, *phrase.Text) {
	id, rest, ok := openingNumber(text)
	if !ok {
		return text, unfitting
	}
	a.Opening = id
	return rest, nil
}

// window is the number of a window of the open job.
func window(t *turn, a *Ask, text string) (string, *phrase.Text) {
	id, rest, ok := openingNumber(text)
	if !ok {
		return text, sorry(phrase.Of("job.number"))
	}
	if _, found := t.Job.Find(id); !found {
		return text, sorry(phrase.Of("job.nosuch").WithInt("n", id))
	}
	a.Opening = id
	return rest, nil
}

// queryNumber is the number of a question behind that of its line, as in 2.1; a line
// alone is left as it is.
func queryNumber(_ *turn, a *Ask, text string) (string, *phrase.Text) {
	first, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	line, number, _ := strings.Cut(strings.TrimRight(first, ".,:;"), ".")
	n, err := strconv.Atoi(number)
	if _, wrong := strconv.Atoi(line); err != nil || wrong != nil || n < 1 {
		return text, nil
	}
	a.Question = n
	return line + " " + rest, nil
}

// openingNumber takes the number of an opening from the front of a text.
func openingNumber(text string) (id int, rest string, ok bool) {
	first, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	id, err := strconv.Atoi(strings.TrimRight(first, ".,:;"))
	if err != nil || id < 1 || id > 9999 {
		return 0, text, false
	}
	return id, strings.TrimSpace(rest), true
}

func count(_ *turn, a *Ask, text string) (string, *phrase.Text) {
	n, rest, err := reading.Count(text)
	if err != nil {
		return text, unfitting
	}
	a.Count = n
	return rest, nil
}

// shade is the name of a colour, which a white frame has none of: it would be
// ordered with the gap of a white one.
func shade(t *turn, a *Ask, text string) (string, *phrase.Text) {
	o, _ := t.Job.Find(a.Opening)
	if text != "" && o.Record().Plan.Material == calc.PVCUWhite {
		return text, sorry(phrase.Of("job.colour.white").WithInt("n", o.ID).Saying("name", o.Name))
	}
	return anything(t, a, text)
}

// numberAsName calls a window by its number: the chat of a lead knows no other
// name yet.
func numberAsName(t *turn, a *Ask, text string) (string, *phrase.Text) {
	a.Words = words().Plain(t.lang(), phrase.Of("job.window").WithInt("n", a.Opening))
	return text, nil
}

func readingName(t *turn, a *Ask, text string) (string, *phrase.Text) {
	key, rest, ok := words().Match(t.lang(), "name", text)
	if !ok || !isReading(key) {
		return text, unfitting
	}
	a.Reading = key
	return rest, nil
}

// value is the figure of the reading that was named before it.
func value(_ *turn, a *Ask, text string) (string, *phrase.Text) {
	l, rest, err := reading.Next(text, find(a.Reading).Usual)
	if err != nil || !l.Clear() {
		return text, unfitting
	}
	a.Value = &l.MM
	return rest, nil
}

// confirmation is one line or several and the revision that was read, or the
// revision alone for all lines.
func confirmation(t *turn, a *Ask, text string) (string, *phrase.Text) {
	n, rest := someNumbers(t, text, reads{there: elsewhere})
	switch {
	case n.all, n.ids == nil:
		a.Do = "confirmall"
	default:
		n.set(a)
	}
	if rest == "" && (n.all || n.ids != nil) {
		return text, unfitting
	}
	name, rest, _ := strings.Cut(strings.TrimSpace(rest), " ")
	a.Revision = strings.ToUpper(name)
	return rest, nil
}

// mostPrice is more than any window costs, £.
var mostPrice = decimal.NewFromInt(10_000_000)

// price is an amount that can be read one way only. A price of nothing needs a
// yes after it.
func price(t *turn, a *Ask, text string) (string, *phrase.Text) {
	first, last := cutLast(text)
	code, _, ok := words().Match(t.lang(), "answer", last)
	sure := ok && code == "yes"
	if sure {
		text = first
	}
	amounts, certain, err := reading.Money(text)
	switch {
	case errors.Is(err, reading.ErrNegative):
		return text, sorry(phrase.Of("job.refused.price_negative"))
	case err != nil:
		return text, unfitting
	case amounts[0].GreaterThan(mostPrice):
		return text, sorry(phrase.Of("job.price.most").With("most", mostPrice))
	case !certain:
		return text, t.askPrice("job.price.which", *a, text, amounts)
	case amounts[0].IsZero() && !sure:
		return text, t.askPrice("job.price.zero", *a, text, amounts)
	}
	a.Value = &amounts[0]
	return "", nil
}

// askPrice asks which price was meant, with a button for each.
func (t *turn) askPrice(key string, a Ask, given string, amounts []decimal.Decimal) *phrase.Text {
	t.buttons = [][]Button{nil}
	var others []phrase.Text
	for _, amount := range amounts {
		typed := amount.StringFixed(2)
		others = append(others, phrase.Of("job.price.typed").WithInt("n", a.Opening).Saying("price", typed))
		data := strings.Join([]string{talk.JobPress, a.Ref, "promise", strconv.Itoa(a.Opening), typed}, ":")
		t.buttons[0] = append(t.buttons[0], Button{Label: phrase.Of("button.job.price").Saying("price", typed), Data: data})
	}
	return sorry(phrase.Of(key).WithInt("n", a.Opening).Saying("given", cut(given)).WithRow("others", others...))
}

// cutLast cuts the last word off.
func cutLast(text string) (before, last string) {
	i := strings.LastIndex(text, " ")
	return strings.TrimSpace(text[:max(i, 0)]), text[i+1:]
}

func dueDay(t *turn, a *Ask, text string) (string, *phrase.Text) {
	day, err := reading.Date(text, t.now)
	if several, ok := errors.AsType[*reading.DateError](err); ok && slices.ContainsFunc(several.Others, t.passed) {
		day, err = slices.MinFunc(several.Others, time.Time.Compare), nil // the other one is in a year
	}
	if err != nil {
		return text, sorry(dateTrouble(err).Saying("given", cut(text)))
	}
	if trouble := t.dayToCome(day); trouble != nil {
		return text, trouble
	}
	a.Due = day.Format(opening.DateForm)
	return "", nil
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
