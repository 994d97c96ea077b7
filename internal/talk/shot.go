package talk

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/phrase"
)

// Spot is a place that a person sent.
type Spot struct {
	Figures string // latitude and longitude in degrees, 5 decimals, which is about a metre
	Address string // in the words of the map that it was picked on; "": it has none
}

// SpotAt is where figures in degrees lie; nil for those that are none on earth.
func SpotAt(latitude, longitude string) *Spot {
	north, ok1 := degrees(latitude, 90)
	east, ok2 := degrees(longitude, 180)
	if !ok1 || !ok2 {
		return nil
	}
	return &Spot{Figures: north + ", " + east}
}

// degrees is a figure with 5 decimals.
func degrees(n string, most int64) (string, bool) {
	if len(n) > 40 {
		return "", false
	}
	d, err := decimal.NewFromString(n)
	if err != nil || d.Exponent() > 3 || d.Exponent() < -40 || d.Abs().GreaterThan(decimal.NewFromInt(most)) {
		return "", false
	}
	return d.StringFixed(5), true
}

// Shot is a photo that a person sent, or a note of sound or moving pictures. It stays with the platform, which sends it again
// by its file id.
type Shot struct {
	File string `json:"f"`
	// Document: it came as a file, and can only go out as one.
	Document bool `json:"d,omitempty"`
	// As is what it is where it is no picture, see opening.Notes.
	As string `json:"k,omitempty"`
	// Album is what the pictures of one album have in common; "": it came by itself.
	Album string `json:"a,omitempty"`
	// Label is what stands under it when it is shown again.
	Label *phrase.Text `json:"l,omitempty"`
}
