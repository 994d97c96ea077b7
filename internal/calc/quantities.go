package calc

import (
	"maps"
	"slices"

	"github.com/shopspring/decimal"
)

// ItemKind names something to take along; it is a catalogue key after "item.".
type ItemKind string

// The kinds.
const (
	SealantItem  ItemKind = "sealant"
	BackingItem  ItemKind = "backing"
	FoamItem     ItemKind = "foam"
	ScrewItem    ItemKind = "screws"
	TrimItem     ItemKind = "trim"
	CementItem   ItemKind = "cement"
	SandItem     ItemKind = "sand"
	WaterItem    ItemKind = "water"
	ReadyMixItem ItemKind = "ready_mix"
)

// Item is one line of the list to take along. Need and Waste are rounded up
// to 0.001.
type Item struct {
	Kind    ItemKind
	Need    decimal.Decimal   // in Unit, without waste
	Waste   decimal.Decimal   // in Unit, on top of Need
	Unit    string            // catalogue key after "unit.": ml, m, l, kg, m3, piece
	Pack    decimal.Decimal   // Unit in one pack; zero: not bought by the pack
	Buy     int               // packs
	Length  decimal.Decimal   // mm, of screws
	Pieces  []decimal.Decimal // mm, longest first, for what is cut from stock lengths
	Reasons []Reason
}

// Quantities is what one window or one job takes.
type Quantities struct {
	Items   []Item        // in a fixed order; what is not needed is left out
	Packers []PackerCount // as planned, spares included, thinnest first
	Reasons []Reason
}

// StoreSettings are the pack sizes that a crew buys, and its waste.
type StoreSettings struct {
	Tube       decimal.Decimal `json:"tube"`        // ml of sealant
	FoamCan    decimal.Decimal `json:"foam_can"`    // l, free-foamed
	FoamYield  decimal.Decimal `json:"foam_yield"`  // part of that in a joint
	Backing    decimal.Decimal `json:"backing"`     // m on a roll
	ScrewBox   decimal.Decimal `json:"screw_box"`   // pieces in a box
	TrimLength decimal.Decimal `json:"trim_length"` // mm of one stock length
	CementBag  decimal.Decimal `json:"cement_bag"`  // kg
	Waste      decimal.Decimal `json:"waste"`       // fraction on top of everything but packers
}

// DefaultStoreSettings are those of a worked example or a reading where there
// is one, and else what is common. A crew changes them.
func DefaultStoreSettings() StoreSettings {
	return StoreSettings{
		Tube:       decimal.NewFromInt(310),  // of the worked example 6 × 6 mm → 8.61 m
		FoamCan:    decimal.NewFromInt(40),   // a 750 ml can gives 40 to 45 l free-foamed; read
		FoamYield:  decimal.New(6, -1),       // from memory
		Backing:    decimal.NewFromInt(50),   // common practice, no source
		ScrewBox:   decimal.NewFromInt(100),  // common practice, no source
		TrimLength: decimal.NewFromInt(5000), // common practice, no source
		CementBag:  decimal.NewFromInt(25),   // common practice, no source
		Waste:      decimal.New(1, -1),       // common practice, no source
	}
}

func (s StoreSettings) check() error {
	for i, d := range []decimal.Decimal{s.Tube, s.FoamCan, s.FoamYield, s.Backing, s.ScrewBox, s.TrimLength, s.CementBag} {
		if !d.IsPositive() {
			return refuse(ErrImpossible, "store_settings", map[string]decimal.Decimal{"number": count(i + 1), "value": d}, nil)
		}
	}
	if outsideOne(s.Waste) || outsideOne(s.FoamYield) {
		return refuse(ErrImpossible, "store_waste", map[string]decimal.Decimal{"waste": s.Waste.Shift(2), "yield": s.FoamYield.Shift(2)}, nil)
	}
	return nil
}

// ScrewCount is how many frame screws of a length in mm are needed.
type ScrewCount struct {
	Length decimal.Decimal
	Pieces int
}

// QuantityRequest is what one window uses.
type QuantityRequest struct {
	Frame   Size
	Joints  map[Side]Joint // a side that is missing is not sealed
	Section Section
	Screws  []ScrewCount
	Packers []PackerCount     // each thickness once, thinnest first
	Trims   []decimal.Decimal // mm of each piece
	Patches []Patch
	Store   StoreSettings
}

// WindowQuantities is what one window takes. Refused are a frame or depth that
// is not positive, a trim piece longer than its stock, a patch without a size
// and pack sizes that are not positive.
func WindowQuantities(r QuantityRequest) (Quantities, error) {
	if err := r.Store.check(); err != nil {
		return Quantities{}, err
	}
	screws, fewest := map[int64]int{}, 0
	for _, w := range r.Screws {
		screws[microns(w.Length)] += w.Pieces
		fewest = min(fewest, w.Pieces)
	}
	if r.Frame.tooSmall() || !r.Section.Depth.IsPositive() || fewest < 0 {
		return Quantities{}, refuse(ErrImpossible, "quantity_frame", map[string]decimal.Decimal{
			"width": r.Frame.Width, "height": r.Frame.Height, "depth": r.Section.Depth, "screws": count(fewest),
		}, nil)
	}
	need := map[ItemKind]decimal.Decimal{TrimItem: total(r.Trims).Shift(-3)}
	reasons := r.needJoints(need)
	warnings, err := r.needPatches(need)
	if err != nil {
		return Quantities{}, err
	}
	q, err := listOf(need, screws, r.Trims, r.Store)
	if err != nil {
		return Quantities{}, err
	}
	q.Packers = r.Packers
	q.Reasons = append(reasons, warnings...)
	return q, nil
}

// needJoints adds up sealant in ml, backing strip in m and foam in l. A fillet
// is taken as a triangle that laps both faces over the gap (common practice,
// no source). Foam fills what sealant and strip leave of the joint's depth; the
// strip is taken as deep as the gap is wide (common practice, no source). A
// joint that is too wide takes nothing yet, and the reason says so: what it
// takes hangs on how the gap is brought down.
func (r QuantityRequest) needJoints(need map[ItemKind]decimal.Decimal) []Reason {
	var out []Reason
	for _, side := range []Side{Left, Right, Head, Sill} {
		j, sealed := r.Joints[side]
		if !sealed {
			continue
		}
		if j.TooWide() {
			// Said once, and without the side: a job adds it up over its windows.
			out = []Reason{{Rule: "take_unsealed", Mark: Practice, Figures: map[string]decimal.Decimal{"most": masticMost}}}
			continue
		}
		metres := r.Frame.along(side).Shift(-3)
		section := j.Gap.Mul(j.Depth)
		if j.Lap.IsPositive() {
			section = j.Lap.Mul(j.Lap.Add(j.Gap)).Mul(oneHalf)
		}
		need[SealantItem] = need[SealantItem].Add(metres.Mul(section))
		if j.Backing {
			need[BackingItem] = need[BackingItem].Add(metres)
		}
		deep := r.Section.JointDepth(side).Sub(j.Depth)
		if j.Backing {
			deep = deep.Sub(j.Gap) // a strip is about as deep as it is wide
		}
		deep = decimal.Max(decimal.Zero, deep)
		need[FoamItem] = need[FoamItem].Add(metres.Mul(j.Gap).Mul(deep).Shift(-3))
	}
	return out
}

// needPatches adds up mortar or ready mix.
func (r QuantityRequest) needPatches(need map[ItemKind]decimal.Decimal) ([]Reason, error) {
	var warnings []Reason
	if len(r.Patches) > 0 { // all of it holds cement, out of a bag too
		warnings = []Reason{{Rule: "render_lime", Mark: FromMemory}}
	}
	for _, p := range r.Patches {
		if err := p.check(); err != nil {
			return nil, err
		}
		warnings = append(warnings, p.warnings()...)
		for _, c := range p.Coats {
			if p.ReadyMix {
				need[ReadyMixItem] = need[ReadyMixItem].Add(p.wet(c).Shift(3))
				continue
			}
			m, err := Mortar(p.wet(c), c.Sand)
			if err != nil {
				return nil, err
			}
			need[CementItem] = need[CementItem].Add(m.Cement)
			need[SandItem] = need[SandItem].Add(m.Sand)
			need[WaterItem] = need[WaterItem].Add(m.Water)
		}
	}
	return warnings, nil
}

// listOf makes the list of what is needed; screws are pieces by their length,
// µm, and one line each.
func listOf(need map[ItemKind]decimal.Decimal, screws map[int64]int, trims []decimal.Decimal, s StoreSettings) (Quantities, error) {
	q := Quantities{}
	for _, g := range s.goods() {
		if g.kind == ScrewItem {
			for _, length := range slices.Sorted(maps.Keys(screws)) {
				if err := q.add(s, g, count(screws[length]), inMM(length), trims); err != nil {
					return Quantities{}, err
				}
			}
			continue
		}
		if err := q.add(s, g, need[g.kind], decimal.Zero, trims); err != nil {
			return Quantities{}, err
		}
	}
	return q, nil
}

// add puts one line on the list, unless nothing is needed.
func (q *Quantities) add(s StoreSettings, g goods, need, length decimal.Decimal, trims []decimal.Decimal) error {
	if !need.IsPositive() {
		return nil
	}
	item, err := s.item(g, need, length, trims)
	if err != nil {
		return err
	}
	q.Items = append(q.Items, item)
	return nil
}

// goods is what is bought of one kind.
type goods struct {
	kind ItemKind
	unit string
	pack decimal.Decimal // what one holds; zero: not bought by the pack
	mark Mark            // how far Need may be trusted: the weakest figure in it
}

// goods are in the order of a list to take along. Waste and packs make all of
// it common practice.
func (s StoreSettings) goods() []goods {
	return []goods{
		{SealantItem, "ml", s.Tube, Practice},
		{BackingItem, "m", s.Backing, Practice},
		{FoamItem, "l", s.FoamCan.Mul(s.FoamYield), Practice},
		{ScrewItem, "piece", s.ScrewBox, Practice},
		{TrimItem, "m", s.TrimLength.Shift(-3), Practice},
		{CementItem, "kg", s.CementBag, Practice},
		{SandItem, "m3", decimal.Zero, Practice},
		{WaterItem, "l", decimal.Zero, Practice},
		{ReadyMixItem, "l", readyMixYield, Practice},
	}
}

func (s StoreSettings) item(g goods, need, length decimal.Decimal, trims []decimal.Decimal) (Item, error) {
	i := Item{Kind: g.kind, Need: need.RoundUp(3), Waste: need.Mul(s.Waste).RoundUp(3), Unit: g.unit, Pack: g.pack, Length: length}
	if g.kind == ScrewItem {
		i.Waste = i.Waste.Ceil()
	}
	if i.Pack.IsPositive() {
		n, err := packs(i.Need.Add(i.Waste), i.Pack)
		if err != nil {
			return Item{}, err
		}
		i.Buy = n
	}
	if g.kind == TrimItem {
		lengths, err := StockLengths(trims, s.TrimLength)
		if err != nil {
			return Item{}, err
		}
		i.Buy = max(i.Buy, lengths)
		i.Pieces = longestFirst(trims)
	}
	i.Reasons = []Reason{{Rule: "take_" + string(g.kind), Mark: g.mark, Figures: map[string]decimal.Decimal{
		"need": i.spoken(i.Need), "waste": i.Waste, "all": i.spoken(i.Need.Add(i.Waste)), "pack": i.Pack, "count": count(i.Buy), "share": s.Waste.Shift(2), "length": length,
	}}}
	return i, nil
}

// spoken is an amount as people say it: rounded up to 0.1, but cubic metres as
// they are.
func (i Item) spoken(amount decimal.Decimal) decimal.Decimal {
	if i.Unit == "m3" {
		return amount
	}
	return amount.RoundUp(1)
}

// StockLengths is how many stock lengths in mm the pieces in mm are cut from,
// longest piece first into the first length that still holds it. That may be
// more than the fewest, by two ninths and one length at the worst (from
// memory). A piece that is not positive is
// ErrImpossible, one longer than the stock ErrBeyondTable: a trim is not
// joined. The saw's cut is part of the waste.
func StockLengths(pieces []decimal.Decimal, stock decimal.Decimal) (int, error) {
	var left []decimal.Decimal // of each length begun
	for _, piece := range longestFirst(pieces) {
		figures := map[string]decimal.Decimal{"piece": piece, "stock": stock}
		if !piece.IsPositive() {
			return 0, refuse(ErrImpossible, "trim_piece", figures, nil)
		}
		if piece.GreaterThan(stock) {
			return 0, refuse(ErrBeyondTable, "trim_long", figures, nil)
		}
		at := slices.IndexFunc(left, func(rest decimal.Decimal) bool { return rest.GreaterThanOrEqual(piece) })
		if at < 0 {
			at = len(left)
			left = append(left, stock)
		}
		left[at] = left[at].Sub(piece)
	}
	return len(left), nil
}

func longestFirst(pieces []decimal.Decimal) []decimal.Decimal {
	sorted := slices.Clone(pieces)
	slices.SortStableFunc(sorted, func(a, b decimal.Decimal) int { return b.Cmp(a) })
	return sorted
}
