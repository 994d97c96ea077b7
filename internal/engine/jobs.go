package engine

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/session"
)

// loadedJob is a job as far as it was loaded for a turn. The zero value is
// none.
type loadedJob struct {
	ref    string
	parts  []session.Part // as read, the head first
	stored job.Stored     // the same
	job    *job.Job       // nil: there is none
}

// loadJob reads the head of a job and some of its windows, as they were at one
// moment.
func loadJob(ctx context.Context, store *session.Store, chat int64, ref string, windows []int) (loadedJob, error) {
	parts, err := store.LoadJob(ctx, chat, ref, windows...)
	if err != nil {
		return loadedJob{ref: ref, parts: parts}, err
	}
	return decoded(ref, parts)
}

// decoded is a job as it was loaded, the head first.
func decoded(ref string, parts []session.Part) (loadedJob, error) {
	l := loadedJob{ref: ref, parts: parts}
	if parts[0].Data == nil {
		return l, parts[0].Err
	}
	l.stored = job.Stored{Head: l.parts[0].Data, Parts: map[int][]byte{}}
	for _, p := range parts[1:] {
		if p.Err != nil {
			return l, p.Err
		}
		l.stored.Parts[p.Window] = p.Data
	}
	j, err := l.stored.Decode()
	if err != nil {
		return l, broken(err)
	}
	l.job = &j
	return l, nil
}

// missing is what the step looked into and did not have.
func (l loadedJob) missing() (windows []int, all bool) {
	if l.job == nil {
		return nil, false
	}
	return l.job.Missing()
}

// broken is the error of a job that can't be read.
func broken(err error) error { return fmt.Errorf("job: %w", errors.Join(session.ErrBroken, err)) }

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
