package plan

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// ArrivalReport is a delivered frame held against its order.
type ArrivalReport struct {
	Verdict calc.Verdict    `json:"verdict"`
	GoesIn  bool            `json:"goes_in"`
	Width   decimal.Decimal `json:"width"`  // at 15 °C, mm
	Height  decimal.Decimal `json:"height"` // at 15 °C, mm
	Checks  []CheckReport   `json:"checks"`
}

// CheckReport is one thing held against the order.
type CheckReport struct {
	What    calc.ArrivalWhat `json:"what"`
	Side    calc.Side        `json:"side,omitempty"`
	Verdict calc.Verdict     `json:"verdict"`
	Why     []Said           `json:"why"`
}

func (w reporter) arrival(a *calc.Arrival) *ArrivalReport {
	if a == nil {
		return nil
	}
	r := &ArrivalReport{Verdict: a.Worst, GoesIn: a.GoesIn, Width: a.At15.Width, Height: a.At15.Height}
	for _, c := range a.Checks {
		r.Checks = append(r.Checks, CheckReport{c.What, c.Side, c.Verdict, w.all(c.Reasons)})
	}
	return r
}

// SetReport is one round of readings of the frame on its packers: how it stands and what
// makes it true.
type SetReport struct {
	True    bool           `json:"true"`
	Missing []calc.SetWhat `json:"not_read,omitempty"`
	// Turned and Racked are in mm per m in the wall's plane: positive where the right end is
	// high, and where the top stands to the right. Twist is mm between two strings.
	Turned  decimal.Decimal `json:"turned"`
	Racked  decimal.Decimal `json:"racked"`
	Leans   decimal.Decimal `json:"leans"` // mm per m across the wall, positive outwards
	Twist   decimal.Decimal `json:"twist"`
	Corners []CornerReport  `json:"corners"`
	Changes []ChangeReport  `json:"changes,omitempty"` // in the order to make them
	Moves   []MoveReport    `json:"moves,omitempty"`
	Why     []Said          `json:"why,omitempty"`
	Blocked []Said          `json:"blocked,omitempty"` // why no packing helps
}

// CornerReport is how far a corner is out, mm: to the right, upwards and outwards.
type CornerReport struct {
	Corner calc.Corner     `json:"corner"`
	Right  decimal.Decimal `json:"right"`
	Up     decimal.Decimal `json:"up"`
	Out    decimal.Decimal `json:"out"`
}

// ChangeReport is one stack of packers that changes; a negative By is taken out.
type ChangeReport struct {
	Side calc.Side       `json:"side"`
	At   decimal.Decimal `json:"at"`
	Bed  bool            `json:"bed,omitempty"`
	From []int           `json:"from"`
	To   []int           `json:"to"`
	By   int             `json:"by"`
}

// MoveReport is how far a jamb goes across the wall at a fixing, mm, positive outwards.
type MoveReport struct {
	Side calc.Side       `json:"side"`
	At   decimal.Decimal `json:"at"`
	By   decimal.Decimal `json:"by"`
}

// FixedReport says whether the screws pulled the frame out of line.
type FixedReport struct {
	Within  bool            `json:"within"`
	Apart   decimal.Decimal `json:"apart"` // mm, the widest less the narrowest
	Changes []ChangeReport  `json:"changes,omitempty"`
	Why     []Said          `json:"why"`
}

func (w reporter) set(rounds []calc.SetResult) []SetReport {
	var out []SetReport
	for _, r := range rounds {
		s := r.Now.Stance
		report := SetReport{
			True: r.True, Missing: r.Missing, Turned: s.Turned, Racked: s.Racked, Leans: s.Leans, Twist: s.Twist,
			Why: w.all(append(append(append(verdictReasons(r.Now), r.Doubts...), r.Assumed...), r.Reasons...)), Blocked: w.all(r.Blocked),
		}
		for _, c := range r.Now.Corners {
			report.Corners = append(report.Corners, CornerReport{c.Corner, c.X, c.Y, c.Z})
		}
		for _, c := range r.Changes {
			report.Changes = append(report.Changes, change(c))
		}
		for _, m := range r.Moves {
			report.Moves = append(report.Moves, MoveReport{m.Side, m.At, m.By})
		}
		out = append(out, report)
	}
	return out
}

func verdictReasons(s calc.SetState) []calc.Reason {
	var out []calc.Reason
	for _, v := range s.Verdicts {
		out = append(out, v.Reason)
	}
	return out
}

func change(c calc.Change) ChangeReport {
	return ChangeReport{c.Side, c.At, c.Bed, list(c.From), list(c.To), c.By}
}

func (w reporter) fixed(r *calc.WidthResult) *FixedReport {
	if r == nil {
		return nil
	}
	f := &FixedReport{Within: r.Within, Apart: r.Apart, Why: w.all([]calc.Reason{r.Reason})}
	for _, off := range r.Off {
		f.Why = append(f.Why, w.all(off.Reasons)...)
		for _, e := range off.Eases {
			if e.Blocked != nil {
				f.Why = append(f.Why, w.said(*e.Blocked))
				continue
			}
			f.Changes = append(f.Changes, change(e.Change))
		}
	}
	return f
}

// PatchReport is one patch as it is laid.
type PatchReport struct {
	Number int             `json:"number"`
	Length decimal.Decimal `json:"length"`
	Width  decimal.Decimal `json:"width"`
	Depth  decimal.Decimal `json:"depth"`
	Fill   decimal.Decimal `json:"fill_first,omitzero"` // mm
	Coats  []CoatReport    `json:"coats"`               // from the wall outwards
	Days   decimal.Decimal `json:"days"`                // from the first coat to the last
	Bags   int             `json:"bags,omitempty"`      // 25 kg of ready mix
	Why    []Said          `json:"why"`
}

// CoatReport is one coat. What a batch takes is in litres.
type CoatReport struct {
	Thickness decimal.Decimal `json:"thickness"`
	Binder    string          `json:"binder"` // cement, lime or ready_mix
	Sand      decimal.Decimal `json:"sand"`   // parts to one
	Scratch   bool            `json:"scratch,omitempty"`
	Days      decimal.Decimal `json:"days_before_next,omitzero"`
	Batches   int             `json:"batches"`
	Wet       decimal.Decimal `json:"batch_wet"`
	BatchOf   decimal.Decimal `json:"batch_binder,omitzero"`
	BatchSand decimal.Decimal `json:"batch_sand,omitzero"`
	Water     decimal.Decimal `json:"batch_water,omitzero"`
}

func (w reporter) patches(p Plan) []PatchReport {
	var list []PatchReport
	for _, m := range p.MadeGood {
		r := PatchReport{
			Number: m.Number, Length: m.Length, Width: m.Width, Depth: m.Depth, Fill: m.Fill, Days: m.PatchPlan.Days, Bags: m.Bags, Why: w.all(m.Reasons),
		}
		for _, c := range m.Coats {
			binder := "cement"
			switch {
			case c.Lime:
				binder = "lime"
			case c.Batch.Binder.IsZero():
				binder = "ready_mix"
			}
			r.Coats = append(r.Coats, CoatReport{
				Thickness: c.Thickness, Binder: binder, Sand: c.Parts, Scratch: c.Scratch, Days: c.Days, Batches: c.Batches,
				Wet: c.Batch.Wet, BatchOf: c.Batch.Binder, BatchSand: c.Batch.Sand, Water: c.Batch.Water,
			})
		}
		list = append(list, r)
	}
	return list
}
