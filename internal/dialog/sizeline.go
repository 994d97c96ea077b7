package dialog

import (
	"regexp"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// size is the one-line form: three widths × three heights, and words for the
// finish and the frame if they are not the usual ones.
type size struct {
	widths, heights [3]decimal.Decimal
	finish          calc.Finish
	material        calc.Material
}

// onePair is one width × one height: no size to order by.
var onePair = regexp.MustCompile(`^\s*\d{3,4}(mm)?\s*[x×*]\s*\d{3,4}(mm)?\s*$`)

// sizeLine answers the one-line form at once. A survey that waits for the
// widths takes them as its readings.
func (t *turn) sizeLine(text string) bool {
	if onePair.MatchString(strings.ToLower(text)) {
		t.say(phrase.Of("size.one"))
		return true
	}
	line, ok := t.parseSizeLine(text)
	if !ok {
		return false
	}
	if q := t.next(t.answers()); q != nil && q.Key == opening.Widths[0] {
		t.takeSizes(line)
		return true
	}
	t.quickOrder(line)
	return true
}

// parseSizeLine reads the line; words for finish and frame may follow it in
// any order.
func (t *turn) parseSizeLine(text string) (size, bool) {
	line := size{finish: calc.Bare, material: calc.PVCUWhite}
	if a := t.answers(); a.Given("finish", "material") {
		line.finish, line.material = calc.Finish(a.Value("finish")), calc.Material(a.Value("material"))
	}
	if len(text) > 200 {
		return line, false
	}
	fields := strings.Fields(text)
	for end := len(fields); end >= 2; end-- {
		widths, heights, ok := reading.SizeLine(strings.Join(fields[:end], " "), opening.SideRange)
		if !ok {
			continue
		}
		line.widths, line.heights = widths, heights
		return line, t.lineWords(&line, strings.Join(fields[end:], " "))
	}
	return line, false
}

func (t *turn) lineWords(line *size, rest string) bool {
	for rest != "" {
		if code, after, ok := words().Match(t.lang(), "finish", rest); ok {
			line.finish, rest = calc.Finish(code), after
			continue
		}
		code, after, ok := words().Match(t.lang(), "material", rest)
		if !ok {
			return false
		}
		line.material, rest = calc.Material(code), after
	}
	return true
}

// takeSizes records the six readings of the open survey.
func (t *turn) takeSizes(line size) {
	values := append(line.widths[:], line.heights[:]...)
	for i, key := range append(opening.Widths[:], opening.Heights[:]...) {
		q := find(key)
		t.accept(q, Answer{Key: key, Value: values[i].String()})
		t.echo(q, phrase.Of("length").With("mm", values[i]))
	}
	t.question(opening.Widths[0])
	if t.Doubt == nil {
		t.question(opening.Heights[0])
	}
}

// quickOrder answers without touching the survey, and says what it took for
// granted.
func (t *turn) quickOrder(line size) {
	o := plan.Opening{Finish: line.finish, Material: line.material, Widths: line.widths, Heights: line.heights, Settings: t.crew()}
	order, err := calc.OrderSize(o.OrderRequest(calc.DefaultSettings()))
	if err != nil {
		t.say(refusal(err))
		return
	}
	t.say(phrase.Of("quick").Word("finish", "button.finish."+string(line.finish)).Word("material", "button.material."+string(line.material)))
	t.say(plan.OrderLines(order, decimal.Zero)...)
	if t.open() != "" {
		t.say(phrase.Of("quick.goon"))
	}
}
