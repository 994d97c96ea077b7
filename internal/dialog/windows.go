package dialog

import (
	"strconv"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// edit opens the survey of a window of the job.
func edit(t *turn, id int) {
	o, _ := t.Job.Find(id)
	if t.Editing != id || t.Second != nil {
		t.leave()
		t.begin()
		t.Editing, t.Hand = id, opening.Record{}
	}
	t.Doubt, t.Asking, t.Change, t.ToldAt = nil, "", "", 0
	if t.wasDone = t.done(); t.wasDone {
		t.ToldAt = t.said().LastSeq() // what changes from here on is said alone
	}
	t.say(phrase.Of("job.editing").WithInt("n", id).Saying("name", o.Name))
	t.say(t.openDoubts()...)
	if t.wasDone {
		t.buttons = append(t.rightButtons(), t.changeButtons()...)
	}
}

// cards sends the card of every opening of the job that is measured.
func cards(t *turn) {
	sent := 0
	for _, o := range t.Job.All() {
		p, err := plan.Make(o.Record().Plan, calc.DefaultSettings())
		if err != nil {
			continue
		}
		picture := t.picture(p)
		*picture.Picture = t.pictureOf(o, p)
		t.mails = append(t.mails, picture)
		sent++
	}
	if sent == 0 {
		t.say(phrase.Of("job.empty"))
	}
}

// deleted says how to bring the deleted window back.
func deleted(t *turn, a Ask, _ []job.Event) {
	t.say(phrase.Of("job.restore"))
	if t.Editing == a.Opening {
		t.begin()
		t.wasDone, t.quiet = false, true
	}
	t.Gone = true // undo now brings the window back
}

// advance takes a step of the fitting day and offers the one after it.
func advance(t *turn, a Ask) {
	o, _ := t.Job.Find(a.Opening)
	if a.Step.Reaches(o.State) { // a button pressed twice
		t.say(phrase.Of("job.step.already").Saying("name", o.Name).Sub1("state", o.State.Text()))
		t.buttons = t.view().StepButtons(a.Opening)
		return
	}
	a.Who = t.who()
	out := takeStep(op{*t.Job, a, t.now})
	if t.took(out.job, out.events, out.err) && a.Step != job.DoReject {
		if o, _ = t.Job.Find(a.Opening); a.Step != job.DoBack {
			t.say(phrase.Of("job.step." + string(o.State.Waits()))) // what to mind in the step to come
		}
		t.buttons = t.view().StepButtons(a.Opening)
	}
}

// stepWord reads the short form of a step, "fitted 2", or "fitted" in a job of
// one window, and gives the arguments of the step command. What answers the open
// question is no step.
func (t *turn) stepWord(text string) (rest string, ok bool) {
	if t.Job == nil || t.Second != nil || t.Doubt != nil {
		return "", false
	}
	code, more, ok := words().Match(t.lang(), "step", text)
	if !ok || t.takes(text) {
		return "", false
	}
	word := text[:len(text)-len(more)]
	id, sentence, numbered := openingNumber(more)
	switch {
	case numbered && (sentence == "" || code == "reject"):
		return strconv.Itoa(id) + " " + word + " " + sentence, true
	case more != "":
		return "", false // a sentence that happens to begin so
	case len(t.Job.Openings) == 1:
		return strconv.Itoa(t.Job.Openings[0].ID) + " " + word, true
	}
	return "", true
}
