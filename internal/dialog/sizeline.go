package dialog

import (
	"regexp"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// sixFigures are the runs of digits of a text; six readings have six or more.
var sixFigures = regexp.MustCompile(`[0-9]+`)

// onePair is one width × one height: no size to order by.
var onePair = regexp.MustCompile(`^\s*\d{3,4}(mm)?\s*[x×*]\s*\d{3,4}(mm)?\s*$`)

// sizeLine answers six readings at once as a sum, where no survey waits for
// them. They may have the finish and the frame with them.
func (t *turn) sizeLine(text string) bool {
	if len(text) < 30 && onePair.MatchString(strings.ToLower(text)) {
		t.say(phrase.Of("size.one"))
		return true
	}
	if !t.elsewhere() && !t.atChair() && !t.taken().Given(opening.Widths[0], opening.Heights[0]) {
		return false
	}
	sizes, ok := t.parseSizeLine(text)
	if !ok {
		return false
	}
	t.quickOrder(sizes)
	return true
}

// parseSizeLine reads the six readings apart from what is at hand.
func (t *turn) parseSizeLine(text string) (*opening.Known, bool) {
	if len(text) > 200 || len(sixFigures.FindAllString(text, 6)) < 6 {
		return nil, false
	}
	sizes := &opening.Known{}
	c := t.context()
	c.Known, c.Open, c.Last = sizes, opening.Widths[0], ""
	c.Next = func(k *opening.Known) opening.Key {
		if f := k.Next(true, ""); f != nil {
			return f.Key
		}
		return ""
	}
	h := hear.Read(text, c)
	if h.Held != nil || h.Length != nil || h.Trouble != nil || len(h.Unknown) > 0 {
		return sizes, false
	}
	a := t.answers()
	for _, key := range []opening.Key{"finish", "material"} {
		if a.Given(key) {
			sizes.Set(key, a.Value(key))
		}
	}
	for _, v := range h.Said {
		switch {
		case opening.Find(v.Key).Is(opening.Reading) && opening.Find(v.Key).Change != "diagonals", v.Key == "finish", v.Key == "material":
			sizes.Set(v.Key, v.Value)
		default:
			return sizes, false
		}
	}
	return sizes, sizes.Given(opening.Widths[:]...) && sizes.Given(opening.Heights[:]...)
}

// quickOrder answers without touching the survey, and says what it took for
// granted.
func (t *turn) quickOrder(sizes *opening.Known) {
	finish, material := calc.Bare, calc.PVCUWhite
	if sizes.Given("finish") {
		finish = calc.Finish(sizes.Value("finish"))
	}
	if sizes.Given("material") {
		material = calc.Material(sizes.Value("material"))
	}
	r := sizes.Readings()
	o := plan.Opening{Finish: finish, Material: material, Widths: r.Widths, Heights: r.Heights, Settings: t.crew()}
	order, err := calc.OrderSize(o.OrderRequest(calc.DefaultSettings()))
	if err != nil {
		t.say(refusal(err))
		return
	}
	t.say(phrase.Of("quick").Word("finish", "button.finish."+string(finish)).Word("material", "button.material."+string(material)))
	t.say(plan.OrderLines(order, decimal.Zero)...)
	if t.open() != "" {
		t.say(phrase.Of("quick.goon"))
	}
}
