package engine

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// stepper makes the turn that an update calls for, without committing it.
type stepper struct {
	do    func(dialog.State, dialog.Input) (dialog.State, []dialog.Reply)
	store *session.Store
	log   journal
	gate  gate
}

// redos is how often a turn is begun again because what it read has changed.
// Each time another turn of the chat was committed.
const redos = 20

// unreadable is whether what is stored can't be read.
func unreadable(err error) bool {
	return errors.Is(err, session.ErrNewer) || errors.Is(err, session.ErrBroken)
}

// step makes the turn that an update calls for. Where the conversation can't
// be read, which is what err says, or the step panics, that is a turn which
// says so and changes nothing.
//
// The error is Redis', when the job that the step needs can't be had.
func (p stepper) step(ctx context.Context, u Update, hushed bool, old session.Conversation, err error) (t session.Turn, kind string, failed error) {
	var state dialog.State
	if err == nil && old.Data != nil {
		err = json.Unmarshal(old.Data, &state)
	}
	if err != nil {
		p.log.Error("conversation can't be read", p.log.about(u), "err", kindOf(err))
		return sorry(u, ""), "unreadable", nil
	}
	if u.Input.Access != nil && dialog.NeedsPeople(state, u.Input) {
		if err := p.gate.people(ctx, &u.Input); err != nil {
			return t, "", err
		}
	}
	next, replies, before, err := p.stepOnJob(ctx, u, state)
	if err == nil {
		t.Forgotten, replies, err = forget(ctx, p.store, u.Chat, replies)
	}
	switch {
	case errors.Is(err, errPanic):
		return sorry(u, state.Lang), "panic", nil
	case unreadable(err):
		p.log.Error("job can't be read", p.log.about(u), "err", kindOf(err))
		return sorry(u, state.Lang), "unreadable", nil
	case err != nil:
		return t, "", err
	}
	if hushed {
		replies = slices.DeleteFunc(slices.Clone(replies), shown)
	}
	if replies, err = p.gate.change(ctx, u, next, replies); err != nil {
		return t, "", err
	}
	if t.Job, err = before.changed(next.Job); err == nil {
		err = fillIn(&t, u.Chat, old.Data, next, replies)
	}
	if err != nil {
		p.log.Error("turn can't be written", p.log.about(u), "err", kindOf(err))
		return sorry(u, state.Lang), "panic", nil
	}
	return t, "committed", nil
}

// stepOnJob makes a step with the job that it needs: the head and one window at
// first. When the step looks into others, they are loaded and it is made again,
// which is safe because it is pure. A panic is errPanic.
func (p stepper) stepOnJob(ctx context.Context, u Update, s dialog.State) (next dialog.State, replies []dialog.Reply, l loadedJob, err error) {
	ref, window := dialog.Needs(s, u.Input)
	var windows []int
	if window != 0 {
		windows = []int{window}
	}
	for try := range redos {
		if ref != "" {
			if l, err = loadJob(ctx, p.store, u.Chat, ref, windows); err != nil {
				return next, nil, l, err
			}
			s.Job = l.job
		}
		next, replies, err = p.safely(u, s)
		missing, all := l.missing()
		if len(missing) == 0 && !all {
			return next, replies, l, err
		}
		if windows = append(windows, missing...); all || try > 0 {
			if windows, err = l.stored.Windows(); err != nil {
				return next, nil, l, broken(err)
			}
		}
	}
	return next, nil, l, fmt.Errorf("the job changed %d times under one turn", redos)
}

// shown says whether a reply is to be put in front of people, and not for the engine.
func shown(r dialog.Reply) bool {
	return r.Mail == nil && r.Link == nil && r.Unlink == "" && r.Forget == nil && r.Access == nil
}

// nothing is a conversation that nobody has begun; it is not stored.
var nothing = func() []byte {
	data, err := json.Marshal(dialog.State{})
	if err != nil {
		panic(err) // it has no values
	}
	return data
}()

func fillIn(t *session.Turn, chat int64, old []byte, state dialog.State, replies []dialog.Reply) error {
	data, err := json.Marshal(state)
	if err != nil {
		return err
	}
	if !bytes.Equal(data, old) && (old != nil || !bytes.Equal(data, nothing)) {
		t.Data = data
	}
	for _, r := range replies {
		m := Message{Chat: chat, Reply: r}
		data, err := json.Marshal(m)
		if err != nil {
			return err
		}
		t.Say, t.Values = append(t.Say, data), append(t.Values, m)
		t.Forget = t.Forget || r.Forget != nil
	}
	return nil
}

// sorry is a turn that changes nothing and says that something went wrong, unless
// nobody waits for an answer: to what is said of a reply that did not go out the
// answer would not either.
func sorry(u Update, lang string) session.Turn {
	if u.Input.Kind == dialog.Undelivered {
		return session.Turn{}
	}
	return session.Turn{Say: [][]byte{word(u, lang, "error.internal")}}
}

// word is a reply of a single key, in the language chosen, or else the
// device's.
func word(u Update, lang, key string) []byte {
	data, err := json.Marshal(Message{Chat: u.Chat, Reply: dialog.Reply{Text: phrase.Of(key), Lang: cmp.Or(lang, u.Input.Lang)}})
	if err != nil {
		panic(err) // strings always can be
	}
	return data
}

var errPanic = errors.New("panic")

// safely steps, and logs a panic without what the person wrote.
func (p stepper) safely(u Update, s dialog.State) (out dialog.State, replies []dialog.Reply, err error) {
	defer func() {
		v := recover()
		if v == nil {
			return
		}
		err = errPanic
		p.log.Error("panic in a turn", p.log.about(u), "what", panicked(v), "stack", string(debug.Stack()))
	}()
	out, replies = p.do(s, u.Input)
	return out, replies, nil
}
