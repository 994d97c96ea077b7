package plan

import (
	"errors"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Report is a plan as bot plan writes it. Lengths are mm, masses kg, left and
// right as seen from outside.
type Report struct {
	Position   int                        `json:"position,omitempty"` // among the openings of the file, from 1
	Name       string                     `json:"name,omitempty"`
	Count      int                        `json:"count,omitempty"`   // equal windows
	Refused    *Said                      `json:"refused,omitempty"` // set instead of everything below
	Errors     []FieldReport              `json:"errors,omitempty"`  // beside refused: what the file says that no opening can have
	Hold       []Said                     `json:"hold,omitempty"`    // why it must not be ordered
	Against    []Said                     `json:"against,omitempty"` // readings not taken and what nobody saw; nothing holds it by itself
	Order      *OrderReport               `json:"order,omitempty"`
	Figure     *FigureReport              `json:"figure,omitempty"`
	Fixings    *FixingReport              `json:"fixings,omitempty"`
	Packers    *PackerReport              `json:"packers,omitempty"`
	Section    *SectionReport             `json:"section,omitempty"`
	Lights     []LightReport              `json:"lights,omitempty"`
	Joints     map[calc.Side]*JointReport `json:"joints,omitempty"`
	Heat       *HeatReport                `json:"heat,omitempty"`
	Wind       *WindReport                `json:"wind,omitempty"`
	Vents      *VentReport                `json:"vents,omitempty"`
	Purge      *Purge                     `json:"purge_share_of_floor,omitempty"`
	Arrival    *ArrivalReport             `json:"arrival,omitempty"`
	Set        []SetReport                `json:"set,omitempty"`
	Fixed      *FixedReport               `json:"fixed,omitempty"`
	Work       *WorkReport                `json:"work,omitempty"`
	Patches    []calc.Patch               `json:"patches,omitempty"`      // of one window, in coats
	MadeGood   []PatchReport              `json:"patches_laid,omitempty"` // those given by their depth, as they are laid
	Quantities []ItemReport               `json:"quantities,omitempty"`   // of one window
	Money      *MoneyReport               `json:"money,omitempty"`        // of all the equal windows
	Findings   []FindingReport            `json:"findings,omitempty"`
}

// FieldReport is one thing that a file says wrongly.
type FieldReport struct {
	Field string `json:"field"` // its place in the opening, such as widths[1]
	Why   string `json:"why"`
}

// StepReport is one line of the sum.
type StepReport struct {
	Dimension calc.Dimension  `json:"dimension"`
	Amount    decimal.Decimal `json:"amount"`
	Why       Said            `json:"why"`
}

// OrderReport is the size to order.
type OrderReport struct {
	Width      decimal.Decimal `json:"width"`
	Height     decimal.Decimal `json:"height"`
	SillDepth  decimal.Decimal `json:"sill_depth,omitzero"`
	Sum        []StepReport    `json:"sum"`
	LostToLean calc.Size       `json:"lost_to_lean"`
	ThumbJam   calc.Size       `json:"rule_of_thumb_jams_by"`
	// Place is the frame's bottom left corner in the figure's coordinates.
	Place    calc.Point                    `json:"place"`
	TightTo  calc.Side                     `json:"tight_to,omitempty"` // else it stands in the middle
	Gap      map[calc.Side]decimal.Decimal `json:"gap_asked_for"`
	Masonry  map[calc.Side]decimal.Decimal `json:"masonry_behind,omitempty"` // behind the measured line
	Warnings []Said                        `json:"warnings,omitempty"`
}

// FigureReport is the opening worked out from the readings.
type FigureReport struct {
	BottomLeft  calc.Point      `json:"bottom_left"`
	BottomRight calc.Point      `json:"bottom_right"`
	TopRight    calc.Point      `json:"top_right"`
	TopLeft     calc.Point      `json:"top_left"`
	MidLeft     calc.Point      `json:"middle_left"`
	MidRight    calc.Point      `json:"middle_right"`
	MidSill     calc.Point      `json:"middle_sill"`
	MidHead     calc.Point      `json:"middle_head"`
	Assumed     bool            `json:"assumed,omitempty"`
	SillAssumed bool            `json:"sill_level_assumed,omitempty"`
	Lean        decimal.Decimal `json:"lean"`
	Misclosure  decimal.Decimal `json:"misclosure"`
	Suspects    []SuspectReport `json:"suspects,omitempty"`
	Why         []Said          `json:"why,omitempty"`
}

// SuspectReport is a reading that may be the mistake.
type SuspectReport struct {
	Reading string          `json:"reading"`
	Now     decimal.Decimal `json:"now"`
	Closes  decimal.Decimal `json:"closes"`
	Slip    string          `json:"slip,omitempty"`
	With    string          `json:"exchanged_with,omitempty"`
	Chance  decimal.Decimal `json:"chance"` // 0 to 1
	Rank    int             `json:"rank"`   // 0 for the likeliest; equal ones can't be told apart
}

// PackerReport is the packers and what to take along.
type PackerReport struct {
	Places []PlaceReport      `json:"places"`
	Take   []calc.PackerCount `json:"take"`
	Why    []Said             `json:"why,omitempty"`
}

// PlaceReport is one stack.
type PlaceReport struct {
	Side    calc.Side       `json:"side"`
	At      decimal.Decimal `json:"at"`
	Gap     decimal.Decimal `json:"gap,omitzero"` // not there where nobody measured
	Stack   []int           `json:"stack"`
	Bed     bool            `json:"bed,omitempty"`
	Unseen  bool            `json:"not_measured,omitempty"` // behind the overlap
	Trouble *Said           `json:"trouble,omitempty"`
}

// LightReport is one light: its glass, blocks and clear opening.
type LightReport struct {
	Light int             `json:"light"` // from 1
	Hinge calc.Hinge      `json:"hinge"`
	Glass calc.Size       `json:"glass"`
	Mass  decimal.Decimal `json:"mass,omitzero"`
	Team  int             `json:"team,omitempty"` // people by the lifting filters; none: over that of three
	// Carry is what hinges or stays are to be rated for at least, kg: the sash's
	// own profiles come on top.
	Carry  decimal.Decimal `json:"hinge_rating_from,omitzero"`
	Blocks []calc.Block    `json:"blocks"`
	Clear  calc.Size       `json:"clear_opening"`
	Area   decimal.Decimal `json:"clear_area"` // m²
	// Opening is the daylight that the sash fills.
	Opening calc.Size    `json:"opening"`
	Swing   *SwingReport `json:"swing,omitempty"`
	Sag     *SagReport   `json:"sag,omitempty"`
	Why     []Said       `json:"why,omitempty"`
}

// SwingReport is how far a light opens, held by its restrictor if it has one.
type SwingReport struct {
	Degrees decimal.Decimal `json:"degrees"`
	Gap     decimal.Decimal `json:"gap"`      // mm at the free edge
	Leaf    decimal.Decimal `json:"leaf"`     // m² that count for airing
	Free    decimal.Decimal `json:"free_air"` // m² that the air can pass
}

// SagReport is how far the free corner of a sash hangs low, mm, and what lifts
// it: packing at the one toe block or at the other.
type SagReport struct {
	Drop  decimal.Decimal `json:"drop"`
	Head  decimal.Decimal `json:"pack_at_head"`
	Stile decimal.Decimal `json:"pack_at_stile"`
}

// JointReport is one side's joint.
type JointReport struct {
	Gap      decimal.Decimal   `json:"gap"`
	Movement decimal.Decimal   `json:"movement"` // of the frame, over the whole range of temperature
	Least    decimal.Decimal   `json:"least"`    // width for the crew's class
	Class    calc.SealantClass `json:"weakest_class,omitempty"`
	Depth    decimal.Decimal   `json:"depth,omitzero"`
	Strip    bool              `json:"backing_strip,omitempty"` // behind the sealant
	Lap      decimal.Decimal   `json:"lap,omitzero"`
	Why      []Said            `json:"why,omitempty"`
	Warnings []Said            `json:"warnings,omitempty"`
}

// HeatReport is the U-value, W/m²K, of the window as divided and of the
// standard size.
type HeatReport struct {
	Uw       decimal.Decimal `json:"uw"`
	Standard decimal.Decimal `json:"uw_standard"`
	Glass    decimal.Decimal `json:"glass_area"` // m² in sight
	Frame    decimal.Decimal `json:"frame_area"` // m²
	Edge     decimal.Decimal `json:"glass_edge"` // m
	Why      []Said          `json:"why,omitempty"`
}

// WindReport is the load, N, across the jamb screw that holds most; none where
// the pressure's coefficients are not known.
type WindReport struct {
	Load decimal.Decimal `json:"load_per_fixing,omitzero"`
	Why  Said            `json:"why"`
	// Screw compares the load with the screw's own data sheet.
	Screw *Said `json:"screw,omitempty"`
}

// VentReport is the background vents of the room's windows that this record
// knows, mm² equivalent area.
type VentReport struct {
	Windows int             `json:"windows"`
	Old     decimal.Decimal `json:"old"`
	New     decimal.Decimal `json:"new"`
	ToFit   int             `json:"to_fit,omitempty"` // vents of vent_each still missing
	Why     []Said          `json:"why,omitempty"`
}

// MoneyReport is a bill, in pounds.
type MoneyReport struct {
	Lines   []calc.BillLine `json:"lines,omitempty"`
	Net     decimal.Decimal `json:"net"`
	VAT     decimal.Decimal `json:"vat"`
	Gross   decimal.Decimal `json:"gross"`
	Deposit decimal.Decimal `json:"deposit"`
	Balance decimal.Decimal `json:"balance"`
	Why     []Said          `json:"why,omitempty"`
}

// ItemReport is one line of what to take along.
type ItemReport struct {
	Item  calc.ItemKind   `json:"item"`
	Need  decimal.Decimal `json:"need"`
	Waste decimal.Decimal `json:"waste"`
	Unit  string          `json:"unit"`
	Packs int             `json:"packs,omitempty"`
	Pack  decimal.Decimal `json:"pack,omitzero"` // Unit in one pack
	// Pieces are what is cut from stock lengths, mm, longest first.
	Pieces []decimal.Decimal `json:"pieces,omitempty"`
	Length decimal.Decimal   `json:"length,omitzero"` // of each screw, mm
	Why    []Said            `json:"why,omitempty"`
}

// FindingReport is one outcome of the rules.
type FindingReport struct {
	Rule     string          `json:"rule"`
	Severity safety.Severity `json:"weight"`
	Lights   []int           `json:"lights,omitempty"` // from 1
	Text     string          `json:"text"`
	Document string          `json:"document,omitempty"`
	Clause   string          `json:"clause,omitempty"`
	Edition  string          `json:"edition,omitempty"`
	Mark     calc.Mark       `json:"mark,omitempty"` // of the weakest that it rests on
	// Own is how far the document by itself may be trusted, where Mark is weaker.
	Own calc.Mark `json:"source_mark,omitempty"`
}

// Report is the plan for a program or a file, in the words of say.
func (p Plan) Report(say func(phrase.Text) string) Report {
	w := reporter{say}
	return Report{
		Name: p.Opening.Name, Count: p.Count, Hold: w.holds(p.Holds()), Against: w.holds(p.Against()), Vents: w.vents(p), Purge: p.Purge, Patches: p.Patches, MadeGood: w.patches(p), Money: w.money(p.Bill),
		Order:      w.order(p),
		Arrival:    w.arrival(p.Arrival),
		Set:        w.set(p.Set),
		Fixed:      w.fixed(p.Fixed),
		Work:       w.work(p),
		Figure:     w.figure(p.Order.Figure),
		Fixings:    w.fixings(p),
		Section:    w.section(p),
		Packers:    w.packers(p.Packers),
		Lights:     w.lights(p),
		Joints:     w.joints(p.Joints),
		Heat:       w.heat(p.Heat),
		Wind:       w.wind(p),
		Quantities: w.items(p.Take),
		Findings:   w.findings(p.Findings),
	}
}

// fileRule is the rule of a refusal for what the file says.
const fileRule = "file"

// Refusal is the report of an opening that has no plan, for an error that
// WhyRefused knows.
func Refusal(o Opening, err error, say func(phrase.Text) string) Report {
	r := Report{Name: o.Name}
	if refused, ok := errors.AsType[*calc.RefusalError](err); ok {
		r.Refused = reporter{say}.maybe(&refused.Reason)
		return r
	}
	text, _ := WhyRefused(err)
	r.Refused = &Said{Rule: fileRule, Text: say(text)}
	if wrong, ok := errors.AsType[FieldErrors](err); ok {
		for _, e := range wrong {
			r.Errors = append(r.Errors, FieldReport{e.Field, e.Why})
		}
	}
	return r
}

func (w reporter) holds(holds []Hold) []Said {
	var out []Said
	for _, h := range holds {
		s := Said{Rule: h.Rule, Text: w.say(h.Text)}
		if h.Finding != nil && h.Finding.Document != "" {
			s.Source, s.Mark = w.say(phrase.Of("source."+h.Finding.Document)), h.Finding.Mark
		}
		out = append(out, s)
	}
	return out
}

func (w reporter) order(p Plan) *OrderReport {
	o := &OrderReport{
		Width: p.Ordered.Size.Width, Height: p.Ordered.Size.Height, SillDepth: p.Opening.SillDepth,
		LostToLean: p.Ordered.LostToLean, ThumbJam: p.Ordered.ThumbJam, Warnings: w.all(p.Ordered.Warnings),
		Place: p.Ordered.Place, TightTo: p.Opening.TightTo, Gap: p.Ordered.Gap, Masonry: p.Ordered.Masonry,
	}
	for _, step := range p.Ordered.Steps {
		o.Sum = append(o.Sum, StepReport{step.Dimension, step.Amount, w.said(step.Reason)})
	}
	return o
}

func (w reporter) figure(f calc.Figure) *FigureReport {
	r := &FigureReport{
		BottomLeft: f.BottomLeft, BottomRight: f.BottomRight, TopRight: f.TopRight, TopLeft: f.TopLeft,
		MidLeft: f.MidLeft, MidRight: f.MidRight, MidSill: f.MidSill, MidHead: f.MidHead,
		Assumed: f.Assumed, SillAssumed: f.SillLevelAssumed,
		Lean: f.Lean, Misclosure: f.Misclosure, Why: w.all(f.Reasons),
	}
	for _, s := range f.Suspects {
		r.Suspects = append(r.Suspects, SuspectReport{s.Reading, s.Now, s.Closes, s.Slip, s.With, decimal.NewFromFloat(s.Chance).Round(2), s.Rank})
	}
	return r
}

func (w reporter) packers(p calc.PackerPlan) *PackerReport {
	r := &PackerReport{Take: list(p.Take), Why: w.all(p.Reasons)}
	for _, place := range p.Places {
		if place.Unseen {
			place.Gap = decimal.Zero
		}
		r.Places = append(r.Places, PlaceReport{place.Side, place.At, place.Gap, list(place.Stack), place.Bed, place.Unseen, w.maybe(place.Trouble)})
	}
	return r
}

func (w reporter) lights(p Plan) []LightReport {
	var out []LightReport
	for i, g := range p.Glass {
		clear := p.Clear[i]
		r := LightReport{
			Light: g.Light + 1, Hinge: p.Layout.Lights[g.Light].Hinge, Glass: g.Glass, Mass: g.Mass, Team: g.Team, Carry: g.Carry,
			Blocks: list(g.Blocks), Opening: clear.Opening, Clear: clear.Clear, Area: clear.Area,
			Why: append(w.all(g.Reasons), w.all(clear.Reasons)...),
		}
		if p.Swings != nil && r.Hinge != calc.FixedLight {
			s := p.Swings[i]
			r.Swing = &SwingReport{s.Angle, s.Gap, s.Leaf, s.Free}
			r.Why = append(r.Why, w.all(s.Reasons)...)
		}
		for _, s := range p.Sags {
			if s.Light == g.Light {
				r.Sag = &SagReport{s.Drop, s.HeadPacking, s.StilePacking}
				r.Why = append(r.Why, w.all(s.Reasons)...)
			}
		}
		out = append(out, r)
	}
	return out
}

func (w reporter) joints(joints map[calc.Side]calc.Joint) map[calc.Side]*JointReport {
	out := make(map[calc.Side]*JointReport, len(joints))
	for side, j := range joints {
		out[side] = &JointReport{
			Gap: j.Gap, Movement: j.Movement, Least: j.Least, Class: j.Class, Depth: j.Depth, Strip: j.Backing, Lap: j.Lap,
			Why: w.all(j.Reasons), Warnings: w.all(j.Warnings),
		}
	}
	return out
}

func (w reporter) heat(h *calc.HeatLoss) *HeatReport {
	if h == nil {
		return nil
	}
	return &HeatReport{
		Uw: h.Uw.Round(2), Standard: h.Standard.Round(2),
		Glass: h.GlassArea.Round(4), Frame: h.FrameArea.Round(4), Edge: h.Edge.Round(3), Why: w.all(h.Reasons),
	}
}

func (w reporter) wind(p Plan) *WindReport {
	if p.Wind == nil {
		return nil
	}
	return &WindReport{p.Load, w.said(*p.Wind), w.maybe(p.Screw)}
}

func (w reporter) vents(p Plan) *VentReport {
	if p.Vents == nil {
		return nil
	}
	return &VentReport{p.Vents.Windows, p.Vents.Old, p.Vents.New, p.VentsToFit, w.all(p.Vents.Reasons)}
}

func (w reporter) money(b *calc.Bill) *MoneyReport {
	if b == nil {
		return nil
	}
	return &MoneyReport{b.Lines, b.Job.Net, b.Job.VAT, b.Job.Gross, b.Deposit, b.Balance, w.all(b.Reasons)}
}

func (w reporter) items(q calc.Quantities) []ItemReport {
	var out []ItemReport
	for _, i := range q.Items {
		out = append(out, ItemReport{i.Kind, i.Need, i.Waste, i.Unit, i.Buy, i.Pack, i.Pieces, i.Length, w.all(i.Reasons)})
	}
	return out
}

func (w reporter) findings(fs []safety.Finding) []FindingReport {
	var out []FindingReport
	for _, f := range fs {
		r := FindingReport{
			Rule: f.Rule, Severity: f.Severity, Text: w.say(FindingText(f)), Clause: f.Clause, Edition: f.Edition, Mark: f.Mark, Own: f.Own,
		}
		if f.Document != "" {
			r.Document = w.say(phrase.Of("source." + f.Document))
		}
		for _, light := range f.Lights {
			r.Lights = append(r.Lights, light+1)
		}
		out = append(out, r)
	}
	return out
}
