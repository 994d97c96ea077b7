package telegram

import (
	"encoding/json"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/dialog"
)

const addressLimit = 200 // characters

// spot is where a location lies; nil for figures that are none on earth.
func spot(l *location, v *venue) *dialog.Spot {
	if l == nil {
		return nil
	}
	latitude, ok1 := degrees(l.Latitude, 90)
	longitude, ok2 := degrees(l.Longitude, 180)
	if !ok1 || !ok2 {
		return nil
	}
	s := &dialog.Spot{Figures: latitude + ", " + longitude}
	if v != nil {
		s.Address = clip(strings.Trim(v.Title+", "+v.Address, ", "), addressLimit)
	}
	return s
}

// degrees is a figure with 5 decimals, about a metre.
func degrees(n json.Number, most int64) (string, bool) {
	if len(n) > 40 {
		return "", false
	}
	d, err := decimal.NewFromString(n.String())
	if err != nil || d.Exponent() > 3 || d.Exponent() < -40 || d.Abs().GreaterThan(decimal.NewFromInt(most)) {
		return "", false
	}
	return d.StringFixed(5), true
}
