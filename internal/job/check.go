package job

import (
	"cmp"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// Pick is how somebody settles a reading that the measures differ in.
type Pick string

// The ways to settle.
const (
	Mine   Pick = "mine"
	Theirs Pick = "theirs" // of two measures the other one
	Figure Pick = "figure" // that which is named, whoever measured it; see SettleAt
	Again  Pick = "again"  // to be measured again; see Reread
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
	events := append(held, asked)
	for _, id := range ids {
		if o, _ := j.Find(id); len(o.Check.Leads) > 0 { // measured before it was asked
			events = append(events, o.compared())
		}
	}
	return j.done(who, at, events...)
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

// Look opens the figures to one lead, who can then sign them. What that lead
// measures afterwards is not blind. Figures gives them.
func (j Job) Look(who Who, at time.Time, id int) (Job, []Event, error) {
	return j.take(who, at, id, DoLook, func(o Opening) Event {
		e := about(FiguresOpened, o)
		e.To = []Recipient{{who.Chat, Lead}}
		return e
	})
}

// compared tells how the measures of an opening stand to each other.
func (o Opening) compared() Event {
	if open := len(o.Check.open()); open > 0 {
		return about(ReadingsDiffer, o).num("count", open)
	}
	return about(ReadingsAgree, o)
}

// Settle says which of two readings counts, or that it is to be measured again.
// The first settlement wins; who comes second is told of it by the refusal
// settled_already. Where there are more than two figures, theirs is none: see
// SettleAt.
func (j Job) Settle(who Who, at time.Time, id int, reading string, pick Pick) (Job, []Event, error) {
	i, d, err := j.disputed(who, id, reading)
	if err != nil {
		return Job{}, nil, err
	}
	if d.Settled != nil {
		return Job{}, nil, settledAlready(*d.Settled)
	}
	s := Settlement{Reading: reading, By: who.stamp(at)}
	mine, theirs := j.sides(d, who, i)
	switch {
	case pick == Again:
	case pick == Mine && mine != nil:
		s.Value = mine
	case pick == Theirs && len(theirs) == 1:
		s.Value = &theirs[0]
	case pick == Mine, pick == Theirs:
		return Job{}, nil, refuse("which_figure").word("reading", readingWord(reading))
	default:
		return Job{}, nil, refuse("no_pick")
	}
	return j.settle(who, at, i, s)
}

// SettleAt settles a reading at one of the figures, mm, that were measured.
func (j Job) SettleAt(who Who, at time.Time, id int, reading string, value decimal.Decimal) (Job, []Event, error) {
	i, d, err := j.disputed(who, id, reading)
	if err != nil {
		return Job{}, nil, err
	}
	if d.Settled != nil {
		return Job{}, nil, settledAlready(*d.Settled)
	}
	measured := slices.ContainsFunc(d.All(), func(v *decimal.Decimal) bool { return v != nil && v.Equal(value) })
	if !measured {
		return Job{}, nil, refuse("which_figure").word("reading", readingWord(reading))
	}
	return j.settle(who, at, i, Settlement{Reading: reading, Value: &value, By: who.stamp(at)})
}

// Sides are the value of a difference of a window that is who's own, nil for none,
// and the values of the others, each once.
func (j Job) Sides(id int, d Difference, who Who) (mine *decimal.Decimal, theirs []decimal.Decimal) {
	i, err := j.find(id)
	if err != nil {
		return nil, nil
	}
	return j.sides(d, who, i)
}

func (j Job) sides(d Difference, who Who, i int) (mine *decimal.Decimal, theirs []decimal.Decimal) {
	own := j.Openings[i].Check.place(who)
	for k, v := range d.All() {
		switch {
		case v == nil:
		case k == own:
			mine = v
		case !slices.ContainsFunc(theirs, v.Equal):
			theirs = append(theirs, *v)
		}
	}
	return mine, theirs
}

// place is that of somebody's measure in a comparison; -1 for none.
func (c *Check) place(who Who) int {
	if who.Role == Fitter {
		return 0
	}
	if i := slices.IndexFunc(c.Leads, func(m Measure) bool { return m.By.Person == who.Person }); i >= 0 {
		return i + 1
	}
	return -1
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
	switch {
	case o.Check == nil || len(o.Check.Leads) == 0:
		return 0, Difference{}, wrongState(o, DoSettle)
	case who.Role == Lead && !o.Check.sees(who.Person): // the answer would tell of figures
		return 0, Difference{}, refuse("look_first").say("name", o.Name)
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
	case o.measuredBy(who):
		return Job{}, nil, refuse("own_measure").say("name", o.Name)
	case o.State.withLead() && !o.Check.sees(who.Person):
		return Job{}, nil, refuse("look_first").say("name", o.Name)
	case o.State == Differing:
		return Job{}, nil, refuse("sign_open").say("name", o.Name).row("readings", o.Check.openWords())
	case o.State.withLead() && o.Version != version:
		return Job{}, nil, refuse("changed_since").say("name", o.Name)
	}
	if _, err := calc.Survey(o.Record().Plan.Readings()); err != nil {
		return Job{}, nil, impossible(o, err)
	}
	if lacks := o.Lacks(); len(lacks) > 0 { // the fitter is about to give another answer
		return Job{}, nil, refuse("incomplete").say("name", o.Name).num("count", len(lacks))
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
	o, open := j.Figures(who.Chat, id)
	who.Person = j.person(who.Chat)
	if !open || version != o.Version || o.Check.shown(who.Person) == version {
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
	return j.Sign(who, at, id, o.Check.shown(who.Person))
}

// shown is the version that a person was shown last. Records of before did not say
// who.
func (c *Check) shown(person int64) string { return cmp.Or(c.Shown[person], c.Shown[0]) }

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
	case !o.State.withLead() && !o.rechecks(who.Person):
		return CheckOpening{}, wrongState(o, DoReadSame)
	case o.measuredBy(who):
		return CheckOpening{}, refuse("own_measure").say("name", o.Name)
	}
	return o.toCheck(), nil
}

// Figures is the opening for the lead of a chat, who reads its figures before
// signing: ok is false as long as they are to be kept from that lead, that is
// until Look or Read.
func (j Job) Figures(chat int64, id int) (o Opening, ok bool) {
	o, ok = j.Find(id)
	if !ok || o.Check == nil || !j.Sees(chat, id) || len(o.Check.Looked)+len(o.Check.Leads) == 0 {
		return Opening{}, false
	}
	return o, true
}

// Comparison sets the measures of an opening side by side for a chat; ok is false
// until a lead has measured, and for a lead who has seen no figures yet.
func (j Job) Comparison(chat int64, id int) (Comparison, bool) {
	o, ok := j.Find(id)
	if !ok || o.Check == nil || len(o.Check.Leads) == 0 || !j.Sees(chat, id) {
		return Comparison{}, false
	}
	c := o.Check.compare()
	who := Who{Person: j.person(chat), Role: Lead}
	if chat == j.Owner.Chat {
		who.Role = Fitter
	}
	c.Own = o.Check.place(who)
	for k := range c.Leads {
		c.Leads[k].By = c.Leads[k].By.forRole("", j.ShareNames)
	}
	for k, d := range c.Differences {
		if d.Settled == nil {
			continue
		}
		s := *d.Settled
		s.Place = o.Check.place(Who{Person: s.By.Person, Role: s.By.Role})
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
