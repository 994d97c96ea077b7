package engine

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

// step makes the turn that an update calls for. Where the conversation can't
// be read, which is what err says, that is a turn which says so, see unread.go; where
// the step panics, one that changes nothing.
//
// The error is Redis', when the job that the step needs can't be had.
func (p stepper) step(ctx context.Context, u Update, hushed bool, old session.Conversation, err error) (t session.Turn, kind string, failed error) {
	var state dialog.State
	if made, ok := old.Value.(dialog.State); ok {
		state = made // by the turn before; a step changes nothing in place
	} else if err == nil && old.Data != nil {
		err = state.UnmarshalJSON(old.Data) // and not json.Unmarshal, which would read it twice
	}
	if state.Newer() { // whatever else can't be read of it
		err = session.ErrNewer
	}
	if err != nil {
		p.log.Error("conversation can't be read", p.log.about(u), "err", kindOf(err))
		return p.withoutConversation(ctx, u, hushed, err)
	}
	if u.Input.Access != nil && u.Input.Access.As == talk.Owner && dialog.NeedsPeople(state, u.Input) {
		if err := p.gate.people(ctx, &u.Input); err != nil {
			return t, "", err
		}
	}
	if l := u.Input.Lost; l != nil && l.Why == talk.Left {
		if u.Input.Lost, err = left(ctx, p.store, u.Chat, *l); err != nil {
			return t, "", err
		}
	}
	next, replies, before, err := p.stepOnJob(ctx, u, state)
	if err == nil {
		t.Forgotten, replies, err = forget(ctx, p.store, u.Chat, replies)
	}
	var bad *unreadJob
	switch {
	case errors.Is(err, errPanic):
		return sorry(u, state.Lang), "panic", nil
	case errors.As(err, &bad):
		p.log.Error("job can't be read", p.log.about(u), "window", bad.window, "err", kindOf(err))
		t, err = bad.turn(u, state.Lang)
		return t, "unreadable", err
	case err != nil:
		return t, "", err
	}
	if hushed {
		replies = slices.DeleteFunc(slices.Clone(replies), dialog.Reply.Spoken)
	}
	if replies, err = p.gate.change(ctx, u, before.job, next, replies); err != nil {
		return t, "", err
	}
	if t.Ours, replies, err = p.ours(u, replies); err != nil {
		return t, "", err
	}
	t.Look, t.Must = before.lookAfter(state, next, u.Input)
	if t.Job, err = before.changed(next.Job); err == nil {
		t.Aside = before.aside(t.Job)
		replies = u.toasts.take(replies)
		err = fillIn(&t, u, old.Data, next, replies)
	}
	if err != nil {
		p.log.Error("turn can't be written", p.log.about(u), "err", kindOf(err))
		return sorry(u, state.Lang), "panic", nil
	}
	return t, "committed", nil
}

// stepOnJob is onJob. Nobody is led into a job of the group's that can't be read.
func (p stepper) stepOnJob(ctx context.Context, u Update, s dialog.State) (next dialog.State, replies []dialog.Reply, l loadedJob, err error) {
	if u.Input.Kind == dialog.Due {
		return p.stepOnDue(ctx, u, s)
	}
	next, replies, l, err = p.onJob(ctx, u, s)
	if bad := (*unreadJob)(nil); errors.As(err, &bad) && s.Ref == "" && bad.ref == u.Input.GroupJob {
		u.Input.GroupJob = ""
		return p.onJob(ctx, u, s)
	}
	return next, replies, l, err
}

// onJob makes a step with the job that it needs: the head and one window at
// first. When the step looks into others, they are loaded and it is made again,
// which is safe because it is pure. A panic is errPanic, and an unreadJob what
// can't be done because a part of the job can't be read.
func (p stepper) onJob(ctx context.Context, u Update, s dialog.State) (next dialog.State, replies []dialog.Reply, l loadedJob, err error) {
	ref, window := dialog.Needs(s, u.Input)
	var windows []int
	if window != 0 {
		windows = []int{window}
	}
	var emptied []int
	whole := false // every window was asked for
	for try := range redos {
		if ref != "" {
			l, err = loadJob(ctx, p.store, u.Chat, ref, windows)
			if unreadable(err) {
				return p.withoutJob(u, s, l, 0, err)
			}
			if emptied != nil && err == nil {
				l, err = l.emptied(emptied)
			}
			if err != nil {
				return next, nil, l, err
			}
			s.Job = l.job
		}
		next, replies, err = p.safely(u, s)
		missing, all := l.missing()
		if len(missing) == 0 && !all {
			return next, replies, l, err
		}
		if id, err := l.firstBad(missing, all && whole); err != nil {
			if emptied != nil || !dialog.Removes(s, u.Input) || !slices.Contains(missing, id) {
				return p.withoutJob(u, s, l, id, err)
			}
			emptied = missing
		}
		if windows = append(windows, missing...); all || try > 0 {
			whole = true
			if windows, err = l.stored.Windows(); err != nil {
				return next, nil, l, broken(err)
			}
		}
	}
	return next, nil, l, fmt.Errorf("the job changed %d times under one turn", redos)
}

// withoutConversation makes the turn of a conversation that can't be read.
func (p stepper) withoutConversation(ctx context.Context, u Update, hushed bool, cause error) (t session.Turn, kind string, failed error) {
	var none dialog.State
	if !u.Group {
		none = dialog.Begun(u.Chat, u.Input.Account)
	}
	lang := u.Input.Lang
	switch leaves := dialog.Leaves(none, u.Input); {
	case u.Input.Kind == dialog.Mailed:
		t.Letter, failed = json.Marshal(u)
		if !hushed {
			t.Say = [][]byte{word(u, lang, "unread.letter")}
		}
		return t, "unreadable", failed
	case !u.Input.ByPerson():
		return t, "unreadable", nil
	case leaves == dialog.Reads:
		_, replies, err := p.safely(u, none)
		if err != nil {
			return sorry(u, lang), "panic", nil
		}
		failed = fillIn(&t, u, nothing, none, papersOf(replies))
		t.Data = nil // to look changes nothing
		return t, "committed", failed
	case leaves == dialog.Stays:
		t.Say = [][]byte{word(u, lang, "unread."+unreadKind(cause))}
		return t, "unreadable", nil
	}
	next, replies, before, err := p.stepOnJob(ctx, u, none)
	var bad *unreadJob
	switch {
	case errors.As(err, &bad):
		t, err = bad.turn(u, lang)
		return t, "unreadable", err
	case errors.Is(err, errPanic):
		return sorry(u, lang), "panic", nil
	case err != nil:
		return t, "", err
	}
	if _, replies, err = forget(ctx, p.store, u.Chat, replies); err != nil {
		return t, "", err
	}
	if replies, err = p.gate.change(ctx, u, before.job, next, replies); err != nil {
		return t, "", err
	}
	if t.Ours, replies, err = p.ours(u, replies); err != nil {
		return t, "", err
	}
	begun, err := p.begun(ctx, u.Chat, next.Lang)
	if err != nil {
		return t, "", err
	}
	if t.Job, err = before.changed(next.Job); err != nil {
		return sorry(u, lang), "panic", nil
	}
	t.Aside = append(before.aside(t.Job), session.Aside{Err: cause})
	return t, "committed", fillIn(&t, u, nil, next, slices.Insert(replies, 0, begun))
}

// begun says that somebody begins without what can't be read, and which jobs there are.
func (p stepper) begun(ctx context.Context, chat int64, lang string) (dialog.Reply, error) {
	refs, err := p.refs(ctx, chat)
	lines := []phrase.Text{phrase.Of("unread.begun")}
	for _, ref := range refs {
		lines = append(lines, phrase.Of("unread.jobs").Saying("ref", ref))
	}
	return dialog.Reply{Text: phrase.Of("message").WithLines("lines", lines...), Lang: lang}, err
}
