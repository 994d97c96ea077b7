package job

import (
	"time"

	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// Said is a quotation, a line each, with what is not in it.
func (s QuoteSheet) Said() []phrase.Text {
	var lines []phrase.Text
	for _, l := range s.Lines {
		lines = append(lines, l.Text())
	}
	return append(lines, s.Sums()...)
}

// Text is one line of a quotation.
func (l QuoteLine) Text() phrase.Text {
	t := phrase.Of("quote.line."+string(l.What)).With("quantity", l.Quantity).Saying("each", plan.Pounds(l.Each)).Saying("name", l.Name)
	sum := l.Sum.Net
	if l.What == QuoteAll {
		sum = l.Sum.Gross
	}
	return t.Saying("sum", plan.Pounds(sum))
}

// Sums are what a quotation comes to, what is paid, and what is not in it.
func (s QuoteSheet) Sums() []phrase.Text {
	lines := []phrase.Text{phrase.Of("quote.sum").With("rate", s.VAT.Shift(2)).
		Saying("net", plan.Pounds(s.Sum.Net)).Saying("vat", plan.Pounds(s.Sum.VAT)).Saying("gross", plan.Pounds(s.Sum.Gross))}
	if s.Deposit.IsPositive() {
		lines = append(lines, phrase.Of("quote.deposit").With("share", s.Share.Shift(2)).Saying("deposit", plan.Pounds(s.Deposit)).Saying("balance", plan.Pounds(s.Balance)))
	}
	if len(s.Paid) > 0 {
		lines = append(lines, s.ToPay())
	}
	if len(s.Open) > 0 {
		lines = append(lines, phrase.Of("quote.open").Saying("numbers", Spans(s.Open, "-", ", ")).WithInt("count", len(s.Open)))
	}
	if len(s.Remade) > 0 {
		lines = append(lines, phrase.Of("quote.remade").Saying("numbers", Spans(s.Remade, "-", ", ")).WithInt("count", len(s.Remade)))
	}
	if s.NoWork {
		lines = append(lines, phrase.Of("quote.no_work"))
	}
	if s.NoStores {
		lines = append(lines, phrase.Of("quote.no_stores"))
	}
	return lines
}

// ToPay says what was paid and what is left.
func (s QuoteSheet) ToPay() phrase.Text {
	var paid []phrase.Text
	for _, p := range s.Paid {
		paid = append(paid, phrase.Of("quote.paid.one").Saying("price", plan.Pounds(p.Amount)).Sub1("day", dayText(p.Day)))
	}
	switch {
	case paid == nil:
		return phrase.Of("quote.unpaid").Saying("sum", plan.Pounds(s.Left))
	case s.Left.IsNegative():
		return phrase.Of("quote.overpaid").WithRow("paid", paid...).Saying("sum", plan.Pounds(s.Left.Neg()))
	}
	return phrase.Of("quote.left").WithRow("paid", paid...).Saying("sum", plan.Pounds(s.Left))
}

// dayText is a stored day, 2006-01-02, in words.
func dayText(day string) phrase.Text {
	at, err := time.Parse(plan.DateForm, day)
	if err != nil {
		return phrase.Of("date.unknown")
	}
	return phrase.Day(at)
}
