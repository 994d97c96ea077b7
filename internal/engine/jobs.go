package engine

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/session"
)

// loadedJob is a job as it was when a turn began. The zero value is none.
type loadedJob struct {
	ref   string
	parts []session.Part // the head first
}

// loadJob puts the job that Step needs into the state.
func (e *Engine) loadJob(ctx context.Context, u Update, s *dialog.State) (loadedJob, error) {
	ref := dialog.Needs(*s, u.Input)
	if ref == "" {
		return loadedJob{}, nil
	}
	l, stored, err := e.wholeJob(ctx, u.Chat, ref)
	if err != nil || stored.Head == nil {
		return l, err
	}
	j, err := stored.Decode()
	if err != nil {
		return l, broken(err)
	}
	s.Job = &j
	return l, nil
}

// wholeJob reads a job with all its windows as they were at one moment. One
// that is not there has no head.
func (e *Engine) wholeJob(ctx context.Context, chat int64, ref string) (loadedJob, job.Stored, error) {
	l := loadedJob{ref: ref}
	var err error
	if l.parts, err = e.store.LoadJob(ctx, chat, ref); err != nil {
		return l, job.Stored{}, err
	}
	// A head of a newer revision may list other windows than those that were
	// asked for, so it is read again with them.
	for range redos {
		stored := job.Stored{Head: l.parts[0].Data}
		if stored.Head == nil {
			return l, stored, nil
		}
		windows, err := stored.Windows()
		if err != nil {
			return l, stored, broken(err)
		}
		if len(windows) == 0 {
			return l, stored, nil
		}
		rev := l.parts[0].Rev
		if l.parts, err = e.store.LoadJob(ctx, chat, ref, windows...); err != nil {
			return l, stored, err
		}
		if l.parts[0].Rev != rev {
			continue
		}
		stored.Parts = map[int][]byte{}
		for _, p := range l.parts[1:] {
			if p.Data != nil {
				stored.Parts[p.Window] = p.Data
			}
		}
		return l, stored, nil
	}
	return l, job.Stored{}, fmt.Errorf("the job changed %d times under one turn", redos)
}

func broken(err error) error { return fmt.Errorf("job: %w", errors.Join(session.ErrBroken, err)) }

// changed is what is to be written of the job that Step left in the state.
func (l loadedJob) changed(s dialog.State) (session.JobChange, error) {
	if s.Job == nil {
		return session.JobChange{}, nil
	}
	stored, err := s.Job.Encode()
	if err != nil {
		return session.JobChange{}, err
	}
	c := session.JobChange{Ref: s.Job.Ref}
	if s.Job.Ref != l.ref {
		l = loadedJob{}
	}
	next := map[int][]byte{0: stored.Head}
	for id, data := range stored.Parts {
		next[id] = data
	}
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
