package engine

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"runtime/debug"

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

// nothing is a conversation that nobody has begun; it is not stored.
var nothing = func() []byte {
	data, err := json.Marshal(dialog.State{})
	if err != nil {
		panic(err) // it has no values
	}
	return data
}()

func fillIn(t *session.Turn, u Update, old []byte, state dialog.State, replies []dialog.Reply) error {
	data, err := json.Marshal(state)
	if err != nil {
		return err
	}
	looked := u.Input.Kind == dialog.Due && old != nil // the next turn is to say when to look again, see session.Turn
	if looked || !bytes.Equal(data, old) && (old != nil || !bytes.Equal(data, nothing)) {
		state.Job = nil // stored by itself
		t.Data, t.Value = data, state
	}
	for _, r := range replies {
		m := Message{Chat: u.Chat, To: answersTo(u, data, r), Reply: r}
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
	if u.Input.Kind == dialog.Undelivered || u.Input.Kind == dialog.Due {
		return session.Turn{}
	}
	return session.Turn{Say: [][]byte{word(u, lang, "error.internal")}}
}

// word is a reply of a single key, in the language chosen, or else the
// device's.
func word(u Update, lang, key string) []byte { return saying(u, lang, phrase.Of(key)) }

// saying is a reply of nothing but a text.
func saying(u Update, lang string, text phrase.Text) []byte {
	data, err := json.Marshal(Message{Chat: u.Chat, To: answersTo(u, nil, dialog.Reply{}), Reply: dialog.Reply{Text: text, Lang: cmp.Or(lang, u.Input.Lang), Topic: u.Input.Topic}})
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
