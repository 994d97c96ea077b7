package job

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A quotation says its sum, and of the rest only what there is.
func TestAQuotationSaysOnlyWhatThereIs(t *testing.T) {
	said := func(s QuoteSheet) (keys []string) {
		for _, text := range s.Sums() {
			keys = append(keys, text.Key)
		}
		return keys
	}
	require.Equal(t, []string{"quote.sum"}, said(QuoteSheet{}))
	for key, s := range map[string]QuoteSheet{
		"quote.deposit": {Deposit: mm(1)}, "quote.open": {Open: []int{2}}, "quote.remade": {Remade: []int{3}},
		"quote.no_work": {NoWork: true}, "quote.no_stores": {NoStores: true},
	} {
		require.Equal(t, []string{"quote.sum", key}, said(s))
	}
	paid := QuoteSheet{Paid: []Payment{{Amount: mm(50), Day: "2026-05-04"}}, Left: mm(10)}
	require.Equal(t, []string{"quote.sum", paid.ToPay().Key}, said(paid))
}
