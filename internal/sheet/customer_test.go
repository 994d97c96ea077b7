package sheet

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
)

// The customer's paper has a page a window, with nothing of fixings, readings or
// what the supplier asks.
func TestTheCustomersPaperHasAPageAWindow(t *testing.T) {
	j := begun(t, 3)
	_, s, err := j.CustomerPage(fitter, made, 1, 2, 3)
	require.NoError(t, err)
	price := decimal.RequireFromString("450.50")
	s.Windows[0].Price = &price
	p := printer(english)
	_, err = p.Customer(s)
	require.NoError(t, err)
	text := strings.Join(said(p.customerLayout(s)), "\n")
	require.Contains(t, text, "£450.50 each")
	require.NotContains(t, text, "££")
	require.Contains(t, text, "I agree to this window")
	require.NotContains(t, text, "Packers")
	require.NotContains(t, text, "1204")
	_, err = p.Customer(job.CustomerSheet{})
	require.ErrorIs(t, err, ErrNoLines)
}
