package job

import "github.com/shopspring/decimal"

// SeenFrom is the side from which every left and right is meant.
const SeenFrom = "outside"

// Supply is what the fitter and the desk have said of an opening's line.
type Supply struct {
	// Confirmed is the last time the desk confirmed it. It only counts while
	// the opening's state says so.
	Confirmed *Confirmation `json:"confirmed,omitempty"`
	Due       string        `json:"due,omitempty"` // day of delivery, 2006-01-02
	// Price is of one window, as the desk states it. Nil: not stated.
	Price *decimal.Decimal `json:"price,omitempty"`
	Notes []Note           `json:"notes,omitempty"`
}

// Confirmation is the desk's word on a line of one revision.
type Confirmation struct {
	By       Stamp `json:"by"`
	Revision int   `json:"revision"`
}

// Note is one sentence between the fitter and the desk.
type Note struct {
	By    Stamp  `json:"by"`
	Words string `json:"words"`
}
