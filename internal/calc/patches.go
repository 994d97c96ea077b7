package calc

import "github.com/shopspring/decimal"

// WallKind is what a patch of render goes on.
type WallKind string

// The kinds. An empty one is not known, which must be found out before cement is mixed.
const (
	HardWall WallKind = "hard" // brick, block or cement render
	LimeWall WallKind = "lime" // soft and old: no cement on it
)

// PatchSettings are the figures of patches that a crew can change.
type PatchSettings struct {
	Bucket   decimal.Decimal `json:"bucket"`       // l of wet mortar mixed at a time
	LimeSand decimal.Decimal `json:"lime_sand"`    // parts of sand to one of lime
	LimeMost decimal.Decimal `json:"lime_most"`    // mm of one base coat of lime
	LimeDays decimal.Decimal `json:"lime_days"`    // days of waiting for each mm of a lime coat
	Waste    decimal.Decimal `json:"mortar_waste"` // fraction of mortar on top
}

// DefaultPatchSettings are from memory or common practice, all of them.
func DefaultPatchSettings() PatchSettings {
	return PatchSettings{
		Bucket:   decimal.NewFromInt(10), // common practice, no source
		LimeSand: decimal.NewFromInt(3),  // from memory
		LimeMost: decimal.NewFromInt(10), // from memory
		LimeDays: decimal.NewFromInt(1),  // from memory
		Waste:    decimal.New(1, -1),     // common practice, no source
	}
}

// PatchRequest is one place to make good, mm.
type PatchRequest struct {
	Length, Width, Depth decimal.Decimal
	Wall                 WallKind
	ReadyMix             bool // from 25 kg bags; not on lime
	Settings             PatchSettings
}

// PatchCoat is one coat as it is mixed and laid.
type PatchCoat struct {
	Thickness decimal.Decimal // mm
	Parts     decimal.Decimal // of sand to one of cement, or of lime
	Lime      bool
	Dub       bool            // fills the hollow before the base coats
	Wet       decimal.Decimal // l in the wall, without waste, rounded up to 0.1
	Days      decimal.Decimal // before the next coat; zero after the last
	Scratch   bool            // for the next coat's hold
	Batches   int             // to mix, waste included
	Batch     Batch
}

// Batch is one bucket of a coat, l, rounded up to 0.1. Of ready mix it has the wet
// alone; of lime no water, which nobody published.
type Batch struct {
	Wet    decimal.Decimal
	Binder decimal.Decimal // loose cement, or lime
	Sand   decimal.Decimal
	Water  decimal.Decimal // to begin with
}

// PatchPlan is how one place is made good, from the wall outwards. Fill and the coats
// add up to the depth.
type PatchPlan struct {
	Fill    decimal.Decimal // mm to fill first with pieces of brick, or boards; zero: none
	Coats   []PatchCoat
	Days    decimal.Decimal // from the first coat to the last
	Bags    int             // 25 kg bags of ready mix, waste included
	Reasons []Reason
}

// The limits of a patch's coats.
var (
	thinnestCoat = decimal.NewFromInt(3)  // mm: less is filler's work; common practice, no source
	limeLeast    = decimal.NewFromInt(10) // mm that one lime coat may have at the most, at the least: with less some depths have no coats
	coatDays     = decimal.NewFromInt(1)  // before the next coat; a render maker's page as quoted, weak
	leftByFill   = decimal.NewFromInt(22) // mm left by brick pieces: a base coat and a finish; common practice, no source
)

// patchCoats is the most coats of a patch, finish included. Common practice, no source.
const patchCoats = 4

// PlanPatch splits a patch into the fewest coats that can be laid, of 6 to 15 mm, and a
// smooth finish of 6 to 8 mm; under 12 mm one coat does it all. No coat is under 3 mm
// and there are never more than four: what is deeper is filled with pieces of brick or
// with boards first, and Fill says how much. Cement coats are 1:4, the finish 1:5; on a
// lime wall all are of lime, thinner and with longer waits, whatever ReadyMix says.
//
// ErrImpossible for lengths that are not positive, a kind of wall that is not known and
// settings that cannot be; ErrTooSmall under 3 mm; ErrBeyondTable over 100 mm deep.
func PlanPatch(r PatchRequest) (PatchPlan, error) {
	if err := r.check(); err != nil {
		return PatchPlan{}, err
	}
	most := baseMost
	if r.Wall == LimeWall {
		most = r.Settings.LimeMost
	}
	var p PatchPlan
	depth := r.Depth
	if deepest := most.Mul(count(patchCoats - 1)).Add(finishMost); depth.GreaterThan(deepest) {
		p.Fill = depth.Sub(decimal.Min(leftByFill, most.Add(finishUsual)))
		p.because("patch_fill", "", Practice, map[string]decimal.Decimal{
			"depth": depth, "fill": p.Fill, "least": depth.Sub(deepest), "left": depth.Sub(p.Fill), "most": deepest, "coats": count(patchCoats),
		})
		depth = depth.Sub(p.Fill)
	}
	p.Coats = r.coats(coatsOf(depth, most))
	if err := p.mix(r); err != nil {
		return PatchPlan{}, err
	}
	for _, c := range p.Coats {
		p.Days = p.Days.Add(c.Days)
	}
	p.say(r)
	return p, nil
}

func (r PatchRequest) check() error {
	figures := map[string]decimal.Decimal{"length": r.Length, "width": r.Width, "depth": r.Depth, "least": thinnestCoat, "most": renderDeepest}
	s := r.Settings
	switch {
	case !r.Length.IsPositive(), !r.Width.IsPositive(), !r.Depth.IsPositive():
		return refuse(ErrImpossible, "patch_size", figures, nil)
	case r.Depth.LessThan(thinnestCoat):
		return refuse(ErrTooSmall, "patch_thin", figures, nil)
	case r.Depth.GreaterThan(renderDeepest):
		return refuse(ErrBeyondTable, "render_deep", figures, nil)
	case r.Wall != "" && r.Wall != HardWall && r.Wall != LimeWall:
		return refuse(ErrImpossible, "patch_wall", nil, nil)
	case !s.Bucket.IsPositive(), !s.LimeSand.IsPositive(), s.LimeMost.LessThan(limeLeast), s.LimeMost.GreaterThan(baseMost), s.LimeDays.IsNegative(), outsideOne(s.Waste):
		return refuse(ErrImpossible, "patch_settings", map[string]decimal.Decimal{
			"bucket": s.Bucket, "sand": s.LimeSand, "thick": s.LimeMost, "least": limeLeast, "most": baseMost, "days": s.LimeDays, "waste": s.Waste.Shift(2),
		}, nil)
	}
	return nil
}

// coatsOf are the thicknesses of the fewest coats for a depth, mm, from the wall
// outwards: a finish as near to 7 mm as its 6 to 8 let it, on base coats of most mm at
// the most, alike but for a whole millimetre; the last of them takes the part of one.
func coatsOf(depth, most decimal.Decimal) []decimal.Decimal {
	if depth.LessThan(baseLeast.Add(finishLeast)) {
		return []decimal.Decimal{depth}
	}
	n := decimal.Max(count(1), ceilDiv(depth.Sub(finishMost), most))
	finish := decimal.Min(finishUsual, depth.Sub(baseLeast.Mul(n)))
	finish = decimal.Max(finish, depth.Sub(most.Mul(n)))
	base := depth.Sub(finish)
	var out []decimal.Decimal
	for left := n; left.IsPositive(); left = left.Sub(count(1)) {
		coat := base
		if !left.Equal(count(1)) {
			rest := baseLeast.Mul(left.Sub(count(1)))
			coat = decimal.Min(most, ceilDiv(base, left), base.Sub(rest))
		}
		out, base = append(out, coat), base.Sub(coat)
	}
	return append(out, finish)
}

// coats are those of some thicknesses, with mix and wait.
func (r PatchRequest) coats(thicknesses []decimal.Decimal) []PatchCoat {
	out := make([]PatchCoat, len(thicknesses))
	last := len(out) - 1
	for i, thickness := range thicknesses {
		c := PatchCoat{Thickness: thickness, Parts: baseSand, Lime: r.Wall == LimeWall, Dub: i < last-int(baseCoats.IntPart()), Scratch: i < last}
		if i == last {
			c.Parts = finishSand
		}
		if c.Lime {
			c.Parts = r.Settings.LimeSand
		}
		if c.Scratch {
			c.Days = coatDays
		}
		if c.Scratch && c.Lime {
			c.Days = decimal.Max(c.Days, thickness.Mul(r.Settings.LimeDays).Ceil())
		}
		out[i] = c
	}
	return out
}

// bagged reports whether the patch is made from bags of ready mix.
func (r PatchRequest) bagged() bool { return r.ReadyMix && r.Wall != LimeWall }

// mix fills in what each coat takes, and the bags of all.
func (p *PatchPlan) mix(r PatchRequest) error {
	all := decimal.Zero
	for i := range p.Coats {
		c := &p.Coats[i]
		wet := Patch{Length: r.Length, Width: r.Width}.wet(Coat{Thickness: c.Thickness}).Shift(3)
		mixed := wet.Mul(count(1).Add(r.Settings.Waste))
		all = all.Add(mixed)
		c.Wet = wet.RoundUp(1)
		n, err := packs(mixed, r.Settings.Bucket)
		if err != nil {
			return err
		}
		c.Batches = n
		if c.Batch, err = batchOf(mixed.DivRound(count(n), 6), *c, r.bagged()); err != nil {
			return err
		}
	}
	if !r.bagged() {
		return nil
	}
	var err error
	p.Bags, err = packs(all, readyMixYield)
	return err
}

// batchOf is what a wet volume, l, of a coat takes.
func batchOf(wet decimal.Decimal, c PatchCoat, bagged bool) (Batch, error) {
	b := Batch{Wet: wet.RoundUp(1)}
	if bagged {
		return b, nil
	}
	m, err := Mortar(wet.Shift(-3), c.Parts)
	if err != nil {
		return Batch{}, err
	}
	b.Binder, b.Sand = m.CementVolume.Shift(3).RoundUp(1), m.Sand.Shift(3).RoundUp(1)
	if !c.Lime {
		b.Water = m.Water.RoundUp(1)
	}
	return b, nil
}

func (p *PatchPlan) because(rule, source string, mark Mark, figures map[string]decimal.Decimal) {
	p.Reasons = append(p.Reasons, Reason{Rule: rule, Source: source, Mark: mark, Figures: figures})
}

// say gathers why the patch is made so.
func (p *PatchPlan) say(r PatchRequest) {
	s := r.Settings
	first, last := p.Coats[0], p.Coats[len(p.Coats)-1]
	switch {
	case len(p.Coats) > 1:
		p.because("patch_finish", "unnamed", Read, map[string]decimal.Decimal{"least": finishLeast, "most": finishMost, "thickness": last.Thickness})
		if first.Parts.LessThan(last.Parts) {
			// That they get weaker was read; 4 and 5 parts are common practice, no source.
			p.because("patch_weaker", "construction_handbook", Weakest(Read, Practice), map[string]decimal.Decimal{"base": first.Parts, "finish": last.Parts})
			p.Reasons[len(p.Reasons)-1].Own = Read
		}
		wait := Quoted
		if r.Wall == LimeWall {
			wait = Weakest(Quoted, FromMemory) // the days of its coats
		}
		p.because("patch_wait", "render_maker", wait, map[string]decimal.Decimal{"days": coatDays, "all": p.Days})
	default:
		p.because("patch_one", "", coatMark, map[string]decimal.Decimal{"thickness": p.Coats[0].Thickness, "under": baseLeast.Add(finishLeast)})
	}
	switch r.Wall {
	case LimeWall:
		p.because("patch_lime", "", FromMemory, map[string]decimal.Decimal{"sand": s.LimeSand, "most": s.LimeMost, "days": s.LimeDays})
	case "":
		p.because("render_lime", "", FromMemory, nil)
	}
	if r.bagged() {
		p.because("patch_bags", "unnamed", Weakest(Read, coatMark), map[string]decimal.Decimal{"bags": count(p.Bags), "bag": readyMixYield, "waste": s.Waste.Shift(2)})
		p.Reasons[len(p.Reasons)-1].Own = Read
		return
	}
	p.because("patch_batch", "", Practice, map[string]decimal.Decimal{"bucket": s.Bucket, "waste": s.Waste.Shift(2)})
}

// Patch is what WindowQuantities takes along for it. ok is false of lime, whose
// weights nobody published: its litres are in the coats.
func (p PatchPlan) Patch(r PatchRequest) (out Patch, ok bool) {
	if r.Wall == LimeWall {
		return Patch{}, false
	}
	out = Patch{Length: r.Length, Width: r.Width, ReadyMix: r.ReadyMix}
	for _, c := range p.Coats {
		out.Coats = append(out.Coats, Coat{Thickness: c.Thickness, Sand: c.Parts, Dub: c.Dub})
	}
	return out, true
}

// RenderDay is the weather to render in.
type RenderDay struct {
	Temperature decimal.Decimal // °C, of air and wall
	Rising      bool            // known to rise, as in the morning
	Frost       bool            // frost within 24 hours
	Rain        bool
}

// The limits of the weather, °C; a render maker's page, as quoted.
var (
	renderColdest = decimal.NewFromInt(5)
	renderWarmest = decimal.NewFromInt(30)
)

// RenderWeather says why not to render now; nothing where the weather lets you. At
// 5 °C and falling, with frost within 24 hours, above 30 °C and in rain it does not.
// Nor does it under 5 °C when it rises, which is not in the source: wait for the 5.
func RenderWeather(d RenderDay) []Reason {
	var out []Reason
	because := func(rule string, mark Mark) {
		out = append(out, Reason{Rule: rule, Source: "render_maker", Mark: mark, Figures: map[string]decimal.Decimal{
			"temperature": d.Temperature, "least": renderColdest, "most": renderWarmest,
		}})
	}
	switch {
	case d.Temperature.LessThanOrEqual(renderColdest) && !d.Rising:
		because("patch_cold", Quoted)
	case d.Temperature.LessThan(renderColdest):
		out = append(out, Reason{Rule: "patch_cold_rising", Mark: Practice, Figures: map[string]decimal.Decimal{"temperature": d.Temperature, "least": renderColdest}})
	case d.Temperature.GreaterThan(renderWarmest):
		because("patch_hot", Quoted)
	}
	if d.Frost {
		because("patch_frost", Quoted)
	}
	if d.Rain {
		because("patch_rain", Quoted)
	}
	return out
}
