package plan

import (
	"fmt"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Total adds the plans of a job up, one after another, and keeps none of
// them: what it holds grows with the number of named rooms and of different
// trim lengths, not with the number of openings. The zero Total is ready to
// use.
type Total struct {
	job        Job
	openings   int
	windows    int
	refused    int
	held       int
	tally      calc.Tally
	money      calc.Sum
	priced     bool
	rooms      []*roomTotal // in the order in which they first appear
	severities map[safety.Severity]int
}

// mostRooms is the most named rooms of one file: a guard against nonsense, not
// a rule of the trade.
const mostRooms = 1000

// roomTotal is one room over all its windows.
type roomTotal struct {
	name              string
	facts             safety.Facts // vents and what the rules hang on; its panes come at the end
	windows           int
	old, fresh        decimal.Decimal
	wide, narrow, bit decimal.Decimal // m² of lights that open to 30°, to 15°, to less
}

// Begin takes the job's record.
func (t *Total) Begin(j Job) { t.job = j }

// Refuse counts an opening that has no plan.
func (t *Total) Refuse() { t.openings, t.refused = t.openings+1, t.refused+1 }

// Add takes one opening's plan in. The error is FieldErrors when a file names
// more rooms than any house has; nothing of the plan is then added.
func (t *Total) Add(p Plan) error {
	if p.Opening.RoomName != "" {
		if err := t.addRoom(p); err != nil {
			return err
		}
	}
	t.openings++
	if len(p.Holds()) > 0 {
		t.held++
	}
	t.windows += p.Count
	t.tally.Add(p.Take, p.Count)
	if p.Bill != nil {
		t.money, t.priced = t.money.Plus(p.Bill.Job), true
	}
	if t.severities == nil {
		t.severities = map[safety.Severity]int{}
	}
	for _, f := range p.Findings {
		t.severities[f.Severity]++
	}
	return nil
}

func (t *Total) addRoom(p Plan) error {
	r, err := t.room(p.Opening)
	if err != nil {
		return err
	}
	o, n := p.Opening, decimal.NewFromInt(int64(p.Count))
	r.windows += p.Count
	r.old, r.fresh = r.old.Add(o.VentArea.Mul(n)), r.fresh.Add(o.VentAreaNew.Mul(n))
	r.facts.OldVents = r.facts.OldVents || o.OldVents
	r.facts.VentsUnknown = r.facts.VentsUnknown || o.VentsUnknown
	r.facts.MVHR = r.facts.MVHR || o.MVHR
	r.facts.FloorArea = decimal.Max(r.facts.FloorArea, o.FloorArea)
	for _, s := range p.Swings {
		area := s.Leaf.Mul(n)
		switch {
		case s.Angle.GreaterThanOrEqual(fullSwing):
			r.wide = r.wide.Add(area)
		case s.Angle.GreaterThanOrEqual(halfSwing):
			r.narrow = r.narrow.Add(area)
		default:
			r.bit = r.bit.Add(area)
		}
	}
	return nil
}

// room is the opening's room, begun if it is new.
func (t *Total) room(o Opening) (*roomTotal, error) {
	for _, r := range t.rooms {
		if r.name == o.RoomName {
			return r, nil
		}
	}
	if len(t.rooms) == mostRooms {
		return nil, FieldErrors{{Field: "room_name", Why: fmt.Sprintf("is one room too many: a file may name %d", mostRooms)}}
	}
	date, err := time.Parse(DateForm, o.Date)
	if err != nil {
		return nil, fmt.Errorf("date of the work %q: %w", o.Date, err)
	}
	r := &roomTotal{name: o.RoomName, facts: safety.Facts{Nation: o.Nation, Date: date, Room: o.Room, Storey: o.Storey, NotHouse: o.NotHouse,
		Heritage: o.Heritage, Extract: o.Extract, FewWindows: o.FewWindows, HigherRisk: o.HigherRisk}}
	t.rooms = append(t.rooms, r)
	return r, nil
}

// findings are the rules of the room's air over all its windows: the lights
// that open alike stand in one strip of their area.
func (r *roomTotal) findings() []safety.Finding {
	f := r.facts
	f.OldVentArea, f.NewVentArea = r.old, r.fresh
	for i, strip := range []struct {
		area    decimal.Decimal
		degrees decimal.Decimal
	}{{r.wide, fullSwing}, {r.narrow, halfSwing}, {r.bit, decimal.NewFromInt(1)}} {
		pane := safety.Pane{Light: i, Size: calc.Size{Width: strip.area.Shift(6), Height: decimal.NewFromInt(1)}, Degrees: strip.degrees}
		if strip.area.IsPositive() {
			pane.Hinge = calc.SideLeft
		}
		f.Panes = append(f.Panes, pane)
	}
	found := safety.RoomFindings(f)
	for i := range found {
		found[i].Lights = nil
	}
	return found
}

// JobReport is a whole job as bot plan --job writes it, after its openings.
type JobReport struct {
	Name     string                  `json:"name,omitempty"`
	Openings int                     `json:"openings"`
	Windows  int                     `json:"windows"`
	Refused  int                     `json:"refused,omitempty"` // openings that could not be planned and are not in the sums
	Held     int                     `json:"held,omitempty"`    // openings in the sums that must not be ordered
	Findings map[safety.Severity]int `json:"findings,omitempty"`
	// Quantities are rounded up to whole packs once, for the job.
	Quantities []ItemReport       `json:"quantities,omitempty"`
	Packers    []calc.PackerCount `json:"packers,omitempty"`
	Rooms      []RoomReport       `json:"rooms,omitempty"`
	Money      *MoneyReport       `json:"money,omitempty"`
	Warnings   []Said             `json:"warnings,omitempty"`
}

// RoomReport is one named room over all its windows. Vents are mm² equivalent
// area, openings m².
type RoomReport struct {
	Room     string          `json:"room"`
	Windows  int             `json:"windows"`
	OldVents decimal.Decimal `json:"old_vents"`
	NewVents decimal.Decimal `json:"new_vents"`
	Floor    decimal.Decimal `json:"floor_area,omitzero"`
	Wide     decimal.Decimal `json:"open_30_degrees"` // m² of the lights that open to 30 degrees or more
	Narrow   decimal.Decimal `json:"open_15_degrees"` // of those that open to 15 or more
	Findings []FindingReport `json:"findings,omitempty"`
}

// sum is the list and the money of the whole job.
func (t *Total) sum() (calc.Quantities, *calc.Bill, error) {
	c := DefaultCrew()
	if t.job.Settings != nil {
		c = *t.job.Settings
	}
	take, err := t.tally.Total(c.Store)
	if err != nil || !t.priced && len(t.job.Prices) == 0 {
		return take, nil, err
	}
	own, err := calc.MakeBill(priceLines(t.job.Prices, 0, 1, c.Money), c.Money.Deposit)
	if err != nil {
		return take, nil, err
	}
	bill, err := calc.SumBill(t.money.Plus(own.Job), c.Money.Deposit)
	bill.Lines = own.Lines
	return take, &bill, err
}

// Report is the job's sums in the words of say.
func (t *Total) Report(say func(phrase.Text) string) (JobReport, error) {
	take, bill, err := t.sum()
	if err != nil {
		return JobReport{}, err
	}
	w := reporter{say: say}
	r := JobReport{
		Name: t.job.Name, Openings: t.openings, Windows: t.windows, Refused: t.refused, Held: t.held, Findings: t.severities,
		Quantities: w.items(take), Packers: take.Packers, Money: w.money(bill), Warnings: w.all(take.Reasons),
	}
	for _, room := range t.rooms {
		r.Rooms = append(r.Rooms, RoomReport{
			Room: room.name, Windows: room.windows, OldVents: room.old, NewVents: room.fresh, Floor: room.facts.FloorArea,
			Wide: room.wide, Narrow: room.wide.Add(room.narrow), Findings: w.findings(room.findings()),
		})
	}
	return r, nil
}

// Lines are the job's sums for people.
func (t *Total) Lines() ([]phrase.Text, error) {
	take, bill, err := t.sum()
	if err != nil {
		return nil, err
	}
	lines := []phrase.Text{phrase.Of("plan.job").WithInt("count", t.windows).WithInt("openings", t.openings)}
	if t.refused > 0 {
		lines = append(lines, phrase.Of("plan.job.refused").WithInt("count", t.refused))
	}
	if t.held > 0 {
		lines = append(lines, phrase.Of("plan.job.held").WithInt("count", t.held))
	}
	for _, item := range take.Items {
		lines = append(lines, reasonLines(item.Reasons)...)
	}
	lines = append(lines, reasonLines(take.Reasons)...)
	lines = append(lines, takeLines(take.Packers)...)
	for _, room := range t.rooms {
		lines = append(lines, phrase.Of("plan.job.room").Saying("room", room.name).WithInt("count", room.windows).
			With("old", room.old).With("new", room.fresh).With("wide", room.wide).With("narrow", room.wide.Add(room.narrow)))
		for _, f := range room.findings() {
			lines = append(lines, warningLine(f, 0))
		}
	}
	return append(lines, billLines(bill)...), nil
}
