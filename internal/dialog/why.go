package dialog

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// why says what gave the figures: of the size, or of the topic or the figure that is
// named.
func why(t *turn, rest string) {
	if windows, ok := t.asksStores(rest); ok {
		storesCommand(t, strings.TrimSpace("why "+windows))
		return
	}
	if rest == "" && t.whyDay() {
		return
	}
	a := t.answers()
	if !a.CanOrder() {
		t.whyNotYet()
		return
	}
	if q := t.next(a); q != nil && (q.Key == "sill.fall" || q.Key == "lean") {
		t.say(phrase.Of("reason." + q.Key)) // what the size does not explain
	}
	p, err := plan.Make(a.Opening(), calc.DefaultSettings())
	if err != nil || !t.done() {
		t.whyOrder(rest)
		return
	}
	about, page := whatOf(t, rest)
	t.buttons = t.topicButtons()
	switch figure, failed := decimal.NewFromString(about); {
	case about == "":
		t.say(plan.SizeLines(p.Order)...)
	case failed != nil:
		lines := p.Why(about)
		if faces := t.faces(p.Layout); about == "job" && faces.Key != "" {
			lines = append(lines, faces)
		}
		t.sayPage(about, page, lines)
	default:
		lines := p.WhyFigure(figure)
		if len(lines) == 0 {
			lines = append(lines, phrase.Of("figure.none").With("n", figure))
		}
		t.sayPage(about, page, lines)
	}
}

// whyNotYet gives the reason for the reading in doubt, while there is no size to explain.
func (t *turn) whyNotYet() {
	if t.Doubt != nil {
		t.say(phrase.Of("reason." + find(t.Doubt.Key).Name))
		return
	}
	t.say(phrase.Of("why.notyet"))
}

// whyOrder explains the size while the survey goes on.
func (t *turn) whyOrder(rest string) {
	a := t.answers()
	order, err := t.orderOf(a)
	switch {
	case err != nil:
		t.say(refusal(err))
	case strings.TrimSpace(rest) == "":
		t.say(plan.SizeLines(order)...)
	default:
		_, page := whatOf(t, rest)
		t.sayPage("size", page, plan.Plan{Order: order, Opening: a.Opening()}.Why("size"))
	}
}

var figureForm = regexp.MustCompile(`\d+(?:[.,]\d+)?`)

// whatOf reads a topic or a figure, and the page of what is said of it, from 1. Words that
// are neither ask for the size.
func whatOf(t *turn, rest string) (about string, page int) {
	rest = strings.TrimSpace(rest)
	for _, word := range []string{"the ", "is the ", "is it ", "are the ", "is ", "are "} {
		rest = strings.TrimPrefix(rest, word)
	}
	if topic, more, ok := words().Match(t.lang(), "topic", rest); ok {
		n, _ := strconv.Atoi(figureForm.FindString(more))
		return topic, max(n, 1)
	}
	found := figureForm.FindAllString(rest, 2)
	if len(found) == 0 {
		return "", 1
	}
	if len(found) == 2 {
		page, _ = strconv.Atoi(found[1])
	}
	return strings.Replace(found[0], ",", ".", 1), max(page, 1)
}

// mostRows is how many lines of 40 characters an explanation has.
const mostRows = 24

// sayPage says as much as a screen holds, and how the rest is had.
func (t *turn) sayPage(about string, page int, lines []phrase.Text) {
	if len(lines) == 0 {
		t.say(phrase.Of("why.topic.none"))
		return
	}
	var pages [][]phrase.Text
	rows := mostRows
	for _, line := range lines {
		n := screenRows(words().Plain(t.lang(), line))
		if rows+n > mostRows-1 {
			pages, rows = append(pages, nil), 0
		}
		pages[len(pages)-1] = append(pages[len(pages)-1], line)
		rows += n
	}
	page = min(page, len(pages))
	t.say(pages[page-1]...)
	if page < len(pages) {
		t.say(phrase.Of("why.page").Saying("words", about).WithInt("n", page+1))
		if t.buttons != nil {
			more := t.button("why.more", "do", "why="+about+" "+strconv.Itoa(page+1))
			t.buttons = append([][]Button{{more}}, t.buttons...)
		}
	}
}

// screenRows is how many lines of a phone a text takes, wrapped at words.
func screenRows(text string) int {
	const wide = 40
	rows := 0
	for _, line := range strings.Split(text, "\n") {
		rows++
		at := 0
		for _, word := range strings.Fields(line) {
			n := len([]rune(word))
			switch {
			case at == 0:
				at = n
			case at+1+n <= wide:
				at += 1 + n
			default:
				rows, at = rows+1, n
			}
			rows, at = rows+(at-1)/wide, (at-1)%wide+1
		}
	}
	return rows
}

// topicButtons ask about one thing each.
func (t *turn) topicButtons() [][]Button {
	var all []Button
	for _, topic := range plan.Topics {
		all = append(all, t.button("why."+topic, "do", "why="+topic))
	}
	return slices.Collect(slices.Chunk(all, 3))
}
