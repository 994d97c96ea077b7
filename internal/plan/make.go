package plan

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// DateForm is how a day is written in an Opening.
const DateForm = time.DateOnly

// Readings are the opening's readings as calc takes them.
func (o Opening) Readings() calc.Readings {
	return calc.Readings{Widths: o.Widths, Heights: o.Heights, Rising: o.Rising, Falling: o.Falling, SillFall: o.SillFall}
}

// OrderRequest is what calc needs for the order size.
func (o Opening) OrderRequest(s calc.Settings) calc.OrderRequest {
	return calc.OrderRequest{
		Readings: o.Readings(), Finish: o.Finish, Material: o.Material, Inner: o.Inner,
		SillPiece: o.SillDepth.IsPositive(), Settings: s,
	}
}

// Make works the whole plan of one opening out. The error is a
// *calc.RefusalError when no safe answer can be given.
func Make(o Opening, s calc.Settings) (Plan, error) {
	p := Plan{Opening: o}
	var err error
	if p.Order, err = calc.OrderSize(o.OrderRequest(s)); err != nil {
		return p, err
	}
	p.Layout = placed(o.Layout, p.Order.Size, s)
	if err = p.Layout.Check(p.Order.Size); err != nil {
		return p, err
	}
	p.Fixings, err = calc.Fixings(calc.FixingRequest{
		Gap: widest(p.Order.Gap), Frame: p.Order.Size, Layout: p.Layout, NoHead: o.NoHead, Lighter: o.Lighter, BedJoint: o.BedJoint, Gauge: o.Gauge,
	}, s)
	if err != nil {
		return p, err
	}
	p.Packers = calc.Packers(p.Order, p.Fixings, p.Layout, s)
	if p.Glass, err = calc.Glass(p.Order.Size, p.Layout, o.Panes, s); err != nil {
		return p, err
	}
	if err = p.makeRest(s); err != nil {
		return p, err
	}
	facts, err := p.facts(s)
	if err != nil {
		return p, err
	}
	p.Findings = safety.Check(facts)
	return p, nil
}

// makeRest adds joints, clear openings, heat, load and the list to take along.
func (p *Plan) makeRest(s calc.Settings) error {
	o := p.Opening
	var err error
	if p.Joints, err = p.joints(); err != nil {
		return err
	}
	if p.Clear, err = calc.ClearOpenings(p.Order.Size, p.Layout, s, calc.DefaultClearSettings()); err != nil {
		return err
	}
	if o.Ug.IsPositive() && o.Uf.IsPositive() {
		heat, err := calc.WindowU(calc.HeatRequest{Frame: p.Order.Size, Layout: p.Layout, Ug: o.Ug, Uf: o.Uf, Psi: o.Psi, Settings: s})
		if err != nil {
			return err
		}
		p.Heat = &heat
	}
	if o.WindSpeed.IsPositive() {
		pressure, reason := calc.WindPressure(o.WindSpeed, calc.EN1991)
		p.Load, p.Wind = calc.LoadPerFixing(pressure, p.Order.Size, p.Fixings.Count), &reason
	}
	p.Take, err = calc.WindowQuantities(calc.QuantityRequest{
		Frame: p.Order.Size, Joints: p.Joints, FrameDepth: s.FrameDepth, Screws: p.Fixings.Count,
		Packers: p.Packers.Take, Store: calc.DefaultStoreSettings(),
	})
	return err
}

// joints are the four joints, each with the narrowest gap of its side: that
// is where the sealant is strained most.
func (p *Plan) joints() (map[calc.Side]calc.Joint, error) {
	gaps := map[calc.Side]decimal.Decimal{}
	for _, place := range p.Packers.Places {
		if least, ok := gaps[place.Side]; place.Gap.IsPositive() && (!ok || place.Gap.LessThan(least)) {
			gaps[place.Side] = place.Gap
		}
	}
	joints := make(map[calc.Side]calc.Joint, len(gaps))
	for side, gap := range gaps {
		length := p.Order.Size.Width
		if side == calc.Head || side == calc.Sill {
			length = p.Order.Size.Height
		}
		joint, err := calc.PlanJoint(calc.JointRequest{
			Material: p.Opening.Material, Length: length, Gap: gap.RoundDown(1), Porous: true, Settings: calc.DefaultJointSettings(),
		})
		if err != nil {
			return nil, err
		}
		joints[side] = joint
	}
	return joints, nil
}

// widest is the largest gap of the four sides.
func widest(gaps map[calc.Side]decimal.Decimal) decimal.Decimal {
	var most decimal.Decimal
	for _, gap := range gaps {
		most = decimal.Max(most, gap)
	}
	return most
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
		GlassAboveFloor: o.AboveFloor, GlassAboveOutside: o.AboveOutside,
		BesideDoor: o.BesideDoor, NearBath: o.NearBath,
		OldVents: o.OldVents, OldVentArea: o.VentArea, MVHR: o.MVHR, FloorArea: o.FloorArea,
		InnerRoom: o.InnerRoom, OldEscape: o.OldEscape, Bay: o.Bay,
		NoLintel: o.NoLintel, OpenFlue: o.OpenFlue, VentsUnknown: o.VentsUnknown, NewVentArea: o.VentAreaNew,
		Door: o.Door, Flat: o.Flat, Widened: o.Widened, Heritage: o.Heritage, CentreU: o.Ug,
		BuiltBefore2000: true, // nobody is asked, so it is taken as so
	}
	for _, t := range o.Panes {
		f.Thickness = decimal.Max(f.Thickness, t)
	}
	if p.Heat != nil {
		f.UValue = p.Heat.Standard.Round(2)
	}
	for i, g := range p.Glass {
		light := p.Layout.Lights[g.Light]
		f.Panes = append(f.Panes, safety.Pane{
			Light: g.Light, Size: g.Glass, Bottom: g.Origin.Y, Hinge: light.Hinge,
			Opening: p.Clear[i].Opening, Clear: p.Clear[i].Clear, OpenBottom: p.openBottom(light, s),
			Restrictor: o.Restrictor, Releasable: o.Releasable,
		})
	}
	return f, nil
}

// openBottom is the lower edge of a light's opening above the frame's bottom.
func (p Plan) openBottom(light calc.Light, s calc.Settings) decimal.Decimal {
	if light.Row == 0 {
		return s.OuterFace
	}
	return p.Layout.Transoms[light.Column].Add(s.MullionFace.Div(decimal.NewFromInt(2)))
}
