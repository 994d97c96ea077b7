package dialog

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/talk"
)

// edit opens the survey of a window of the job.
func edit(t *turn, id int) {
	o, _ := t.Job.Find(id)
	if t.Editing != id || t.Second != nil {
		t.leave()
		t.begin()
		t.Editing, t.Hand = id, opening.Record{}
	}
	t.Doubt, t.Asking, t.Change, t.ToldAt, t.Day = nil, "", "", 0, nil
	if t.wasDone = t.done(); t.wasDone {
		t.ToldAt = t.said().LastSeq() // what changes from here on is said alone
	}
	t.say(phrase.Of("job.editing").WithInt("n", id).Saying("name", o.Name))
	t.say(t.openDoubts()...)
	if t.wasDone {
		t.buttons = append(t.rightButtons(), t.changeButtons()...)
	}
}

const (
	mostCards = 5 // sent at once without asking
	// mostInAlbum is how many go out together. The messenger takes 2 to 10
	// (core.telegram.org/bots/api, sendMediaGroup).
	mostInAlbum = 10
)

// cards sends the cards of those windows of the job that are measured, of all when
// none is named. It asks before it sends many.
func cards(t *turn, a Ask) {
	ids := a.Openings
	if a.Opening != 0 {
		ids = []int{a.Opening}
	}
	count := 0
	for _, row := range t.Job.List() {
		if len(row.Lacks) == 0 && (ids == nil || slices.Contains(ids, row.ID)) {
			count++
		}
	}
	if count > mostCards && !a.Sure {
		t.askCards(ids, count)
		return
	}
	var ready []Reply
	for _, o := range t.Job.Openings {
		if ids != nil && !slices.Contains(ids, o.ID) {
			continue
		}
		o, _ := t.Job.Find(o.ID)
		p, err := plan.Make(o.Record().Plan, calc.DefaultSettings())
		if err != nil {
			continue
		}
		picture := t.picture(p)
		*picture.Picture = t.pictureOf(o, p)
		ready = append(ready, picture)
	}
	t.mails = append(t.mails, albums(ready)...)
	switch {
	case len(t.Job.Openings) == 0:
		t.say(phrase.Of("job.empty"))
	case ready == nil:
		t.say(phrase.Of("job.cards.none"))
	}
}

// albums puts cards together that can go out so.
func albums(cards []Reply) (list []Reply) {
	for some := range slices.Chunk(cards, mostInAlbum) {
		first := some[0]
		for _, next := range some[1:] {
			first.More = append(first.More, Card{Text: next.Text, Picture: *next.Picture})
		}
		list = append(list, first)
	}
	return list
}

// askCards asks whether to send that many.
func (t *turn) askCards(ids []int, count int) {
	t.say(phrase.Of("job.cards.many").WithInt("count", count))
	which := "all"
	if ids != nil {
		which = strings.ReplaceAll(job.Numbers(ids), " ", "")
	}
	data := strings.Join([]string{talk.JobPress, t.Job.Ref, "cards", which}, ":")
	if len(data) <= talk.MostData {
		t.buttons = [][]Button{{{Label: phrase.Of("button.cards.all").WithInt("count", count), Data: data}}}
	}
	t.quiet = true
}

// deleted says how to bring the deleted window back.
func deleted(t *turn, a Ask, _ []job.Event) {
	if several(a) {
		t.say(phrase.Of("job.restore.many"))
	} else {
		t.say(phrase.Of("job.restore"))
	}
	if _, there := t.Job.Find(t.Editing); t.Editing != 0 && !there {
		t.begin()
		t.wasDone, t.quiet = false, true
	}
	t.Gone = true // undo now brings the window back
}

// advance takes a step of the fitting day and offers the one after it.
func advance(t *turn, a Ask) {
	if several(a) {
		t.advanceAll(a)
		return
	}
	o, _ := t.Job.Find(a.Opening)
	if a.Step.Reaches(o.State) && a.Count == 0 { // a button pressed twice
		t.say(phrase.Of("job.step.already").Saying("name", o.Name).Sub1("state", o.StateText()))
		t.buttons = t.view().StepButtons(a.Opening)
		return
	}
	if t.standsStopped(o, a.Step) {
		return
	}
	a.Who = t.who()
	t.Day = nil
	out := takeStep(op{*t.Job, a, t.now})
	if t.took(out.job, out.events, out.err) && a.Step != job.DoReject {
		t.sayUntrue(a)
		if a.Step != job.DoBack && t.stepsOn(a.Opening) {
			return
		}
		if reached := out.events[0].Reached(); a.Step != job.DoBack {
			t.say(phrase.Of("job.step." + string(reached.Waits()))) // what to mind in the step to come
		}
		t.buttons = t.view().StepButtons(a.Opening)
	}
}

// advanceAll takes several windows through a step of the fitting day, and says
// what to mind in the step to come once.
func (t *turn) advanceAll(a Ask) {
	a.Who = t.who()
	if a = t.notStopped(a); len(a.Openings) == 0 && !a.All {
		return
	}
	out := toEach(op{*t.Job, a, t.now}, takeStep)
	t.took(out.job, out.events, out.err)
	var done []int
	for _, e := range out.events {
		done = append(done, e.Openings...)
	}
	t.sayLeft(out.left)
	if a.Step == job.DoReject {
		return
	}
	if a.Step == job.DoDeliver && len(done) > 0 && t.stepsOn(done[0]) { // each frame is read before anything comes out
		t.Day.More = done[1:]
		return
	}
	if len(done) > 0 && a.Step != job.DoBack {
		o, _ := t.Job.Find(done[0])
		t.say(phrase.Of("job.step." + string(o.State.Waits())))
		if o.OnDay() && len(day.OfWork(day.Of(o))) > 0 {
			t.say(phrase.Of("day.each").WithInt("n", done[0]))
		}
		t.Day = nil // what was asked at a window is over with the step
	}
	t.buttons = t.view().StepButtons(done...)
}

// notStopped leaves out the windows whose old one must stay in, and says why.
func (t *turn) notStopped(a Ask) Ask {
	if a.Step != job.DoTakeOut {
		return a
	}
	ids := a.Openings
	if a.All {
		ids = t.dayWindows()
	}
	a.All, a.Openings = false, nil
	for _, id := range ids {
		if o, found := t.Job.Find(id); !found || !t.standsStopped(o, a.Step) {
			a.Openings = append(a.Openings, id)
		}
	}
	return a
}

// ofTheDay says whether a word of a step with the numbers of windows is rather said of
// the fitting day than in answer to the open question: each of them waits for the step.
func (t *turn) ofTheDay(code, text string) bool {
	n, rest := someNumbers(t, text, reads{there: t.Job.Has})
	if rest != "" || len(n.ids) == 0 {
		return false
	}
	return !slices.ContainsFunc(n.ids, func(id int) bool {
		o, _ := t.Job.Find(id)
		return o.State.Waits() != job.Action(code)
	})
}

// stepWord reads the short form of a step, "fitted 2", or "fitted" in a job of
// one window, and gives the arguments of the step command. What answers the open
// question is no step.
func (t *turn) stepWord(text string) (rest string, ok bool) {
	if t.Job == nil || t.Second != nil || t.Doubt != nil {
		return "", false
	}
	code, more, ok := words().Match(t.lang(), "step", text)
	if !ok || t.takes(text) && !t.ofTheDay(code, more) {
		return "", false
	}
	word := text[:len(text)-len(more)]
	if count, after, some := piecesAt(t, more); some {
		if n, sentence := someNumbers(t, after, reads{there: t.Job.Has, sentence: true}); len(n.ids) == 1 && (sentence == "" || code == "reject") {
			return fmt.Sprint(count, " at ", n.ids[0], " ", word, " ", sentence), true
		}
	}
	n, sentence := someNumbers(t, more, reads{there: t.Job.Has, sentence: code == "reject"})
	switch {
	case n.all && (sentence == "" || code == "reject"), n.ids != nil && (sentence == "" || code == "reject"):
		return more[:len(more)-len(sentence)] + " " + word + " " + sentence, true
	case more != "":
		return "", false // a sentence that happens to begin so
	case len(t.Job.Openings) == 1:
		return strconv.Itoa(t.Job.Openings[0].ID) + " " + word, true
	}
	return "", true
}
