package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"strconv"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/session"
)

// A kind of conversation is played once through the engine. What is stored of it after
// each answer of the last window is then written under the numbers of many chats.
type kind struct {
	name    string
	share   int // of a hundred conversations: an assumption, C
	windows int // finished ones, in a job if it is more than none

	chat   int64
	script []string // all that the person types
	from   int      // so much of it comes before the last window
	stands []stand  // by how many answers of that window were given
}

// A stand is what is stored of a conversation at one moment.
type stand struct {
	state []byte
	ref   string         // of the job; "": none
	parts []session.Part // of the job, the head first
	reply []byte         // the last one, as it waits in an outbox
}

// stands are how many moments a kind has: before the first answer of its last window,
// and after each. A chat is as likely at one as at another, so that of its next messages
// one in so many brings a card, as of a whole day's.
const stands = 20

// spare is how many more windows a person can go on with.
const spare = 2

// typing is how long a person takes for each message: to measure, then to type.
const typing = 20 * time.Second

// kinds are the conversations of a working day: most are one survey, a third are jobs,
// and a few of those a whole block of flats.
func kinds() []*kind {
	list := []*kind{
		{name: "one window", share: 70},
		{name: "job, 3 windows done", share: 20, windows: 3},
		{name: "job, 12 windows done", share: 9, windows: 12},
		{name: "job, 40 windows done", share: 1, windows: 40},
	}
	for i, k := range list {
		k.chat = 6_060_842_000 + int64(i) // as long as a chat's, and nothing else is like it
		if k.windows > 0 {
			k.script = append(k.script, "job")
		}
		k.script = append(k.script, "England 2026-11-25")
		k.from = len(k.script) + k.windows*(len(window)+1)
		for range k.windows + 1 + spare {
			k.script = append(append(k.script, window...), "new")
		}
	}
	return list
}

// play plays a kind on a store, which is left as it was.
func (k *kind) play(ctx context.Context, store *session.Store, now time.Time) error {
	said := &lastSaid{}
	e := engine.New(store, said, engine.Options{Rate: -1, Log: slog.New(slog.DiscardHandler)})
	for i := range k.from + stands - 1 {
		if err := k.turn(ctx, e, k.chat, firstUpdate+int64(i), i, now); err != nil {
			return err
		}
		if i < k.from-1 {
			continue
		}
		s, err := k.stored(ctx, store)
		if err != nil {
			return err
		}
		if s.reply, err = json.Marshal(said.last); err != nil {
			return err
		}
		k.stands = append(k.stands, s)
	}
	return store.Forget(ctx, k.chat)
}

// turn is line i of the person, in a chat and under the id of an update.
func (k *kind) turn(ctx context.Context, e *engine.Engine, chat, id int64, i int, now time.Time) error {
	u := engine.Update{ID: id, Chat: chat, User: chat, Input: dialog.Input{
		Kind: dialog.Typed, Text: k.script[i], Name: "Person", Lang: "en", Msg: int64(i) + 1,
		Now: now.Add(-time.Duration(k.from+stands-i) * typing), Seed: bytes.Repeat([]byte{byte(i)}, 32),
	}}
	if err := e.Take(ctx, u); err != nil {
		return err
	}
	return e.Flush(ctx, chat)
}

// stored is what a store has of the kind's chat now.
func (k *kind) stored(ctx context.Context, store *session.Store) (s stand, err error) {
	c, err := store.Load(ctx, session.Key{Chat: k.chat})
	if err != nil {
		return s, err
	}
	jobs, err := store.LoadJobs(ctx, k.chat)
	if err != nil {
		return s, err
	}
	s.state = c.Data
	for s.ref, s.parts = range jobs { // there is one at the most
		if n := len(s.parts); n < 1+k.windows || n > 2+k.windows {
			return s, fmt.Errorf("%s: %d parts of a job were stored, not a head, %d windows and the one begun", k.name, n, k.windows)
		}
	}
	if len(jobs) != min(k.windows, 1) || s.state == nil {
		return s, fmt.Errorf("%s: %d jobs and a state of %d bytes were stored", k.name, len(jobs), len(s.state))
	}
	return s, nil
}

// under is what is stored, under a chat's number.
func (k *kind) under(chat int64, data []byte) []byte {
	return bytes.ReplaceAll(data, strconv.AppendInt(nil, k.chat, 10), strconv.AppendInt(nil, chat, 10))
}

// lastSaid is a Sender that keeps the last message, and counts the pictures.
type lastSaid struct {
	last  engine.Message
	cards int
}

// Send takes a message.
func (s *lastSaid) Send(_ context.Context, m engine.Message) (engine.Sent, error) {
	s.last = m
	if m.Reply.Picture != nil {
		s.cards++
	}
	return engine.Sent{}, nil
}
