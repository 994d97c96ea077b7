package job

import (
	"slices"

	"github.com/shopspring/decimal"
)

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

// revisionLetters name the revisions. I and O are left out, as in drawing
// offices: on paper they are taken for 1 and 0.
const revisionLetters = "ABCDEFGHJKLMNPQRSTUVWXYZ"

// RevisionName is the name of the n-th revision as it is sent now: A … H, J … N,
// P … Z, AA, AB. It is empty for 0. What a revision was sent as is Order.Name.
func RevisionName(n int) string { return lettered(n, revisionLetters) }

// lettered counts in letters from 1 on; 0 is empty.
func lettered(n int, letters string) string {
	name, base := "", len(letters)
	for ; n > 0; n = (n - 1) / base {
		name = letters[(n-1)%base:][:1] + name
	}
	return name
}

// Name is what a revision up to the present one was sent as; empty for 0. Until
// I and O were left out the ninth was sent as I, and paper, buttons and mail under
// way say so: it stays I until the next one takes its place, as K.
func (o Order) Name(n int) string {
	if i := slices.IndexFunc(o.Sent, func(s Sending) bool { return s.Revision == n }); i >= 0 && o.Sent[i].Name != "" {
		return o.Sent[i].Name
	}
	return lettered(n, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
}
