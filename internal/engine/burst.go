package engine

import (
	"encoding/json"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// A Joiner is a Sender that is given the replies to a burst of messages as one,
// as long as it can put them in front of people in one piece.
type Joiner interface {
	OnePiece(m Message) bool
}

// messageOf is the reply in an item of the outbox.
func messageOf(it session.Item) (Message, error) {
	if it.Err != nil {
		return Message{}, it.Err
	}
	if m, ok := it.Value.(Message); ok {
		return m, nil
	}
	var m Message
	return m, json.Unmarshal(it.Data, &m)
}

// joins is whether a reply may go out as one with others, so that it is worth a
// look at what waits behind it.
func joins(sender Sender, it session.Item) bool {
	_, can := sender.(Joiner)
	m, err := messageOf(it)
	return can && err == nil && m.Reply.Burst != nil
}

// together makes one reply of m, the head of the box, and those right behind it
// that go with it, and notes in the box how many they are. Once that many were
// tried it stays so: what is tried again must be what may have arrived.
func (b *box) together(sender Sender, m Message) Message {
	most := b.n
	switch {
	case b.apart:
		most = 1
	case most == 0:
		most = len(b.items)
	}
	b.n = 1
	for b.n < most {
		next, err := messageOf(b.items[b.n])
		if err != nil || next.Chat != m.Chat || next.To != m.To {
			break
		}
		both, ok := dialog.Join(m.Reply, next.Reply)
		if !ok || !onePiece(sender, Message{Chat: m.Chat, Reply: both}) {
			break
		}
		m.Reply = both
		b.n++
	}
	return m
}

// onePiece asks the sender. Replies that make it panic go by themselves, so that
// one is to blame.
func onePiece(sender Sender, m Message) (ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	j, can := sender.(Joiner)
	return can && j.OnePiece(m)
}

// stillThere looks which of the replies that were tried as one still wait, after
// someone else may have had the lease. now is the head of the outbox.
func (b *box) stillThere(now []session.Item) {
	tried := b.items[:b.n]
	b.n = 0
	if len(now) > 0 {
		first := slices.IndexFunc(tried, func(it session.Item) bool { return it.ID == now[0].ID })
		for first >= 0 && first+b.n < len(tried) && b.n < len(now) && tried[first+b.n].ID == now[b.n].ID {
			b.n++
		}
	}
	b.sent = b.sent && b.n > 0
	if !b.sent {
		b.lost, b.marked, b.shown = "", false, stands{}
	}
}
