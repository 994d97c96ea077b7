package engine

import (
	"context"
	"errors"
	"maps"
	"slices"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/session"
)

// lookLater is when a chat is looked at again of which nothing can be read.
const lookLater = 24 * time.Hour

// lookAfter is when to look at the chat after a turn, and whether that takes effect at once.
func (l loadedJob) lookAfter(was, now dialog.State, in dialog.Input) (time.Time, bool) {
	if in.Kind == dialog.Due {
		return l.look, true
	}
	return dialog.Look(was, now, l.job, in)
}

// stepOnDue makes a look for reminders: with the heads of all jobs of the chat, and the
// windows that it looks into. A job, or a window, that can't be read is left out.
func (p stepper) stepOnDue(ctx context.Context, u Update, s dialog.State) (next dialog.State, replies []dialog.Reply, l loadedJob, err error) {
	heads, err := p.store.JobHeads(ctx, u.Chat)
	if err != nil {
		return next, nil, l, err
	}
	var jobs []loadedJob
	for _, ref := range slices.Sorted(maps.Keys(heads)) {
		if j, err := decoded(ref, []session.Part{heads[ref]}); err == nil && j.job != nil {
			jobs = append(jobs, j)
		}
	}
	for range redos {
		u.Input.Jobs = make([]job.Job, len(jobs))
		for i := range jobs {
			u.Input.Jobs[i] = *jobs[i].job
		}
		if next, replies, err = p.safely(u, s); err != nil {
			return next, nil, l, err
		}
		if l.look, _ = dialog.Look(s, next, nil, u.Input); !p.loadMore(ctx, u.Chat, jobs, &err) {
			return next, replies, l, err
		}
	}
	return next, nil, l, errors.New("a job has no end of windows")
}

// loadMore loads the windows that a look went into and that were not loaded; false: there are none, or
// err says why not.
func (p stepper) loadMore(ctx context.Context, chat int64, jobs []loadedJob, err *error) (more bool) {
	for i, l := range jobs {
		missing, all := l.missing()
		if all {
			missing, _ = l.stored.Windows() // the head was read already
		}
		windows := windowsOf(l.parts)
		missing = slices.DeleteFunc(missing, func(id int) bool { return slices.Contains(windows, id) })
		if len(missing) == 0 {
			continue
		}
		loaded, loadErr := loadJob(ctx, p.store, chat, l.ref, append(windows, missing...))
		if loadErr != nil && !unreadable(loadErr) {
			*err = loadErr
			return false
		}
		if loadErr == nil && loaded.job != nil {
			jobs[i], more = loaded, true
		}
	}
	return more
}

// windowsOf are the windows among the parts of a job.
func windowsOf(parts []session.Part) (ids []int) {
	for _, p := range parts {
		if p.Window != 0 {
			ids = append(ids, p.Window)
		}
	}
	return ids
}
