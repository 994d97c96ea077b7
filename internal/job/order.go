package job

import (
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// The order has a revision: A when it is first sent, then B, C, …. The lines
// of a revision are what was sent and never change. When an opening that the
// desk has is changed or deleted, the order is held: the desk is told once
// that the revision no longer stands, and nothing counts as confirmed. Sending
// again makes the next revision. A line that did not change stays confirmed under the
// revision that it was confirmed under; the others the desk has to confirm afresh.
// Lines whose frame has been delivered are not touched by any of this.

// NotReady is an opening that can't be on the order yet, and why.
type NotReady struct {
	ID   int
	Why  *Refusal
	Line bool // it was on the revision before, so it holds up the next one
}

// Stopped says whether a stop stands against it, Unfit whether that or other points do.
func (n NotReady) Stopped() bool { return n.Why.Reason == "stopped" }
func (n NotReady) Unfit() bool   { return n.Stopped() || n.Why.Reason == "against" }

// Ready says what the next sending would hold, and what would be left out. An
// opening being checked is not ready, nor is one that still lacks answers, that no
// safe plan can be made of, or that a point stands against which nobody took on. The
// error of a plan is in Why.Cause. What the desk has is not looked at anew.
func (j Job) Ready(s calc.Settings) (lines []Line, not []NotReady) {
	for _, o := range j.All() {
		if o.State.made() {
			if line, ok := o.Told(); ok && j.onOrder(o.ID) {
				lines = append(lines, line)
			}
			continue
		}
		line, err := j.ready(o, s)
		if err != nil {
			not = append(not, NotReady{o.ID, err, j.onOrder(o.ID)})
			continue
		}
		lines = append(lines, line)
	}
	return lines, not
}

func (j Job) ready(o Opening, s calc.Settings) (Line, *Refusal) {
	if o.State.atDesk() {
		if line, ok := o.Told(); ok {
			return line, nil
		}
	}
	if _, ok := Next(o.State, DoSend, Fitter); !ok {
		return Line{}, wrongState(o, DoSend)
	}
	if lacks := o.Lacks(); len(lacks) > 0 {
		return Line{}, o.incomplete(lacks)
	}
	line, points, err := o.looked(s)
	if arched := o.Record().Plan.Readings().Arched(); err == nil && arched != nil {
		err = arched
	}
	if err != nil {
		return Line{}, o.unplanned(err)
	}
	standing := o.takenOn(points)
	if r := o.unfit(Open(standing)); r != nil {
		return Line{}, r
	}
	return line.told(standing), nil
}

// Send sends the order to the desk: revision A with every opening that is
// ready, or the next revision when something was changed or added since. An
// opening that was on the revision before and is not ready now is refused. The
// points that now stand against the openings of anyway are taken on first, but for
// stops, which nobody takes on.
func (j Job) Send(who Who, at time.Time, s calc.Settings, anyway ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	for _, id := range anyway {
		i, err := j.find(id)
		if err != nil {
			return Job{}, nil, err
		}
		o := j.Openings[i]
		if _, why := j.ready(o, s); why != nil {
			if why.Reason != "against" {
				return Job{}, nil, why
			}
			j.write(who, at, i, takeOn(o.Version, why.Points))
		}
	}
	lines, not := j.Ready(s)
	for _, n := range not {
		if n.Line {
			return Job{}, nil, n.Why
		}
	}
	if !j.Order.Held && len(lines) == len(j.Order.On) {
		return Job{}, nil, j.nothingToSend(not)
	}
	before, changes := j.Order.Name(j.Order.Revision), diffLines(j.named(j.Lines()), j.named(lines))
	if j.Order.Revision > 0 && len(changes) == 0 {
		return j.standAgain(who, at, lines)
	}
	lapsed, err := j.toDesk(who, at, lines, changes)
	if err != nil {
		return Job{}, nil, err
	}
	j.Order.Revision++
	j.Order.On = make([]int, len(lines))
	for i, l := range lines {
		j.Order.On[i] = l.Opening
	}
	j.Openings = slices.Clone(j.Openings)
	j.supersede()
	e := Event{Kind: OrderSent}
	if j.Order.Revision > 1 {
		e = Event{Kind: OrderRevised, Changes: changes}.say("before", before).num("changes", len(changes)).num("open", j.unconfirmed())
		if kept := j.underBefore(); len(kept) > 0 {
			e = e.say("kept", Numbers(kept))
		}
	} else {
		changes = nil
	}
	j.Order.Sent = append(lastSent(j.Order.Sent), Sending{j.Order.Revision, RevisionName(j.Order.Revision), who.stamp(at), changes})
	for _, l := range lines {
		e.Openings = append(e.Openings, l.Opening)
	}
	e = e.say("revision", RevisionName(j.Order.Revision)).num("count", len(lines)).num("left_out", len(not))
	if len(lapsed) > 0 {
		e = e.say("lapsed", strings.Join(lapsed, ", "))
	}
	return j.done(who, at, e)
}

// nothingToSend says which openings wait for the lead, or what stands against one.
func (j Job) nothingToSend(not []NotReady) *Refusal {
	var names []string
	first := 0
	for _, o := range j.Openings {
		if !o.State.withLead() {
			continue
		}
		names = append(names, o.Name)
		if first == 0 {
			first = o.ID
		}
	}
	if len(names) == 0 {
		if i := slices.IndexFunc(not, NotReady.Unfit); i >= 0 {
			return not[i].Why
		}
		return refuse("nothing_to_send")
	}
	return refuse("waits_for_lead").say("names", strings.Join(names, ", ")).num("n", first)
}

// Unsigned names the openings that are with the desk and that no lead has
// signed, in a job that a lead has been asked to.
func (j Job) Unsigned() []Opening {
	led := slices.ContainsFunc(j.Shares, func(s Share) bool { return s.Role == Lead && !s.Revoked })
	if !led {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(j.Openings), func(o Opening) bool {
		return !o.State.atDesk() || o.Signature != nil
	})
}

// mostSent is how many sendings a job remembers.
const mostSent = 50

// lastSent makes room for one more sending: a job must not grow without end.
func lastSent(sent []Sending) []Sending {
	return slices.Clone(sent[max(0, len(sent)-mostSent+1):])
}

// toDesk tells the desk the lines that it was not told, and takes their
// openings to it. What was promised for a line that changed was for another
// window: it lapses, and the openings that it was given for are named.
func (j *Job) toDesk(who Who, at time.Time, lines []Line, changes []Change) (lapsed []string, err error) {
	for _, l := range lines {
		i, err := j.find(l.Opening)
		if err != nil {
			return nil, err
		}
		o := j.Openings[i]
		if o.State.made() || o.State.atDesk() && j.onOrder(o.ID) {
			continue
		}
		entries := []opening.Entry{{Act: opening.Tell, Value: toldLine, Told: telling(o.Version, stored(l))}}
		differs := slices.ContainsFunc(changes, func(c Change) bool { return c.Opening == o.ID && !c.ofPoints() })
		if differs && (o.Supply.Due != "" || o.Supply.Price != nil) {
			lapsed = append(lapsed, o.Name)
			entries = append(entries, opening.Entry{Act: opening.Clear, Key: "due"}, opening.Entry{Act: opening.Clear, Key: "price"})
		}
		do := DoSend
		if j.onOrder(o.ID) && o.staysConfirmed(changes) {
			do = DoStandConfirmed
		}
		if *j, err = j.step(who, at, i, do, append(entries, stepEntry(do))...); err != nil {
			return nil, err
		}
	}
	return lapsed, nil
}

// current checks that an answer is to the revision that stands.
func (j Job) current(revision string) error {
	name := j.Order.Name(j.Order.Revision)
	switch {
	case j.Order.Revision == 0:
		return refuse("not_sent")
	case !strings.EqualFold(revision, name):
		return j.superseded(revision)
	case j.Order.Held:
		return refuse("held").say("revision", name)
	}
	return nil
}

// superseded says which revision stands, and that the one named is void or was
// never sent.
func (j Job) superseded(revision string) *Refusal {
	reason := "no_revision"
	for n := 1; n < j.Order.Revision; n++ {
		if strings.EqualFold(revision, j.Order.Name(n)) {
			reason = "superseded"
		}
	}
	return refuse(reason).say("revision", revision).say("now", j.Order.Name(j.Order.Revision))
}

// Confirm confirms one line. Revision is the one that the desk read, such as
// "B": another one is refused.
func (j Job) Confirm(who Who, at time.Time, revision string, id int) (Job, []Event, error) {
	if err := j.admit(who, Desk); err != nil {
		return Job{}, nil, err
	}
	if err := j.current(revision); err != nil {
		return Job{}, nil, err
	}
	i, err := j.find(id)
	if err != nil {
		return Job{}, nil, err
	}
	if o := j.Openings[i]; o.State == Confirmed && !o.OnlyTold() && o.Supply.latest() == j.Order.Revision {
		return Job{}, nil, wrongState(o, DoConfirm)
	}
	if j, err = j.confirm(who, at, i, Heard{}); err != nil {
		return Job{}, nil, err
	}
	return j.done(who, at, j.confirmed(about(LineConfirmed, j.Openings[i])))
}

// ConfirmAll confirms every line that is with the desk, but for those that it
// asked about and has had no answer to.
func (j Job) ConfirmAll(who Who, at time.Time, revision string) (Job, []Event, error) {
	if err := j.admit(who, Desk); err != nil {
		return Job{}, nil, err
	}
	if err := j.current(revision); err != nil {
		return Job{}, nil, err
	}
	var ids []int
	for i, o := range j.Openings {
		if o.State != Ordered && !o.OnlyTold() || !j.onOrder(o.ID) {
			continue
		}
		j.need(o)
		var err error
		if j, err = j.confirm(who, at, i, Heard{}); err != nil {
			return Job{}, nil, err
		}
		ids = append(ids, o.ID)
	}
	if len(ids) == 0 {
		return Job{}, nil, refuse("nothing_to_confirm")
	}
	return j.done(who, at, j.confirmed(Event{Kind: LinesConfirmed, Openings: ids}.num("count", len(ids))))
}

// confirm writes that the desk agrees to the line as it was told, and under which
// number of its own.
func (j Job) confirm(who Who, at time.Time, i int, heard Heard) (Job, error) {
	step := stepEntry(DoConfirm)
	step.Of = j.Order.Revision
	var err error
	if heard, err = heard.clean(); err != nil {
		return Job{}, err
	}
	if heard != (Heard{}) {
		step.Typed = stored(heard)
	}
	return j.step(who, at, i, DoConfirm, append(j.Openings[i].agreed(), step)...)
}

// confirmed is the event, or that the whole order is confirmed.
func (j Job) confirmed(e Event) Event {
	e = e.say("revision", j.Order.Name(j.Order.Revision))
	if open := j.unconfirmed(); open > 0 {
		return e.num("open", open)
	}
	e.Kind = OrderConfirmed
	return e.num("count", len(j.Order.On))
}

// Promise gives a line's day of delivery, 2006-01-02, its price, or both. An
// empty day and a nil price leave what was said before.
func (j Job) Promise(who Who, at time.Time, id int, due string, price *decimal.Decimal) (Job, []Event, error) {
	if _, err := j.admitTo(id, who, Desk); err != nil {
		return Job{}, nil, err
	}
	if due == "" && price == nil {
		return Job{}, nil, refuse("nothing_promised")
	}
	if err := toCome(due, at); due != "" && err != nil {
		return Job{}, nil, err
	}
	if price != nil && price.IsNegative() {
		return Job{}, nil, refuse("price_negative")
	}
	return j.take(who, at, id, DoPromise, promised, promise(due, price)...)
}

// toCome refuses what is no day, 2006-01-02, and one that is over wherever its
// reader is: no clock is more than 12 hours behind UTC. Who knows the reader's clock
// checks by that before.
func toCome(day string, at time.Time) error {
	if _, err := time.Parse(plan.DateForm, day); err != nil {
		return refuse("no_day")
	}
	if day < at.UTC().Add(-12*time.Hour).Format(plan.DateForm) {
		return refuse("day_past")
	}
	return nil
}

// promised says all that now holds, so that nobody has to look it up.
func promised(o Opening) Event {
	e := about(LinePromised, o)
	e.Due = o.Supply.Due
	if o.Supply.Price != nil {
		e = e.figure("price", *o.Supply.Price)
	}
	return e
}

// OrderSheet is the copy of a job for the supplier desk.
type OrderSheet struct {
	Ref      string    `json:"ref"`
	Revision string    `json:"revision"`           // empty: nothing was sent yet
	Replaces string    `json:"replaces,omitempty"` // the revision before; empty for the first
	Held     bool      `json:"held,omitempty"`     // the revision no longer stands, another one follows
	Sent     time.Time `json:"sent,omitzero"`      // when the revision was sent
	SeenFrom string    `json:"seen_from"`          // always SeenFrom
	Label    string    `json:"label,omitempty"`    // only with the address
	Address  string    `json:"address,omitempty"`  // only if shared
	Contact  string    `json:"contact,omitempty"`  // who takes the delivery; only if shared, or names are
	Fitter   string    `json:"fitter,omitempty"`   // only if names are shared
	// Changes are the differences from the revision before.
	Changes []Change    `json:"changes,omitempty"`
	Lines   []SheetLine `json:"lines,omitempty"`
}

// SheetLine is a line with what was said of it.
type SheetLine struct {
	Line
	Room      safety.Room `json:"room,omitempty"`      // as it is now, like the name
	State     State       `json:"state"`               // Deleted when the opening was deleted since
	Confirmed *Stamp      `json:"confirmed,omitempty"` // by the desk; nil: not confirmed, or no longer
	// Number is the supplier's own of the order, as the desk gave it. Told is what
	// somebody was told of a confirmation; nil: nothing.
	Number string        `json:"number,omitempty"`
	Told   *Confirmation `json:"told,omitempty"`
	// Under is the revision of before that it was confirmed under and is the same as.
	Under string           `json:"under,omitempty"`
	Due   string           `json:"due,omitempty"`
	Price *decimal.Decimal `json:"price,omitempty"`
	Notes []Note           `json:"notes,omitempty"`
	// Against is what stood against the line when it was sent, each point with who
	// took it on; of a line that was sent before points were kept what stands now.
	Against  []TakenOn `json:"against,omitempty"`
	Measured *Stamp    `json:"measured,omitempty"`
	// CopiedFrom is the window that every reading was copied from; then nobody measured
	// this one. 0: at least one was taken here.
	CopiedFrom int        `json:"copied_from,omitempty"`
	Checked    *Stamp     `json:"checked,omitempty"`
	Agreed     *Agreement `json:"agreed,omitempty"` // by the customer; nil: to what stands here nobody did
	// NotKnown are the fields that stand on the line as not known, but for those
	// that a finding on it asks for. DeskDecides are left to the desk.
	NotKnown    []opening.Key `json:"not_known,omitempty"`
	DeskDecides []opening.Key `json:"desk_decides,omitempty"`
	NotSaid     []opening.Key `json:"not_said,omitempty"` // what the maker needs and nobody was asked
}

// saidBy are the findings that say themselves that a field is not known.
var saidBy = map[opening.Key]string{"vents": "vents_ask"}

// noteUnknown notes what is not known of the window that was sent.
func (l *SheetLine) noteUnknown(known opening.Known) {
	unknown := known.Unknown()
	l.DeskDecides = unknown[opening.DeskDecides]
	for _, key := range unknown[opening.Stands] {
		if !slices.ContainsFunc(l.Safety, func(f safety.Finding) bool { return f.Rule == saidBy[key] }) {
			l.NotKnown = append(l.NotKnown, key)
		}
	}
}

// OrderCopy is what the desk's chat may hold of the job: the lines as they
// were sent. Who measured and checked is told by name only if names are
// shared.
func (j Job) OrderCopy() OrderSheet {
	sheet := OrderSheet{Ref: j.Ref, Revision: j.Order.Name(j.Order.Revision), Held: j.Order.Held, SeenFrom: SeenFrom}
	sheet.Replaces = j.Order.Name(max(0, j.Order.Revision-1))
	if n := len(j.Order.Sent); n > 0 {
		sheet.Sent, sheet.Changes = j.Order.Sent[n-1].By.At, j.Order.Sent[n-1].Changes
	}
	if j.ShareAddress {
		sheet.Label, sheet.Address = j.Label, j.Address
	}
	if j.ShareNames {
		sheet.Fitter = j.Owner.Name
	}
	if j.ShareNames || j.ShareContact {
		sheet.Contact = j.Contact
	}
	byID := make(map[int]Opening, len(j.Openings))
	for _, o := range j.All() {
		byID[o.ID] = o
	}
	for _, l := range j.Lines() {
		sl := SheetLine{Line: l, State: Deleted}
		if o, ok := byID[l.Opening]; ok {
			l.Name = o.Name
			sl = o.sheetLine(l, j.ShareNames)
			sl.Under = j.Under(o.ID)
		}
		sheet.Lines = append(sheet.Lines, sl)
	}
	return sheet
}

func (o Opening) sheetLine(l Line, names bool) SheetLine {
	sl := SheetLine{Line: l, Room: o.Record().Plan.Room, State: o.State, Due: o.Supply.Due, Price: o.Supply.Price, Agreed: o.AgreedTo(l).shared(names)}
	if own, told := o.Supply.standing(); o.State == Confirmed || o.State.made() {
		if own != nil {
			sl.Confirmed, sl.Number = own.By.shown(names), own.Heard.Order
		}
		sl.Told = told.shown(names)
	}
	for _, n := range o.Supply.Notes {
		n.By = n.By.forRole(Desk, names)
		sl.Notes = append(sl.Notes, n)
	}
	for _, t := range o.toldStanding(l) {
		t.By = t.By.shown(names)
		sl.Against = append(sl.Against, t)
	}
	// A line that was changed since shows no more who measured what was sent, nor
	// what was not known then.
	if o.State == Ordered || o.State == Queried || o.State == Confirmed || o.State.made() {
		if sl.CopiedFrom = o.CopiedFrom; o.CopiedFrom == 0 {
			sl.Measured = o.Measured.shown(names)
		}
		if o.Signature != nil {
			sl.Checked = o.Signature.By.shown(names)
		}
		sl.noteUnknown(o.Known())
		known := o.Known()
		sl.NotSaid = l.missed(known.Unsaid())
	}
	return sl
}
