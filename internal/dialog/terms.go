package dialog

import (
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// usualTerms are the crew's terms as they are until somebody sets them, by setting:
// pounds, hours, and per cent.
var usualTerms = map[string]decimal.Decimal{
	"rate": decimal.Zero, "hours": decimal.Zero, "stores": decimal.Zero,
	"vat": calc.DefaultMoneySettings().VATRate.Shift(2), "deposit": calc.DefaultMoneySettings().Deposit.Shift(2),
}

func isTerm(key string) bool {
	_, ok := usualTerms[key]
	return ok
}

// oneTerm reads a term from the front of text: 38, £38.50, 20 %, 6 h.
func oneTerm(t *turn, f *opening.Field, set Answer, text string) (Answer, string, *phrase.Text) {
	first, after, _ := strings.Cut(text, " ")
	plain := strings.TrimRight(strings.TrimPrefix(strings.ReplaceAll(first, ",", "."), "£"), "%h.;")
	d, err := decimal.NewFromString(plain)
	if err != nil || !f.Usual.Has(d) || !d.Equal(d.Round(2)) {
		return set, text, sorry(phrase.Of("settings.term").Word("name", "setting."+set.Key).Saying("unit", f.Unit).With("least", f.Usual.Least).With("most", f.Usual.Most))
	}
	if set.Value = d.String(); d.Equal(usualTerms[set.Key]) {
		set.Value = ""
	}
	if _, rest, ok := words().Match(t.lang(), "termunit", after); ok {
		after = rest
	}
	return set, strings.TrimSpace(after), nil
}

// termText is a term in words.
func termText(key string, d decimal.Decimal) phrase.Text {
	switch {
	case key == "vat", key == "deposit":
		return phrase.Of("settings.percent").With("n", d)
	case d.IsZero():
		return phrase.Of("settings.unset")
	case key == "hours":
		return phrase.Of("settings.hours").With("n", d)
	}
	return phrase.Of("settings.pounds").Saying("price", plan.Pounds(d))
}
