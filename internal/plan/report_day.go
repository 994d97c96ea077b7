package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// ArrivalReport is a delivered frame held against its order.
type ArrivalReport struct {
	Verdict calc.Verdict    `json:"verdict"`
	GoesIn  bool            `json:"goes_in"`
	Width   decimal.Decimal `json:"width"`  // at 15 °C, mm
	Height  decimal.Decimal `json:"height"` // at 15 °C, mm
	Checks  []CheckReport   `json:"checks"`
}

// CheckReport is one thing held against the order.
type CheckReport struct {
	What    calc.ArrivalWhat `json:"what"`
	Side    calc.Side        `json:"side,omitempty"`
	Verdict calc.Verdict     `json:"verdict"`
	Why     []Said           `json:"why"`
}

func (w reporter) arrival(a *calc.Arrival) *ArrivalReport {
	if a == nil {
		return nil
	}
	r := &ArrivalReport{Verdict: a.Worst, GoesIn: a.GoesIn, Width: a.At15.Width, Height: a.At15.Height}
	for _, c := range a.Checks {
		r.Checks = append(r.Checks, CheckReport{c.What, c.Side, c.Verdict, w.all(c.Reasons)})
	}
	return r
}
