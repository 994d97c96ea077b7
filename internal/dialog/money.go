package dialog

import (
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
	"sillbot/internal/tell"
)

// terms are the crew's terms.
func (s State) terms() job.Terms {
	value := func(key string) decimal.Decimal {
		for _, set := range s.Crew {
			if set.Key == key {
				return number(set.Value)
			}
		}
		return usualTerms[key]
	}
	return job.Terms{Rate: value("rate"), Hours: value("hours"), Stores: value("stores"),
		Money: calc.MoneySettings{VATRate: value("vat").Shift(-2), Deposit: value("deposit").Shift(-2)}}
}

// quotation works out what the open job costs; false when it can't, which is said.
func (t *turn) quotation() (job.QuoteSheet, bool) {
	s, err := t.Job.Quotation(t.terms())
	switch {
	case err != nil:
		t.say(tell.Refusal(err))
		return s, false
	case len(s.Lines) == 0:
		t.say(phrase.Of("quote.nothing"))
		return s, false
	}
	return s, true
}

// quoteCommand says what the job costs, sends it as a paper, and keeps what it came to.
func quoteCommand(t *turn) {
	t.quiet = true
	s, ok := t.quotation()
	if !ok {
		return
	}
	t.say(phrase.Of("quote.title").Saying("ref", s.Ref))
	t.say(s.Said()...)
	if q := t.Job.Quoted; q != nil && !q.Amount.Equal(s.Sum.Gross) {
		t.say(phrase.Of("quote.before").Saying("sum", plan.Pounds(q.Amount)).Sub1("day", tell.StoredDay(q.Day)))
	}
	if s.NoWork || s.NoStores {
		t.say(phrase.Of("quote.terms"))
	}
	t.say(phrase.Of("quote.mind"))
	j := t.Job.AsQuoted(s, t.now.In(t.clock()).Format(opening.DateForm))
	t.Job = &j
	t.mails = append(t.mails, Reply{Text: phrase.Of("quote.paper").Saying("ref", t.Job.Ref), Lang: t.lang(), Open: t.open(),
		Document: &Document{Paper: QuotePDF, Quote: &s, At: t.now}})
}

// amountIn reads an amount of money and a day up to today, which is today where none is
// said.
func (t *turn) amountIn(text string) (amount decimal.Decimal, day string, ok bool) {
	given, day := t.nameAndDay(strings.ReplaceAll(text, "£ ", "£"))
	amounts, certain, err := reading.Money(given)
	if err != nil || !certain || len(amounts) == 0 || amounts[0].GreaterThan(mostPrice) {
		return decimal.Zero, "", false
	}
	return amounts[0], day, true
}

// paidAside begins what a payment leaves for undo in the next message.
const paidAside = "paid="

// undoPaid takes the payment back that the message before wrote down; false when it
// wrote none.
func (t *turn) undoPaid() bool {
	amount, ok := strings.CutPrefix(t.aside, paidAside)
	if ok && t.Job != nil {
		unpaidCommand(t, amount)
	}
	return ok
}

// paidCommand writes down what the customer paid, and says what is left to pay.
func paidCommand(t *turn, text string) {
	t.quiet = true
	if text != "" {
		amount, day, ok := t.amountIn(text)
		if !ok {
			t.say(phrase.Of("paid.how"))
			return
		}
		j, err := t.Job.Pay(t.who(), amount, day)
		if err != nil {
			t.say(tell.Refusal(err))
			return
		}
		t.Job, t.Aside = &j, paidAside+amount.String()
		t.say(phrase.Of("paid.noted").Saying("price", plan.Pounds(amount)).Sub1("day", tell.StoredDay(day)))
	}
	if s, ok := t.quotation(); ok {
		t.say(s.ToPay())
		t.say(phrase.Of("quote.no_invoice"))
	}
}

// unpaidCommand takes a payment back that was written down by mistake.
func unpaidCommand(t *turn, text string) {
	t.quiet = true
	amount, _, ok := t.amountIn(text)
	if !ok {
		t.say(phrase.Of("paid.how"))
		return
	}
	j, found, err := t.Job.Unpay(t.who(), amount)
	switch {
	case err != nil:
		t.say(tell.Refusal(err))
	case !found:
		t.say(phrase.Of("paid.none").Saying("price", plan.Pounds(amount)))
	default:
		t.Job = &j
		t.say(phrase.Of("paid.back").Saying("price", plan.Pounds(amount)))
		if s, ok := t.quotation(); ok {
			t.say(s.ToPay())
		}
	}
}
