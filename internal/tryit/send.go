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
	apart := m.Reply.Apart()
	for i, one := range apart {
		m.Reply = one.LinkOnButton()
		sent.Msg = t.put(t.message(ctx, chat, m, place{i + 1, len(apart)}), one.Over)
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

// message is a reply as the page shows it; its picture is at a place in an album.
func (t *Trial) message(ctx context.Context, chat int64, m engine.Message, at place) message {
	r := m.Reply
	out := message{chat: chat, At: t.now(), Text: shown(t.Speaker.Text(r.Lang, r.Text))}
	for _, f := range r.Folded {
		out.Folded = append(out.Folded, shown(t.Speaker.Text(r.Lang, f)))
	}
	if r.Picture != nil {
		drawn, err := t.drawn(ctx, r.Lang, *r.Picture, at)
		if err != nil {
			out = t.without(out, r.Lang)
		} else {
			out.Pictures = append(out.Pictures, drawn)
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
	for i, shot := range r.Shots {
		out = t.shot(out, r.Lang, shot, place{i + 1, len(r.Shots)})
	}
	for _, row := range r.Buttons {
		var line []button
		for _, b := range row {
			if b.Data != "" || b.PassOn != "" || b.Copy != "" {
				line = append(line, button{t.Speaker.Plain(r.Lang, b.Label), b.Data, b.PassOn, b.Copy})
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

// drawn is a picture with what it shows in words.
func (t *Trial) drawn(ctx context.Context, lang string, p dialog.Picture, at place) (picture, error) {
	alt, err := t.altOf(lang, p, at)
	if err != nil {
		return picture{}, err
	}
	png, err := t.Painter(ctx, lang, p)
	if err != nil {
		return picture{}, err
	}
	f := t.book.keep(file{Name: "picture.png", Type: "image/png", Inline: true, data: png})
	return picture{f.ID, t.Speaker.Plain(lang, alt)}, nil
}

// shot shows again a photo that somebody sent.
func (t *Trial) shot(m message, lang string, s dialog.Shot, at place) message {
	label := t.Speaker.Plain(lang, phrase.Of("web.alt.photo").WithInt("n", at.n).WithInt("of", at.of))
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
