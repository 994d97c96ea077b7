package engine

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// A conversation or a part of a job that can't be read, because a later program wrote
// it or because it is damaged, is never written over: it stays until somebody begins
// anew, and then its bytes are set aside with the same commit. The person is told what
// it is and what helps. Letters that need it wait beside it.

// mostRefs is how many jobs are named to somebody who begins anew; one that does not
// stand there can still be opened by its reference.
const mostRefs = 5

// refs are the chat's jobs, to be opened again.
func (p stepper) refs(ctx context.Context, chat int64) ([]string, error) {
	jobs, err := p.store.LoadJobs(ctx, chat)
	if err != nil {
		return nil, err
	}
	refs := slices.Sorted(maps.Keys(jobs))
	return refs[:min(len(refs), mostRefs)], nil
}

// papersOf are the replies that are a paper.
func papersOf(replies []dialog.Reply) []dialog.Reply {
	return slices.DeleteFunc(replies, func(r dialog.Reply) bool { return r.Document == nil })
}

// unreadKind is one word for what is wrong, as it stands in catalogue keys.
func unreadKind(err error) string {
	if errors.Is(err, session.ErrNewer) {
		return "newer"
	}
	return "broken"
}

// unreadJob is a turn that can't be made because the head of a job, or a window, can't
// be read.
type unreadJob struct {
	ref    string
	window int // 0: the head
	name   string
	mail   bool // the letter is about it
	cause  error
}

func (e *unreadJob) Error() string { return "job can't be read: " + e.cause.Error() }

// Unwrap gives session.ErrNewer or session.ErrBroken.
func (e *unreadJob) Unwrap() error { return e.cause }

// turn says what can't be read and what helps. A letter is kept.
func (e *unreadJob) turn(u Update, lang string) (t session.Turn, err error) {
	text := phrase.Of("unread.job."+unreadKind(e.cause)).Saying("ref", e.ref)
	switch {
	case e.mail:
		t.Letter, err = json.Marshal(u)
		text = phrase.Of("unread.letter.job").Saying("ref", e.ref)
	case e.window != 0:
		text = phrase.Of("unread.window").Saying("ref", e.ref).Saying("name", e.name).WithInt("number", e.window)
	}
	t.Say = [][]byte{saying(u, lang, text)}
	return t, err
}

// withoutJob makes the step when the job, or with a window that window of it, can't be
// read: without the window, without the job, or not at all, which is an unreadJob.
func (p stepper) withoutJob(u Update, s dialog.State, l loadedJob, window int, cause error) (next dialog.State, replies []dialog.Reply, none loadedJob, err error) {
	about := u.Input.Mail != nil && u.Input.Mail.Ref == l.ref
	e := &unreadJob{ref: l.ref, window: window, name: l.nameOf(window), cause: cause, mail: about}
	apart := s
	apart.Job = nil
	switch leaves := dialog.Leaves(s, u.Input); {
	case about:
		return s, nil, none, e
	case !u.Input.ByPerson():
		next, replies, err = p.safely(u, apart)
		if next.Ref == "" && l.ref == s.Ref {
			next.Ref, next.Editing = s.Ref, s.Editing
		}
		return next, replies, none, err
	case leaves == dialog.Reads:
		_, replies, err = p.safely(u, apart)
		s.Job = nil
		return s, papersOf(replies), none, err
	case leaves == dialog.Begins && window != 0 && s.Editing == window:
		rest, err := l.decode() // without what was looked into
		inside := s
		inside.Job, inside.Editing = rest.job, 0
		if err == nil {
			next, replies, err = p.safely(u, inside)
		}
		if missing, all := rest.missing(); err == nil && !all && len(missing) == 0 {
			return next, replies, rest, nil
		}
		fallthrough
	case leaves == dialog.Begins:
		next, replies, err = p.safely(u, apart)
		return next, replies, none, err
	}
	return s, nil, none, e
}

// firstBad is a window that was looked into and can't be read, and why; with all, any.
func (l loadedJob) firstBad(missing []int, all bool) (window int, err error) {
	for _, id := range slices.Sorted(maps.Keys(l.bad)) {
		if all || slices.Contains(missing, id) {
			return id, l.bad[id]
		}
	}
	return 0, nil
}

// nameOf is the name of a window by its row.
func (l loadedJob) nameOf(window int) string {
	if l.job != nil {
		for _, o := range l.job.Openings {
			if o.ID == window {
				return o.Name
			}
		}
	}
	return ""
}
