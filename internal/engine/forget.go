package engine

import (
	"context"
	"maps"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// forget goes through every job of a chat in which somebody asked to be
// forgotten, and gives what is to be written of them together with the turn, and
// the replies with the mail about them. A job that changes before the commit
// makes the turn stale, so none is missed and no change of others is lost.
//
// A part of a group's job that can't be read may name the person. It stays, because
// it is the group's, and the person is told. A private chat's is deleted unread.
func forget(ctx context.Context, store *session.Store, chat int64, replies []dialog.Reply) ([]session.JobChange, []dialog.Reply, error) {
	last := slices.IndexFunc(replies, func(r dialog.Reply) bool { return r.Forget != nil })
	if last < 0 {
		return nil, replies, nil
	}
	f := *replies[last].Forget
	if f.Ask {
		return asked(ctx, store, chat, replies, last)
	}
	jobs, err := store.LoadJobs(ctx, chat)
	if err != nil {
		return nil, nil, err
	}
	var changes []session.JobChange
	var mails []dialog.Reply
	unread := 0
	for _, ref := range slices.Sorted(maps.Keys(jobs)) {
		l, err := decoded(ref, jobs[ref])
		unread += len(l.bad)
		if err != nil {
			unread++
		}
		if err != nil || l.job == nil {
			continue
		}
		left, told := dialog.Forgotten(*l.job, f)
		mails = append(mails, told...)
		c := session.JobChange{Ref: ref, Read: l.parts[:1]}
		if f.User != 0 {
			if c, err = l.changed(&left); err != nil {
				return nil, nil, err
			}
		}
		changes = append(changes, c)
	}
	if f.User != 0 && unread > 0 {
		left := phrase.Of("unread.forgot").WithInt("count", unread)
		mails = append(mails, dialog.Reply{Text: left, Lang: replies[last].Lang})
	}
	return changes, slices.Insert(replies, last, mails...), nil // what forgets goes last
}

// left completes the word that a chat left by who has a chair in its jobs. A job that
// can't be read is passed over: who waits for it is told when something does not arrive.
func left(ctx context.Context, store *session.Store, chat int64, l dialog.Lost) (*dialog.Lost, error) {
	stored, err := store.LoadJobs(ctx, chat)
	for _, ref := range slices.Sorted(maps.Keys(stored)) {
		if j, err := decoded(ref, stored[ref]); err == nil && j.job != nil {
			l.Chairs = append(l.Chairs, dialog.Chairs(*j.job)...)
		}
	}
	return &l, err
}

// asked completes the question whether to forget by what others lose. A job that
// can't be read is not named: it goes unread.
func asked(ctx context.Context, store *session.Store, chat int64, replies []dialog.Reply, question int) ([]session.JobChange, []dialog.Reply, error) {
	stored, err := store.LoadJobs(ctx, chat)
	if err != nil {
		return nil, nil, err
	}
	var jobs []job.Job
	for _, ref := range slices.Sorted(maps.Keys(stored)) {
		if l, err := decoded(ref, stored[ref]); err == nil && l.job != nil {
			jobs = append(jobs, *l.job)
		}
	}
	replies = slices.Clone(replies)
	replies[question] = dialog.Losing(replies[question], jobs)
	return nil, replies, nil
}
