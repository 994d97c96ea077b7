package job

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/plan"
)

// Terms are what a crew asks for its work, in pounds and hours.
type Terms struct {
	Rate   decimal.Decimal // of an hour, without VAT
	Hours  decimal.Decimal // of one window
	Stores decimal.Decimal // of one window: sealant, screws and the like with their waste, without VAT
	Money  calc.MoneySettings
}

// QuoteSheet is what a job costs, for the customer.
type QuoteSheet struct {
	Ref     string      `json:"ref"`
	Label   string      `json:"label,omitempty"`
	Address string      `json:"address,omitempty"`
	Lines   []QuoteLine `json:"lines"`
	Sum     calc.Sum    `json:"sum"`
	// VAT and Share are the rate and the deposit's part of the sum, as fractions.
	VAT     decimal.Decimal `json:"vat"`
	Share   decimal.Decimal `json:"share"`
	Deposit decimal.Decimal `json:"deposit"`
	Balance decimal.Decimal `json:"balance"`
	Paid    []Payment       `json:"paid,omitempty"`
	Left    decimal.Decimal `json:"left"` // negative: more was paid
	// Open are the numbers of the windows that nobody has priced, Remade of those that
	// are made again and cost nothing more.
	Open   []int `json:"open,omitempty"`
	Remade []int `json:"remade,omitempty"`
	// NoWork and NoStores: the crew has not set what they cost, so that they are not in
	// the sum.
	NoWork   bool `json:"no_work,omitempty"`
	NoStores bool `json:"no_stores,omitempty"`
}

// QuoteWhat is what a line of a quotation is for.
type QuoteWhat string

// What a quotation has lines for. The words are storage.
const (
	QuoteWindow QuoteWhat = "window" // as the supplier asks for it
	QuoteAll    QuoteWhat = "all"    // supplied and fitted, as the customer was told
	QuoteWork   QuoteWhat = "work"
	QuoteStores QuoteWhat = "stores"
)

// QuoteLine is one line of it.
type QuoteLine struct {
	What     QuoteWhat       `json:"what"`
	Name     string          `json:"name,omitempty"` // of the window
	Quantity decimal.Decimal `json:"quantity"`       // windows, or hours of work
	Each     decimal.Decimal `json:"each"`
	Sum      calc.Sum        `json:"sum"`
}

// mostPayments is how many payments a job keeps. Common practice, no source.
const mostPayments = 50

// Quotation works out what the job costs. A price that the customer was told is of one
// window, supplied and fitted, with VAT; one that the supplier gave is without, and work
// and stores come on top. The error is calc's.
func (j Job) Quotation(t Terms) (QuoteSheet, error) {
	s := QuoteSheet{Ref: j.Ref, Label: j.Label, Address: j.Address, VAT: t.Money.VATRate, Share: t.Money.Deposit, Paid: j.Paid}
	var lines []calc.PriceLine
	add := func(what QuoteWhat, window int, name string, quantity, each decimal.Decimal) {
		s.Lines = append(s.Lines, QuoteLine{What: what, Name: name, Quantity: quantity, Each: each})
		lines = append(lines, calc.PriceLine{Window: window, What: name, Quantity: quantity, Each: each, VATRate: t.Money.VATRate, Including: what == QuoteAll})
	}
	fitted := 0
	for _, o := range j.All() {
		count := decimal.NewFromInt(int64(o.Count))
		switch price := o.Supply.Price; {
		case o.RemakeOf() != 0:
			s.Remade = append(s.Remade, o.ID)
		case o.customer.quote != nil:
			add(QuoteAll, o.ID, o.Name, count, *o.customer.quote)
		case price == nil:
			s.Open = append(s.Open, o.ID)
		default:
			add(QuoteWindow, o.ID, o.Name, count, *price)
			fitted += o.Count
		}
	}
	if n := decimal.NewFromInt(int64(fitted)); fitted > 0 {
		s.NoWork, s.NoStores = !t.Rate.IsPositive() || !t.Hours.IsPositive(), !t.Stores.IsPositive()
		if !s.NoWork {
			add(QuoteWork, 0, "", t.Hours.Mul(n), t.Rate)
		}
		if !s.NoStores {
			add(QuoteStores, 0, "", n, t.Stores)
		}
	}
	bill, err := calc.MakeBill(lines, t.Money.Deposit)
	if err != nil {
		return s, err
	}
	for i, line := range bill.Lines {
		s.Lines[i].Sum = line.Sum
	}
	s.Sum, s.Deposit, s.Balance, s.Left = bill.Job, bill.Deposit, bill.Balance, bill.Job.Gross
	for _, p := range j.Paid {
		s.Left = s.Left.Sub(p.Amount)
	}
	return s, nil
}

// AsQuoted writes down what was quoted, on a day, 2006-01-02.
func (j Job) AsQuoted(s QuoteSheet, day string) Job {
	j.Quoted = &Payment{s.Sum.Gross, day}
	return j
}

// Pay writes down what the customer paid, in pounds, on a day, 2006-01-02.
func (j Job) Pay(who Who, amount decimal.Decimal, day string) (Job, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, err
	}
	if _, err := time.Parse(plan.DateForm, day); err != nil {
		return Job{}, refuse("no_day")
	}
	switch {
	case !amount.IsPositive():
		return Job{}, refuse("price_negative")
	case len(j.Paid) >= mostPayments:
		return Job{}, refuse("too_many").num("most", mostPayments)
	}
	j.Paid = append(slices.Clip(j.Paid), Payment{amount, day})
	return j, nil
}

// Unpay takes the last payment of that amount back; ok is false when there is none.
func (j Job) Unpay(who Who, amount decimal.Decimal) (next Job, ok bool, err error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, false, err
	}
	for i, p := range slices.Backward(j.Paid) {
		if p.Amount.Equal(amount) {
			j.Paid = slices.Delete(slices.Clone(j.Paid), i, i+1)
			return j, true, nil
		}
	}
	return j, false, nil
}
