package tryit

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
)

// Send puts one reply into its chat, or in the place of the message that it is over. It
// makes Trial an engine.Sender. What can't be drawn is said, so that the words go out
// all the same.
func (t *Trial) Send(ctx context.Context, m engine.Message) (engine.Sent, error) {
	chat := cmp.Or(m.To, m.Chat)
	if _, ok := chairIn(chat); !ok {
		return engine.Sent{}, &engine.DropError{Err: fmt.Errorf("there is no chat %d", chat), Gone: true}
	}
	var sent engine.Sent
	for _, m.Reply = range m.Reply.Apart() {
		sent.Msg = t.put(t.message(ctx, chat, m), m.Reply.Over)
	}
	return sent, nil
}

// put puts a message in the place of another, or at the end where it can't, and gives its
// number.
func (t *Trial) put(said message, over int64) int64 {
	if over != 0 && len(said.Pictures)+len(said.Papers) == 0 && t.book.edit(said.chat, over, func(message) message { return said }) {
		return over
	}
	return t.book.add(said)
}

// Strip takes the buttons off a message: they mean nothing any more.
func (t *Trial) Strip(_ context.Context, m engine.Message, msg int64) {
	t.book.edit(cmp.Or(m.To, m.Chat), msg, func(old message) message {
		old.Buttons = nil
		return old
	})
}

// message is a reply as the page shows it.
func (t *Trial) message(ctx context.Context, chat int64, m engine.Message) message {
	r := m.Reply
	out := message{chat: chat, At: t.now(), Text: shown(t.Speaker.Text(r.Lang, r.Text))}
	for _, f := range r.Folded {
		out.Folded = append(out.Folded, shown(t.Speaker.Text(r.Lang, f)))
	}
	if r.Picture != nil {
		png, err := t.Painter(ctx, r.Lang, *r.Picture)
		if err != nil {
			out = t.without(out, r.Lang)
		} else {
			f := t.book.keep(file{Name: "picture.png", Type: "image/png", Inline: true, data: png})
			out.Pictures = append(out.Pictures, picture{f.ID, t.alt(r.Lang, *r.Picture)})
		}
	}
	if r.Document != nil {
		name, data, err := t.Papers(ctx, r.Lang, m.Chat, *r.Document)
		if err != nil {
			out = t.without(out, r.Lang)
		} else {
			out.Papers = append(out.Papers, t.book.keep(file{Name: name, Type: typeOf(name), data: data}))
		}
	}
	for _, shot := range r.Shots {
		out = t.shot(out, r.Lang, shot)
	}
	for _, row := range r.Buttons {
		var line []button
		for _, b := range row {
			if b.Data != "" { // else what it does stands in the words as well
				line = append(line, button{t.Speaker.Plain(r.Lang, b.Label), b.Data})
			}
		}
		if line != nil {
			out.Buttons = append(out.Buttons, line)
		}
	}
	return out
}

// without says that a picture or paper could not be made.
func (t *Trial) without(m message, lang string) message {
	m.Folded = append(m.Folded, shown(t.Speaker.Text(lang, phrase.Of("web.unmade"))))
	return m
}

// alt says what a picture is to who doesn't see it.
func (t *Trial) alt(lang string, p dialog.Picture) string {
	if p.Reading != "" {
		return t.Speaker.Plain(lang, phrase.Of("web.alt.sketch"))
	}
	return t.Speaker.Plain(lang, phrase.Of("web.alt.card"))
}

// shot shows again a photo that somebody sent.
func (t *Trial) shot(m message, lang string, s dialog.Shot) message {
	label := t.Speaker.Plain(lang, phrase.Of("web.alt.photo"))
	if s.Label != nil {
		label = t.Speaker.Plain(lang, *s.Label)
	}
	f, ok := t.book.file(s.File)
	switch {
	case !ok:
		return t.without(m, lang)
	case f.Inline:
		m.Pictures = append(m.Pictures, picture{f.ID, label})
	default:
		m.Papers = append(m.Papers, f)
	}
	return m
}

// typeOf is the media type of a paper.
func typeOf(name string) string {
	switch filepath.Ext(name) {
	case ".pdf":
		return "application/pdf"
	case ".csv":
		return "text/csv; charset=utf-8"
	case ".json":
		return "application/json"
	}
	return "application/octet-stream"
}
