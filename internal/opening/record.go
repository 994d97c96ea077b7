package opening

import (
	"errors"
	"slices"
	"strings"
	"unicode"
)

// A Record is everything that was ever said of one opening: a list of entries
// that only grows. What holds now is folded out of it by pure functions, and
// nothing else is kept. The fold knows neither the table of fields nor the
// trade: whatever falls with an act, that act writes down.
type Record struct {
	Entries []Entry
}

// Undo refuses with one of these.
var (
	// ErrNothing: the person has said nothing that is left.
	ErrNothing = errors.New("nothing to take back")
	// ErrTold: somebody else was told of it since, or acts by it.
	ErrTold = errors.New("told since")
)

// Put writes entries by one person as one act, and gives the record with them.
// The caller's record stays as it was.
func (r Record) Put(s Stamp, entries ...Entry) Record {
	s.Turn = r.turn(s)
	list := slices.Grow(slices.Clip(r.Entries), len(entries))
	for _, e := range entries {
		e.Stamp, e.Seq = s, r.LastSeq()+1
		list = append(list, e)
		r.Entries = list
	}
	return r
}

// Copy writes what is known from another record, that of window of, but for some
// fields. Who measured and when goes with it, and so does where: a reading that was
// copied there already stays that of the window it was taken at.
func (r Record) Copy(from Record, s Stamp, of int, but ...Key) Record {
	known := from.Known()
	turn := r.turn(s)
	for f := range Fields {
		e := known.Entry(f.Key)
		if e == nil || slices.Contains(but, f.Key) {
			continue
		}
		by := e.Stamp
		by.Turn, by.Role, by.Msg = turn, Fitter, 0
		at := of
		if e.How == Copied && e.Of != 0 && OfTheTape(f.Key) {
			at = e.Of
		}
		list := []Entry{{Act: Set, Key: f.Key, Value: e.Value, How: Copied, Of: at}}
		if known.Sure(f.Key) {
			list = append(list, Entry{Act: Sure, Key: f.Key})
		}
		r = r.Put(by, list...)
	}
	return r
}

// Remake writes what is known from the record of a window that is made again, but
// for some fields, each known as it is known there.
func (r Record) Remake(from Record, s Stamp, but ...Key) Record {
	known := from.Known()
	turn := r.turn(s)
	for f := range Fields {
		e := known.Entry(f.Key)
		if e == nil || slices.Contains(but, f.Key) {
			continue
		}
		by := e.Stamp
		by.Turn, by.Msg = turn, 0
		list := []Entry{{Act: Set, Key: f.Key, Value: e.Value, Typed: e.Typed, How: e.How, Of: e.Of}}
		if known.Sure(f.Key) {
			list = append(list, Entry{Act: Sure, Key: f.Key})
		}
		r = r.Put(by, list...)
	}
	return r
}

// turn is the turn that entries with this stamp belong to.
func (r Record) turn(s Stamp) int {
	if s.Turn != 0 {
		return s.Turn
	}
	return r.lastTurn() + 1
}

// LastSeq is the number of the last entry, 0 for an empty record.
func (r Record) LastSeq() int {
	if len(r.Entries) == 0 {
		return 0
	}
	return r.Entries[len(r.Entries)-1].Seq
}

func (r Record) lastTurn() int {
	last := 0
	for i := range r.Entries {
		last = max(last, r.Entries[i].Turn)
	}
	return last
}

// Standing calls each with every entry that stands, in order: no act that was
// taken back, and no taking back.
func (r Record) Standing(each func(*Entry)) {
	back := r.takenBack()
	for i := range r.Entries {
		e := &r.Entries[i]
		if e.Act != TakeBack && !slices.Contains(back, e.act()) {
			each(e)
		}
	}
}

// takenBack are the acts that were taken back.
func (r Record) takenBack() []act {
	var acts []act
	for i := range r.Entries {
		if e := &r.Entries[i]; e.Act == TakeBack {
			acts = append(acts, act{e.Of, e.By})
		}
	}
	return acts
}

// act names what one person said in one turn. Two people of a group count their
// turns by themselves.
type act struct {
	turn int
	by   int64
}

func (e *Entry) act() act { return act{e.Turn, e.By} }

// Known is what holds now: what was settled between two measures, else what the
// fitter said last.
func (r Record) Known() Known { return *r.Fold() }

// Fold is Known where it is not copied: it is large.
func (r Record) Fold() *Known {
	k := &Known{}
	var settled *Known // mostly none
	r.Standing(func(e *Entry) {
		switch {
		case e.How == Settled && (e.Act == Set || e.Act == Clear):
			if settled == nil {
				settled = &Known{}
			}
			settled.Follow(e)
		case e.Role == Lead && !promised(e.Key):
		default:
			k.Follow(e)
		}
	})
	if settled != nil {
		k.over(settled)
	}
	return k
}

// promised fields are the supplier's: whoever says them says what the supplier did.
func promised(key Key) bool { return key == "due" || key == "price" }

// Measure is what one person measured again.
type Measure struct {
	By    int64 // the person, as in Stamp
	Known Known
}

// Measures are the first measure of an opening whose second one was asked for by
// the entry of number asked, and what each lead said after entry from: usually
// the same, or an earlier one where a measure came before it was asked for. The
// first is what held then and what the fitter said since. Each lead's is their
// own, in the order they began; what was settled since is in none.
func (r Record) Measures(asked, from int) (first Known, leads []Measure) {
	var settled Known
	begun := false
	r.Standing(func(e *Entry) {
		if e.Seq > asked && !begun {
			first.over(&settled)
			begun = true
		}
		switch {
		case e.How == Settled && (e.Act == Set || e.Act == Clear):
			if !begun {
				settled.Follow(e)
			}
		case e.Role != Lead:
			first.Follow(e)
		case e.Seq > from && (e.Act == Set || e.Act == Clear):
			leads = measureOf(leads, e)
		}
	})
	if !begun {
		first.over(&settled)
	}
	return first, leads
}

// measureOf takes a lead's entry into that lead's own measure.
func measureOf(leads []Measure, e *Entry) []Measure {
	i := slices.IndexFunc(leads, func(m Measure) bool { return m.By == e.By })
	if i < 0 {
		i = len(leads)
		leads = append(leads, Measure{By: e.By})
	}
	leads[i].Known.Follow(e)
	return leads
}

// Undo takes back the person's own last act and nothing else, and gives the
// fields that are another now. ErrNothing: there is none. ErrTold: the act did
// more than say something, or somebody was told since; there are commands to
// withdraw that.
func (r Record) Undo(s Stamp) (Record, []Key, error) {
	last, ok := r.lastOwn(s.By)
	if !ok {
		return r, nil, ErrNothing
	}
	begun := false
	for i := range r.Entries {
		e := &r.Entries[i]
		own := e.act() == last
		begun = begun || own
		if own && (!e.Act.undoable() || e.How == Settled) || begun && (e.Act == Tell || e.Act == Agree) {
			return r, nil, ErrTold
		}
	}
	before := r.Known()
	r = r.Put(s, Entry{Act: TakeBack, Of: last.turn})
	after := r.Known()
	return r, before.Differ(&after), nil
}

// lastOwn is the last act of a person that stands.
func (r Record) lastOwn(by int64) (last act, ok bool) {
	back := r.takenBack()
	for _, e := range slices.Backward(r.Entries) {
		if e.Act != TakeBack && e.Act != Reviewed && e.By == by && !slices.Contains(back, e.act()) {
			return e.act(), true
		}
	}
	return act{}, false
}

// LastTurn is the turn of the person's own last act that stands; 0 for none.
func (r Record) LastTurn(by int64) int {
	last, _ := r.lastOwn(by)
	return last.turn
}

// LastAct is the last entry of an act of that name, such as a telling; nil for
// none.
func (r Record) LastAct(act Act, what string) *Entry {
	var last *Entry
	r.Standing(func(e *Entry) {
		if e.Act == act && e.Value == what {
			last = e
		}
	})
	return last
}

// Forget takes a person's number and words out. The figures stay, apart from
// those of others who were forgotten: two leads' measures don't become one.
func (r Record) Forget(by int64) Record {
	r.Entries = slices.Clone(r.Entries)
	var former int64 = Former
	for slices.ContainsFunc(r.Entries, func(e Entry) bool { return e.By == former }) {
		former--
	}
	for i := range r.Entries {
		e := &r.Entries[i]
		if e.By != by {
			continue
		}
		e.By, e.Typed, e.Msg = former, "", 0
		if e.Act == Note || e.Act == Pictured || e.inOwnWords() {
			e.Value = ""
		}
	}
	return r
}

// inOwnWords says whether the value is what a person wrote of the fitting day: a name, or
// what was not all right. Readings and codes are no words, and neither is the number of a
// certificate.
func (e *Entry) inOwnWords() bool {
	_, known := Index(e.Key)
	return e.Act == Set && !known && strings.Contains(e.Key, ".") && !strings.HasPrefix(e.Key, "certificate.") &&
		strings.ContainsFunc(e.Value, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsUpper(r) || r > unicode.MaxASCII })
}

// undoable are the acts that a person may take back.
func (a Act) undoable() bool {
	return a == Set || a == Clear || a == Sure || a == Reviewed || a == Pictured
}
