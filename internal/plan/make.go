package plan

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// Make works the whole plan of one opening out. The error is a
// *calc.RefusalError when no safe answer can be given.
func Make(o Opening, s calc.Settings) (Plan, error) {
	p := Plan{Opening: o, Count: max(1, o.Count), Crew: o.CrewOr(s)}
	s = p.Crew.Settings
	var err error
	if p.Order, err = calc.OrderSize(o.OrderRequest(s)); err != nil {
		return p, err
	}
	if o.TightTo != "" {
		p.Order = p.Order.TightTo(o.TightTo, p.tightGap())
	}
	p.Ordered = p.Order
	if err = p.arrive(); err != nil {
		return p, err
	}
	p.Layout = placed(o.Layout, p.Order.Size, s)
	if err = p.Layout.Check(p.Order.Size); err != nil {
		return p, err
	}
	p.Fixings, err = calc.Fixings(calc.FixingRequest{
		Frame: p.Order.Size, Layout: p.Layout, NoHead: o.NoHead, Lighter: o.Lighter, BedJoint: o.BedJoint, Gauge: o.Gauge, Mark: p.frameMark(),
	}, s)
	if err != nil {
		return p, err
	}
	p.Packers = calc.Packers(p.Order, p.Fixings, p.Layout, s)
	if err = p.stand(); err != nil {
		return p, err
	}
	p.cut(s)
	if p.Glass, err = calc.Glass(p.Order.Size, p.Layout, o.Panes, s); err != nil {
		return p, err
	}
	p.Weight = calc.WeightOf(p.Order.Size, p.Layout, p.Glass, s)
	if err = p.makeRest(); err != nil {
		return p, err
	}
	facts, err := p.facts(s)
	if err != nil {
		return p, err
	}
	p.Findings = safety.Findings(facts)
	return p, p.countVents()
}

// tightGap is the gap on the side that the frame is set tight to. Behind a
// check the frame's edge is meant to be on the measured line there.
func (p *Plan) tightGap() decimal.Decimal {
	if p.Opening.Finish == calc.Check && p.Opening.TightTo != calc.Sill {
		return decimal.Zero
	}
	return p.Order.Gap[p.Opening.TightTo]
}

// makeRest adds what hangs on size, fixings, packers and glass.
func (p *Plan) makeRest() error {
	for _, part := range []func(Crew) error{p.seal, p.open, p.drops, p.warmth, p.wind, p.vents, p.store, p.price} {
		if err := part(p.Crew); err != nil {
			return err
		}
	}
	return nil
}

// seal plans the four joints, each with the narrowest gap of its side: that
// is where the sealant is strained most.
func (p *Plan) seal(c Crew) error {
	gaps := map[calc.Side]decimal.Decimal{}
	for _, place := range p.Packers.Places {
		if least, ok := gaps[place.Side]; place.Gap.IsPositive() && (!ok || place.Gap.LessThan(least)) {
			gaps[place.Side] = place.Gap
		}
	}
	p.Joints = make(map[calc.Side]calc.Joint, len(gaps))
	mark := p.gapMark()
	for side, gap := range gaps {
		length := p.Order.Size.Width
		if side == calc.Head || side == calc.Sill {
			length = p.Order.Size.Height
		}
		joint, err := calc.PlanJoint(calc.JointRequest{
			Material: p.Opening.Material, Length: length, Gap: gap, Asked: p.Order.Gap[side], Porous: !p.Opening.Smooth, Settings: c.Joint, Mark: mark,
		})
		if err != nil {
			return err
		}
		p.Joints[side] = joint
	}
	return nil
}

// open is the clear opening of each light, the hinge maker's where given, and
// how far it swings.
func (p *Plan) open(c Crew) error {
	var err error
	if p.Clear, err = calc.ClearOpenings(p.Order.Size, p.Layout, c.Settings, c.Clear); err != nil {
		return err
	}
	for i := range p.Clear {
		if own := p.Opening.SashOf(i).Clear; own.Width.IsPositive() && own.Height.IsPositive() {
			p.Clear[i] = p.Clear[i].Stated(own)
		}
	}
	return p.swings()
}

func (p *Plan) warmth(c Crew) error {
	o := p.Opening
	if !o.Ug.IsPositive() || !o.Uf.IsPositive() {
		return nil
	}
	heat, err := calc.WindowU(calc.HeatRequest{Frame: p.Order.Size, Layout: p.Layout, Ug: o.Ug, Uf: o.Uf, Psi: o.Psi, Settings: c.Settings})
	if err != nil {
		return err
	}
	p.Heat = &heat
	return nil
}

// wind is the load across the jamb screw that holds most, and whether the
// screw takes it; no load where the pressure's coefficients are not known.
func (p *Plan) wind(Crew) error {
	o := p.Opening
	var pressure decimal.Decimal
	var reason calc.Reason
	switch {
	case o.WindPressure.IsPositive():
		pressure = o.WindPressure
		reason = calc.Reason{Rule: calc.WindGiven, Figures: map[string]decimal.Decimal{"pressure": pressure}, Mark: calc.Practice}
	case o.WindSpeed.IsPositive():
		pressure, reason = calc.WindPressure(o.WindSpeed, o.WindCode)
	default:
		return nil
	}
	p.Wind = &reason
	p.Load, p.Held = calc.JambShear(pressure, p.Order.Size, p.Fixings)
	if p.Load.IsPositive() && o.ScrewAllows.IsPositive() {
		why, _ := calc.ScrewEnough(p.Load, o.ScrewAllows, reason)
		p.Screw = &why
	}
	return nil
}

// vents adds the room's windows up, as far as this record knows them.
func (p *Plan) vents(Crew) error {
	o := p.Opening
	windows := []calc.WindowVents{{Old: o.VentArea, New: o.VentAreaNew}}
	if o.OtherVents.IsPositive() || o.OtherOldVents.IsPositive() {
		windows = append(windows, calc.WindowVents{Old: o.OtherOldVents, New: o.OtherVents})
	}
	vents, err := calc.VentsOfRoom(windows...)
	if vents.Old.IsZero() && vents.New.IsZero() || len(windows) == 1 && o.RoomName != "" {
		return err // a named room is added up at the end of the job
	}
	p.Vents = &vents
	return err
}

// countVents is how many vents are still missing of the area that the rules
// ask for.
func (p *Plan) countVents() error {
	if !p.Opening.VentEach.IsPositive() {
		return nil
	}
	for _, f := range p.Findings {
		needed, has := f.Figures["area"]
		if f.CardOnly || f.Topic != safety.Vents || !has {
			continue
		}
		n, err := calc.VentsToFit(needed, p.Opening.VentAreaNew.Add(p.Opening.OtherVents), p.Opening.VentEach)
		if err != nil {
			return err
		}
		p.VentsToFit = n
	}
	return nil
}

func (p *Plan) store(c Crew) error {
	if err := p.makeGood(c); err != nil {
		return err
	}
	var err error
	p.Take, err = calc.WindowQuantities(calc.QuantityRequest{
		Frame: p.Order.Size, Joints: p.Joints, Section: p.Section, Screws: p.screwCounts(),
		Packers: p.Packers.Take, Trims: p.Opening.Trims, Patches: p.Patches, Store: c.Store,
	})
	return err
}

// price is the bill of all the equal windows, with the settings' deposit.
func (p *Plan) price(c Crew) error {
	if len(p.Opening.Prices) == 0 {
		return nil
	}
	bill, err := calc.MakeBill(priceLines(p.Opening.Prices, 1, p.Count, c.Money), c.Money.Deposit)
	if err != nil {
		return err
	}
	p.Bill = &bill
	return nil
}

// priceLines fills in what a price leaves out.
func priceLines(prices []Price, window, count int, terms calc.MoneySettings) []calc.PriceLine {
	lines := make([]calc.PriceLine, len(prices))
	for i, price := range prices {
		line := calc.PriceLine{Window: window, What: price.What, Quantity: decimal.NewFromInt(int64(count)), Each: price.Each, VATRate: terms.VATRate}
		if price.Quantity != nil {
			line.Quantity = *price.Quantity
		}
		if price.VATRate != nil {
			line.VATRate = *price.VATRate
		}
		lines[i] = line
	}
	return lines
}

// placed gives a place to the bars that were left to the program: mullions
// evenly, transoms two thirds up.
func placed(l calc.Layout, frame calc.Size, s calc.Settings) calc.Layout {
	l = l.WithEvenMullions(frame, s)
	if len(l.Transoms) > 0 {
		return l
	}
	for _, light := range l.Lights {
		if light.Row != 1 {
			continue
		}
		if l.Transoms == nil {
			l.Transoms = make([]decimal.Decimal, l.Columns())
		}
		if light.Column < len(l.Transoms) {
			l.Transoms[light.Column] = frame.Height.Mul(decimal.NewFromInt(2)).DivRound(decimal.NewFromInt(3), 0)
		}
	}
	return l
}

// facts are what the rules ask, from the record and from the glass worked
// out.
func (p Plan) facts(s calc.Settings) (safety.Facts, error) {
	o := p.Opening
	date, err := time.Parse(DateForm, o.Date)
	if err != nil {
		return safety.Facts{}, fmt.Errorf("date of the work %q: %w", o.Date, err)
	}
	f := safety.Facts{
		Nation: o.Nation, Date: date, Room: o.Room, Storey: o.Storey,
		BesideDoor: o.BesideDoor, NearBath: o.NearBath,
		OldVents: o.OldVents, MVHR: o.MVHR, FloorArea: o.FloorArea,
		InnerRoom: o.InnerRoom, OldEscape: o.OldEscape, Bay: o.Bay,
		NoLintel: o.NoLintel, OpenFlue: o.OpenFlue, VentsUnknown: o.VentsUnknown,
		Door: o.Door, Flat: o.Flat, Widened: o.Widened, Heritage: o.Heritage, CentreU: o.Ug,
		BuiltBefore2000: !o.From2000, Guarded: o.Guarded, NotHouse: o.NotHouse, Leaded: o.Leaded,
		BuiltBefore1992: !o.From1992 && !o.From2000, HigherRisk: o.HigherRisk, Extract: o.Extract, FewWindows: o.FewWindows,
		Certifies: o.Certifies, Over: o.Over, Cracks: o.Cracks, Bowed: o.Bowed,
	}
	if o.Cleared != nil {
		said := safety.Clearance(*o.Cleared)
		f.Cleared = &said
	}
	if o.BedAboveFloor != nil {
		f.HeightMark = calc.Practice // by the face widths of the new frame
	}
	f.GlassAboveFloor, f.GlassAboveOutside = p.glassHeights(s)
	f.OldVentArea, f.NewVentArea = o.RoomVents()
	if len(o.Panes) > 0 {
		f.Thickness = decimal.Min(o.Panes[0], o.Panes[1:]...) // the rules ask it of every sheet
	}
	if p.Heat != nil {
		f.UValue = p.Heat.Standard.Round(2)
	}
	for i, g := range p.Glass {
		light, sash := p.Layout.Lights[g.Light], o.SashOf(g.Light)
		at := p.Layout.Levels(p.Order.Size, light, s)
		f.Panes = append(f.Panes, safety.Pane{
			Light: g.Light, Size: g.Glass, Bottom: at.Sight, Hinge: light.Hinge,
			Opening: p.Clear[i].Opening, Clear: p.Clear[i].Clear, OpenBottom: at.Opening,
			Degrees: sash.Angle, Restrictor: sash.Restrictor, Releasable: sash.Releasable,
			ClearGiven: sash.Clear.Width.IsPositive() && sash.Clear.Height.IsPositive(), BesideDoor: sash.BesideDoor,
		})
	}
	return f, nil
}
