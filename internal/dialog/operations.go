package dialog

import (
	"errors"
	"slices"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
)

// operation is an ask as a change of the job's record.
type operation func(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error)

// whole is an operation on the whole job.
func whole(f func(job.Job, job.Who, time.Time) (job.Job, []job.Event, error)) operation {
	return func(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) { return f(j, a.Who, at) }
}

// ofOne is an operation on one window.
func ofOne(f func(job.Job, job.Who, time.Time, int) (job.Job, []job.Event, error)) operation {
	return func(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) { return f(j, a.Who, at, a.Opening) }
}

// inWords is an operation on one window that takes a person's words.
func inWords(f func(job.Job, job.Who, time.Time, int, string) (job.Job, []job.Event, error)) operation {
	return func(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
		return f(j, a.Who, at, a.Opening, a.Words)
	}
}

// errUnknownAsk is an ask of a later version of the program.
var errUnknownAsk = errors.New("an ask that this version does not know")

func setCount(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.SetCount(a.Who, at, a.Opening, a.Count)
}

func setLabel(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.SetLabel(a.Who, at, a.Words)
}

func setAddress(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.SetAddress(a.Who, at, a.Words, j.ShareAddress)
}

// share shows the address or the names to the others, or hides them again.
func share(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	if a.Words == "address" {
		return j.SetAddress(a.Who, at, j.Address, !j.ShareAddress)
	}
	return j.SetShareNames(a.Who, at, !j.ShareNames)
}

func setColour(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.SetColour(a.Who, at, a.Opening, a.Words)
}

// addHardware adds a piece of hardware; no words take all of it off.
func addHardware(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.AddHardware(a.Who, at, a.Opening, a.Words)
}

func askCheck(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.AskCheck(a.Who, at, a.Openings...)
}

func sendOrder(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.Send(a.Who, at, calc.DefaultSettings())
}

// takeStep takes a window through a step of the fitting day.
func takeStep(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	if a.Step == job.DoReject {
		return j.Reject(a.Who, at, a.Opening, a.Words)
	}
	return j.Advance(a.Who, at, a.Opening, a.Step)
}

func readAgain(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	if a.Readings == nil {
		return j, nil, errUnknownAsk
	}
	return j.Read(a.Who, at, a.Opening, *a.Readings)
}

// settle settles the figure that stood on the button, and nothing when that is
// no longer what the measure says.
func settle(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	if moved := figureMoved(j, a); moved != nil {
		return j, nil, moved
	}
	return j.Settle(a.Who, at, a.Opening, a.Reading, a.Pick)
}

// figureMoved is why what is picked is another figure than the one that was
// shown. A button of before names no figure: it settles as long as neither
// measure was corrected.
func figureMoved(j job.Job, a Ask) error {
	d, apart := difference(j, a)
	if !apart || d.Settled != nil || a.Pick == job.Again {
		return nil // there is nothing to take for another; the job says so
	}
	now := d.Second
	if (a.Pick == job.Mine) == (a.Who.Role == job.Fitter) {
		now = d.First
	}
	switch {
	case a.Value == nil && corrected(j, a.Opening):
		return &job.Refusal{Reason: "figure_unknown"}
	case a.Value == nil || a.Value.Equal(now):
		return nil
	}
	return &job.Refusal{Reason: "figure_moved", Figures: map[string]decimal.Decimal{"shown": *a.Value, "now": now}}
}

// difference is what the two measures say of the reading that is settled.
func difference(j job.Job, a Ask) (d job.Difference, apart bool) {
	c, ok := j.Comparison(a.Opening)
	i := slices.IndexFunc(c.Apart(), func(d job.Difference) bool { return d.Reading == a.Reading })
	if !ok || i < 0 {
		return d, false
	}
	return c.Apart()[i], true
}

// corrected says whether one of the two measures may have been sent again.
func corrected(j job.Job, id int) bool {
	o, ok := j.Find(id)
	if !ok || o.Check == nil || o.Check.By == nil {
		return false
	}
	return !o.Check.Blind || o.Measured != nil && o.Measured.At.After(o.Check.By.At)
}

func sign(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.Sign(a.Who, at, a.Opening, a.Version)
}

func reread(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	if a.Value == nil {
		return j, nil, errUnknownAsk
	}
	return j.Reread(a.Who, at, a.Opening, a.Reading, *a.Value)
}

func confirmLine(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.Confirm(a.Who, at, a.Revision, a.Opening)
}

func confirmAll(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.ConfirmAll(a.Who, at, a.Revision)
}

func promise(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.Promise(a.Who, at, a.Opening, a.Due, a.Value)
}

func useLink(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	return j.Use(a.Who, at, a.Token)
}

// leave gives up the chair of the chat that asks, on behalf of the owner.
func leave(j job.Job, at time.Time, a Ask) (job.Job, []job.Event, error) {
	for _, s := range j.Shares {
		if s.UsedBy == a.Who.Chat && !s.Revoked {
			return j.Revoke(j.Owner, at, s.Token)
		}
	}
	return j, nil, nil
}
