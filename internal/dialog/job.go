package dialog

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// mostJobs is how many jobs a chat may have begun. Common practice, no source.
const mostJobs = 200

// jobCommand opens a job by its reference, or lists the open one, or begins
// the first.
func jobCommand(t *turn, rest string) {
	if ref, err := job.ParseReference(rest); err == nil {
		openJob(t, ref)
		return
	}
	if seat, ok := t.lastSeat(""); ok && t.Job == nil && rest == "" {
		t.askOwner(Ask{Do: "show", Ref: seat.Ref})
		return
	}
	if rest == "" && lostChair(t) {
		return
	}
	if t.Job == nil || isWord(t, "new", rest) {
		beginJob(t)
		return
	}
	listJob(t)
}

// list lists the job that there is; it begins none.
func list(t *turn) {
	if _, sits := t.lastSeat(""); t.Job == nil && !sits {
		t.ownJob()
		return
	}
	jobCommand(t, "")
}

func isWord(t *turn, code, text string) bool {
	got, _, ok := words().Match(t.lang(), "command", text)
	return ok && got == code
}

func openJob(t *turn, ref string) {
	if slices.ContainsFunc(t.Seats, func(s Seat) bool { return s.Ref == ref }) {
		t.askOwner(Ask{Do: "show", Ref: ref})
		return
	}
	if t.Job == nil || t.Job.Ref != ref {
		t.say(phrase.Of("job.unknown").Saying("ref", ref))
		return
	}
	if t.Ref != ref && t.inJob() {
		t.leave()
		t.begin() // what is at hand belongs to the job before
		t.wasDone = false
	}
	other := t.Ref != ref
	t.Ref = ref
	if other {
		t.keepHouse()
		if !t.inJob() && !t.started() {
			t.begin()
		}
	}
	listJob(t)
}

// beginJob makes a job and keeps the window that is complete in it.
func beginJob(t *turn) {
	if t.guest() {
		t.refuseGuest()
		return
	}
	if len(t.seed) < 16 {
		t.say(phrase.Of("job.notnow"))
		return
	}
	if len(t.Own) >= mostJobs {
		t.say(phrase.Of("job.toomany").WithInt("most", mostJobs))
		return
	}
	first, done := !t.inJob(), t.wasDone
	t.noteBefore() // as long as the job before is at hand
	another := t.Job != nil && (!first || !t.started())
	share := t.takesGroup()
	j := job.New(job.NewReference(t.seed[:8]), t.who(), t.now, t.jobSettings())
	j.Topic = t.topic
	t.Job, t.Ref = &j, j.Ref
	t.Own = append(slices.Clip(t.Own), j.Ref)
	t.say(phrase.Of("job.begun").Saying("ref", j.Ref))
	if share {
		t.shareWithGroup(j.Ref)
		t.say(phrase.Of("group.begun"))
	}
	switch {
	case another: // what is at hand belongs to the job before, and its house
		t.leaveHouse()
		t.begin()
		t.wasDone = false
		if t.answers().Given("nation", "date") {
			t.say(phrase.Of("house.taken"))
		}
	case done:
		t.review()
	}
}

// listJob says how the job and each window stand.
func listJob(t *turn) {
	lines, settle := t.view().List(t.Own)
	t.say(lines...)
	t.buttons = append(settle, t.jobButtons()...)
	if len(t.Job.Openings) <= mostAsked {
		t.sayUnsaid("items.missing")
	}
}

// sendPapers sends the job's papers.
func sendPapers(t *turn) {
	order, check := t.Job.OwnCopy(), t.Job.CheckCopy()
	if len(order.Lines) == 0 && len(check.Openings) == 0 {
		t.say(phrase.Of("job.sheet.none"))
		return
	}
	add := func(d Document) {
		t.mails = append(t.mails, Reply{Text: phrase.Of("job.paper").Saying("ref", t.Job.Ref), Lang: t.lang(), Open: t.open(), Document: &d})
	}
	if len(order.Lines) > 0 {
		for _, paper := range []Paper{OrderPDF, OrderCSV, OrderJSON} {
			add(Document{Paper: paper, Order: &order, At: t.now})
		}
	}
	if len(check.Openings) > 0 {
		add(*t.view().CheckPaper(t.chat))
	}
}
