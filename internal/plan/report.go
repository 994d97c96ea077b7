package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Report is a plan as bot plan writes it. Lengths are mm, masses kg, left and
// right as seen from outside.
type Report struct {
	Name       string                     `json:"name,omitempty"`
	Refused    *Said                      `json:"refused,omitempty"` // set instead of everything below
	Order      *OrderReport               `json:"order,omitempty"`
	Figure     *FigureReport              `json:"figure,omitempty"`
	Fixings    *FixingReport              `json:"fixings,omitempty"`
	Packers    *PackerReport              `json:"packers,omitempty"`
	Lights     []LightReport              `json:"lights,omitempty"`
	Joints     map[calc.Side]*JointReport `json:"joints,omitempty"`
	Heat       *HeatReport                `json:"heat,omitempty"`
	Wind       *WindReport                `json:"wind,omitempty"`
	Quantities []ItemReport               `json:"quantities,omitempty"`
	Findings   []FindingReport            `json:"findings,omitempty"`
}

// Said is a reason or warning: its rule, the sentence, and on whose authority.
type Said struct {
	Rule   string    `json:"rule"`
	Text   string    `json:"text"`
	Source string    `json:"source,omitempty"`
	Mark   calc.Mark `json:"mark,omitempty"`
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
	Warnings   []Said          `json:"warnings,omitempty"`
}

// FigureReport is the opening worked out from the readings.
type FigureReport struct {
	BottomLeft  calc.Point      `json:"bottom_left"`
	BottomRight calc.Point      `json:"bottom_right"`
	TopRight    calc.Point      `json:"top_right"`
	TopLeft     calc.Point      `json:"top_left"`
	Assumed     bool            `json:"assumed,omitempty"`
	Lean        decimal.Decimal `json:"lean"`
	Misclosure  decimal.Decimal `json:"misclosure"`
	Suspects    []SuspectReport `json:"suspects,omitempty"`
}

// SuspectReport is a reading that may be the mistake.
type SuspectReport struct {
	Reading string          `json:"reading"`
	Now     decimal.Decimal `json:"now"`
	Closes  decimal.Decimal `json:"closes"`
	Slip    string          `json:"slip,omitempty"`
}

// FixingReport is the fixings of all sides.
type FixingReport struct {
	Count       int             `json:"count"`
	ScrewLength decimal.Decimal `json:"screw_length"`
	Sides       []SideReport    `json:"sides"`
	Why         []Said          `json:"why,omitempty"`
}

// SideReport is the fixings of one side, from the bottom corner on the jambs
// and from the left corner on head and sill.
type SideReport struct {
	Side      calc.Side         `json:"side"`
	At        []decimal.Decimal `json:"at"`
	Why       []Said            `json:"why,omitempty"`
	Shortfall []Said            `json:"shortfall,omitempty"`
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
	Gap     decimal.Decimal `json:"gap"`
	Stack   []int           `json:"stack"`
	Bed     bool            `json:"bed,omitempty"`
	Trouble *Said           `json:"trouble,omitempty"`
}

// LightReport is one light: its glass, blocks and clear opening.
type LightReport struct {
	Light  int             `json:"light"` // from 1
	Hinge  calc.Hinge      `json:"hinge"`
	Glass  calc.Size       `json:"glass"`
	Mass   decimal.Decimal `json:"mass,omitzero"`
	Team   int             `json:"team,omitempty"`
	Blocks []calc.Block    `json:"blocks"`
	Clear  calc.Size       `json:"clear_opening"`
	Why    []Said          `json:"why,omitempty"`
}

// JointReport is one side's joint.
type JointReport struct {
	Gap      decimal.Decimal   `json:"gap"`
	Movement decimal.Decimal   `json:"movement"`
	Least    decimal.Decimal   `json:"least"`
	Class    calc.SealantClass `json:"weakest_class,omitempty"`
	Depth    decimal.Decimal   `json:"depth,omitzero"`
	Backing  decimal.Decimal   `json:"backing,omitzero"`
	Lap      decimal.Decimal   `json:"lap,omitzero"`
	Why      []Said            `json:"why,omitempty"`
	Warnings []Said            `json:"warnings,omitempty"`
}

// HeatReport is the U-value, W/m²K, of the window as divided and of the
// standard size.
type HeatReport struct {
	Uw       decimal.Decimal `json:"uw"`
	Standard decimal.Decimal `json:"uw_standard"`
	Why      []Said          `json:"why,omitempty"`
}

// WindReport is the load, N, on one fixing.
type WindReport struct {
	Load decimal.Decimal `json:"load_per_fixing"`
	Why  Said            `json:"why"`
}

// ItemReport is one line of what to take along.
type ItemReport struct {
	Item  calc.ItemKind   `json:"item"`
	Need  decimal.Decimal `json:"need"`
	Waste decimal.Decimal `json:"waste"`
	Unit  string          `json:"unit"`
	Packs int             `json:"packs,omitempty"`
	Why   []Said          `json:"why,omitempty"`
}

// FindingReport is one outcome of the rules.
type FindingReport struct {
	Rule     string        `json:"rule"`
	Weight   safety.Weight `json:"weight"`
	Lights   []int         `json:"lights,omitempty"` // from 1
	Text     string        `json:"text"`
	Document string        `json:"document,omitempty"`
	Clause   string        `json:"clause,omitempty"`
	Edition  string        `json:"edition,omitempty"`
	Mark     calc.Mark     `json:"mark,omitempty"`
}

// reporter writes reports in the words of say.
type reporter struct {
	say func(phrase.Text) string
}

// Report is the plan for a program or a file, in the words of say.
func (p Plan) Report(say func(phrase.Text) string) Report {
	w := reporter{say}
	return Report{
		Name:       p.Opening.Name,
		Order:      w.order(p),
		Figure:     figureReport(p.Order.Figure),
		Fixings:    w.fixings(p.Fixings),
		Packers:    w.packers(p.Packers),
		Lights:     w.lights(p),
		Joints:     w.joints(p.Joints),
		Heat:       w.heat(p.Heat),
		Wind:       w.wind(p),
		Quantities: w.items(p.Take),
		Findings:   w.findings(p.Findings),
	}
}

// Refusal is the report of an opening that can't be answered; nil for none.
func Refusal(o Opening, refused *calc.RefusalError, say func(phrase.Text) string) Report {
	if refused == nil {
		return Report{Name: o.Name}
	}
	said := reporter{say}.said(refused.Reason)
	return Report{Name: o.Name, Refused: &said}
}

func (w reporter) said(r calc.Reason) Said {
	s := Said{Rule: r.Rule, Text: w.say(ReasonText(r)), Mark: r.Mark}
	if r.Source != "" {
		s.Source = w.say(phrase.Of("source." + r.Source))
	}
	return s
}

func (w reporter) all(rs []calc.Reason) []Said {
	var out []Said
	for _, r := range rs {
		out = append(out, w.said(r))
	}
	return out
}

func (w reporter) order(p Plan) *OrderReport {
	o := &OrderReport{
		Width: p.Order.Size.Width, Height: p.Order.Size.Height, SillDepth: p.Opening.SillDepth,
		LostToLean: p.Order.LostToLean, ThumbJam: p.Order.ThumbJam, Warnings: w.all(p.Order.Warnings),
	}
	for _, step := range p.Order.Steps {
		o.Sum = append(o.Sum, StepReport{step.Dimension, step.Amount, w.said(step.Reason)})
	}
	return o
}

func figureReport(f calc.Figure) *FigureReport {
	r := &FigureReport{f.BottomLeft, f.BottomRight, f.TopRight, f.TopLeft, f.Assumed, f.Lean, f.Misclosure, nil}
	for _, s := range f.Suspects {
		r.Suspects = append(r.Suspects, SuspectReport{s.Reading, s.Now, s.Closes, s.Slip})
	}
	return r
}

func (w reporter) fixings(f calc.FixingPlan) *FixingReport {
	r := &FixingReport{Count: f.Count, ScrewLength: f.ScrewLength, Why: w.all(f.Reasons)}
	for _, s := range f.Sides {
		r.Sides = append(r.Sides, SideReport{s.Side, s.At, w.all(s.Reasons), w.all(s.Shortfall)})
	}
	return r
}

func (w reporter) packers(p calc.PackerPlan) *PackerReport {
	r := &PackerReport{Take: p.Take, Why: w.all(p.Reasons)}
	for _, place := range p.Places {
		out := PlaceReport{Side: place.Side, At: place.At, Gap: place.Gap, Stack: place.Stack, Bed: place.Bed}
		if place.Trouble != nil {
			trouble := w.said(*place.Trouble)
			out.Trouble = &trouble
		}
		r.Places = append(r.Places, out)
	}
	return r
}

func (w reporter) lights(p Plan) []LightReport {
	var out []LightReport
	for i, g := range p.Glass {
		out = append(out, LightReport{
			Light: g.Light + 1, Hinge: p.Layout.Lights[g.Light].Hinge, Glass: g.Glass, Mass: g.Mass, Team: g.Team,
			Blocks: g.Blocks, Clear: p.Clear[i].Clear, Why: w.all(g.Reasons),
		})
	}
	return out
}

func (w reporter) joints(joints map[calc.Side]calc.Joint) map[calc.Side]*JointReport {
	out := make(map[calc.Side]*JointReport, len(joints))
	for side, j := range joints {
		out[side] = &JointReport{
			Gap: j.Gap, Movement: j.Movement, Least: j.Least, Class: j.Class, Depth: j.Depth, Backing: j.Backing, Lap: j.Lap,
			Why: w.all(j.Reasons), Warnings: w.all(j.Warnings),
		}
	}
	return out
}

func (w reporter) heat(h *calc.HeatLoss) *HeatReport {
	if h == nil {
		return nil
	}
	return &HeatReport{Uw: h.Uw.Round(2), Standard: h.Standard.Round(2), Why: w.all(h.Reasons)}
}

func (w reporter) wind(p Plan) *WindReport {
	if p.Wind == nil {
		return nil
	}
	return &WindReport{Load: p.Load, Why: w.said(*p.Wind)}
}

func (w reporter) items(q calc.Quantities) []ItemReport {
	var out []ItemReport
	for _, i := range q.Items {
		out = append(out, ItemReport{i.Kind, i.Need, i.Waste, i.Unit, i.Buy, w.all(i.Reasons)})
	}
	return out
}

func (w reporter) findings(fs []safety.Finding) []FindingReport {
	var out []FindingReport
	for _, f := range fs {
		r := FindingReport{
			Rule: f.Rule, Weight: f.Weight, Text: w.say(FindingText(f)), Clause: f.Clause, Edition: f.Edition, Mark: f.Mark,
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
