package dialog

import (
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// refuseMail tells who asked why not.
func refuseMail(t *turn, a Ask, err error) {
	refused := t.view().Refused(err, a.Opening, t.Job.Chair(a.Who.Chat))
	t.post(Mail{To: a.Who.Chat, Ref: a.Ref, Show: &refused})
}

// admit lets somebody with a link take a chair, and shows what waits for it.
func admit(t *turn, a Ask) {
	j, events, err := useLink(*t.Job, t.now, a)
	if err != nil {
		refuseMail(t, a, err)
		return
	}
	t.Job = &j
	t.followReadings()
	t.post(Mail{To: a.Who.Chat, Ref: j.Ref, Joined: &Seat{Ref: j.Ref, Role: j.Chair(a.Who.Chat), Owner: t.chat}})
	showChair(t, a)
	t.announce(events)
}

// showChair answers a chair that asks how the job stands.
func showChair(t *turn, a Ask) {
	to := Mail{To: a.Who.Chat, Ref: t.Job.Ref}
	shown, ok := t.view().Show(t.Job.Chair(a.Who.Chat))
	if !ok {
		to.Left, shown = true, Reply{Text: phrase.Of("job.gone").Saying("ref", t.Job.Ref)}
	}
	to.Show = &shown
	t.post(to)
}

// sayWhere tells a lead who has begun a second measure where the fitter held
// the tape: a whole sill may lie between the two places that heights start at.
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

// takeShown keeps which figures a lead was shown. Nobody hears of it.
func takeShown(t *turn, a Ask) {
	for id, edition := range a.Shown {
		if j, err := t.Job.Shown(a.Who, id, edition); err == nil {
			t.Job = &j
		}
	}
}
