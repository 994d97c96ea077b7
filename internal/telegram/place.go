package telegram

import (
	"strings"

	"sillbot/internal/dialog"
	"sillbot/internal/talk"
)

const addressLimit = 200 // characters

// spot is where a location lies; nil for figures that are none on earth.
func spot(l *location, v *venue) *dialog.Spot {
	if l == nil {
		return nil
	}
	s := talk.SpotAt(l.Latitude.String(), l.Longitude.String())
	if s != nil && v != nil {
		s.Address = clip(strings.Trim(v.Title+", "+v.Address, ", "), addressLimit)
	}
	return s
}
