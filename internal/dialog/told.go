package dialog

import (
	"errors"
	"regexp"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
)

// confirmTold records what the supplier said off the messenger.
func confirmTold(o op) outcome {
	r := job.Reply{Revision: o.Revision, Due: o.Due, Price: o.Value}
	if o.Heard != nil {
		r.Heard = *o.Heard
	}
	return of(o.ConfirmTold(o.Who, o.at, r, o.Ask.Lines...))
}

// heardTold reads what a supplier said, as people write it down: the lines, how,
// who, the supplier's number of the order, day and price, in any order.
func heardTold(t *turn, a *Ask, text string) (string, *phrase.Text) {
	r := toldReader{turn: t, ask: a, heard: &job.Heard{}}
	a.Heard = r.heard
	text = r.lines(strings.TrimSpace(text))
	for text != "" && r.trouble == nil {
		text = strings.TrimLeft(r.next(text), " ")
	}
	r.end()
	r.heard.By = strings.Join(r.names, ", ")
	return "", r.trouble
}

// toldReader takes what a supplier said apart.
type toldReader struct {
	*turn
	ask     *Ask
	heard   *job.Heard
	word    []string // of a name that is being read
	names   []string
	trouble *phrase.Text
}

var (
	oneLetter = regexp.MustCompile(`^[A-Za-z]{1,2}$`)
	aNumber   = regexp.MustCompile(`^\d{3,}$`)
	hasDigit  = regexp.MustCompile(`\d`)
)

// lines takes the numbers in front, and the revision where it is said.
func (r *toldReader) lines(text string) string {
	n, rest := someNumbers(r.turn, skipJoints(text), reads{there: elsewhere, day: true})
	r.ask.Lines = n.ids
	rest = skipJoints(rest)
	if n.ids == nil && !n.all && hasDigit.MatchString(wordOf(rest)) && !r.beginsDay(rest) && !strings.HasPrefix(rest, "£") {
		r.trouble = sorry(phrase.Of("told.how")) // of all lines nobody spoke
		return ""
	}
	if code, after, ok := words().Match(r.lang(), "windows", rest); ok && code == "window" {
		rest = skipJoints(after) // lines by phone
	}
	return r.revision(rest)
}

// revision takes a letter alone, right behind the lines.
func (r *toldReader) revision(text string) string {
	first, rest, _ := strings.Cut(text, " ")
	name := strings.Trim(first, ".,:;")
	if oneLetter.MatchString(name) && r.ask.Revision == "" && len(name) == 1 {
		r.ask.Revision = strings.ToUpper(name)
		return rest
	}
	return text
}

func skipJoints(text string) string { return strings.TrimLeft(text, " ,;:.&+") }

// next takes the first thing off the text.
func (r *toldReader) next(text string) string {
	if code, rest, ok := words().Match(r.lang(), "told", text); ok {
		return r.marked(code, text, rest)
	}
	if first := wordOf(text); strings.HasPrefix(first, "£") {
		return r.price(text)
	} else if isTime, _, ok := words().Match(r.lang(), "toldwhen", text); !ok || isTime == "" {
		day, rest, err := reading.NextDate(text, r.now)
		switch {
		case err == nil:
			r.end()
			r.ask.Due = day.Format(opening.DateForm)
			return rest
		case !errors.Is(err, reading.ErrNoDate):
			r.trouble = sorry(dateTrouble(err).Saying("given", cut(beforeComma(text))))
			return ""
		case aNumber.MatchString(strings.Trim(first, ".,:;#")) && r.heard.Order == "":
			return r.order(text)
		}
	}
	first := wordOf(text)
	r.word = append(r.word, strings.Trim(first, ",;"))
	if strings.HasSuffix(first, ",") || strings.HasSuffix(first, ";") {
		r.end()
	}
	return text[len(first):]
}

func beforeComma(text string) string {
	text, _, _ = strings.Cut(text, ",")
	return text
}

// wordOf is the first word with the marks on it.
func wordOf(text string) string {
	first, _, _ := strings.Cut(text, " ")
	return first
}

// end ends a name.
func (r *toldReader) end() {
	if name := strings.TrimSpace(strings.Join(r.word, " ")); name != "" {
		r.names = append(r.names, name)
	}
	r.word = nil
}

// marked takes what begins with a word that says what it is.
func (r *toldReader) marked(code, text, rest string) string {
	naming := len(r.word) > 0
	if code != "skip" {
		r.end()
	}
	switch code {
	case "phone", "mail", "person", "file":
		r.heard.Way = job.Way(code)
		return rest
	case "order":
		if hasDigit.MatchString(wordOf(rest)) {
			return r.order(rest)
		}
	case "price":
		if hasDigit.MatchString(wordOf(rest)) {
			return r.price(rest)
		}
	case "revision":
		if after := r.revision(rest); after != rest {
			return after
		}
	case "skip": // of a name, unless a day follows: Anna at the works
		if _, _, err := reading.NextDate(rest, r.now); err == nil || !naming {
			return rest
		}
	}
	first := wordOf(text)
	r.word = append(r.word, first)
	return text[len(first):]
}

// order takes the supplier's number of the order.
func (r *toldReader) order(text string) string {
	r.end()
	first := wordOf(text)
	r.heard.Order = strings.Trim(first, ",;:.#")
	return text[len(first):]
}

// price takes an amount, which can be read one way only.
func (r *toldReader) price(text string) string {
	r.end()
	first := wordOf(text)
	amounts, certain, err := reading.Money(strings.Trim(first, ",;:"))
	switch {
	case err != nil || !certain:
		r.trouble = sorry(phrase.Of("told.price").Saying("given", cut(first)))
	case amounts[0].GreaterThan(mostPrice):
		r.trouble = sorry(phrase.Of("job.price.most").With("most", mostPrice))
	default:
		r.ask.Value = &amounts[0]
	}
	return text[len(first):]
}

// toldLines are the numbers of lines, one at least.
func toldLines(t *turn, a *Ask, text string) (string, *phrase.Text) {
	r := toldReader{turn: t, ask: a}
	rest := r.lines(text)
	if r.trouble != nil || rest == "" && len(a.Lines) == 0 {
		return text, unfitting
	}
	return rest, nil
}
