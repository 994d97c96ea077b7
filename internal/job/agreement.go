package job

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/phrase"
)

// The customer reads a page with what there is to see of a window, and agrees to
// it by name and day. What a customer does not see, such as the packers, is not
// covered. The names are storage: quoteKey is a key of the record that the table of
// fields does not have, for nobody but the crew and the customer is told of it.
const (
	toldCustomer = "customer"
	quoteKey     = "quote"
)

// Agreement is a customer's word on a window as it was shown.
type Agreement struct {
	Name string `json:"name,omitempty"` // "": not shared, or forgotten
	Day  string `json:"day"`            // 2006-01-02
	// version is that of the page that was shown.
	version string
}

// customer is what a record says of the customer.
type customer struct {
	wanted bool             // by the crew, before the window goes out
	shown  string           // the version of the page that was shown last
	quote  *decimal.Decimal // what the customer pays for one
	agreed *Agreement       // whatever became of the window since
}

// shared is the agreement as a copy shows it: the name only if names are shared.
func (a *Agreement) shared(names bool) *Agreement {
	if a == nil || names {
		return a
	}
	return &Agreement{Day: a.Day}
}

// Text says who agreed and when.
func (a *Agreement) Text(day phrase.Text) phrase.Text {
	if a.Name == "" {
		return phrase.Of("customer.by.nobody").Sub1("day", day)
	}
	return phrase.Of("customer.by").Saying("who", a.Name).Sub1("day", day)
}
