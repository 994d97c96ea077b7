// Package opening says what can be known of one opening and what is known of
// it: the table of its fields, the answers so far, and the record that a plan
// is made of.
package opening

import (
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// Opening is everything that is known of one opening. It is the record that
// the conversation fills and that bot plan reads.
type Opening struct {
	Name     string             `json:"name,omitempty"`
	Count    int                `json:"count,omitempty"` // equal windows; 0: one
	Nation   safety.Nation      `json:"nation"`
	Date     string             `json:"date"` // day of the work, 2006-01-02
	Finish   calc.Finish        `json:"finish"`
	Material calc.Material      `json:"material"`
	Widths   [3]decimal.Decimal `json:"widths"`  // top, middle, bottom
	Heights  [3]decimal.Decimal `json:"heights"` // left, middle, right
	// Rising and Falling are the diagonals; both zero when skipped.
	Rising    decimal.Decimal  `json:"rising,omitzero"`
	Falling   decimal.Decimal  `json:"falling,omitzero"`
	SillFall  *decimal.Decimal `json:"sill_fall,omitempty"`
	Inner     calc.Size        `json:"inner,omitzero"`      // behind the check
	SillDepth decimal.Decimal  `json:"sill_depth,omitzero"` // of the new sill piece; zero: none
	Layout    calc.Layout      `json:"layout"`

	Room         safety.Room      `json:"room"`
	Storey       int              `json:"storey"`
	AboveFloor   *decimal.Decimal `json:"above_floor,omitempty"`   // lowest glass above the inside floor
	AboveOutside *decimal.Decimal `json:"above_outside,omitempty"` // and above the outside standing level
	// BedAboveFloor is the opening's lower edge, where its heights are measured
	// from, above the inside floor, mm. With it the new frame's own section says
	// how high its glass and its lights begin, whatever the old window's did.
	BedAboveFloor *decimal.Decimal `json:"bed_above_floor,omitempty"`
	BesideDoor    bool             `json:"beside_door,omitempty"`
	NearBath      bool             `json:"near_bath,omitempty"`
	// Panes are the thicknesses of the panes of the glass unit, mm; empty:
	// not known.
	Panes    []decimal.Decimal `json:"panes,omitempty"`
	Obscure  string            `json:"obscure,omitempty"` // pattern of obscure glass; empty: clear
	OldVents bool              `json:"old_vents,omitempty"`
	VentArea decimal.Decimal   `json:"vent_area,omitzero"` // mm² of the old vents
	// VentAreaNew is the equivalent area of the new vents, mm²; zero: not known.
	VentAreaNew  decimal.Decimal `json:"vent_area_new,omitzero"`
	MVHR         bool            `json:"mvhr,omitempty"`       // ventilation with heat recovery in the house
	FloorArea    decimal.Decimal `json:"floor_area,omitzero"`  // m² of the room
	InnerRoom    bool            `json:"inner_room,omitempty"` // the only way out is through another room
	OldEscape    bool            `json:"old_escape,omitempty"` // the old window was an escape
	Bay          bool            `json:"bay,omitempty"`
	NoLintel     bool            `json:"no_lintel,omitempty"`     // none was seen
	OpenFlue     bool            `json:"open_flue,omitempty"`     // a fire or boiler in the room that takes its air from there
	VentsUnknown bool            `json:"vents_unknown,omitempty"` // nobody looked
	Door         bool            `json:"door,omitempty"`          // a glazed door, not a window
	Flat         bool            `json:"flat,omitempty"`
	Widened      bool            `json:"widened,omitempty"`    // the opening is made larger
	Heritage     bool            `json:"heritage,omitempty"`   // a building whose look is protected
	Restrictor   decimal.Decimal `json:"restrictor,omitzero"`  // gap in mm that restrictors leave
	Releasable   bool            `json:"releasable,omitempty"` // they let go by hand, without a key
	Ug           decimal.Decimal `json:"ug,omitzero"`          // W/m²K, centre of the glass
	Uf           decimal.Decimal `json:"uf,omitzero"`          // W/m²K, frame
	Psi          decimal.Decimal `json:"psi,omitzero"`         // W/mK, edge of the glass
	WindSpeed    decimal.Decimal `json:"wind_speed,omitzero"`  // m/s
	NoHead       bool            `json:"no_head,omitempty"`    // the head can't be drilled
	Lighter      bool            `json:"lighter,omitempty"`    // the lighter fixing pattern
	// BedJoint is the middle of one bed joint above the frame's bottom edge,
	// Gauge the height of a brick course; zero: 75 mm.
	BedJoint *decimal.Decimal `json:"bed_joint,omitempty"`
	Gauge    decimal.Decimal  `json:"gauge,omitzero"`
	// TightTo sets the frame with the table's gap on this side instead of in
	// the middle; empty: in the middle.
	TightTo calc.Side `json:"tight_to,omitempty"`

	// RoomName tells the rooms of a job apart. Openings with the same one are
	// windows of one room, and its vents and airing are added up over them.
	RoomName string `json:"room_name,omitempty"`
	// OtherVents is what the new vents of the room's other windows have
	// together, OtherOldVents what their old ones had, mm².
	OtherVents    decimal.Decimal `json:"other_vents,omitzero"`
	OtherOldVents decimal.Decimal `json:"other_old_vents,omitzero"`
	VentEach      decimal.Decimal `json:"vent_each,omitzero"` // equivalent area of one new vent, mm²
	Sashes        []Sash          `json:"sashes,omitempty"`
	Guarded       bool            `json:"guarded,omitempty"`     // a guard that meets the rules stands before it
	NotHouse      bool            `json:"not_house,omitempty"`   // a shop, office or public front
	Leaded        bool            `json:"leaded,omitempty"`      // the panes are held in lead
	From2000      bool            `json:"from_2000,omitempty"`   // the building is from 2000 or later
	From1992      bool            `json:"from_1992,omitempty"`   // the building is from 1992 or later
	HigherRisk    bool            `json:"higher_risk,omitempty"` // 18 m or seven storeys high or more, with two homes or more
	Extract       bool            `json:"extract,omitempty"`     // continuous mechanical extract in the home
	FewWindows    bool            `json:"few_windows,omitempty"` // 30 % or less of the home's windows are changed
	Certifies     safety.Way      `json:"certifies,omitempty"`   // who certifies; empty: not known
	Over          safety.Over     `json:"over,omitempty"`        // what carries the wall over the opening; empty: not told
	Cracks        bool            `json:"cracks,omitempty"`      // in the wall over the opening
	Bowed         bool            `json:"bowed,omitempty"`       // the old frame's head is bowed
	// Cleared is what a qualified person said of the stops; nil: nobody did.
	Cleared      *Cleared        `json:"cleared,omitempty"`
	Smooth       bool            `json:"smooth,omitempty"`       // no face of the joint is brick, block, render or stone
	WindCode     calc.WindCode   `json:"wind_code,omitempty"`    // how wind_speed becomes a pressure; empty: en-1991-1-4
	WindPressure decimal.Decimal `json:"wind_pressure,omitzero"` // Pa with its coefficients, instead of wind_speed
	ScrewAllows  decimal.Decimal `json:"screw_allows,omitzero"`  // N across one screw, from its data sheet
	// Masonry is what the screws go into; empty: solid brick.
	Masonry calc.Masonry `json:"masonry,omitempty"`
	// BoardEdge is how far in from the finished face of the wall the inside
	// board's edge stands, mm.
	BoardEdge *decimal.Decimal `json:"board_edge,omitempty"`

	// Items are what the maker needs besides.
	Items Items `json:"items,omitzero"`

	// Delivered is the frame as it came; nil: it was not measured. With it all but the
	// order is of that frame.
	Delivered *Delivered `json:"delivered,omitempty"`
	// Set are the rounds of readings of the frame on its packers, the last one last.
	Set []Setting `json:"set,omitempty"`
	// Fixed are the widths between the jambs after the screws are home: top, middle,
	// bottom, mm; all zero: not measured.
	Fixed [3]decimal.Decimal `json:"fixed,omitzero"`

	// Rebates are rebates and panes as measured before they are glazed.
	Rebates []Rebate `json:"rebates,omitempty"`

	Trims   []decimal.Decimal `json:"trims,omitempty"`   // mm of each piece, for one window
	Patches []Patch           `json:"patches,omitempty"` // to make good, for one window
	Prices  []Price           `json:"prices,omitempty"`
	// Settings are the crew's; nil: the caller's.
	Settings *Crew `json:"settings,omitempty"`
}

// Cleared is what a qualified person said of an opening's stops, so that it may be
// ordered.
type Cleared struct {
	Who      string `json:"who"`
	Capacity string `json:"capacity"` // structural engineer, building control …
	Day      string `json:"day"`      // 2006-01-02
	Words    string `json:"words"`
}

// Patch is one place to make good, in coats or by its depth.
type Patch struct {
	Length decimal.Decimal `json:"length"` // mm
	Width  decimal.Decimal `json:"width"`  // mm
	// Depth is from the old face to the wall, mm; the coats follow from it.
	Depth    decimal.Decimal `json:"depth,omitzero"`
	Coats    []calc.Coat     `json:"coats,omitempty"`     // from the wall outwards, instead of depth
	ReadyMix bool            `json:"ready_mix,omitempty"` // from bags of ready mix
	Wall     calc.WallKind   `json:"wall,omitempty"`      // what it goes on; empty: not known
}

// Price is one line of a window's or a job's price.
type Price struct {
	What string `json:"what"`
	// Quantity is nil for the number of equal windows, or for 1 on the job.
	Quantity *decimal.Decimal `json:"quantity,omitempty"`
	Each     decimal.Decimal  `json:"each"`               // pounds without VAT; negative for a discount
	VATRate  *decimal.Decimal `json:"vat_rate,omitempty"` // fraction; nil: the settings'
}

// Sash is what is known of the sash of one light. What is left out is taken
// from the opening or not known.
type Sash struct {
	Light int `json:"light"` // from 1, in the order of layout.lights
	// Angle is how far it opens without its restrictor, degrees; zero: not
	// known, taken as 30 or more.
	Angle      decimal.Decimal `json:"angle,omitzero"`
	Restrictor decimal.Decimal `json:"restrictor,omitzero"` // gap in mm that its restrictor leaves at the free edge
	Releasable bool            `json:"releasable,omitempty"`
	BesideDoor bool            `json:"beside_door,omitempty"` // its glass is within 300 mm of a door's edge
	// Clear is what a person can pass, mm, as the hinge maker states it; zero:
	// worked out from the settings.
	Clear calc.Size `json:"clear,omitzero"`
	// HeelToe is the sash's diagonal from the bottom corner on the hinge side,
	// Across the other one, mm. Size is the sash between the corners that they
	// ran to.
	HeelToe decimal.Decimal `json:"heel_toe,omitzero"`
	Across  decimal.Decimal `json:"across,omitzero"`
	Size    calc.Size       `json:"size,omitzero"`
}

// DateForm is how a day is written in an Opening.
const DateForm = time.DateOnly

// Readings are the opening's readings as calc takes them.
func (o Opening) Readings() calc.Readings {
	r := calc.Readings{Widths: o.Widths, Heights: o.Heights, Rising: o.Rising, Falling: o.Falling, SillFall: o.SillFall}
	if o.Settings != nil {
		r.TapeError = o.Settings.TapeError
	}
	return r
}

// OrderRequest is what calc needs for the order size.
func (o Opening) OrderRequest(s calc.Settings) calc.OrderRequest {
	return calc.OrderRequest{
		Readings: o.Readings(), Finish: o.Finish, Material: o.Material, Inner: o.Inner,
		SillPiece: o.SillDepth.IsPositive(), Settings: o.CrewOr(s).Settings,
	}
}

// InWall is what the screws go into.
func (o Opening) InWall() calc.Masonry {
	if o.Masonry == "" {
		return calc.SolidBrick
	}
	return o.Masonry
}

// SashOf is what is known of the sash of a light, by its index.
func (o Opening) SashOf(light int) Sash {
	for _, s := range o.Sashes {
		if s.Light == light+1 {
			if s.Restrictor.IsZero() {
				s.Restrictor, s.Releasable = o.Restrictor, o.Releasable
			}
			return s
		}
	}
	return Sash{Light: light + 1, Restrictor: o.Restrictor, Releasable: o.Releasable}
}

// RoomVents are the vents of the room's windows, old and new, as far as this
// record knows them. What the windows of a named room have together is only
// known at the end of the job, so a single one's new vents are not held
// against what the whole room needs: the requirement is stated instead.
func (o Opening) RoomVents() (old, fresh decimal.Decimal) {
	old, fresh = o.VentArea.Add(o.OtherOldVents), o.VentAreaNew.Add(o.OtherVents)
	if o.RoomName != "" && o.OtherVents.IsZero() {
		fresh = decimal.Zero
	}
	return old, fresh
}

// CrewOr is the opening's own settings, or those of the caller.
func (o Opening) CrewOr(s calc.Settings) Crew {
	if o.Settings != nil {
		return *o.Settings
	}
	return crewOf(s)
}
