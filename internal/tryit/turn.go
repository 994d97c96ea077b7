package tryit

import (
	"context"
	"fmt"
	"html"
	"html/template"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
)

// Taker is what the page needs of the engine.
type Taker interface {
	Take(ctx context.Context, u engine.Update) error
	Waiting() (chat int64, ok bool)
	Flush(ctx context.Context, chat int64) error
}

// turnTime is how long one turn may take.
const turnTime = 30 * time.Second

// take brings one thing that a person did through the engine, and its replies into
// the book. It goes on when the browser leaves meanwhile.
func (t *Trial) take(ctx context.Context, taker Taker, c chair, p person, in dialog.Input) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), turnTime)
	defer cancel()
	t.turn.Lock()
	defer t.turn.Unlock()
	t.updates++
	in.Now, in.Name = t.now(), t.Speaker.Plain(in.Lang, p.name)
	t.book.say(c.chat, "") // what was noted of the turn before is over
	toast := func(lang string, line phrase.Text) { t.book.say(c.chat, t.Speaker.Plain(lang, line)) }
	if err := taker.Take(ctx, engine.Update{ID: t.updates, Chat: c.chat, User: p.user, Group: c.group, Input: in, Toast: toast}); err != nil {
		return fmt.Errorf("taking what was typed: %w", err)
	}
	for chat, ok := taker.Waiting(); ok; chat, ok = taker.Waiting() {
		if err := taker.Flush(ctx, chat); err != nil {
			return fmt.Errorf("answering: %w", err)
		}
	}
	return nil
}

// typed puts what a person did into the book, and gives the number of the message.
func (t *Trial) typed(c chair, p person, lang, text string, files ...file) int64 {
	m := message{chat: c.chat, By: t.Speaker.Plain(lang, p.name), At: t.now(), Text: template.HTML(html.EscapeString(text))}
	if len(files) == 0 {
		m.Typed = text
	}
	for _, f := range files {
		if f.Inline {
			m.Pictures = append(m.Pictures, picture{f.ID, f.Name})
		} else {
			m.Papers = append(m.Papers, f)
		}
	}
	return t.book.add(m)
}

// corrected puts a text in the place of one that the same person typed; false: they did
// not.
func (t *Trial) corrected(c chair, p person, lang string, number int64, text string) bool {
	name := t.Speaker.Plain(lang, p.name)
	if m, ok := t.book.one(c.chat, number); !ok || m.By != name || m.Typed == "" {
		return false
	}
	return t.book.edit(c.chat, number, func(m message) message {
		m.Text, m.Typed = template.HTML(html.EscapeString(text)), text
		return m
	})
}
