package job

import (
	"slices"
	"strconv"
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
	o.Name, o.Count = known.Value("name"), 1
	if n, err := strconv.Atoi(known.Value("count")); err == nil {
		o.Count = n
	}
	o.Version = known.Version()
	record := recordOf(&known)
	o.record = &record
	o.Check, o.Signature, o.sent, o.asked, o.made, o.remade = nil, nil, nil, 0, nil, nil
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
	settled   []Settlement
	figure    int64 // when a reading was last given or taken back
	knows     bool  // the lead saw figures in a check that no longer counts
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
		o.Supply.Notes = append(o.Supply.Notes, Note{By: stampOf(e, f.people), Words: e.Value})
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
	case f.pieces(do, e.Of):
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

// pieces takes n pieces of the window through an action, all that stand where it
// begins for 0. It says whether that is an action of pieces.
func (f *fold) pieces(do Action, n int) bool {
	o := f.o
	switch {
	case do == DoReject && o.made != nil: // all that are not in the wall yet
		if delete(o.made, Delivered); len(o.made) == 0 {
			o.made = nil // as it is stored
		}
		f.far(Ordered)
		return true
	case !do.byPiece():
		return false
	}
	o.State = o.taken // what takes looks at
	from, count, to := o.takes(do)
	if count == 0 || from == to {
		return true
	}
	if n > 0 {
		count = min(n, count)
	}
	if o.made == nil {
		o.made = pieces{}
		if from.made() {
			o.made[from] = o.Count
		}
	}
	if from.made() {
		if o.made[from] -= count; o.made[from] == 0 {
			delete(o.made, from)
		}
	}
	o.made[to] += count
	f.far(o.taken)
	return true
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
	f.knows = f.knows || o.Check.seen()
	switch do {
	case DoAskCheck:
		o.Check, o.Signature, o.asked = &Check{Asked: by, Known: f.knows}, nil, e.Seq
		f.settled = nil
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
		o.Supply.Confirmed = &Confirmation{by, e.Of, heardOf(e.Typed)}
	case DoConfirmTold:
		o.Supply.Told = &Confirmation{by, e.Of, heardOf(e.Typed)}
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

func (f *fold) tell(e *opening.Entry) {
	switch {
	case e.Value == toldLine:
		f.o.sent = e
	case e.Value == toldRemake:
		f.o.remade = e
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

// check fills the two measures in.
func (f *fold) check() {
	c := f.o.Check
	if c == nil || c.By == nil {
		return
	}
	first, second := f.o.Said.Measures(f.o.asked)
	c.First, c.Second = first.Readings(), readingsOf(&second)
	c.Tolerance, c.Settled = f.tolerance, f.settled
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
