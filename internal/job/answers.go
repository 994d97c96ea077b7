package job

import (
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// LineAnswer is what a supplier wrote beside one line of an order, in a file that was
// sent back.
type LineAnswer struct {
	Row      int              `json:"row"` // of the file, as a spreadsheet counts
	Window   int              `json:"window"`
	Revision string           `json:"revision"` // that the file was made of
	Confirm  bool             `json:"confirm,omitempty"`
	Due      string           `json:"due,omitempty"`   // day of delivery, 2006-01-02
	Price    *decimal.Decimal `json:"price,omitempty"` // of one window
	Order    string           `json:"order,omitempty"` // the supplier's own number of the order
	Words    string           `json:"words,omitempty"` // from the desk a question, else what the supplier says of the line
}

// TakeAnswers takes an answer file, row by row: a row is taken whole or left, and
// what is known already changes nothing. From the desk it is its own word, from
// fitter or lead what they were told.
func (j Job) TakeAnswers(who Who, at time.Time, answers []LineAnswer) (Job, []Event, []Left) {
	t := taking{who: who, at: at}
	var left []Left
	for _, a := range answers {
		next, err := t.one(j, a)
		if err != nil {
			left = append(left, Left{ID: a.Window, Row: a.Row, Why: err})
			continue
		}
		j = next
	}
	j, events := t.events(j)
	return j, events, left
}

// taking is what an answer file has changed so far, by window.
type taking struct {
	who                       Who
	at                        time.Time
	asked                     []Event
	told, confirmed, promised []int
	noted                     []int
	first                     bool // told of a line of which nothing was
}

func (t *taking) one(j Job, a LineAnswer) (Job, error) {
	if err := j.admit(t.who, Fitter, Lead, Desk); err != nil {
		return Job{}, err
	}
	stands := j.current(a.Revision)
	if t.who.Role != Desk {
		stands = j.mayBeTold(Reply{Revision: a.Revision}, t.at)
	}
	if stands != nil {
		return Job{}, stands
	}
	var err error
	if a.Words, err = words(a.Words, longestWords); err != nil {
		return Job{}, err
	}
	if a.Order, err = words(a.Order, longestName); err != nil {
		return Job{}, err
	}
	i, err := j.find(a.Window)
	if err != nil || !j.onOrder(a.Window) {
		return Job{}, refuse("answer_no_line").num("n", a.Window)
	}
	// A day that was promised before may be over by now: the file is the same.
	o := j.Openings[i]
	if a.Due == o.Supply.Due {
		a.Due = ""
	}
	if a.Due != "" {
		if err := toCome(a.Due, t.at); err != nil {
			return Job{}, err
		}
	}
	if a.Price != nil && o.Supply.Price != nil && a.Price.Equal(*o.Supply.Price) {
		a.Price = nil
	}
	if t.who.Role == Desk {
		return t.ofDesk(j, i, a)
	}
	return t.ofCrew(j, i, a)
}

// ofCrew takes a row that fitter or lead was sent: as told. Its words stay with the
// line as the supplier's.
func (t *taking) ofCrew(j Job, i int, a LineAnswer) (Job, error) {
	if !a.Confirm && (a.Words == "" || a.Due != "" || a.Price != nil || a.Order != "") {
		return Job{}, refuse("answer_unconfirmed").num("n", a.Window)
	}
	o := j.Openings[i]
	if a.Words != "" && !o.Supply.toldWords(a.Words) {
		if len(o.Supply.Notes) >= mostNotes {
			return Job{}, refuse("too_many").num("most", mostNotes)
		}
		j.write(t.who, t.at, i, opening.Entry{Act: opening.Note, How: bySupplier, Value: a.Words})
	}
	next, err := j, error(nil)
	if a.Confirm {
		if next, err = t.toldBy(j, i, a); err != nil {
			return Job{}, err
		}
	}
	if len(next.Openings[i].Supply.Notes) > len(o.Supply.Notes) {
		t.noted = append(t.noted, a.Window)
	}
	return next, nil
}

// toldBy takes a yes, and what goes with it.
func (t *taking) toldBy(j Job, i int, a LineAnswer) (Job, error) {
	before := j.Openings[i]
	next, err := j.tellOf(t.who, t.at, i, Reply{Heard: Heard{Way: ByFile, Order: a.Order}, Due: a.Due, Price: a.Price})
	if err != nil {
		return Job{}, err
	}
	if next.Openings[i].Said.LastSeq() != before.Said.LastSeq() {
		t.told = append(t.told, a.Window)
		t.first = t.first || before.Supply.Told == nil || before.Supply.Told.Revision != j.Order.Revision
	}
	return next, nil
}

// ofDesk takes a row of the desk's own: the question first, which stays open when
// the line is confirmed.
func (t *taking) ofDesk(j Job, i int, a LineAnswer) (Job, error) {
	o := j.Openings[i]
	own, _ := o.Supply.standing()
	stands := o.State == Confirmed && own != nil && (a.Order == "" || a.Order == own.Heard.Order)
	if !a.Confirm && a.Order != "" && !stands {
		return Job{}, refuse("answer_unconfirmed").num("n", a.Window)
	}
	var asked []Event
	var err error
	if a.Words != "" && !o.Supply.asks(a.Words) {
		if j, asked, err = j.Query(t.who, t.at, a.Window, a.Words); err != nil {
			return Job{}, err
		}
		stands = false
	}
	if a.Due != "" || a.Price != nil {
		if j, i, err = j.stepOf(t.who, t.at, a.Window, DoPromise, promise(a.Due, a.Price)...); err != nil {
			return Job{}, err
		}
	}
	if a.Confirm && !stands {
		if j, err = j.confirm(t.who, t.at, i, Heard{Order: a.Order}); err != nil {
			return Job{}, err
		}
		t.confirmed = append(t.confirmed, a.Window)
	}
	if a.Due != "" || a.Price != nil {
		t.promised = append(t.promised, a.Window)
	}
	t.asked = append(t.asked, asked...)
	return j, nil
}

// asks says whether the desk has asked that, whatever became of it.
func (s Supply) asks(question string) bool {
	return slices.ContainsFunc(s.Notes, func(n Note) bool { return n.Question != 0 && n.Words == question })
}

// toldWords says whether the supplier was told to say that of the line before.
func (s Supply) toldWords(words string) bool {
	return slices.ContainsFunc(s.Notes, func(n Note) bool { return n.Told && n.Words == words })
}

// events tell what the whole file has changed, each kind of it once.
func (t *taking) events(j Job) (Job, []Event) {
	events := t.asked
	add := func(e Event) {
		next, more, err := j.done(t.who, t.at, e)
		if err == nil {
			j, events = next, append(events, more...)
		}
	}
	if len(t.told) > 0 {
		e := j.ofLines(Event{Kind: LinesTold, Openings: t.told})
		if t.first {
			e = e.num("first", 1)
		}
		add(e)
	}
	if len(t.noted) > 0 {
		add(j.ofLines(Event{Kind: WordsKept, Openings: t.noted}))
	}
	if len(t.promised) > 0 {
		add(j.ofLines(Event{Kind: LinesPromised, Openings: t.promised}))
	}
	if len(t.confirmed) > 0 {
		add(j.confirmed(Event{Kind: LinesConfirmed, Openings: t.confirmed}.num("count", len(t.confirmed))))
	}
	return j, events
}
