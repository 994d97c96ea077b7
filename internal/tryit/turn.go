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
	engine.Answerer
	Remind(ctx context.Context, now time.Time) error
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
	return engine.Answer(ctx, taker)
}

// steps are how many stops the clock makes on a way of more hours than that.
const steps = 56

// way is how far the clock is moved from a moment.
type way func(now time.Time) time.Duration

func by(d time.Duration) way { return func(time.Time) time.Duration { return d } }

// untilMorning is how long it is until people are reminded on the next day where they
// are, in whatever zone now is: 24 hours less or more are none where the clocks change.
func untilMorning(now time.Time) time.Duration {
	return dialog.Morning(now.In(zone).AddDate(0, 0, 1)).Sub(now)
}

// pass moves the clock, hour by hour or in steps of a few, and says on the way what there
// is to remind people of; by none it does that now. The last step may be a part of one.
func (t *Trial) pass(ctx context.Context, taker Taker, how way) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), turnTime)
	defer cancel()
	t.turn.Lock()
	defer t.turn.Unlock()
	left := how(t.now()) // the turn before may have moved it
	for step := max(time.Hour, left/steps); ; left -= step {
		if err := taker.Remind(ctx, t.now()); err != nil {
			return fmt.Errorf("reminding: %w", err)
		}
		if err := engine.Answer(ctx, taker); err != nil || left <= 0 {
			return err
		}
		step = min(step, left)
		t.book.forward(step)
		if t.Passes != nil {
			t.Passes(step)
		}
	}
}

// typed puts what a person did into the book, and gives the number of the message.
func (t *Trial) typed(c chair, p person, lang, text string, files ...file) int64 {
	m := message{chat: c.chat, By: t.Speaker.Plain(lang, p.name), At: t.now(), Text: template.HTML(html.EscapeString(text)), Typed: text}
	for _, f := range files {
		if f.Inline {
			m.Pictures = append(m.Pictures, picture{f.ID, t.Speaker.Plain(lang, phrase.Of("web.alt.sent").Saying("file", f.Name))})
		} else {
			m.Papers = append(m.Papers, f)
		}
	}
	return t.book.add(m)
}

// pressed puts what a person did without words into the book, and gives the number of
// the message.
func (t *Trial) pressed(c chair, p person, lang string, did phrase.Text) int64 {
	return t.book.add(message{chat: c.chat, By: t.Speaker.Plain(lang, p.name), At: t.now(), Text: shown(t.Speaker.Text(lang, did))})
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
