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
	// LiftTwo and LiftThree are what a team may lift together, kg; zero: by
	// LiftEach.
	LiftTwo   decimal.Decimal `json:"lift_two,omitzero"`
	LiftThree decimal.Decimal `json:"lift_three,omitzero"`

	// ProfileMass is what frame, bars and sashes weigh, kg per metre.
	ProfileMass decimal.Decimal `json:"profile_mass"`

	RebateUpstand decimal.Decimal   `json:"rebate_upstand"`     // mm of the outer frame's face that the glass rebate's upstand takes
	TapeError     decimal.Decimal   `json:"tape_error"`         // mm, standard deviation of one reading
	Setback       decimal.Decimal   `json:"setback"`            // mm, the frame's front behind the finished wall face
	SillBed       decimal.Decimal   `json:"sill_bed"`           // mm of mortar under the sill piece
	Leaf          decimal.Decimal   `json:"leaf"`               // mm, thickness of one leaf of the wall
	Cavity        decimal.Decimal   `json:"cavity"`             // mm between the leaves
	EmbedConcrete decimal.Decimal   `json:"embedment_concrete"` // mm of screw in concrete
	EmbedAerated  decimal.Decimal   `json:"embedment_aerated"`  // mm of screw in aerated block
	ScrewStock    []decimal.Decimal `json:"screw_lengths"`      // mm of each frame screw in stock
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

	ProfileMass: decimal.NewFromInt(3), // common practice, no source: weigh an offcut

	RebateUpstand: decimal.NewFromInt(20),        // invented: put in the profile's own
	TapeError:     TapeError,                     // common practice, no source
	Setback:       decimal.NewFromInt(30),        // common practice, no source
	SillBed:       decimal.NewFromInt(10),        // common practice, no source; a joint of brickwork
	Leaf:          decimal.New(1025, -1),         // half a brick, BS EN 771 sizes; that a leaf is half a brick is from memory
	Cavity:        decimal.NewFromInt(50),        // from memory
	EmbedConcrete: decimal.NewFromInt(30),        // from memory
	EmbedAerated:  decimal.NewFromInt(60),        // from memory
	ScrewStock:    stockOf(60, 160, 10, 300, 20), // common practice, no source: steps of 10 to 20 mm
}

// stockOf are lengths from least to most in steps, and on to longest in wider
// ones.
func stockOf(least, most, step, longest, wider int64) []decimal.Decimal {
	var out []decimal.Decimal
	for n := least; n <= longest; n += step {
		if out = append(out, decimal.NewFromInt(n)); n >= most {
			step = wider
		}
	}
	return out
}
