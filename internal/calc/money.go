package calc

import "github.com/shopspring/decimal"

// MoneySettings are a firm's usual terms.
type MoneySettings struct {
	VATRate decimal.Decimal `json:"vat_rate"` // fraction
	Deposit decimal.Decimal `json:"deposit"`  // fraction of the gross sum
}

// DefaultMoneySettings are from memory and common practice; an accountant
// says which rate applies.
func DefaultMoneySettings() MoneySettings {
	return MoneySettings{
		VATRate: decimal.New(20, -2), // from memory: the standard rate
		Deposit: decimal.New(25, -2), // common practice, no source
	}
}

// PriceLine is one line of a price. Window is the window's number from 1, or
// 0 for the job as a whole.
type PriceLine struct {
	Window   int             `json:"window,omitempty"`
	What     string          `json:"what"` // a person's words
	Quantity decimal.Decimal `json:"quantity"`
	Each     decimal.Decimal `json:"each"`     // pounds without VAT, see Including; negative for a discount
	VATRate  decimal.Decimal `json:"vat_rate"` // fraction, 0.2 for a fifth
	// Including: Each is with VAT, as a customer is told a price.
	Including bool `json:"vat_included,omitempty"`
}

// Sum is money in pounds and whole pence.
type Sum struct {
	Net   decimal.Decimal `json:"net"`
	VAT   decimal.Decimal `json:"vat"`
	Gross decimal.Decimal `json:"gross"`
}

// Plus is both sums together.
func (s Sum) Plus(t Sum) Sum {
	return Sum{s.Net.Add(t.Net), s.VAT.Add(t.VAT), s.Gross.Add(t.Gross)}
}

// BillLine is one line worked out.
type BillLine struct {
	PriceLine
	Sum
}

// Bill is a job's money. Lines add up to Job, Deposit and Balance to the job's
// gross sum, all to the penny.
type Bill struct {
	Lines   []BillLine
	Job     Sum
	Deposit decimal.Decimal
	Balance decimal.Decimal
	Reasons []Reason
}

// pence rounds pounds to whole pence, half up; half down below zero, so that a
// credit takes back exactly what its line charged.
func pence(pounds decimal.Decimal) decimal.Decimal { return pounds.Round(2) }

// MakeBill prices a job. Net and VAT are rounded to the penny on each line and
// only added up after that. Deposit is a fraction of the gross sum. Refused
// are a negative quantity or window, a rate or a deposit outside 0 to 1, and a
// job that comes to less than nothing.
func MakeBill(lines []PriceLine, deposit decimal.Decimal) (Bill, error) {
	b := Bill{Lines: make([]BillLine, 0, len(lines))}
	for i, line := range lines {
		if line.Quantity.IsNegative() || line.Window < 0 || outsideOne(line.VATRate) {
			return Bill{}, refuse(ErrImpossible, "bill_line", map[string]decimal.Decimal{
				"number": count(i + 1), "quantity": line.Quantity, "rate": line.VATRate.Shift(2),
			}, nil)
		}
		sum := line.sum()
		b.Lines = append(b.Lines, BillLine{line, sum})
		b.Job = b.Job.Plus(sum)
	}
	return b, b.settle(deposit)
}

// sum is what the line comes to. Of a price with VAT the VAT within is rounded to the
// penny, and the rest is net, so that the price stays what was said.
func (l PriceLine) sum() Sum {
	all := pence(l.Quantity.Mul(l.Each))
	if !l.Including {
		vat := pence(all.Mul(l.VATRate))
		return Sum{all, vat, all.Add(vat)}
	}
	vat := all.Mul(l.VATRate).DivRound(l.VATRate.Add(decimal.NewFromInt(1)), 2)
	return Sum{all.Sub(vat), vat, all}
}

// SumBill is the bill of sums that MakeBill worked out before, such as a
// job's windows, with one deposit on the whole. It has no lines. Refusals are
// MakeBill's.
func SumBill(job Sum, deposit decimal.Decimal) (Bill, error) {
	b := Bill{Job: job}
	return b, b.settle(deposit)
}

// settle splits the job's gross sum into deposit and balance.
func (b *Bill) settle(deposit decimal.Decimal) error {
	if outsideOne(deposit) {
		return refuse(ErrImpossible, "bill_deposit", map[string]decimal.Decimal{"deposit": deposit.Shift(2)}, nil)
	}
	if b.Job.Gross.IsNegative() {
		return refuse(ErrImpossible, "bill_negative", map[string]decimal.Decimal{"gross": b.Job.Gross}, nil)
	}
	b.Deposit = pence(b.Job.Gross.Mul(deposit))
	b.Balance = b.Job.Gross.Sub(b.Deposit)
	b.Reasons = []Reason{{Rule: "bill", Mark: Derived, Figures: map[string]decimal.Decimal{
		"net": b.Job.Net, "vat": b.Job.VAT, "gross": b.Job.Gross, "share": deposit.Shift(2), "deposit": b.Deposit, "balance": b.Balance,
	}}}
	return nil
}

func outsideOne(fraction decimal.Decimal) bool {
	return fraction.IsNegative() || fraction.GreaterThan(decimal.NewFromInt(1))
}
