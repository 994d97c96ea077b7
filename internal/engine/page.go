package engine

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

// ErrNoPage: a link leads to no page, or the chat of a page has no chair any more. Why,
// nobody outside is told.
var ErrNoPage = errors.New("there is no such page")

// ErrLost is the ErrNoPage of a page whose chair was taken back for good.
var ErrLost = fmt.Errorf("%w: its chair was taken back", ErrNoPage)

// Sight is what a page in a browser is made of: the job as its owner's record has it
// now, which is asked each time who has which chair, and what was said to the page.
type Sight struct {
	Job  job.Job
	Role job.Role
	Lang string // chosen by the person; "": none
	Said []session.PageLine
	// Stamp is another one as soon as anything of it has changed.
	Stamp session.Stamp
}

// PageOf is the job, by reference, of which a link's token opens a page for a chat.
// ErrNoPage: of none now.
func (e *Engine) PageOf(ctx context.Context, token string, chat int64) (ref string, err error) {
	u := Update{Chat: chat, User: chat, Input: dialog.Input{Kind: dialog.Typed, Text: "/start " + token}}
	if _, err := e.turns.gate.complete(ctx, &u); err != nil {
		return "", err
	}
	l := u.Input.Link
	if l == nil || l.Role != job.Desk && l.Role != job.Customer {
		return "", ErrNoPage
	}
	j, err := loadJob(ctx, e.store, l.Owner, l.Ref, nil)
	switch {
	case unreadable(err):
		return "", ErrNoPage
	case err != nil:
		return "", err
	case j.job == nil || j.job.Handing != nil:
		return "", ErrNoPage
	}
	if _, _, err := j.job.Use(job.Who{Chat: chat}, time.Now(), token); err != nil {
		return "", ErrNoPage
	}
	return l.Ref, nil
}

// See gives what a page shows. ErrNoPage: its chat has no chair any more.
func (e *Engine) See(ctx context.Context, chat int64) (Sight, error) {
	seat, lang, err := e.pageSeat(ctx, chat)
	if err != nil {
		return Sight{}, err
	}
	s := Sight{Lang: lang}
	if s.Stamp, err = e.store.Stamp(ctx, chat, seat.Owner, seat.Ref); err != nil {
		return Sight{}, err
	}
	l, err := loadJob(ctx, e.store, seat.Owner, seat.Ref, nil)
	if err == nil && l.job != nil {
		var windows []int
		if windows, err = l.stored.Windows(); err == nil {
			l, err = loadJob(ctx, e.store, seat.Owner, seat.Ref, windows)
		}
	}
	if err != nil {
		return Sight{}, err
	}
	if l.job == nil {
		return Sight{}, ErrNoPage
	}
	s.Job, s.Role = *l.job, l.job.Chair(chat)
	if s.Role != job.Desk && s.Role != job.Customer {
		return Sight{}, ErrNoPage
	}
	s.Said, err = e.store.PageSays(ctx, chat)
	return s, err
}

// Stamp is that of See, without the rest.
func (e *Engine) Stamp(ctx context.Context, chat int64) (session.Stamp, error) {
	seat, _, err := e.pageSeat(ctx, chat)
	if err != nil {
		return session.Stamp{}, err
	}
	return e.store.Stamp(ctx, chat, seat.Owner, seat.Ref)
}

// pageSeat is the chair of a page, by its own conversation: its owner's record says
// whether it holds. Nothing is shown to who was put out of a closed bot; one whose job
// has ended may look at it.
func (e *Engine) pageSeat(ctx context.Context, chat int64) (talk.Seat, string, error) {
	if !talk.IsPage(chat) {
		return talk.Seat{}, "", ErrNoPage
	}
	if !e.turns.gate.open() {
		p, err := e.store.Person(ctx, chat)
		if err != nil {
			return talk.Seat{}, "", err
		}
		if p.May(time.Now()) == session.Out {
			return talk.Seat{}, "", ErrNoPage
		}
	}
	c, err := e.store.Load(ctx, session.Key{Chat: chat})
	if err != nil {
		return talk.Seat{}, "", err
	}
	var s dialog.State
	switch {
	case c.Data == nil || json.Unmarshal(c.Data, &s) != nil:
		return talk.Seat{}, "", ErrNoPage
	case len(s.Seats) == 0:
		return talk.Seat{}, "", ErrNoPage
	case s.Seats[len(s.Seats)-1].Role == "":
		return talk.Seat{}, "", ErrLost
	}
	return s.Seats[len(s.Seats)-1], s.Lang, nil
}

// Pager is a Sender of replies to people at the platform and to pages in a browser: to
// these it keeps them where they are read, and a page that nobody has open any more can't
// be reached.
type Pager struct {
	Platform Sender
	Store    *session.Store
}

// Send sends a message to where its chat is.
func (p Pager) Send(ctx context.Context, m Message) (Sent, error) {
	if !talk.IsPage(m.Chat) {
		return p.Platform.Send(ctx, m)
	}
	data, err := json.Marshal(m.Reply)
	if err != nil {
		return Sent{}, &DropError{Err: err}
	}
	there, err := p.Store.ToPage(ctx, m.Chat, data)
	if err == nil && !there {
		return Sent{}, &DropError{Err: errors.New("nobody has the page open"), Gone: true}
	}
	return Sent{}, err
}

// Strip takes the buttons off a message at the platform; a page shows none that are old.
func (p Pager) Strip(ctx context.Context, m Message, msg int64) {
	if s, can := p.Platform.(Stripper); can && !talk.IsPage(m.Chat) {
		s.Strip(ctx, m, msg)
	}
}

// OnePiece is that of the platform; what goes to a page goes by itself.
func (p Pager) OnePiece(m Message) bool {
	j, can := p.Platform.(Joiner)
	return can && !talk.IsPage(m.Chat) && j.OnePiece(m)
}
