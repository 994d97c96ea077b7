package dialog

import (
	"errors"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/opening"
)

// operation is an ask as a change of the job's record.
type operation func(op) outcome

// op is an ask with the job that it changes, and when.
type op struct {
	job.Job
	Ask
	at time.Time
}

// outcome is the job as it becomes and what happened, or why nothing did.
type outcome struct {
	job    job.Job
	events []job.Event
	err    error
	left   []job.Left // of several windows, those that it was not done to
}

func of(j job.Job, events []job.Event, err error) outcome {
	return outcome{job: j, events: events, err: err}
}

func refused(err error) outcome { return outcome{err: err} }

// errUnknownAsk is an ask of a later version of the program.
var errUnknownAsk = errors.New("an ask that this version does not know")

// share shows the address, the contact, the names or the photos to the others, or hides them again.
func share(o op) outcome {
	if o.Words == "contact" {
		return of(o.SetContact(o.Who, o.at, o.Contact, !o.ShareContact))
	}
	if o.Words == "address" {
		return of(o.SetAddress(o.Who, o.at, o.Address, !o.ShareAddress))
	}
	if o.Words == "photos" {
		return of(o.SetSharePhotos(o.Who, o.at, !o.SharePhotos))
	}
	return of(o.SetShareNames(o.Who, o.at, !o.ShareNames))
}

// askCheck asks for a check of one window, or of all that can be checked.
func askCheck(o op) outcome {
	if o.Opening == 0 {
		return of(o.AskCheck(o.Who, o.at))
	}
	return of(o.AskCheck(o.Who, o.at, o.Opening))
}

// takeStep takes a window through a step of the fitting day.
func takeStep(o op) outcome {
	switch {
	case o.Step == job.DoReject && o.Ask.Count > 0:
		return breaks(o)
	case o.Step == job.DoReject:
		return of(o.Reject(o.Who, o.at, o.Opening, o.Words))
	}
	return of(o.AdvancePieces(o.Who, o.at, o.Opening, o.Step, o.Ask.Count))
}

func readAgain(o op) outcome {
	if o.Readings == nil {
		return refused(errUnknownAsk)
	}
	return of(o.Read(o.Who, o.at, o.Opening, *o.Readings))
}

func reread(o op) outcome {
	if o.Value == nil {
		return refused(errUnknownAsk)
	}
	return of(o.Reread(o.Who, o.at, o.Opening, o.Reading, *o.Value))
}

// leave gives up the chair of the chat that asks, on behalf of the owner, and
// forgets the person: they asked for it. They are not told, for a message would
// begin a conversation anew.
func leave(o op) outcome {
	left := outcome{job: o.Job}
	for _, s := range o.Shares {
		if s.UsedBy == o.Who.Chat && !s.Revoked {
			left = of(o.Revoke(o.Owner, o.at, s.Token))
		}
	}
	for i := range left.events {
		e := &left.events[i]
		e.To = slices.DeleteFunc(e.To, func(to job.Recipient) bool { return to.Chat == o.Who.Chat })
	}
	left.job = left.job.Forget(o.Who.Person)
	return left
}

// settle settles the figure that stood on the button, and nothing when that is
// no longer what the measure says.
func settle(o op) outcome {
	if err := o.moved(); err != nil {
		return refused(err)
	}
	if o.Value != nil && o.Pick != job.Again {
		return of(o.SettleAt(o.Who, o.at, o.Opening, o.Reading, *o.Value))
	}
	return of(o.Settle(o.Who, o.at, o.Opening, o.Reading, o.Pick))
}

// moved is why what is picked is another figure than the one that was shown. A
// button of before names no figure: it settles as long as no measure was
// corrected.
func (o op) moved() error {
	c, _ := o.Comparison(o.Who.Chat, o.Opening)
	for _, d := range c.Apart() {
		if d.Reading != o.Reading || d.Settled != nil || o.Pick == job.Again {
			continue // there is nothing to take for another; the job says so
		}
		mine, now := o.Sides(o.Opening, d, o.Who)
		if mine != nil && o.Pick == job.Mine {
			now = []decimal.Decimal{*mine}
		} else if mine != nil && o.Pick == job.Figure {
			now = append(now, *mine)
		}
		switch {
		case o.Value == nil && o.corrected():
			return &job.Refusal{Reason: "figure_unknown"}
		case o.Value != nil && len(now) > 0 && !slices.ContainsFunc(now, o.Value.Equal):
			return &job.Refusal{Reason: "figure_moved", Figures: map[string]decimal.Decimal{"shown": *o.Value, "now": now[0]}}
		}
	}
	return nil
}

// corrected says whether one of the measures may have been sent again.
func (o op) corrected() bool {
	w, ok := o.Find(o.Opening)
	if !ok || w.Check == nil || len(w.Check.Leads) == 0 {
		return false
	}
	return slices.ContainsFunc(w.Check.Leads, func(m job.Measure) bool {
		return !m.Blind || w.Measured != nil && w.Measured.At.After(m.By.At)
	})
}

// breaks notes a frame that is no good and was not fitted.
func breaks(o op) outcome {
	return of(o.Break(o.Who, o.at, o.Opening, o.Ask.Count, o.Words, o.Remake))
}

// faults notes a fault of one that is here.
func faults(o op) outcome {
	return of(o.Fault(o.Who, o.at, o.Opening, o.Ask.Count, o.Words, o.Remake))
}

// handOver hands over the paper of the whole job, or of some windows.
func handOver(o op) outcome {
	if o.Opening != 0 {
		return of(o.HandOver(o.Who, o.at, o.Opening))
	}
	return of(o.HandOver(o.Who, o.at))
}

// takeAnswers takes an answer file into the job.
func takeAnswers(o op) outcome {
	var out outcome
	out.job, out.events, out.left = o.TakeAnswers(o.Who, o.at, o.Answers)
	return out
}

// agree writes down that the customer agreed to what their page showed them, today.
func agree(o op) outcome {
	return of(o.CustomerAgreesOnPage(o.Who, o.at, o.Words, o.at.Format(opening.DateForm), o.Ask.Shown))
}
