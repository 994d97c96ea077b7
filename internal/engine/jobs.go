package engine

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/session"
)

// loadedJob is a job as far as it was loaded for a turn. The zero value is
// none.
type loadedJob struct {
	ref    string
	parts  []session.Part // as read, the head first
	stored job.Stored     // the same
	bad    map[int]error  // windows that can't be read
	job    *job.Job       // nil: there is none
	look   time.Time      // of a look for reminders: when to look next
}

// loadJob reads the head of a job and some of its windows, as they were at one
// moment.
func loadJob(ctx context.Context, store *session.Store, chat int64, ref string, windows []int) (loadedJob, error) {
	parts, err := store.LoadJob(ctx, chat, ref, windows...)
	if err != nil {
		return loadedJob{ref: ref}, err
	}
	return decoded(ref, parts)
}

// decoded is a job as it was loaded, the head first. The error is of the head; a
// window that can't be read stands in bad.
func decoded(ref string, parts []session.Part) (loadedJob, error) {
	l := loadedJob{ref: ref, parts: parts, bad: map[int]error{}}
	if parts[0].Data == nil {
		return l, parts[0].Err
	}
	l.stored = job.Stored{Head: l.parts[0].Data, Parts: map[int][]byte{}, Unread: map[int]bool{}}
	for _, p := range parts[1:] {
		if p.Err != nil {
			l.leaveOut(p.Window, p.Err)
			continue
		}
		l.stored.Parts[p.Window] = p.Data
	}
	return l.decode()
}

// decode reads the job. When that fails each window is tried by itself, so that one
// alone does not take the job with it.
func (l loadedJob) decode() (loadedJob, error) {
	j, err := l.stored.Decode()
	if err != nil {
		for id, data := range maps.Clone(l.stored.Parts) {
			one := job.Stored{Head: l.stored.Head, Parts: map[int][]byte{id: data}}
			none := job.Stored{Head: l.stored.Head}
			if _, err := none.Decode(); err != nil {
				break // it is the head
			}
			if _, err := one.Decode(); err != nil {
				l.leaveOut(id, broken(err))
			}
		}
		j, err = l.stored.Decode()
	}
	if err != nil {
		return l, broken(err)
	}
	l.job = &j
	return l, nil
}

// leaveOut makes the row stand for a window that can't be read.
func (l loadedJob) leaveOut(window int, err error) {
	l.bad[window] = err
	for i := range l.parts {
		if l.parts[i].Window == window {
			l.parts[i].Data = nil // what is not written over stays
		}
	}
	delete(l.stored.Parts, window)
	l.stored.Unread[window] = true
}

// emptied is the job with windows that can't be read as ones of which only the row is
// known, so that they can be taken out of it.
func (l loadedJob) emptied(windows []int) (loadedJob, error) {
	l.stored.Parts = maps.Clone(l.stored.Parts)
	for _, id := range windows {
		if l.bad[id] != nil {
			l.stored.Parts[id] = nil
		}
	}
	return l.decode()
}

// aside is what is written over though it could not be read.
func (l loadedJob) aside(c session.JobChange) (list []session.Aside) {
	for _, p := range c.Write {
		if err := l.bad[p.Window]; err != nil && c.Ref == l.ref {
			list = append(list, session.Aside{Ref: c.Ref, Part: p, Err: err})
		}
	}
	return list
}

// missing is what the step looked into and did not have.
func (l loadedJob) missing() (windows []int, all bool) {
	if l.job == nil {
		return nil, false
	}
	return l.job.Missing()
}

// unreadable is whether what is stored can't be read.
func unreadable(err error) bool {
	return errors.Is(err, session.ErrNewer) || errors.Is(err, session.ErrBroken)
}

// broken is the error of a job that can't be read.
func broken(err error) error {
	kind := session.ErrBroken
	if errors.Is(err, job.ErrNewer) {
		kind = session.ErrNewer
	}
	return fmt.Errorf("job: %w", errors.Join(kind, err))
}

// changed is what is to be written of a job as it becomes; nil for none.
func (l loadedJob) changed(to *job.Job) (session.JobChange, error) {
	if to == nil || to == l.job { // no operation changes the job it is called on
		return session.JobChange{}, nil
	}
	stored, err := to.Encode()
	if err != nil {
		return session.JobChange{}, err
	}
	c := session.JobChange{Ref: to.Ref}
	if to.Ref != l.ref {
		l = loadedJob{}
	}
	next := map[int][]byte{0: stored.Head}
	maps.Copy(next, stored.Parts)
	for _, p := range l.parts {
		data := next[p.Window]
		delete(next, p.Window)
		if bytes.Equal(data, p.Data) {
			c.Read = append(c.Read, p)
			continue
		}
		p.Data = data
		c.Write = append(c.Write, p)
	}
	for id, data := range next {
		c.Write = append(c.Write, session.Part{Window: id, Data: data})
	}
	if len(c.Write) == 0 {
		return session.JobChange{}, nil
	}
	slices.SortFunc(c.Write, func(a, b session.Part) int { return a.Window - b.Window })
	return c, nil
}
