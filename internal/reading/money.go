package reading

import (
	"regexp"
	"strings"

	"github.com/shopspring/decimal"
)

// Forms of an amount without its currency sign. Thousands may be set apart by
// a comma, a point or a space, and then the other sign stands before the pence.
var (
	plainMoney   = regexp.MustCompile(`^\d{1,8}([.,]\d{1,2})?$`)
	groupedMoney = regexp.MustCompile(`^\d{1,3}((,\d{3})+(\.\d{1,2})|(\.\d{3})+(,\d{1,2})|( \d{3})+([.,]\d{1,2})?|(,\d{3}){2,}|(\.\d{3}){2,})$`)
	eitherMoney  = regexp.MustCompile(`^\d{1,3}[.,]\d{3}$`)
)

// Money reads an amount of money. It gives two amounts when the text can mean
// either, the larger first: 1,234 is 1234 or, to the penny, 1.23. The error is
// ErrNoNumber for what is no amount of at most two decimals.
func Money(text string) (amounts []decimal.Decimal, err error) {
	text = strings.Join(strings.Fields(strings.TrimPrefix(strings.TrimSpace(text), "£")), " ")
	switch {
	case plainMoney.MatchString(text):
		return []decimal.Decimal{decimals(text)}, nil
	case eitherMoney.MatchString(text):
		pence := decimals(text)
		return []decimal.Decimal{pence.Shift(3), pence.Round(2)}, nil
	case groupedMoney.MatchString(text):
		end := strings.LastIndexAny(text, "., ")
		if len(text)-end > 3 { // the last sign sets thousands apart
			end = len(text)
		}
		whole := strings.NewReplacer(",", "", ".", "", " ", "").Replace(text[:end])
		return []decimal.Decimal{decimals(whole + text[end:])}, nil
	}
	return nil, ErrNoNumber
}

// decimals is a number of digits with at most one comma or point.
func decimals(text string) decimal.Decimal {
	return decimal.RequireFromString(strings.Replace(text, ",", ".", 1))
}
