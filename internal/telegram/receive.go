package telegram

import (
	"context"
	"encoding/json"
	"fmt"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"github.com/go-telegram/bot"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/sheet"
	"sillbot/internal/talk"
)

const (
	answerTimeout = 5 * time.Second // for telling a button that it was pressed
	answersAtOnce = 32
)

// Receiver handles updates, polled or pushed, through Handle.
type Receiver struct {
	// Gather is told when several updates of a chat were fetched together, and
	// done when the last is taken or one failed; nil: nobody is told. It is set
	// before Poll.
	Gather func(chat int64) (done func())

	// Moved is told that a group has another number now, of either chat's message
	// about it; nil: nobody is told. It is set before the first update.
	Moved func(ctx context.Context, first, now int64) error

	// Admits says whether a person may use the bot, so that no file of others is fetched;
	// nil: everybody may. It is set before the first update.
	Admits func(ctx context.Context, user int64, group bool) (bool, error)

	// Words makes what is shown at a button for a moment; nil: nothing is shown there, and
	// it comes as a message. It is set before the first update.
	Words Renderer

	client  *Client
	taker   Taker
	dead    DeadLetters
	pushed  atomic.Int64  // when a push was last acknowledged, Unix ms
	missed  atomic.Int64  // when a push was last not taken, Unix ms
	polled  atomic.Int64  // when the platform last answered a poll, Unix ms
	failing sync.Map      // since when each polled update that was not taken has failed, by its id
	answers chan struct{} // one slot for each answer to a press on its way
	wg      sync.WaitGroup
}

// Receiver makes the receiving side of c.
func (c *Client) Receiver(taker Taker, dead DeadLetters) *Receiver {
	return &Receiver{client: c, taker: taker, dead: dead, answers: make(chan struct{}, answersAtOnce)}
}

// Handle processes one update as the platform sent it. nil means that it may be
// acknowledged: it was taken, is of no interest, or can't be read and is on the
// dead list. An update that makes the program panic goes there too, so that it
// can't do so again. Errors: the taker's, the dead list's, or the platform's
// when the bot's own name was needed and could not be fetched.
func (r *Receiver) Handle(ctx context.Context, raw json.RawMessage) error {
	return r.handle(ctx, raw, nil)
}

// handle is Handle; the call that is to ride in the answer to a push is put into back. Where
// that is nil, what answers a press is sent.
func (r *Receiver) handle(ctx context.Context, raw json.RawMessage, back *ride) (err error) {
	defer func() {
		if p := recover(); p != nil {
			// The value of the panic may hold what a person wrote.
			r.client.cfg.Log.Error("an update made the program panic", "kind", fmt.Sprintf("%T", p), "stack", string(debug.Stack()))
			err = r.bury(ctx, raw, "panic")
		}
	}()
	u, err := decode(raw)
	if err != nil {
		return r.bury(ctx, raw, err.Error())
	}
	switch {
	case u.Message != nil:
		return r.message(ctx, raw, u.ID, u.Message, false, back)
	case u.Edited != nil:
		return r.message(ctx, raw, u.ID, u.Edited, true, nil)
	case u.Press != nil:
		return r.press(ctx, raw, u.ID, u.Press, back)
	case u.Member != nil:
		return r.member(ctx, raw, u.ID, u.Member)
	}
	r.client.cfg.Log.Debug("passed over an update of a kind that was not asked for", "update", u.ID)
	return nil
}

func (r *Receiver) bury(ctx context.Context, raw []byte, why string) error {
	r.client.cfg.Log.Warn("put an update on the dead list", "why", why, "bytes", len(raw))
	if err := r.dead.Dead(ctx, raw, why); err != nil {
		return fmt.Errorf("putting an update on the dead list: %w", err)
	}
	return nil
}

func (r *Receiver) message(ctx context.Context, raw json.RawMessage, id int64, m *message, edited bool, back *ride) error {
	if m.Chat.ID == 0 {
		return r.bury(ctx, raw, "a message without a chat")
	}
	switch {
	case r.Moved == nil:
	case m.MigrateTo != 0:
		return r.Moved(ctx, m.Chat.ID, m.MigrateTo)
	case m.MigrateFrom != 0:
		return r.Moved(ctx, m.MigrateFrom, m.Chat.ID)
	}
	if m.Chat.group() && m.As != nil {
		return r.nameless(ctx, raw, id, m, edited)
	}
	// Without a person, or from a bot, there is nobody to talk to.
	if m.From == nil || m.From.Bot || m.Chat.Type == "channel" {
		return nil
	}
	kind, text, ok := m.content(raw)
	if !ok {
		return nil
	}
	if edited && text == "" {
		return nil // such as a live location that moves on by itself
	}
	text, forUs, err := r.forUs(ctx, m, text)
	if err != nil || !forUs {
		return err
	}
	date := m.Date
	if edited {
		kind, date = dialog.Edited, m.EditDate
	}
	in := dialog.Input{Kind: kind, Text: clip(withoutJoiner(text), textLimit), Now: when(date, r.client.cfg.Clock()), Msg: m.ID, Topic: m.topic()}
	if m.ReplyTo != nil {
		in.ReplyTo = m.ReplyTo.ID
	}
	in.Album, in.Spot = m.album(), spot(m.Location, m.Venue)
	if kind == dialog.Photo || kind == dialog.Voice {
		in.Shot = m.shot()
	}
	if kind == dialog.File && m.Document.table() {
		if r.Admits != nil {
			may, err := r.Admits(ctx, m.From.ID, m.Chat.group())
			if err != nil {
				return err
			}
			if !may {
				return r.take(ctx, id, m.Chat, m.From, in, nil)
			}
		}
		if in.Table, err = r.client.download(ctx, m.Document.ID, sheet.MostAnswerBytes+1); err != nil {
			r.client.cfg.Log.Warn("an answer file was not fetched", "update", id, "error", err)
			in.Unfetched = true
		}
	}
	return r.hand(ctx, m.From, engine.Update{ID: id, Chat: m.Chat.ID, User: m.From.ID, Group: m.Chat.group(), Input: in, Strip: back.stripping(m.Chat.ID)})
}

// nameless hands over that somebody wrote to the bot in a group in the name of a chat, so
// that nobody knows who it is. A post of the linked channel, which the platform brings by
// itself, is to nobody.
func (r *Receiver) nameless(ctx context.Context, raw json.RawMessage, id int64, m *message, edited bool) error {
	_, text, ok := m.content(raw)
	if !ok || edited || m.Forwarded {
		return nil
	}
	_, forUs, err := r.forUs(ctx, m, text)
	if err != nil || !forUs {
		return err
	}
	return r.taker.Take(ctx, engine.Update{ID: id, Chat: m.Chat.ID, Group: true, Input: dialog.Input{
		Kind: talk.Nameless, Now: when(m.Date, r.client.cfg.Clock()), Msg: m.ID, Topic: m.topic(), Lang: m.From.language(),
	}})
}

// take hands over what a person did in a chat.
func (r *Receiver) take(ctx context.Context, id int64, c chat, from *user, in dialog.Input, toast func(string, phrase.Text)) error {
	return r.hand(ctx, from, engine.Update{ID: id, Chat: c.ID, User: from.ID, Group: c.group(), Input: in, Toast: toast})
}

func (r *Receiver) hand(ctx context.Context, from *user, u engine.Update) error {
	if talk.IsPage(u.Chat) || talk.IsPage(from.ID) {
		return nil // forged: those numbers are of pages in a browser, never of the platform
	}
	u.Input.Lang, u.Input.Name = from.language(), clip(from.First, nameLimit)
	return r.taker.Take(ctx, u)
}

// forUs reports whether a message is meant for the bot, and returns its text
// without the bot's name. In a group that is a command, a mention, or a reply
// to one of the bot's messages.
func (r *Receiver) forUs(ctx context.Context, m *message, text string) (string, bool, error) {
	if !m.Chat.group() {
		return withoutSuffix(text), true, nil
	}
	me, err := r.client.Me(ctx)
	if err != nil {
		return "", false, err
	}
	a := addressed(text, me.Username)
	if a.another {
		return "", false, nil
	}
	reply := m.ReplyTo != nil && m.ReplyTo.From != nil && m.ReplyTo.From.ID == me.ID
	return a.text, a.spoken || reply, nil
}

func (r *Receiver) press(ctx context.Context, raw json.RawMessage, id int64, p *press, back *ride) error {
	if p.From == nil {
		return r.bury(ctx, raw, "a press without a person")
	}
	if p.Message == nil || p.Message.Chat.ID == 0 || p.Message.Chat.Type == "channel" {
		return nil // under a message that was never in a chat with the bot
	}
	data := p.Data
	if len(data) > dataLimit {
		data = "" // forged: no button carries more
	}
	now := r.client.cfg.Clock() // a press has no date; the message's is that of the question
	in := dialog.Input{Kind: dialog.Pressed, Text: data, Now: now, Under: p.Message.ID, Topic: p.Message.topic()}
	say := ride{Method: "answerCallbackQuery", Query: p.ID}
	var toast func(string, phrase.Text)
	if r.Words != nil {
		toast = func(lang string, line phrase.Text) { say.Text = clipUnits(plain(r.Words.Text(lang, line)), toastLimit) }
	}
	if err := r.take(ctx, id, p.Message.Chat, p.From, in, toast); err != nil {
		return err
	}
	if back != nil {
		*back = say
		return nil
	}
	r.answer(ctx, say)
	return nil
}

// member hands over that the bot was blocked or is let write again, was added to a group
// or put out of one.
func (r *Receiver) member(ctx context.Context, raw json.RawMessage, id int64, m *member) error {
	if m.Chat.ID == 0 {
		return r.bury(ctx, raw, "a membership without a chat")
	}
	was, known := m.Old.in()
	is, knownNow := m.New.in()
	if !known || !knownNow || was == is || m.From == nil || m.Chat.Type == "channel" {
		return nil // such as more rights
	}
	in := dialog.Input{Kind: dialog.Returned, Now: when(m.Date, r.client.cfg.Clock())}
	switch {
	case was:
		in.Kind, in.Lost = dialog.Undelivered, &dialog.Lost{Why: dialog.Left}
	case m.Chat.group():
		in.Kind = dialog.Added
	}
	if m.Chat.group() && was { // nobody's conversation in it, but the group's
		return r.taker.Take(ctx, engine.Update{ID: id, Chat: m.Chat.ID, Input: in})
	}
	return r.take(ctx, id, m.Chat, m.From, in, nil)
}

// toastLimit is how much may be shown at a button, in UTF-16 code units to be safe: the
// platform says characters.
const toastLimit = 200

// clipUnits shortens a text to so many UTF-16 code units.
func clipUnits(text string, most int) string {
	for units(text) > most {
		letters := []rune(text)
		text = string(letters[:len(letters)-max(1, (units(text)-most)/2)])
	}
	return text
}

// ride is a call that can ride in the answer to a push, of which nobody learns what came of
// it: that a press was taken, so that the button stops showing progress, and what to show
// there for a moment; or that buttons come off a message.
type ride struct {
	Method  string `json:"method"`
	Query   string `json:"callback_query_id,omitempty"`
	Text    string `json:"text,omitempty"`
	Chat    int64  `json:"chat_id,omitempty"`
	Message int64  `json:"message_id,omitempty"`
}

// stripping takes the buttons off a message of a chat; nil where nothing rides.
func (back *ride) stripping(chat int64) func(msg int64) {
	if back == nil {
		return nil
	}
	return func(msg int64) { *back = ride{Method: "editMessageReplyMarkup", Chat: chat, Message: msg} }
}

// answer sends the answer to a press. Nothing depends on it: it is tried once, in the
// background, and skipped when too many are already running.
func (r *Receiver) answer(ctx context.Context, a ride) {
	select {
	case r.answers <- struct{}{}:
	default:
		return
	}
	r.wg.Go(func() {
		defer func() { <-r.answers }()
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), answerTimeout)
		defer cancel()
		_, err := r.client.post(ctx, "answerCallbackQuery", &bot.AnswerCallbackQueryParams{CallbackQueryID: a.Query, Text: a.Text})
		if err != nil {
			r.client.cfg.Log.Debug("a press was not answered", "error", r.client.plainError("answerCallbackQuery", err))
		}
	})
}

// Pushed is when a pushed update was last acknowledged; the zero time: never.
func (r *Receiver) Pushed() time.Time { return moment(&r.pushed) }

// Missed is when a push that had the secret was last answered with an error; the
// zero time: never.
func (r *Receiver) Missed() time.Time { return moment(&r.missed) }

// Polled is when a call for updates was last answered, or lost to another replica
// that polls; the zero time: never.
func (r *Receiver) Polled() time.Time { return moment(&r.polled) }

// Stuck is since when a polled update has failed again and again; the zero time: none
// does. Behind it the platform brings a hundred more, and then no other.
func (r *Receiver) Stuck() (since time.Time) {
	r.failing.Range(func(_, at any) bool {
		if t, _ := at.(time.Time); since.IsZero() || t.Before(since) {
			since = t
		}
		return true
	})
	return since
}

func moment(ms *atomic.Int64) time.Time {
	if ms.Load() == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms.Load())
}

// Wait returns when no answer to a press is still running, after a few seconds
// at most.
func (r *Receiver) Wait() { r.wg.Wait() }
