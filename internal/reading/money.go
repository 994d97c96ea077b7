package reading

import (
	"regexp"
	"strings"

	"github.com/shopspring/decimal"
)

// Forms of an amount without its currency sign. Thousands may be set apart by
// a comma, a point or a space, and then another sign stands before the pence.
var (
	plainMoney   = regexp.MustCompile(`^\d{1,8}([.,]\d{1,8})?$`)
	groupedMoney = regexp.MustCompile(`^[1-9]\d{0,2}((,\d{3})+\.\d{1,8}|(\.\d{3})+,\d{1,8}|( \d{3})+([.,]\d{1,8})?|(,\d{3}){2,}|(\.\d{3}){2,})$`)
	eitherMoney  = regexp.MustCompile(`^[1-9]\d{0,2}[.,]\d{3}$`)
	thousandsEnd = regexp.MustCompile(` \d{3}$|(,\d{3}){2}$|(\.\d{3}){2}$`)
)

// Money reads an amount of money, which is all of text. It gives two amounts,
// the larger first, when the text can mean either: 1,234 is 1234 or, to the
// penny, 1.23. An amount of more than two decimals is rounded to the penny and
// not sure, and neither is one of two. The error is ErrNegative, or ErrNoNumber
// for what is no amount.
func Money(text string) (amounts []decimal.Decimal, sure bool, err error) {
	text = strings.TrimLeft(strings.Join(strings.Fields(text), " "), "£ ")
	if sign, after := signAt(text); sign == "-" && startsNumber(strings.TrimLeft(after, "£")) {
		return nil, false, ErrNegative
	}
	if !plainMoney.MatchString(text) && !groupedMoney.MatchString(text) {
		return nil, false, ErrNoNumber
	}
	end := strings.LastIndexAny(text, ".,")
	if end < 0 || thousandsEnd.MatchString(text) {
		end = len(text)
	}
	whole, pence := strings.NewReplacer(",", "", ".", "", " ", "").Replace(text[:end]), strings.TrimLeft(text[end:], ".,")
	exact := decimal.RequireFromString(whole + "." + pence + "0")
	if eitherMoney.MatchString(text) {
		amounts = append(amounts, exact.Shift(3))
	}
	return append(amounts, exact.Round(2)), len(pence) < 3, nil
}
