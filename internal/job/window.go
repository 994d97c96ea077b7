package job

import (
	"encoding/json"
	"strconv"
	"time"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// Opening is one opening of the job, or several that are alike. Its number and
// its record are all that is stored; the rest is worked out of them, see
// derive.
type Opening struct {
	ID   int            `json:"id"` // never used again in this job
	Said opening.Record `json:"said"`

	Name  string `json:"-"`
	Count int    `json:"-"`
	// Version names the values that a signature covers. Who signs says which
	// one was seen.
	Version string    `json:"-"`
	State   State     `json:"-"`
	Since   time.Time `json:"-"` // when it came into its state
	// Measured is who last gave a reading.
	Measured *Stamp `json:"-"`
	// CopiedFrom is the opening whose readings these still are; 0 when one of
	// them was taken here.
	CopiedFrom int        `json:"-"`
	Check      *Check     `json:"-"`
	Signature  *Signature `json:"-"`
	Supply     Supply     `json:"-"`

	known  *opening.Known
	record *Record
	taken  State // where the steps led, before what follows from the figures
	was    State // before it was deleted
	asked  int   // the entry that asked for the check
	// customer is what was shown to the customer, and what came of it.
	customer customer
	// questions is how many of the desk wait for an answer.
	questions int
	sent      *opening.Entry // what told the desk; nil: it was not told
	made      pieces         // those that are here; nil: none, or all as the window
	remade    *opening.Entry // the line that it is made again by; nil: it is no remake
	accepted  []accepted     // points that were taken on
	// confirmedOf is the entry that told the line which was confirmed last.
	confirmedOf int
	// absent is the row of a window that is not loaded: all that is known of
	// it here is what the row says. Nil: it is loaded.
	absent *Row
}

// Known is what is known of the opening.
func (o Opening) Known() opening.Known {
	if o.known == nil {
		return opening.Known{}
	}
	return *o.known
}

// Binned is a deleted opening and the place it had in the list.
type Binned struct {
	Opening Opening
	Place   int
	Seq     int // of the event that told of it
}

// What is told, by name. The names are storage.
const (
	toldLine  = "line"  // a line of the order, to the desk
	toldShown = "shown" // the figures, to the lead who may sign them
	// toldRemake is the line of another window that is made once more.
	toldRemake = "remake"
	// toldAgainst is what somebody takes on, by an entry that agrees to it.
	toldAgainst = "against"
)

// arrived begins a step that takes the opening into a state, whatever came
// before: that of a job of the first schema.
const arrived = "at."

// stands is the state that the figures leave the opening in: steps lead to one,
// and what was said since may undo what they stood for.
func (o Opening) stands() State {
	switch {
	case o.absent != nil:
		return o.absent.State
	case o.taken == Differing || o.taken == Agreed:
		if o.Check != nil && len(o.Check.open()) > 0 {
			return Differing
		}
		return Agreed
	case o.taken == Signed && !o.signed():
		return Checking
	case o.taken.atDesk() && !o.asTold():
		return Changed
	case o.taken == Ordered || o.taken == Queried:
		return o.waiting()
	}
	return o.taken
}

// waiting is the state of a line that the desk has and has not confirmed.
func (o Opening) waiting() State {
	if o.questions > 0 {
		return Queried
	}
	return Ordered
}

// signed says whether the lead's signature is of what is known now.
func (o Opening) signed() bool {
	s := o.Signature
	if s == nil || s.Told.Version != o.Version && s.Told.Version != "" {
		return false
	}
	return s.Told.Rules == plan.Rules || s.Told.Figures == o.figures()
}

// asTold says whether the desk was told what is known now.
func (o Opening) asTold() bool {
	if o.sent == nil || o.sent.Told == nil {
		return o.sent == nil
	}
	told := o.sent.Told
	if told.Rules == plan.Rules {
		return told.Version == o.Version
	}
	line, err := o.line(calc.DefaultSettings())
	before, ok := o.Told()
	line.Name = before.Name // a name makes no other window
	return err == nil && ok && before.agreed() == line.agreed()
}

// Told is the line as the desk was told it; ok is false when it was not.
func (o Opening) Told() (l Line, ok bool) {
	if o.sent == nil || o.sent.Told == nil {
		return Line{}, false
	}
	err := json.Unmarshal([]byte(o.sent.Told.Figures), &l)
	return l, err == nil
}

// caughtUp are the steps that take the record from where its steps led to where
// the opening stands, so that a further one can follow.
func (o Opening) caughtUp() []opening.Entry {
	var do Action
	switch {
	case o.taken == o.State:
		return nil
	case o.taken == Signed:
		do = DoMeasure
	case o.State == Changed:
		do = DoDescribe
	case o.State == Agreed:
		do = DoMeasureSame
	case o.State == Differing:
		do = DoMeasureApart
	default: // asked about or answered; or confirmed, of an order that is held, which loses nothing
		return nil
	}
	return []opening.Entry{stepEntry(do)}
}

// Record is what the survey of the opening says.
func (o Opening) Record() Record {
	if o.record == nil {
		return Record{}
	}
	return *o.record
}

// line works out the line of the opening. The error is what plan.Make gives.
func (o Opening) line(s calc.Settings) (Line, error) {
	if line, ok := o.madeAgain(); ok {
		return line, nil
	}
	return NewLine(Line{Opening: o.ID, Name: o.Name, Quantity: o.Count}, o.Record(), s)
}

// figures are what the lead is told: the order size, as it is stored.
func (o Opening) figures() string {
	order, err := calc.OrderSize(o.Record().Plan.OrderRequest(calc.DefaultSettings()))
	if err != nil {
		return ""
	}
	return stored(order.Size)
}

// RemakeOf is the number of the window that this one is made again for, 0 for
// none.
func (o Opening) RemakeOf() int {
	if o.remade == nil {
		return 0
	}
	return o.remade.Of
}

// madeAgain is the line of a remake: the one that was ordered, as long as nothing
// was said otherwise since.
func (o Opening) madeAgain() (l Line, ok bool) {
	if o.remade == nil || o.remade.Told == nil || o.remade.Told.Version != o.Version {
		return Line{}, false
	}
	if err := json.Unmarshal([]byte(o.remade.Told.Figures), &l); err != nil {
		return Line{}, false
	}
	l.Opening, l.Name, l.Quantity = o.ID, o.Name, o.Count
	return l, true
}

// Lacks names what has to be known before the window can be ordered and is
// not, in the order of the survey.
func (o Opening) Lacks() []string {
	known := o.Known()
	return known.Lacks()
}

// unmeasured says whether a width or a height was not taken.
func (o Opening) unmeasured() bool {
	known := o.Known()
	return !known.Given(opening.Widths[:]...) || !known.Given(opening.Heights[:]...)
}

// measuredBy: a second measure needs a second person.
func (o Opening) measuredBy(who Who) bool {
	return o.Measured != nil && who.Person != 0 && o.Measured.Person == who.Person
}

// opening is what the row says of a window that is not loaded.
func (r Row) opening() Opening {
	o := Opening{ID: r.ID, Name: r.Name, Count: r.Count, State: r.State, Supply: Supply{Due: r.Due}, taken: r.taken, questions: r.Questions, made: r.made, absent: &r}
	if r.Signed != nil {
		o.Signature = &Signature{By: *r.Signed}
	}
	switch c := &(Confirmation{Revision: r.confirmed}); {
	case r.Told:
		o.Supply.Told = c
	case r.confirmed != 0:
		o.Supply.Confirmed = c
	}
	return o
}

// wrongState refuses an action that the table doesn't have. Each action has
// its own sentence, which says what has to come first.
func wrongState(o Opening, do Action) *Refusal {
	reason := do
	switch do {
	case DoMeasureSame, DoMeasureApart, DoMeasure:
		reason = DoDescribe
	case DoReadSame, DoReadApart, DoReadLate:
		reason = "read"
	case DoSettleLast:
		reason = DoSettle
	}
	return refuse(string(reason)).say("name", o.Name).num("n", o.ID).word("state", o.stateKey())
}

// incomplete is that a window lacks answers, unplanned that no plan can be made of it.
func (o Opening) incomplete(lacks []string) *Refusal {
	return refuse("incomplete").say("name", o.Name).num("count", len(lacks))
}

func (o Opening) unplanned(err error) *Refusal {
	r := refuse("no_plan").say("name", o.Name)
	r.Cause = err
	return r
}

// OnlyTold says whether the line is confirmed, and not by the desk itself.
func (o Opening) OnlyTold() bool {
	own, told := o.Supply.standing()
	return o.State == Confirmed && own == nil && told != nil
}

// StateText is where the opening stands, in words.
func (o Opening) StateText() phrase.Text { return phrase.Of(o.stateKey()) }

func (o Opening) stateKey() string {
	if o.OnlyTold() {
		return "job.state.told"
	}
	return "job.state." + string(o.State)
}

// agreed is the line as it was told, which a confirmation is of.
func (o Opening) agreed() []opening.Entry {
	e := opening.Entry{Act: opening.Agree, Value: toldLine}
	if o.sent != nil {
		e.Of = o.sent.Seq
	}
	return []opening.Entry{e}
}

// rechecks says whether a lead who has not measured what is signed may still do so.
func (o Opening) rechecks(person int64) bool {
	return o.State == Signed && o.Check != nil && o.Check.own(person) == nil
}

// countOf is how many windows alike there are.
func countOf(known *opening.Known) int {
	if n, err := strconv.Atoi(known.Value("count")); err == nil {
		return n
	}
	return 1
}
