package job

import (
	"encoding/json"
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// Line is what the desk needs to make the window of one opening.
type Line struct {
	Opening  int       `json:"opening"`
	Name     string    `json:"name"`
	Quantity int       `json:"quantity"`
	Size     calc.Size `json:"size"`      // of the frame, mm, without the sill piece
	SeenFrom string    `json:"seen_from"` // always SeenFrom
	// Sill is the depth of the sill piece, mm; zero: none.
	Sill decimal.Decimal `json:"sill,omitzero"`
	// SillPiece is how high that stands under the frame, mm; zero: none, or not
	// told when the line was made.
	SillPiece decimal.Decimal `json:"sill_piece,omitzero"`
	Material  calc.Material   `json:"material"`
	Colour    string          `json:"colour,omitempty"`
	// Layout has every mullion and transom placed, and each light's hinges.
	Layout calc.Layout `json:"layout"`
	MakeUp string      `json:"make_up,omitempty"` // such as 4-20-4
	// Stated are the fields that stand on the line as they were said, in the order of
	// the table: also that they are not known, or left to the desk.
	Stated []opening.Pair    `json:"stated,omitempty"`
	Panes  []decimal.Decimal `json:"panes,omitempty"` // mm; empty: not known
	// Safety is what the regulations require of this window, the class of
	// glass among it, each with its light, figures and document.
	Safety   []safety.Finding `json:"safety,omitempty"`
	OldVents bool             `json:"old_vents,omitempty"`
	VentArea decimal.Decimal  `json:"vent_area,omitzero"` // mm² of the old vents
	Hardware []Fitting        `json:"hardware,omitempty"` // of one window
	// Holds are why the window must not be made as it stands, besides what stops it
	// in Safety: readings that can't all be right, an arched head.
	Holds  []phrase.Text `json:"holds,omitempty"`
	Wanted []string      `json:"wanted,omitempty"` // more hardware, in the fitter's words
	// Worked is nil in what was told before it was worked out.
	Worked *Worked `json:"worked,omitempty"`
	// Against is what stood against it when it was sent, all of it taken on; nil: it was
	// not sent, or before points were kept.
	Against []Point `json:"against,omitzero"`
}

// told is the line as it is sent: what was taken on no more holds it.
func (l Line) told(standing []TakenOn) Line {
	l.Against, l.Holds = []Point{}, nil
	for _, t := range standing {
		l.Against = append(l.Against, t.Point)
	}
	return l
}

// bare is the line without what stands against it, to compare what is made by it.
func (l Line) bare() Line {
	l.Against, l.Holds = nil, nil
	return l
}

// agreed is the line without what is only worked out of it, as it is stored.
func (l Line) agreed() string {
	l = l.bare()
	l.Worked = nil
	return stored(l)
}

// Fitting is a piece of hardware, named by the catalogue key after
// "job.hardware.".
type Fitting struct {
	What  string `json:"what"`
	Count int    `json:"count"`
}

// NewLine completes a line, which has number, name and quantity, by what the
// survey says. The error is what plan.Make gives.
func NewLine(l Line, r Record, s calc.Settings) (Line, error) {
	p, err := plan.Make(r.Plan, s)
	if err != nil {
		return Line{}, err
	}
	return completed(l, p, r), nil
}

// completed is a line, which has number, name and quantity, of a plan and what the
// survey says besides.
func completed(l Line, p plan.Plan, r Record) Line {
	out := LineOf(p)
	out.Opening, out.Name, out.Quantity = l.Opening, l.Name, l.Quantity
	out.Colour, out.MakeUp, out.Wanted = r.Colour, r.MakeUp, r.Hardware
	out.Stated = append(out.Stated, r.Left...)
	slices.SortFunc(out.Stated, func(a, b opening.Pair) int { return opening.Order(a.Key, b.Key) })
	return out
}

// LineOf is the line of a plan, as far as the plan alone says it.
func LineOf(p plan.Plan) Line {
	l := Line{
		Name: p.Opening.Name, Quantity: 1, Size: p.Order.Size, SeenFrom: SeenFrom,
		Sill: p.Opening.SillDepth, SillPiece: p.Order.SillPiece, Material: p.Opening.Material, Layout: p.Layout, Stated: p.Opening.Stated(), Panes: p.Opening.Panes,
		OldVents: p.Opening.OldVents, VentArea: p.Opening.VentArea, Hardware: hardware(p.Layout), Worked: workedOf(p),
	}
	for _, h := range p.Holds() {
		if h.Finding == nil {
			l.Holds = append(l.Holds, h.Text)
		}
	}
	for _, f := range p.Findings {
		if f.OnOrder {
			l.Safety = append(l.Safety, f)
		}
	}
	return l
}

// SafetyClass is the class of BS EN 12600 that the glass of one light has to
// have, 1 the strictest, and the finding that asks for it. Light is an index
// in Layout.Lights. ok is false when none is asked for; a finding of severity Ask
// in l.Safety then says what nobody has measured.
func (l Line) SafetyClass(light int) (class int, why safety.Finding, ok bool) {
	for _, f := range l.Safety {
		figure, has := f.Figures["class"]
		about := len(f.Lights) == 0 || slices.Contains(f.Lights, light)
		if !has || !about || f.Severity != safety.Must && f.Topic != safety.Bath {
			continue
		}
		if n := int(figure.IntPart()); !ok || n < class {
			class, why, ok = n, f, true
		}
	}
	return class, why, ok
}

// missed are those of the keys that the line needs: which safety glass only where a
// rule asks for safety glass.
func (l Line) missed(keys []opening.Key) []opening.Key {
	for n := range l.Layout.Lights {
		if _, _, ok := l.SafetyClass(n); ok && opening.GlassOfLight(l.Stated, n) == "" {
			return keys
		}
	}
	return slices.DeleteFunc(slices.Clone(keys), func(key opening.Key) bool { return key == opening.ByClass })
}

// hardware is what the lights that open need, by the way they open.
func hardware(l calc.Layout) []Fitting {
	var out []Fitting
	handles := 0
	for _, h := range []calc.Hinge{calc.SideLeft, calc.SideRight, calc.TopHung, calc.BottomHung, calc.TiltTurnLeft, calc.TiltTurnRight} {
		n := 0
		for _, light := range l.Lights {
			if light.Hinge == h {
				n++
			}
		}
		if n > 0 {
			out = append(out, Fitting{"hinges." + string(h), n})
			handles += n
		}
	}
	if handles > 0 {
		out = append(out, Fitting{"handle", handles})
	}
	return out
}

// telling is what is told by the rules of this program.
func telling(version, figures string) *opening.Told {
	return &opening.Told{Version: version, Rules: plan.Rules, Figures: figures}
}

// stored is a value as JSON; "" for none that can be stored.
func stored(v any) string {
	raw, err := json.Marshal(v)
	if err != nil {
		return ""
	}
	return string(raw)
}
