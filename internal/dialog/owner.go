package dialog

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// refuseMail tells the chat that asked why nothing was done.
func refuseMail(t *turn, a Ask, err error) {
	refused := t.view().Refused(err, a, job.Recipient{Chat: a.Who.Chat, Role: t.Job.Chair(a.Who.Chat)})
	if a.Do == "read" && a.Readings != nil {
		refused.Text = tell.WithReadings(refused.Text, *a.Readings)
	}
	t.post(Mail{To: a.Who.Chat, Ref: a.Ref, Show: &refused})
}

// admit gives the person who opened a link the chair, and shows what waits for
// it.
func admit(t *turn, a Ask) {
	j, events, err := t.Job.Use(a.Who, t.now, a.Token)
	if err != nil {
		refuseMail(t, a, err)
		return
	}
	t.Job = &j
	t.post(Mail{To: a.Who.Chat, Ref: j.Ref, Joined: &Seat{Ref: j.Ref, Role: j.Chair(a.Who.Chat), Owner: t.chat},
		Let: &talk.Let{Name: a.Who.Name, By: j.Owner.Person, ByName: j.Owner.Name}})
	showChair(t, a)
	t.announce(events)
}

// showChair sends a chair the state of the job.
func showChair(t *turn, a Ask) {
	to := Mail{To: a.Who.Chat, Ref: t.Job.Ref}
	who := job.Recipient{Chat: a.Who.Chat, Role: t.Job.Chair(a.Who.Chat)}
	shown, ok := t.view().Brief(who.Role)
	if !ok || a.Words != briefly {
		shown, ok = t.view().Show(who)
	}
	if who.Role == job.Customer { // the page itself shows the rest
		shown, ok = Reply{Text: phrase.Of("page.customer.in")}, true
	}
	if !ok {
		to.Left, shown = true, Reply{Text: phrase.Of("job.gone").Saying("ref", t.Job.Ref)}
	}
	to.Show = &shown
	if t.Job.Chair(a.Who.Chat) == job.Desk {
		to.Order = t.Job.Order.Revision
	}
	t.post(to)
}

// sayWhere tells a lead who began a second measure where the fitter measured
// heights from: the top of the sill, or under the old one if it goes too.
func sayWhere(t *turn, a Ask) {
	to := Mail{To: a.Who.Chat, Ref: t.Job.Ref}
	o, err := t.Job.ToCheck(a.Who, a.Opening)
	if err != nil {
		to.Tape, to.Show = &Tape{Opening: a.Opening, Not: true}, &Reply{Text: tell.Refusal(err)}
	} else {
		to.Tape, to.Show = &Tape{Opening: o.ID, Name: o.Name, Sill: !o.NewSill}, &Reply{Text: tell.Where(o)}
	}
	t.post(to)
}

// takeShown notes which figures the lead was shown. No message is sent.
func takeShown(t *turn, a Ask) {
	for id, version := range a.Shown {
		if j, err := t.Job.Shown(a.Who, t.now, id, version); err == nil {
			t.Job = &j
		}
	}
}

// howToQuery says how the desk types a question on a line, or why there is none
// to ask: the order above the button may be void. One of before names no revision.
func howToQuery(t *turn, a Ask) {
	if err := t.Job.MayQuery(a.Who, a.Opening, a.Revision); err != nil {
		refuseMail(t, a, err)
		return
	}
	t.post(Mail{To: a.Who.Chat, Ref: a.Ref, Show: &Reply{Text: phrase.Of("job.query.how").WithInt("n", a.Opening)}})
}
