package job

import "github.com/shopspring/decimal"

// Payment is money that the customer paid, in pounds, on a day, 2006-01-02.
type Payment struct {
	Amount decimal.Decimal `json:"amount"`
	Day    string          `json:"day"`
}
