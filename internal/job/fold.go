package job

import (
	"encoding/json"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// derive works out of the record what it says. People are the names of those
// who wrote in it; the tolerance is that of the two measures.
func (o Opening) derive(people map[int64]string, tolerance decimal.Decimal) Opening {
	known := o.Said.Known()
	o.known = &known
	o.Name, o.Count = known.Value("name"), countOf(&known)
	o.Version = known.Version()
	record := recordOf(&known)
	o.record = &record
	o.Check, o.Signature, o.sent, o.asked, o.made, o.remade, o.accepted = nil, nil, nil, 0, nil, nil, nil
	o.customer = customer{}
	o.confirmedOf = 0
	o.Supply = Supply{Due: known.Value("due")}
	if price, err := decimal.NewFromString(known.Value("price")); err == nil {
		o.Supply.Price = &price
	}
	o.taken, o.was, o.Since = Survey, "", time.Time{}
	f := fold{people: people, tolerance: tolerance, o: &o}
	o.Said.Standing(f.take)
	f.check()
	o.measured(people)
	o.questions = len(o.Supply.Open())
	o.State = o.stands()
	if o.State == Differing || o.State == Agreed {
		o.Since = time.Unix(f.figure, 0).UTC()
	}
	if o.taken == Signed && o.State == Checking {
		o.Check = &Check{Asked: o.Check.Asked, Known: f.seen}
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
	settled   []Settlement
	figure    int64      // when a reading was last given or taken back
	seen      []int64    // the people who saw figures of the opening, each once
	from      int        // the entry after which the leads' readings count for the check
	late      []Measurer // of measures that came while none was asked for
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
		switch e.Value {
		case toldShown:
			f.sign(e)
		case toldCustomer:
			f.customer(e)
		case toldAgainst:
			f.agree(e)
		}
	case opening.Note:
		o.Supply.Notes = append(o.Supply.Notes, Note{By: stampOf(e, f.people), Words: e.Value, Told: e.How == bySupplier})
	case opening.Again:
		f.settle(Settlement{Reading: e.Key, By: stampOf(e, f.people)})
	case opening.Set, opening.Clear:
		if slices.Contains(opening.ReadingKeys, e.Key) {
			f.figure = e.At
		}
		f.value(e)
	}
}

func (f *fold) step(e *opening.Entry) {
	o := f.o
	do, before := Action(e.Value), o.taken
	state, set := strings.CutPrefix(e.Value, arrived)
	switch {
	case set:
		o.taken = State(state)
		if o.taken == Queried { // the last sentence of the desk is what it waits for
			o.Supply.ask()
		}
		f.setMade(o.taken)
	case do == DoDelete:
		o.was, o.taken = o.taken, Deleted
	case do == DoUndo, do == DoRestore:
		o.taken = o.was
		if next, ok := after(o.was, do); ok {
			o.taken = next
		}
	case do == DoReject && o.made != nil:
		if delete(o.made, Delivered); len(o.made) == 0 { // all that are not in the wall yet
			o.made = nil // as it is stored
		}
		f.far(Ordered)
	case do.byPiece():
		f.pieces(do, e.Of)
	default:
		if next, ok := after(o.taken, do); ok {
			o.taken = next
		}
		if do == DoAskCheck && len(f.late) > 0 {
			o.taken = Agreed // stands says whether they do
		}
	}
	if o.taken != before {
		o.Since = time.Unix(e.At, 0).UTC()
	}
	asked := len(o.Supply.Open())
	f.follow(e, do, before)
	if (asked > 0) != (len(o.Supply.Open()) > 0) { // with the desk it waits for another now
		o.Since = time.Unix(e.At, 0).UTC()
	}
}

// pieces takes n pieces of the window through an action, all that stand where it
// begins for 0.
func (f *fold) pieces(do Action, n int) {
	o := f.o
	o.State = o.taken // what takes looks at
	from, count, to := o.takes(do)
	if count == 0 {
		return
	}
	if n > 0 {
		count = min(n, count)
	}
	if o.made == nil {
		o.made = pieces{}
	}
	if from.made() {
		if o.made[from] -= count; o.made[from] == 0 {
			delete(o.made, from) // as it is stored
		}
	}
	o.made[to] += count
	f.far(o.taken)
}

// far is the state of the least far piece: before, where some are not here yet.
func (f *fold) far(before State) {
	o := f.o
	if o.Count > o.made.sum() {
		o.taken = before
		return
	}
	for _, s := range States {
		if o.made[s] > 0 {
			o.taken = s
			return
		}
	}
}

// setMade notes the pieces of a window of before, which moved together.
func (f *fold) setMade(s State) {
	f.o.made = nil
	if s.made() {
		f.o.made = pieces{s: f.o.Count}
	}
}

// follow is what a step does to the check, the signature and the supply.
func (f *fold) follow(e *opening.Entry, do Action, before State) {
	o, by := f.o, stampOf(e, f.people)
	switch do {
	case DoAskCheck:
		o.Check, o.Signature, o.asked, f.from = &Check{Asked: by, Known: f.seen}, nil, e.Seq, e.Seq
		f.settled = nil
		for _, m := range f.late {
			o.Check.sent(m)
			f.from, f.figure = 0, e.At // from now on they are compared
		}
		f.late = nil
	case DoWithdrawCheck:
		o.Check = nil
	case DoLook:
		f.look(by)
	case DoReadSame, DoReadApart, DoReadLate:
		f.read(by, do)
		if do == DoReadApart {
			o.Signature = nil
		}
	case DoMeasure:
		o.Signature = nil
		switch {
		case before == Signed && o.Check != nil:
			o.Check = &Check{Asked: o.Check.Asked, Known: f.seen}
			o.asked, f.from = e.Seq, e.Seq
		case before.atDesk() || before == Changed:
			o.Check = nil
		}
	case DoConfirm:
		o.Supply.Confirmed = &Confirmation{by, e.Of, heardOf(e.Typed)}
		f.confirms()
	case DoConfirmTold:
		o.Supply.Told = &Confirmation{by, e.Of, heardOf(e.Typed)}
		f.confirms()
	case DoStandConfirmed:
		f.confirms()
	case DoUntell:
		o.Supply.Told = nil
	case DoQuery:
		o.Supply.Confirmed, o.Supply.Told = nil, nil
		o.Supply.ask()
	case DoAnswer:
		o.Supply.close(e.Of, false)
		if last := len(o.Supply.Notes) - 1; last >= 0 {
			o.Supply.Notes[last].Answers = e.Of
		}
	case DoWithdrawQuery:
		o.Supply.close(e.Of, true)
	case DoReject:
		o.Supply.Confirmed, o.Supply.Told = nil, nil
	}
}

// confirms notes that what the desk was told last is what was confirmed.
func (f *fold) confirms() {
	if f.o.sent != nil {
		f.o.confirmedOf = f.o.sent.Seq
	}
}

// look opens the figures to somebody. A job of the first schema did not say who
// had looked in an earlier check: there it stands before the check, by the fitter.
func (f *fold) look(by Stamp) {
	if c := f.o.Check; c != nil && !slices.ContainsFunc(c.Looked, func(s Stamp) bool { return s.Person == by.Person }) {
		c.Looked = append(c.Looked, by)
	}
	f.sees(by)
}

// read takes a lead's readings that were sent.
func (f *fold) read(by Stamp, do Action) {
	m := Measurer{by, !f.saw(by)}
	f.sees(by)
	waits := f.o.taken == Deleted && f.o.was.withLead() // for it to be restored
	switch {
	case do == DoReadLate && !waits:
		f.late = slices.DeleteFunc(f.late, func(old Measurer) bool { return old.By.Person == by.Person })
		f.late = append(f.late, m)
	case f.o.Check != nil:
		f.o.Check.sent(m)
		if waits {
			f.o.was = Agreed // stands says whether they do
		}
	}
}

// sent notes who measured, in the place of what that person sent before.
func (c *Check) sent(m Measurer) {
	if own := c.own(m.By.Person); own != nil {
		own.Measurer = m
		return
	}
	c.Leads = append(c.Leads, Measure{Measurer: m})
}

// everyLead stands for the leads of a job of the first schema, who are not told
// apart.
const everyLead = 0

func (f *fold) sees(by Stamp) {
	person := by.Person
	if by.Role != Lead {
		person = everyLead
	}
	if !slices.Contains(f.seen, person) {
		f.seen = append(slices.Clip(f.seen), person)
	}
}

// saw says whether somebody has seen figures of the opening.
func (f *fold) saw(by Stamp) bool {
	return slices.Contains(f.seen, by.Person) || slices.Contains(f.seen, everyLead)
}

func (f *fold) tell(e *opening.Entry) {
	switch {
	case e.Value == toldLine:
		f.o.sent = e
	case e.Value == toldRemake:
		f.o.remade = e
	case e.Value == toldCustomer && e.Told != nil:
		f.o.customer.shown = e.Told.Version
	case e.Value == toldShown && f.o.Check != nil && e.Told != nil:
		f.o.Check.Shown = with(f.o.Check.Shown, e.By, e.Told.Version)
	}
}

func (f *fold) sign(e *opening.Entry) {
	s := &Signature{By: stampOf(e, f.people)}
	if c := f.o.Check; c != nil {
		if own := c.own(e.By); own != nil {
			s.Measured, s.Blind = true, own.Blind
		}
	}
	if e.Told != nil {
		s.Told = *e.Told
	}
	f.o.Signature = s
}

// customer takes the customer's word, or that it was taken back.
func (f *fold) customer(e *opening.Entry) {
	f.o.customer.agreed = nil
	if e.Told != nil {
		f.o.customer.agreed = &Agreement{Name: e.Typed, Day: e.Told.Figures, version: e.Told.Version}
	}
}

// agree takes an entry that takes points on.
func (f *fold) agree(e *opening.Entry) {
	if e.Told == nil {
		return
	}
	a := accepted{seq: e.Seq, by: stampOf(e, f.people)}
	if json.Unmarshal([]byte(e.Told.Figures), &a.points) == nil {
		f.o.accepted = append(f.o.accepted, a)
	}
}

// value follows what was settled between the measures, and what the customer pays.
func (f *fold) value(e *opening.Entry) {
	if price, err := decimal.NewFromString(e.Value); e.Key == quoteKey && err == nil {
		f.o.customer.quote = &price
	}
	if e.How != opening.Settled {
		return
	}
	if e.Act == opening.Clear {
		f.settled = slices.DeleteFunc(f.settled, func(s Settlement) bool { return s.Reading == e.Key })
		return
	}
	value, err := decimal.NewFromString(e.Value)
	if err != nil {
		return
	}
	f.settle(Settlement{Reading: e.Key, Value: &value, By: stampOf(e, f.people)})
}

// settle takes the place of what was settled of the same reading before.
func (f *fold) settle(s Settlement) {
	for i := range f.settled {
		if f.settled[i].Reading == s.Reading {
			f.settled[i] = s
			return
		}
	}
	f.settled = append(f.settled, s)
}

// check fills the measures in.
func (f *fold) check() {
	c := f.o.Check
	if c == nil {
		return
	}
	c.Tolerance, c.Settled = f.tolerance, f.settled
	if len(c.Leads) == 0 {
		return
	}
	first, leads := f.o.Said.Measures(f.o.asked, f.from)
	c.First = first.Readings()
	for _, m := range leads {
		if own := c.own(m.By); own != nil {
			own.Readings = readingsOf(&m.Known)
		}
	}
}

// readingsOf are the readings as they were given, one diagonal by itself too.
func readingsOf(k *opening.Known) calc.Readings {
	var r calc.Readings
	for _, key := range opening.ReadingKeys {
		if k.Given(key) {
			r = withValue(r, key, k.Number(key))
		}
	}
	return r
}

// measured works out who gave the readings.
func (o *Opening) measured(people map[int64]string) {
	var last *opening.Entry
	copied := 0
	o.Measured, o.CopiedFrom = nil, 0
	for _, key := range opening.ReadingKeys {
		e := o.known.Entry(key)
		if e == nil || e.Value == opening.Skipped {
			continue
		}
		if e.How != opening.Settled && (last == nil || e.Seq > last.Seq) {
			last = e
		}
		switch {
		case e.How != opening.Copied:
			copied = -1
		case copied >= 0 && !opening.Find(key).Is(opening.Skips):
			copied = e.Of
		}
	}
	if last != nil {
		by := stampOf(last, people)
		o.Measured = &by
	}
	o.CopiedFrom = max(copied, 0)
}
