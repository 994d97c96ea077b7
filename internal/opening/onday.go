package opening

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Delivered is a frame as it was measured before it goes in, from outside.
type Delivered struct {
	Width  decimal.Decimal `json:"width"`  // mm, without the sill piece
	Height decimal.Decimal `json:"height"` // mm
	// Rising and Falling are its diagonals, mm; both zero: not measured.
	Rising  decimal.Decimal  `json:"rising,omitzero"`
	Falling decimal.Decimal  `json:"falling,omitzero"`
	Twist   *decimal.Decimal `json:"twist,omitempty"`       // mm between two strings from corner to corner
	Degrees *decimal.Decimal `json:"temperature,omitempty"` // of the frame, °C; nil: about 15
}

// Frame is the delivered frame as calc takes it.
func (d Delivered) Frame() calc.Delivered {
	return calc.Delivered{
		Size: calc.Size{Width: d.Width, Height: d.Height}, Rising: d.Rising, Falling: d.Falling, Twist: d.Twist, Temperature: d.Degrees,
	}
}

// Rebate is the rebate of one light and its pane, as measured, mm. Glass may be left out.
type Rebate struct {
	Light  int       `json:"light"` // from 1, in the order of layout.lights
	Rebate calc.Size `json:"rebate"`
	Glass  calc.Size `json:"glass,omitzero"`
}
