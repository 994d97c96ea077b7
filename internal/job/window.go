package job

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
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
	taken  State          // where the steps led, before what follows from the figures
	was    State          // before it was deleted
	asked  int            // the entry that asked for the check
	sent   *opening.Entry // what told the desk; nil: it was not told
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

// derive works out of the record what it says. People are the names of those
// who wrote in it; the tolerance is that of the two measures.
func (o Opening) derive(people map[int64]string, tolerance decimal.Decimal) Opening {
	known := o.Said.Known()
	o.known = &known
	o.Name, o.Count = known.Value("name"), 1
	if n, err := strconv.Atoi(known.Value("count")); err == nil {
		o.Count = n
	}
	o.Version = known.Version()
	record := recordOf(&known)
	o.record = &record
	o.Check, o.Signature, o.sent, o.asked = nil, nil, nil, 0
	o.Supply = Supply{Due: known.Value("due")}
	if price, err := decimal.NewFromString(known.Value("price")); err == nil {
		o.Supply.Price = &price
	}
	o.taken, o.was, o.Since = Survey, "", time.Time{}
	f := fold{people: people, tolerance: tolerance, o: &o, settled: map[string]Settlement{}}
	o.Said.Standing(f.take)
	f.check()
	o.measured(people)
	o.State = o.stands()
	if o.State == Differing || o.State == Agreed {
		o.Since = time.Unix(f.figure, 0).UTC()
	}
	if o.taken == Signed && o.State == Checking {
		o.Check = &Check{Asked: o.Check.Asked, Known: true}
	}
	if !o.signed() {
		o.Signature = nil
	}
	return o
}

// fold takes the entries of a record one by one.
type fold struct {
	people    map[int64]string
	tolerance decimal.Decimal
	o         *Opening
	settled   map[string]Settlement
	order     []string // the settled readings, the first one first
	figure    int64    // when a reading was last given or taken back
	knows     bool     // the lead saw figures in a check that no longer counts
}

func (f *fold) take(e *opening.Entry) {
	o := f.o
	if o.Since.IsZero() {
		o.Since = time.Unix(e.At, 0).UTC()
	}
	switch e.Act {
	case opening.Step:
		f.step(e)
	case opening.Tell:
		f.tell(e)
	case opening.Agree:
		if e.Value == toldShown {
			f.sign(e)
		}
	case opening.Note:
		o.Supply.Notes = append(o.Supply.Notes, Note{stampOf(e, f.people), e.Value})
	case opening.Again:
		f.settle(e.Key, Settlement{Reading: string(e.Key), By: stampOf(e, f.people)})
	case opening.Set, opening.Clear:
		if slices.Contains(readingNames[:], e.Key) {
			f.figure = e.At
		}
		f.value(e)
	}
}

// What is told, by name. The names are storage.
const (
	toldLine  = "line"  // a line of the order, to the desk
	toldShown = "shown" // the figures, to the lead who may sign them
)

// arrived begins a step that takes the opening into a state, whatever came
// before: that of a job of the first schema.
const arrived = "at."

func (f *fold) step(e *opening.Entry) {
	o := f.o
	do, before := Action(e.Value), o.taken
	state, set := strings.CutPrefix(e.Value, arrived)
	switch {
	case set:
		o.taken = State(state)
	case do == DoDelete:
		o.was, o.taken = o.taken, Deleted
	case do == DoUndo:
		o.taken = o.was
		if next, ok := after(o.was, do); ok {
			o.taken = next
		}
	default:
		if next, ok := after(o.taken, do); ok {
			o.taken = next
		}
	}
	if o.taken != before {
		o.Since = time.Unix(e.At, 0).UTC()
	}
	f.follow(e, do, before)
}

// follow is what a step does to the check, the signature and the supply.
func (f *fold) follow(e *opening.Entry, do Action, before State) {
	o, by := f.o, stampOf(e, f.people)
	f.knows = f.knows || o.Check.seen()
	switch do {
	case DoAskCheck:
		o.Check, o.Signature, o.asked = &Check{Asked: by, Known: f.knows}, nil, e.Seq
		f.settled, f.order = map[string]Settlement{}, nil
	case DoWithdrawCheck:
		o.Check = nil
	case DoLook:
		if o.Check != nil && o.Check.Seen == nil {
			o.Check.Seen = &by
		}
	case DoReadSame, DoReadApart:
		if o.Check != nil {
			o.Check.Blind = o.Check.By == nil && o.Check.Seen == nil && !o.Check.Known
			o.Check.By = &by
		}
	case DoMeasure:
		o.Signature = nil
		switch {
		case before == Signed && o.Check != nil:
			o.Check = &Check{Asked: o.Check.Asked, Known: true}
			o.asked = e.Seq
		case before.atDesk() || before == Changed:
			o.Check = nil
		}
	case DoConfirm:
		o.Supply.Confirmed = &Confirmation{by, e.Of}
	}
}

func (f *fold) tell(e *opening.Entry) {
	switch {
	case e.Value == toldLine:
		f.o.sent = e
	case e.Value == toldShown && f.o.Check != nil && e.Told != nil:
		f.o.Check.Shown = e.Told.Version
	}
}

func (f *fold) sign(e *opening.Entry) {
	s := &Signature{By: stampOf(e, f.people)}
	if c := f.o.Check; c != nil {
		s.Measured, s.Blind = c.By != nil, c.Blind
	}
	if e.Told != nil {
		s.Told = *e.Told
	}
	f.o.Signature = s
}

// value follows what was settled between the two measures.
func (f *fold) value(e *opening.Entry) {
	if e.How != opening.Settled {
		return
	}
	if e.Act == opening.Clear {
		delete(f.settled, string(e.Key))
		return
	}
	value, err := decimal.NewFromString(e.Value)
	if err != nil {
		return
	}
	f.settle(e.Key, Settlement{Reading: string(e.Key), Value: &value, By: stampOf(e, f.people)})
}

func (f *fold) settle(key opening.Key, s Settlement) {
	if _, again := f.settled[string(key)]; !again {
		f.order = append(f.order, string(key))
	}
	f.settled[string(key)] = s
}

// check fills the two measures in.
func (f *fold) check() {
	c := f.o.Check
	if c == nil || c.By == nil {
		return
	}
	first, second := f.o.Said.Measures(f.o.asked)
	c.First, c.Second = first.Opening().Readings(), readingsOf(&second)
	c.Tolerance = f.tolerance
	for _, key := range f.order {
		if s, ok := f.settled[key]; ok {
			c.Settled = append(c.Settled, s)
		}
	}
}

// readingsOf are the readings as they were given, one diagonal by itself too.
func readingsOf(k *opening.Known) calc.Readings {
	var r calc.Readings
	for _, name := range readingNames {
		if !k.Given(opening.Key(name)) {
			continue
		}
		if d, err := decimal.NewFromString(k.Value(opening.Key(name))); err == nil {
			r = withValue(r, name, d)
		}
	}
	return r
}

// measured works out who gave the readings.
func (o *Opening) measured(people map[int64]string) {
	var last *opening.Entry
	copied := 0
	o.Measured, o.CopiedFrom = nil, 0
	for i, name := range readingNames {
		e := o.known.Entry(opening.Key(name))
		if e == nil || e.Value == opening.Skipped {
			continue
		}
		if e.How != opening.Settled && (last == nil || e.Seq > last.Seq) {
			last = e
		}
		switch {
		case e.How != opening.Copied:
			copied = -1
		case copied >= 0 && i < len(readingNames)-optionalReadings:
			copied = e.Of
		}
	}
	if last != nil {
		by := stampOf(last, people)
		o.Measured = &by
	}
	o.CopiedFrom = max(copied, 0)
}

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
	}
	return o.taken
}

// signed says whether the lead's signature is of what is known now.
func (o Opening) signed() bool {
	s := o.Signature
	if s == nil || s.Told.Version != o.Version && s.Told.Version != "" {
		return false
	}
	return s.Told.Rules == plan.Rules || s.Told.Figures == figuresOf(o.Record().Plan)
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
	return err == nil && told.Figures == storedLine(line)
}

// figuresOf are what the lead is told: the order size, as JSON.
func figuresOf(p plan.Opening) string {
	order, err := calc.OrderSize(p.OrderRequest(calc.DefaultSettings()))
	if err != nil {
		return ""
	}
	raw, err := json.Marshal(order.Size)
	if err != nil {
		return ""
	}
	return string(raw)
}

func storedLine(l Line) string {
	raw, err := json.Marshal(l)
	if err != nil {
		return ""
	}
	return string(raw)
}

// Told is the line as the desk was told it; ok is false when it was not.
func (o Opening) Told() (l Line, ok bool) {
	if o.sent == nil || o.sent.Told == nil {
		return Line{}, false
	}
	err := json.Unmarshal([]byte(o.sent.Told.Figures), &l)
	return l, err == nil
}

// stampOf is who wrote an entry.
func stampOf(e *opening.Entry, people map[int64]string) Stamp {
	return Stamp{Role: Role(e.Role), Name: people[e.By], Person: e.By, At: time.Unix(e.At, 0).UTC()}
}

// writes is the stamp of the entries that who writes.
func (w Who) writes(at time.Time) opening.Stamp {
	return opening.Stamp{By: w.Person, Role: opening.Role(w.Role), At: at.Unix(), Msg: w.Msg, Turn: w.Turn}
}

func (j Job) derive(o Opening) Opening { return o.derive(j.People, j.Settings.Tolerance) }

// write puts entries into the record of the opening at place i.
func (j *Job) write(who Who, at time.Time, i int, entries ...opening.Entry) {
	o := j.Openings[i]
	if j.need(o) {
		return
	}
	o.Said = o.Said.Put(who.writes(at), entries...)
	j.meet(who)
	j.put(i, o)
}

// put puts an opening with another record in its place.
func (j *Job) put(i int, o Opening) {
	j.Openings = slices.Clone(j.Openings)
	j.Openings[i] = j.derive(o)
	j.supersede()
}

// meet keeps the name of somebody who writes.
func (j *Job) meet(who Who) {
	name, err := words(who.Name, longestLabel)
	if err != nil || name == "" || j.People[who.Person] == name {
		return
	}
	j.People = with(j.People, who.Person, name)
}

// supersede works out whether the revision still stands. Nothing counts as
// confirmed that was confirmed in another one, or while a line was changed.
func (j *Job) supersede() {
	j.Order.Held = j.heldBy(func(o Opening) State { return o.stands() })
	for i := range j.Openings {
		o := &j.Openings[i]
		o.State = o.stands()
		if o.State == Confirmed && (j.Order.Held || o.Supply.Confirmed == nil || o.Supply.Confirmed.Revision != j.Order.Revision) {
			o.State = Ordered
		}
	}
}

// heldBy says whether an opening of the order is no longer with the desk, by
// its state as stateOf tells it.
func (j Job) heldBy(stateOf func(Opening) State) bool {
	here := 0
	for i := range j.Openings {
		if !slices.Contains(j.Order.On, j.Openings[i].ID) {
			continue
		}
		if s := stateOf(j.Openings[i]); !s.atDesk() && !s.made() {
			return true
		}
		here++
	}
	return here < len(j.Order.On)
}

// heldSaid says whether the desk was told that the revision no longer stands.
func (j Job) heldSaid() bool { return j.heldBy(func(o Opening) State { return o.taken }) }

func stepEntry(do Action) opening.Entry { return opening.Entry{Act: opening.Step, Value: string(do)} }

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
	default:
		do = DoSupersede
	}
	return []opening.Entry{stepEntry(do)}
}

// after is the state that an action leads to, whoever may do it.
func after(s State, do Action) (State, bool) {
	for _, role := range []Role{Fitter, Lead, Desk} {
		if next, ok := Next(s, do, role); ok {
			return next, true
		}
	}
	return "", false
}
