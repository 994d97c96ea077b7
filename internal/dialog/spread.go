package dialog

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/opening"
)

// ofAll says whether an answer to the question holds for all windows: always where it
// is mostly one for the job and the window at hand has none of its own, and of the
// others while they are asked for the job.
func (t *turn) ofAll(q *question) bool {
	if q == nil || t.Second != nil || !q.is(opening.Maker) {
		return false
	}
	own := t.answers().Entry(q.Key)
	alone := own != nil && own.Value != "" && own.How == opening.Measured && own.Value != skipped
	return t.Items || q.Scope == opening.OfJob && !alone
}

// tookItems takes the result over, and announces what others have to know.
func (t *turn) tookItems(j job.Job, events []job.Event, err error) {
	if err == nil {
		t.took(j, slices.DeleteFunc(events, func(e job.Event) bool { return e.Kind == job.OpeningChanged }), nil)
	}
}

// spread writes an answer into the other windows of the job that have none of their
// own and may still be changed.
func (t *turn) spread(ans Answer) {
	t.itemised = true
	if t.Job == nil || t.Job.Ref != t.Ref {
		return
	}
	for _, o := range t.Job.All() {
		known := o.Known()
		if e := known.Entry(ans.Key); o.ID == t.Editing || e != nil && e.Value != "" && e.How != opening.ForAll && e.How != opening.Copied {
			continue
		}
		t.describe(o, opening.Entry{Act: opening.Set, Key: ans.Key, Value: ans.Value, Typed: ans.Typed, How: opening.ForAll})
	}
}

// describe writes entries into a window that is not at hand. One whose frame is here
// stays as it was made.
func (t *turn) describe(o job.Opening, entries ...opening.Entry) {
	j, err := t.Job.Say(t.who(), t.now, o.ID, entries...)
	if err != nil {
		return
	}
	if o.Said.LastAct(opening.Reviewed, "") == nil {
		t.Job = &j
		return
	}
	j, events, err := j.Review(t.who(), t.now, o.ID)
	t.tookItems(j, events, err)
}

// takeBackItems takes what was said of the other windows in the same turn back too.
func (t *turn) takeBackItems(keys []string, turn int) {
	t.itemised = true
	t.Kept = slices.DeleteFunc(slices.Clone(t.Kept), func(ans Answer) bool { return slices.Contains(keys, ans.Key) })
	a := t.answers()
	for _, key := range keys {
		if e := a.Entry(key); e != nil && e.How == opening.ForAll {
			t.Kept = append(t.Kept, Answer{Key: key, Value: e.Value})
		}
	}
	if !t.inJob() || turn == 0 {
		return
	}
	for _, o := range t.Job.All() {
		if o.ID == t.Editing || o.Said.LastTurn(t.user) != turn {
			continue
		}
		if j, _, err := t.Job.TakeBack(t.who(), t.now, o.ID); err == nil {
			t.Job = &j
		}
	}
}
