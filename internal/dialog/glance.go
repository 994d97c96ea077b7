package dialog

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// jobsOnPage is how many jobs a page of open points has: at nine lines at the most
// each they stay under the 4096 characters that the platform takes in a message.
const jobsOnPage = 4

// glance says what is open in all jobs that the chat leads and in its own open
// one, the most urgent first, with what to type.
func glance(t *turn, a Ask) {
	today := t.now.Format(opening.DateForm)
	var g job.Glance
	for _, s := range t.Seats {
		if s.Role == job.Lead {
			g = g.With(s.Glance(today))
		}
	}
	if t.Job != nil {
		own := t.Job.Glance(today)
		own.Points = t.Job.OpenPoints(today)
		g = g.With(own)
	}
	t.say(phrase.Of("job.glance").WithInt("open", g.Open).WithInt("unsigned", g.Unsigned).
		WithInt("unconfirmed", g.Unconfirmed).WithInt("late", g.Late))
	jobs := slices.Clone(g.Jobs)
	slices.SortStableFunc(jobs, func(a, b job.GlanceJob) int { return urgency(a) - urgency(b) })
	pages := max(1, (len(jobs)+jobsOnPage-1)/jobsOnPage)
	page := max(1, min(a.Page, pages))
	for _, j := range jobs[(page-1)*jobsOnPage : min(page*jobsOnPage, len(jobs))] {
		t.sayOpen(j)
	}
	if page < pages {
		t.say(phrase.Of("job.open.more").WithInt("page", page+1).WithInt("pages", pages))
	}
}

// urgency is the place of the most urgent point of a job.
func urgency(j job.GlanceJob) int {
	if len(j.Points) == 0 {
		return len(job.Matters)
	}
	return slices.Index(job.Matters, j.Points[0].What)
}

// sayOpen says what is open in one job.
func (t *turn) sayOpen(j job.GlanceJob) {
	own := t.Job != nil && t.Job.Ref == j.Ref
	line := phrase.Of("job.glance.job")
	if len(j.Points) == 0 && j.Unsigned+j.Unconfirmed+len(j.Late) == 0 {
		line.Key = "job.glance.none"
	}
	t.say(line.Saying("ref", j.Ref).WithInt("unsigned", j.Unsigned).WithInt("unconfirmed", j.Unconfirmed).WithInt("late", len(j.Late)))
	for _, p := range j.Points {
		if len(p.Openings) == 0 || !slices.Contains(job.Matters, p.What) {
			continue // of a later version
		}
		key := "job.open." + string(p.What)
		if own {
			key = "job.open.own." + string(p.What)
		}
		text := phrase.Of(key).WithInt("count", len(p.Openings)).Saying("numbers", job.Numbers(p.Openings)).
			WithInt("n", p.Openings[0]).Saying("ref", j.Ref)
		t.say(text.Sub1("due", tell.StoredDay(p.Due)))
	}
}
