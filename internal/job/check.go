package job

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// Pick is how somebody settles a reading that the two measures differ in.
type Pick string

// The three ways to settle.
const (
	Mine   Pick = "mine"
	Theirs Pick = "theirs"
	Again  Pick = "again" // to be measured again; see Reread
)

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
		was := j.Openings[i]
		if was.unmeasured() {
			return Job{}, nil, refuse("not_measured").say("name", was.Name)
		}
		heldBefore := j.heldSaid()
		if j, err = j.step(who, at, i, DoAskCheck); err != nil {
			return Job{}, nil, err
		}
		if was.State.atDesk() && !heldBefore {
			taken := j.heldEvent(was)
			taken.Kind = LineTakenBack
			held = append(held, taken)
		}
	}
	asked := Event{Kind: CheckAsked, Openings: slices.Clone(ids)}.num("count", len(ids))
	return j.done(who, at, append(held, asked)...)
}

// checkable are the measured openings that the lead may be asked to check and
// has not signed.
func (j Job) checkable() []int {
	var ids []int
	for _, o := range j.Openings {
		_, ok := Next(o.State, DoAskCheck, Fitter)
		j.need(o)
		if ok && !o.State.atDesk() && o.Signature == nil && !o.unmeasured() {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// WithdrawCheck does without the second measure of an opening. What the lead
// has measured is dropped.
func (j Job) WithdrawCheck(who Who, at time.Time, id int) (Job, []Event, error) {
	return j.take(who, at, id, DoWithdrawCheck, plain(CheckWithdrawn))
}

// Look opens the first figures to the lead, who can then sign them. What is
// measured afterwards is not blind. Figures gives them.
func (j Job) Look(who Who, at time.Time, id int) (Job, []Event, error) {
	return j.take(who, at, id, DoLook, plain(FiguresOpened))
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
	if o.unmeasured() {
		return Job{}, nil, refuse("not_measured").say("name", o.Name)
	}
	return j.take(who, at, id, DoReadSame, func(o Opening) Event {
		if open := len(o.Check.open()); open > 0 {
			return about(ReadingsDiffer, o).num("count", open)
		}
		return about(ReadingsAgree, o)
	}, append(o.Check.readAgain(r), stepEntry(DoReadSame))...)
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
		s.Value = &d.First
	case pick == Mine, pick == Theirs:
		s.Value = &d.Second
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

// settle writes a settlement over an earlier one of the same reading.
func (j Job) settle(who Who, at time.Time, i int, s Settlement) (Job, []Event, error) {
	j, err := j.step(who, at, i, DoSettle, s.entry())
	if err != nil {
		return Job{}, nil, err
	}
	kind := ReadingSettled
	switch {
	case s.Value == nil:
		kind = ReadingAgain
	case j.Openings[i].State == Agreed:
		kind = AllSettled
		j.write(who, at, i, stepEntry(DoSettleLast))
	}
	e := about(kind, j.Openings[i]).word("reading", readingWord(s.Reading))
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
// first ones when the lead has opened them. Version is the one that the lead
// saw; figures that were changed since are not signed.
func (j Job) Sign(who Who, at time.Time, id int, version string) (Job, []Event, error) {
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
	case o.State.withLead() && o.Version != version:
		return Job{}, nil, refuse("changed_since").say("name", o.Name)
	}
	if _, err := calc.Survey(o.Record().Plan.Readings()); err != nil {
		return Job{}, nil, impossible(o, err)
	}
	signed := opening.Entry{Act: opening.Agree, Value: toldShown, Told: telling(o.Version, o.figures())}
	return j.take(who, at, id, DoSign, plain(FiguresSigned), signed, stepEntry(DoSign))
}

// Shown notes which version of the figures the lead's chat has shown, so that a
// typed word signs no others.
func (j Job) Shown(who Who, at time.Time, id int, version string) (Job, error) {
	i, err := j.admitTo(id, who, Lead)
	if err != nil {
		return Job{}, err
	}
	o, open := j.Figures(id)
	if !open || version != o.Version || o.Check.Shown == version {
		return j, nil
	}
	j.write(who, at, i, opening.Entry{Act: opening.Tell, Value: toldShown, Told: telling(version, o.figures())})
	return j, nil
}

// SignShown signs the figures that the lead's chat has shown last.
func (j Job) SignShown(who Who, at time.Time, id int) (Job, []Event, error) {
	o, ok := j.Find(id)
	if !ok || o.Check == nil {
		return j.Sign(who, at, id, "")
	}
	return j.Sign(who, at, id, o.Check.Shown)
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
		ID: o.ID, Name: o.Name, Count: o.Count, State: o.State, Finish: o.Record().Plan.Finish,
		NewSill: o.Record().Plan.SillDepth.IsPositive(),
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

// Figures is the opening for the lead, who reads its figures before signing: ok
// is false as long as they are to be kept from the lead, that is until Look or
// Read.
func (j Job) Figures(id int) (o Opening, ok bool) {
	o, ok = j.Find(id)
	if !ok || o.Check == nil || o.Check.Seen == nil && o.Check.By == nil {
		return Opening{}, false
	}
	return o, true
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

// noneToCheck is why no check can be asked for without naming an opening.
func (j Job) noneToCheck() *Refusal {
	for _, o := range j.Openings {
		if o.State.atDesk() && o.Signature == nil {
			return refuse("at_desk").say("name", o.Name).num("n", o.ID)
		}
	}
	return refuse("nothing_to_check")
}
