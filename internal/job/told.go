package job

import (
	"strings"
	"time"

	"github.com/shopspring/decimal"
)

// A supplier who is not on the messenger confirms by telephone, by mail or in
// person. The fitter or the lead records it as it was told: it freezes the line
// as the desk's own word does, and says on every paper that it is hearsay. A
// later word of the desk stands beside it.

// Reply is what a supplier said of some lines.
type Reply struct {
	Heard
	Revision string           // that it is of; "": the one that stands
	Due      string           // day of delivery, 2006-01-02
	Price    *decimal.Decimal // of one window
}

// ConfirmTold confirms lines as the fitter or the lead was told. Without numbers
// it is every line that the desk has and has not confirmed. What is told again
// of a line adds to what was told before.
func (j Job) ConfirmTold(who Who, at time.Time, r Reply, ids ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter, Lead); err != nil {
		return Job{}, nil, err
	}
	if err := j.mayBeTold(r, at); err != nil {
		return Job{}, nil, err
	}
	if len(ids) == 0 {
		ids = j.toBeTold()
	}
	if len(ids) == 0 {
		return Job{}, nil, refuse("nothing_to_confirm")
	}
	e := Event{Kind: LinesTold}
	for _, id := range ids {
		i, err := j.find(id)
		if err != nil {
			return Job{}, nil, refuse("no_line").num("n", id)
		}
		first := j.Openings[i].Supply.Told == nil || j.Openings[i].Supply.Told.Revision != j.Order.Revision
		before := j.Openings[i].Said.LastSeq()
		if j, err = j.tellOf(who, at, i, r); err != nil {
			return Job{}, nil, err
		}
		if j.Openings[i].Said.LastSeq() != before {
			e.Openings = append(e.Openings, id)
		}
		if first {
			e = e.num("first", 1)
		}
	}
	if len(e.Openings) == 0 {
		return j, nil, nil
	}
	return j.done(who, at, j.ofLines(e))
}

// Untell takes back that lines count as confirmed because somebody was told so.
// What the desk itself confirmed stays.
func (j Job) Untell(who Who, at time.Time, ids ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter, Lead); err != nil {
		return Job{}, nil, err
	}
	for _, id := range ids {
		i, err := j.find(id)
		if err != nil {
			return Job{}, nil, refuse("no_line").num("n", id)
		}
		if o := j.Openings[i]; !o.OnlyTold() {
			return Job{}, nil, wrongState(o, DoUntell)
		}
		if j, err = j.step(who, at, i, DoUntell); err != nil {
			return Job{}, nil, err
		}
	}
	return j.done(who, at, j.ofLines(Event{Kind: LinesUntold, Openings: ids}))
}

// ofLines says of an event which lines of the revision it is about, and how many stay open.
func (j Job) ofLines(e Event) Event {
	e = e.say("revision", j.Order.Name(j.Order.Revision)).say("lines", Numbers(e.Openings))
	return e.num("count", len(e.Openings)).num("open", j.unconfirmed())
}

// mayBeTold is why nothing can be confirmed as told.
func (j Job) mayBeTold(r Reply, at time.Time) error {
	name := j.Order.Name(j.Order.Revision)
	switch {
	case j.Order.Revision == 0:
		return refuse("told_unsent")
	case r.Revision != "" && !strings.EqualFold(r.Revision, name):
		return refuse("told_other").say("revision", r.Revision).say("now", name)
	case j.Order.Held:
		return refuse("told_held").say("revision", name)
	case r.Price != nil && r.Price.IsNegative():
		return refuse("price_negative")
	case r.Due != "":
		return toCome(r.Due, at)
	}
	return nil
}

// toBeTold are the lines that wait to be confirmed, or, when there are none,
// those that were as told: more may be told of them.
func (j Job) toBeTold() []int {
	var waiting, told []int
	for _, o := range j.Openings {
		switch {
		case !j.onOrder(o.ID):
		case o.State == Ordered || o.State == Queried:
			waiting = append(waiting, o.ID)
		case o.State == Confirmed && !j.need(o) && o.OnlyTold():
			told = append(told, o.ID)
		}
	}
	if len(waiting) > 0 {
		return waiting
	}
	return told
}

// tellOf writes what was told of one line, unless all of it was known.
func (j Job) tellOf(who Who, at time.Time, i int, r Reply) (Job, error) {
	heard, err := r.clean()
	if err != nil {
		return Job{}, err
	}
	o := j.Openings[i]
	if before := o.Supply.Told; before != nil && before.Revision == j.Order.Revision {
		heard = heard.over(before.Heard)
		if heard == before.Heard && o.State == Confirmed && o.promisesNothingNew(r) {
			return j, nil
		}
	}
	step := stepEntry(DoConfirmTold)
	step.Of, step.Typed = j.Order.Revision, stored(heard)
	return j.step(who, at, i, DoConfirmTold, append(o.agreed(), append(promise(r.Due, r.Price), step)...)...)
}

func (o Opening) promisesNothingNew(r Reply) bool {
	price := r.Price == nil || o.Supply.Price != nil && o.Supply.Price.Equal(*r.Price)
	return price && (r.Due == "" || r.Due == o.Supply.Due)
}

// OwnCopy is OrderCopy with the names at the supplier, for the fitter's own papers.
func (j Job) OwnCopy() OrderSheet {
	sheet := j.OrderCopy()
	for i := range sheet.Lines {
		l := &sheet.Lines[i]
		if o, ok := j.Find(l.Opening); ok && l.Told != nil {
			l.Told.Heard.By = o.Supply.Told.Heard.By
		}
	}
	return sheet
}
