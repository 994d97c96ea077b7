package calc

import "github.com/shopspring/decimal"

// LiftFilter is the mass, kg, that one person lifts by the HSE's filter: at
// waist height, close in. For many women 16. It is no legal limit.
var LiftFilter = decimal.NewFromInt(25)

// Settings are the figures that a crew can change: those from memory, those of
// common practice, and the sizes of the profiles it buys.
type Settings struct {
	PlasterThickness decimal.Decimal `json:"plaster_thickness"` // mm a side
	CheckCover       decimal.Decimal `json:"check_cover"`       // mm a side
	SillPieceHeight  decimal.Decimal `json:"sill_piece_height"` // mm
	FrameDepth       decimal.Decimal `json:"frame_depth"`       // mm
	Embedment        decimal.Decimal `json:"embedment"`         // mm of screw in the masonry
	OuterFace        decimal.Decimal `json:"outer_face"`        // mm, face width of the outer frame
	SashFace         decimal.Decimal `json:"sash_face"`         // mm, face width of a sash
	MullionFace      decimal.Decimal `json:"mullion_face"`      // mm, face width of a mullion or transom
	EdgeCover        decimal.Decimal `json:"edge_cover"`        // mm of the glass in the rebate
	Waste            decimal.Decimal `json:"waste"`             // fraction of packers, 0.1 for a tenth
	// LiftEach is what each person may lift alone, kg; zero: LiftFilter.
	LiftEach decimal.Decimal `json:"lift_each"`
}

// sillPiecePublished is the usual height of a sill piece, mm; one survey guide.
var sillPiecePublished = decimal.NewFromInt(30)

// DefaultSettings are changeable, each of them, and none is a published rule
// unless its comment names one.
func DefaultSettings() Settings { return usual }

var usual = Settings{
	PlasterThickness: decimal.NewFromInt(12), // common practice, no source
	CheckCover:       decimal.NewFromInt(25), // from memory
	SillPieceHeight:  sillPiecePublished,
	FrameDepth:       decimal.NewFromInt(70), // common practice, no source
	Embedment:        decimal.NewFromInt(40), // from memory
	OuterFace:        decimal.NewFromInt(60), // invented: put in the profile's own
	SashFace:         decimal.NewFromInt(75), // invented: put in the profile's own
	MullionFace:      decimal.NewFromInt(80), // invented: put in the profile's own
	EdgeCover:        decimal.NewFromInt(20), // invented: put in the profile's own
	Waste:            decimal.New(1, -1),
	LiftEach:         LiftFilter, // the HSE's figures, as quoted; 16 for many women
}
