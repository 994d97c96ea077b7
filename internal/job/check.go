package job

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// Pick is how somebody settles a reading that the two measures differ in.
type Pick string

// The three ways to settle.
const (
	Mine   Pick = "mine"
	Theirs Pick = "theirs"
	Again  Pick = "again" // to be measured again; see Reread
)

// Settlement is how a reading was settled. The first one wins.
type Settlement struct {
	Reading string `json:"reading"`
	Choice  Side   `json:"choice,omitempty"` // "": to be measured again
	// Value is what now counts, mm. Nil: still to be measured again.
	Value *decimal.Decimal `json:"value,omitempty"`
	By    Stamp            `json:"by"`
}

// Check is the second measure of an opening.
type Check struct {
	Asked Stamp  `json:"asked"`
	Seen  *Stamp `json:"seen,omitempty"` // when the lead opened the first figures
	// Shown is the edition of the figures that the lead's chat has shown last.
	Shown int    `json:"shown,omitempty"`
	By    *Stamp `json:"by,omitempty"` // who measured again; nil: nobody yet
	// Known is true when the lead saw figures of this opening in an earlier
	// check: what is measured then is not blind.
	Known bool `json:"known,omitempty"`
	// Blind is true when the second measure was taken before the first
	// figures were opened.
	Blind     bool            `json:"blind,omitempty"`
	First     calc.Readings   `json:"first,omitzero"`
	Second    calc.Readings   `json:"second,omitzero"`
	Tolerance decimal.Decimal `json:"tolerance,omitzero"`
	Settled   []Settlement    `json:"settled,omitempty"`
}

// Signature is the lead's. It stands for what sizes the window and is void as
// soon as any of that changes.
type Signature struct {
	By Stamp `json:"by"`
	// Measured: the lead measured too; Blind: without having seen the first
	// figures. Neither: read and signed.
	Measured bool   `json:"measured,omitempty"`
	Blind    bool   `json:"blind,omitempty"`
	Signed   Sizing `json:"signed"`
}

// AskCheck asks the lead for a second measure of those openings, or, when none
// is named, of every one that is measured, not signed and not with the desk. An
// opening that the desk has is named on purpose: nothing is to be made by
// figures that are in doubt, so that its revision no longer stands.
func (j Job) AskCheck(who Who, at time.Time, ids ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if len(ids) == 0 {
		ids = j.checkable()
	}
	if len(ids) == 0 {
		return Job{}, nil, j.noneToCheck()
	}
	var held []Event
	for _, id := range ids {
		i, err := j.find(id)
		if err != nil {
			return Job{}, nil, err
		}
		if len(missingReadings(j.Openings[i].Record.Plan)) > 0 {
			return Job{}, nil, refuse("not_measured").say("name", j.Openings[i].Name)
		}
		was := j.Openings[i].State
		if j, err = j.step(who, at, i, DoAskCheck); err != nil {
			return Job{}, nil, err
		}
		o := j.Openings[i]
		if was.atDesk() && !j.Order.Held {
			j.hold(at)
			taken := j.heldBy(o)
			taken.Kind = LineTakenBack
			held = append(held, taken)
		}
		o.Check, o.Signature = &Check{Asked: who.stamp(at), Known: o.Check.seen()}, nil
		j.put(i, o)
	}
	asked := Event{Kind: CheckAsked, Openings: slices.Clone(ids)}.num("count", len(ids))
	return j.done(who, at, append(held, asked)...)
}

// seen says whether the lead knows figures of the opening. A nil check is one
// that nobody asked for.
func (c *Check) seen() bool {
	return c != nil && (c.Known || c.Seen != nil || c.By != nil)
}

// checkable are the measured openings that the lead may be asked to check and
// has not signed.
func (j Job) checkable() []int {
	var ids []int
	for _, o := range j.Openings {
		_, ok := Next(o.State, DoAskCheck, Fitter)
		j.need(o)
		if ok && !o.State.atDesk() && o.Signature == nil && len(missingReadings(o.Record.Plan)) == 0 {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// WithdrawCheck does without the second measure of an opening. What the lead
// has measured is dropped.
func (j Job) WithdrawCheck(who Who, at time.Time, id int) (Job, []Event, error) {
	j, i, err := j.stepOf(who, at, id, DoWithdrawCheck)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	o.Check = nil
	j.put(i, o)
	return j.done(who, at, about(CheckWithdrawn, o))
}

// Look opens the first figures to the lead, who can then sign them. What is
// measured afterwards is not blind. Figures gives them.
func (j Job) Look(who Who, at time.Time, id int) (Job, []Event, error) {
	j, i, err := j.stepOf(who, at, id, DoLook)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	c := *o.Check
	if c.Seen == nil {
		seen := who.stamp(at)
		c.Seen = &seen
	}
	o.Check = &c
	j.put(i, o)
	return j.done(who, at, about(FiguresOpened, o))
}

// Read takes the lead's readings of an opening and sets them beside the first.
// Readings sent again take the place of those before; what was settled about
// a reading that is now another is open again.
func (j Job) Read(who Who, at time.Time, id int, r calc.Readings) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Lead)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	if !o.State.withLead() {
		return Job{}, nil, wrongState(o, DoReadSame)
	}
	if o.measuredBy(who) {
		return Job{}, nil, refuse("own_measure").say("name", o.Name)
	}
	if _, err := calc.Survey(r); err != nil {
		return Job{}, nil, impossible(o, err)
	}
	c := o.Check.read(o.Record.Plan.Readings(), r, j.Settings.Tolerance)
	by := who.stamp(at)
	c.By = &by
	do, e := DoReadSame, about(ReadingsAgree, o)
	if open := len(c.open()); open > 0 {
		do, e = DoReadApart, about(ReadingsDiffer, o).num("count", open)
	}
	if j, err = j.step(who, at, i, do); err != nil {
		return Job{}, nil, err
	}
	j.checked(i, c)
	return j.done(who, at, e)
}

// read is the check with the lead's readings in it.
func (c Check) read(first, second calc.Readings, tolerance decimal.Decimal) Check {
	if c.By == nil {
		c.First, c.Second, c.Tolerance, c.Blind = first, second, tolerance, c.Seen == nil && !c.Known
		return c
	}
	c.Blind = false
	before := c.Second
	c.Second = second
	c.Settled = slices.DeleteFunc(slices.Clone(c.Settled), func(s Settlement) bool {
		return changed(before, second, s.Reading)
	})
	return c
}

// corrected is the check after the fitter changed readings that the lead has
// measured too.
func (c Check) corrected(before, now calc.Readings) Check {
	c.Settled = slices.Clone(c.Settled)
	for _, name := range readingNames {
		if !changed(before, now, name) {
			continue
		}
		if v, ok := valueOf(now, name); ok || name != "sill.fall" {
			c.First = withValue(c.First, name, v)
		} else {
			c.First.SillFall = nil
		}
		c.Settled = slices.DeleteFunc(c.Settled, func(s Settlement) bool { return s.Reading == name })
	}
	return c
}

func changed(before, now calc.Readings, name string) bool {
	a, okA := valueOf(before, name)
	b, okB := valueOf(now, name)
	return okA != okB || !a.Equal(b)
}

// compare is the comparison with what was settled.
func (c Check) compare() Comparison {
	out := Compare(c.First, c.Second, c.Tolerance)
	for k := range out.Differences {
		out.Differences[k].Settled = c.settlement(out.Differences[k].Reading)
	}
	return out
}

func (c Check) settlement(reading string) *Settlement {
	for _, s := range c.Settled {
		if s.Reading == reading {
			return &s
		}
	}
	return nil
}

// open are the readings that are apart and have no settled value.
func (c Check) open() []Difference {
	return slices.DeleteFunc(c.compare().Apart(), func(d Difference) bool {
		return d.Settled != nil && d.Settled.Value != nil
	})
}

// agreed are the first readings with those that were settled otherwise.
func (c Check) agreed() calc.Readings {
	r := c.First
	for _, s := range c.Settled {
		if s.Value != nil {
			r = withValue(r, s.Reading, *s.Value)
		}
	}
	return r
}

// checked puts the check, and what it makes of the readings, in its place.
func (j *Job) checked(i int, c Check) {
	o := j.Openings[i]
	o.Check, o.CopiedFrom = &c, 0
	o.Record.Plan = withReadings(o.Record.Plan, c.agreed())
	o.Edition++
	j.put(i, o)
}

// remeasure puts an opening with another sizing in place of the old one.
func (j Job) remeasure(who Who, at time.Time, i int, o Opening) (Job, []Event, error) {
	was := j.Openings[i]
	before, now := was.Record.Plan.Readings(), o.Record.Plan.Readings()
	if !same(before, now) {
		by := who.stamp(at)
		o.Measured, o.CopiedFrom = &by, 0
	}
	do, e := DoMeasure, about(OpeningChanged, o)
	switch was.State {
	case Differing, Agreed:
		c := was.Check.corrected(before, now)
		o.Check = &c
		do, e = DoMeasureSame, about(ReadingsAgree, o)
		if open := len(c.open()); open > 0 {
			do, e = DoMeasureApart, about(ReadingsDiffer, o).num("count", open)
		}
	case Signed:
		o.Check = &Check{Asked: was.Check.Asked, Known: true}
	case Changed, Ordered, Queried, Confirmed:
		o.Check = nil
	}
	j, err := j.step(who, at, i, do)
	if err != nil {
		return Job{}, nil, err
	}
	o.State, o.Since, o.Signature = j.Openings[i].State, j.Openings[i].Since, nil
	o.Edition++
	j.put(i, o)
	var events []Event
	if was.Signature != nil {
		events = append(events, about(SignatureVoid, o).word("state", "job.state."+string(o.State)))
	}
	if was.State.atDesk() && !j.Order.Held {
		j.hold(at)
		events = append(events, j.heldBy(o))
	}
	if len(events) == 0 {
		events = append(events, e)
	}
	return j.done(who, at, events...)
}

// Settle says which of the two readings counts, or that it is to be measured
// again. The first settlement wins; who comes second is told of it by the
// refusal settled_already.
func (j Job) Settle(who Who, at time.Time, id int, reading string, pick Pick) (Job, []Event, error) {
	i, d, err := j.disputed(who, id, reading)
	if err != nil {
		return Job{}, nil, err
	}
	if d.Settled != nil {
		return Job{}, nil, settledAlready(*d.Settled)
	}
	s := Settlement{Reading: reading, By: who.stamp(at)}
	switch {
	case pick == Again:
	case pick == Mine && who.Role == Fitter, pick == Theirs && who.Role == Lead:
		s.Choice, s.Value = First, &d.First
	case pick == Mine, pick == Theirs:
		s.Choice, s.Value = Second, &d.Second
	default:
		return Job{}, nil, refuse("no_pick")
	}
	return j.settle(who, at, i, s)
}

// Reread gives the value, mm, of a reading that was to be measured again. The
// first value wins.
func (j Job) Reread(who Who, at time.Time, id int, reading string, value decimal.Decimal) (Job, []Event, error) {
	i, d, err := j.disputed(who, id, reading)
	if err != nil {
		return Job{}, nil, err
	}
	switch {
	case d.Settled == nil:
		return Job{}, nil, refuse("not_settled").word("reading", readingWord(reading))
	case d.Settled.Value != nil:
		return Job{}, nil, settledAlready(*d.Settled)
	case !value.IsPositive() && reading != "sill.fall":
		return Job{}, nil, refuse("not_positive").word("reading", readingWord(reading))
	}
	return j.settle(who, at, i, Settlement{Reading: reading, Value: &value, By: who.stamp(at)})
}

// disputed finds an opening and a reading that its two measures differ in.
func (j Job) disputed(who Who, id int, reading string) (int, Difference, error) {
	if err := j.admit(who, Fitter, Lead); err != nil {
		return 0, Difference{}, err
	}
	i, err := j.find(id)
	if err != nil {
		return 0, Difference{}, err
	}
	o := j.Openings[i]
	if o.Check == nil || o.Check.By == nil {
		return 0, Difference{}, wrongState(o, DoSettle)
	}
	for _, d := range o.Check.compare().Apart() {
		if d.Reading == reading {
			return i, d, nil
		}
	}
	return 0, Difference{}, refuse("not_apart").word("reading", readingWord(reading))
}

// settle puts a settlement in place of an earlier one of the same reading.
func (j Job) settle(who Who, at time.Time, i int, s Settlement) (Job, []Event, error) {
	o := j.Openings[i]
	c := *o.Check
	c.Settled = append(slices.DeleteFunc(slices.Clone(c.Settled), func(old Settlement) bool { return old.Reading == s.Reading }), s)
	do, kind := DoSettle, ReadingSettled
	switch {
	case s.Value == nil:
		kind = ReadingAgain
	case len(c.open()) == 0:
		do, kind = DoSettleLast, AllSettled
	}
	j, err := j.step(who, at, i, do)
	if err != nil {
		return Job{}, nil, err
	}
	j.checked(i, c)
	e := about(kind, o).word("reading", readingWord(s.Reading))
	e.Reading = s.Reading
	if s.Value != nil {
		e = e.figure("value", *s.Value)
	}
	return j.done(who, at, e)
}

func settledAlready(s Settlement) *Refusal {
	r := refuse("settled_already").word("reading", readingWord(s.Reading)).word("by", "role."+string(s.By.Role))
	if s.Value == nil {
		r.Reason = "again_already"
		return r
	}
	r.Figures = with(r.Figures, "value", *s.Value)
	return r
}

// readingWord is the catalogue key of a reading.
func readingWord(name string) string {
	if name == "sill.fall" {
		return "reading.sill_fall"
	}
	return "reading." + name
}

// Sign signs the figures of one opening: those that the two agreed on, or the
// first ones when the lead has opened them. Edition is the one that the lead
// saw; figures that were changed since are not signed.
func (j Job) Sign(who Who, at time.Time, id, edition int) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Lead)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	switch {
	case o.State == Checking && o.Check.Seen == nil:
		return Job{}, nil, refuse("look_first").say("name", o.Name)
	case o.measuredBy(who):
		return Job{}, nil, refuse("own_measure").say("name", o.Name)
	case o.State.withLead() && o.Edition != edition:
		return Job{}, nil, refuse("changed_since").say("name", o.Name)
	}
	if j, err = j.step(who, at, i, DoSign); err != nil {
		return Job{}, nil, err
	}
	if _, err := calc.Survey(o.Record.Plan.Readings()); err != nil {
		return Job{}, nil, impossible(o, err)
	}
	c := o.Check
	o = j.Openings[i]
	o.Signature = &Signature{By: who.stamp(at), Measured: c.By != nil, Blind: c.Blind, Signed: sizing(o.Record.Plan)}
	j.put(i, o)
	return j.done(who, at, about(FiguresSigned, o))
}

// Shown notes which edition of the figures the lead's chat has shown, so that a
// typed word signs no others.
func (j Job) Shown(who Who, id, edition int) (Job, error) {
	i, err := j.admitTo(id, who, Lead)
	if err != nil {
		return Job{}, err
	}
	o := j.Openings[i]
	if _, open := j.Figures(id); !open || edition > o.Edition {
		return j, nil
	}
	c := *o.Check
	c.Shown = edition
	o.Check = &c
	j.put(i, o)
	return j, nil
}

// SignShown signs the figures that the lead's chat has shown last.
func (j Job) SignShown(who Who, at time.Time, id int) (Job, []Event, error) {
	o, ok := j.Find(id)
	if !ok || o.Check == nil {
		return j.Sign(who, at, id, 0)
	}
	return j.Sign(who, at, id, o.Check.Shown)
}

// measuredBy: a second measure needs a second person.
func (o Opening) measuredBy(who Who) bool {
	return o.Measured != nil && who.Person != 0 && o.Measured.Person == who.Person
}

// impossible refuses readings that no opening can have.
func impossible(o Opening, cause error) *Refusal {
	r := refuse("readings_impossible").say("name", o.Name)
	r.Cause = cause
	return r
}

// CheckSheet is the copy of a job for the lead who is to measure again. It
// holds no figure of the first measure.
type CheckSheet struct {
	Ref     string `json:"ref"`
	Label   string `json:"label,omitempty"`   // only with the address
	Address string `json:"address,omitempty"` // only if shared
	// FirstBy is who measured, only if names are shared.
	FirstBy  string         `json:"first_by,omitempty"`
	Openings []CheckOpening `json:"openings,omitempty"`
}

// CheckOpening is one opening to be measured again: what has to be known to
// hold the tape in the right places, and no length.
type CheckOpening struct {
	ID      int         `json:"id"`
	Name    string      `json:"name"`
	Count   int         `json:"count"`
	State   State       `json:"state"`
	Finish  calc.Finish `json:"finish,omitempty"`
	NewSill bool        `json:"new_sill,omitempty"` // a sill piece goes on: if the old sill goes too, heights start under it
	Edition int         `json:"edition"`            // for Sign
	Signed  *Stamp      `json:"signed,omitempty"`
}

// CheckCopy is what the lead's chat may hold of the job: the openings that it
// was asked to check and those that it signed.
func (j Job) CheckCopy() CheckSheet {
	sheet := CheckSheet{Ref: j.Ref}
	if j.ShareAddress {
		sheet.Label, sheet.Address = j.Label, j.Address
	}
	if j.ShareNames {
		sheet.FirstBy = j.Owner.Name
	}
	for _, o := range j.Openings {
		if !o.State.withLead() && o.Signature == nil {
			continue
		}
		j.need(o)
		c := o.toCheck()
		if o.Signature != nil {
			by := o.Signature.By.forRole(Lead, j.ShareNames)
			c.Signed = &by
		}
		sheet.Openings = append(sheet.Openings, c)
	}
	return sheet
}

func (o Opening) toCheck() CheckOpening {
	return CheckOpening{
		ID: o.ID, Name: o.Name, Count: o.Count, State: o.State, Finish: o.Record.Plan.Finish,
		NewSill: o.Record.Plan.SillDepth.IsPositive(), Edition: o.Edition,
	}
}

// ToCheck is where the lead holds the tape at one opening, or why nobody is to
// measure it again: better said before than after it was measured.
func (j Job) ToCheck(who Who, id int) (CheckOpening, error) {
	i, err := j.admitTo(id, who, Lead)
	if err != nil {
		return CheckOpening{}, err
	}
	o := j.Openings[i]
	switch {
	case !o.State.withLead():
		return CheckOpening{}, wrongState(o, DoReadSame)
	case o.measuredBy(who):
		return CheckOpening{}, refuse("own_measure").say("name", o.Name)
	}
	return o.toCheck(), nil
}

// Figures is what the lead reads before signing.
type Figures struct {
	ID      int    `json:"id"`
	Name    string `json:"name"`
	Edition int    `json:"edition"` // for Sign
	Sizing  Sizing `json:"sizing"`
}

// Figures of an opening for the lead: ok is false as long as they are to be
// kept from the lead, that is until Look or Read.
func (j Job) Figures(id int) (Figures, bool) {
	o, ok := j.Find(id)
	if !ok || o.Check == nil || o.Check.Seen == nil && o.Check.By == nil {
		return Figures{}, false
	}
	return Figures{ID: o.ID, Name: o.Name, Edition: o.Edition, Sizing: sizing(o.Record.Plan)}, true
}

// Comparison sets the two measures of an opening side by side, for both; ok
// is false until the lead has measured.
func (j Job) Comparison(id int) (Comparison, bool) {
	o, ok := j.Find(id)
	if !ok || o.Check == nil || o.Check.By == nil {
		return Comparison{}, false
	}
	c := o.Check.compare()
	for k, d := range c.Differences {
		if d.Settled == nil {
			continue
		}
		s := *d.Settled
		s.By = s.By.forRole("", j.ShareNames)
		c.Differences[k].Settled = &s
	}
	return c, true
}
