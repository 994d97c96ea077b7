package day

import (
	"strings"

	"github.com/shopspring/decimal"
)

// amountOf reads a plain figure from the front of a text: 2, 1.5, 1,5, .5, 1/2, 1½.
func amountOf(text string) (n decimal.Decimal, rest string, ok bool) {
	whole, rest := digits(text)
	given := whole
	if rest != "" && (rest[0] == '.' || rest[0] == ',') {
		part, after := digits(rest[1:])
		if part != "" && (rest[0] == '.' || len(part) < 3 && whole != "") {
			given, rest = "0"+whole+"."+part, after
			whole = ""
		}
	}
	if given == "" {
		given = "0"
	} else {
		ok = true
	}
	n, err := decimal.NewFromString(given)
	if err != nil {
		return n, text, false
	}
	rest = strings.TrimLeft(rest, " ")
	for sign, part := range map[string]string{"½": "0.5", "¼": "0.25", "¾": "0.75"} {
		if after, cut := strings.CutPrefix(rest, sign); cut {
			return n.Add(decimal.RequireFromString(part)), strings.TrimLeft(after, " "), true
		}
	}
	if over, after, is := fractionOf(whole + rest); is && whole != "" && strings.HasPrefix(rest, "/") { // 1/2
		return over, after, true
	}
	if part, after, is := fractionOf(rest); is && whole != "" { // 1 1/2
		return n.Add(part), after, true
	}
	return n, rest, ok
}

// fractionOf reads a half, quarters, eighths or sixteenths.
func fractionOf(text string) (n decimal.Decimal, rest string, ok bool) {
	upper, rest := digits(text)
	if upper == "" || !strings.HasPrefix(rest, "/") {
		return n, text, false
	}
	lower, rest := digits(rest[1:])
	switch lower {
	case "2", "4", "8", "16":
	default:
		return n, text, false
	}
	n = decimal.RequireFromString(upper).Div(decimal.RequireFromString(lower))
	return n, strings.TrimLeft(rest, " "), n.LessThan(decimal.NewFromInt(1))
}

func digits(text string) (figure, rest string) {
	rest = strings.TrimLeft(text, "0123456789")
	return text[:len(text)-len(rest)], rest
}
