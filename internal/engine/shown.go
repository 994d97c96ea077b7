package engine

import (
	"context"
	"encoding/json"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// stands is a message that stands in a chat now, to be noted with what it is about.
type stands struct {
	session.Shown
	of Message
}

// standsNow is what is to be noted of a message that was sent.
func standsNow(m Message, sent Sent) stands {
	if m.Reply.Asks == nil || sent.Msg == 0 {
		return stands{}
	}
	about := *m.Reply.Asks
	about.User = 0
	data, err := json.Marshal(about)
	if err != nil {
		return stands{}
	}
	return stands{session.Shown{Msg: sent.Msg, User: m.Reply.Asks.User, Data: string(data)}, m}
}

// askedOf reads what was noted.
func askedOf(s session.Shown) *dialog.Asked {
	var a dialog.Asked
	if json.Unmarshal([]byte(s.Data), &a) != nil {
		return nil
	}
	a.User = s.User
	return &a
}

// strip takes the buttons off the message that the same person was shown before the one
// of now: they mean nothing any more. An answer to a press takes that one's place, so
// that mostly there is nothing to do.
func strip(ctx context.Context, sender Sender, log journal, rode *strips, now stands, before []session.Shown) {
	stripper, can := sender.(Stripper)
	if !can || now.Msg == 0 {
		return
	}
	i := slices.IndexFunc(before, func(s session.Shown) bool { return s.User == now.User })
	if i < 0 || before[i].Msg == now.Msg || rode.off(now.of.Chat, before[i].Msg) {
		return
	}
	if a := askedOf(before[i]); a == nil || !a.Ends {
		return
	}
	defer func() {
		if v := recover(); v != nil {
			log.Error("panic while buttons were taken off", "what", panicked(v))
		}
	}()
	stripper.Strip(ctx, now.of, before[i].Msg)
}

// lookUp finds what the message was about that a person answers or whose button they
// pressed.
func lookUp(ctx context.Context, store *session.Store, u *Update) error {
	in := &u.Input
	msg := in.ReplyTo
	if u.Group && msg == 0 {
		msg = in.Under // whose question it is
	}
	if msg == 0 {
		return nil
	}
	list, err := store.Shown(ctx, u.Chat)
	if err != nil {
		return err
	}
	if i := slices.IndexFunc(list, func(s session.Shown) bool { return s.Msg == msg }); i >= 0 {
		in.Asked = askedOf(list[i])
	}
	return nil
}
