package telegram

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
)

const (
	captionLimit = 1024
	// A text that the platform finds too long is halved down to this, UTF-16 units, and not
	// taken apart letter by letter.
	leastHalved = 256
	// A person may still correct a token that the platform does not know; until
	// then no message is dropped.
	refusedWait = 30 * time.Second
)

var (
	_ engine.Sender = (*Sender)(nil)
	_ engine.Joiner = (*Sender)(nil)

	_ engine.Stripper = (*Sender)(nil)
)

// Send sends one reply whole. Errors: *engine.RetryError when it may go better
// later, *engine.DropError when it never will, *engine.MovedError when the chat has
// another number now, ctx's own when that ended.
func (s *Sender) Send(ctx context.Context, m engine.Message) (sent engine.Sent, err error) {
	parts := s.parts(m.Reply.LinkOnButton())
	if len(parts) == 0 {
		return sent, &engine.DropError{Err: fmt.Errorf("the reply %q shows nothing", m.Reply.Text.Key)}
	}
	if _, opens := parts[0].keyboard.(*models.ForceReply); parts[0].plainText() && !opens {
		parts[0].over = m.Reply.Over
	}
	parts[0].reply, parts[0].text = toPerson(s.words, m.Reply, parts[0].text)
	if len(parts) == 1 {
		sent.Msg, err = s.sendPart(ctx, m, parts[0])
		return sent, err
	}
	return s.sendParts(ctx, m, parts)
}

// sendParts sends the parts of a reply, from where an earlier try stopped. Of several
// cards one that is refused for good doesn't take the others with it; its error is given.
func (s *Sender) sendParts(ctx context.Context, m engine.Message, parts []part) (sent engine.Sent, lost error) {
	id := s.identify(m.Reply)
	alone := 0 // the parts before go by themselves
	for i := s.resume(m.Chat, id); i < len(parts); {
		p := parts[i]
		if i >= alone {
			p = together(parts[i:])
		}
		msg, err := s.sendPart(ctx, m, p)
		drop, dropped := errors.AsType[*engine.DropError](err)
		switch {
		case errors.Is(err, errApart):
			alone = i + len(p.cards)
			continue
		case dropped && !drop.Gone && len(m.Reply.More) > 0:
			lost = err
		case err != nil:
			s.leave(m.Chat, id, i, err)
			return sent, err
		case p.album == nil && p.cards == nil: // the buttons stand under the last of the others
			sent.Msg = msg
		}
		i += max(1, len(p.cards))
	}
	s.leave(m.Chat, id, 0, nil)
	return sent, lost
}

// Strip takes the buttons off a message.
func (s *Sender) Strip(ctx context.Context, m engine.Message, msg int64) {
	s.client.strip(ctx, whereTo(m), msg)
}

// OnePiece reports whether the words of a reply fit into one message.
func (s *Sender) OnePiece(m engine.Message) bool {
	return fits(s.words.Text(m.Reply.Lang, m.Reply.Text), textLimit)
}

// parts divides a reply into messages, of which some may go together. The buttons stand
// under the last one.
func (s *Sender) parts(r dialog.Reply) []part {
	if len(r.More) > 0 {
		var parts []part
		for _, one := range r.Apart() {
			parts = append(parts, s.parts(one)...)
		}
		return parts
	}
	text := s.words.Text(r.Lang, r.Text)
	if r.Text.Key == "" {
		text = ""
	}
	var parts []part
	if r.Picture != nil || r.Document != nil {
		parts = append(parts, part{picture: r.Picture, document: r.Document})
	}
	if len(parts) > 0 && fits(text, captionLimit) {
		parts[0].text = text
	} else {
		for _, t := range split(s.folded(r, text), textLimit) {
			parts = append(parts, part{text: t})
		}
	}
	if len(parts) > 0 {
		last := &parts[len(parts)-1]
		if last.keyboard = s.keyboard(r); last.keyboard == nil {
			last.keyboard = s.client.typedAnswer(s.words, r)
		}
	}
	for _, album := range albums(r.Shots) { // under the text; an album has no buttons
		parts = append(parts, part{album: album})
	}
	return parts
}

// folded puts what may be folded under the text, as an expandable quotation: as many
// of its lines as keep the message in one piece. They are counted with their markup, so
// that no way of counting finds the message too long.
func (s *Sender) folded(r dialog.Reply, text string) string {
	for n := len(r.Folded); n > 0 && text != ""; n-- {
		whole := text + "\n" + s.words.Text(r.Lang, phrase.Of("fold").WithLines("lines", r.Folded[:n]...))
		if units(whole) < textLimit {
			return whole
		}
	}
	return text
}

// keyboard makes the buttons. It leaves out any that the platform would refuse,
// because it would refuse the whole message.
func (s *Sender) keyboard(r dialog.Reply) models.ReplyMarkup {
	return keyboard(r.Buttons, func(b dialog.Button) string {
		return strings.TrimSpace(plain(s.words.Text(r.Lang, b.Label)))
	}, func(b dialog.Button) {
		s.client.cfg.Log.Error("left a button out: no label, or more data than the platform takes",
			"label", b.Label.Key, "reply", r.Text.Key, "bytes", len(b.Data))
	})
}

// sendPart sends a part and gives the number of its message.
func (s *Sender) sendPart(ctx context.Context, m engine.Message, p part) (int64, error) {
	noted, got := withReceipt(ctx)
	p.topic = int(m.Reply.Topic)
	err := s.try(noted, m, p)
	if p.topic != 0 && said(err, "message thread not found") { // the text is from memory
		p.topic, m.Reply.Topic = 0, 0
		err = s.try(noted, m, p) // the topic is gone, the group is not
	}
	if migrated, ok := errors.AsType[*bot.MigrateError](err); ok && migrated.MigrateToChatID != 0 {
		return 0, &engine.MovedError{To: int64(migrated.MigrateToChatID)}
	}
	if err == nil && got.edited {
		return p.over, nil
	}
	return got.msg, s.verdict(ctx, err)
}

// try sends one part once. If the platform refuses its form, it sends a plainer
// one: the text of a picture without the picture, a text without its markup.
func (s *Sender) try(ctx context.Context, m engine.Message, p part) error {
	var err error
	r := m.Reply
	switch {
	case p.picture != nil:
		err = s.photo(ctx, m, p)
	case p.document != nil:
		err = s.document(ctx, m, p)
	case p.album != nil:
		return s.album(ctx, m, p.album)
	case p.cards != nil:
		return s.cards(ctx, m, p)
	case p.over != 0:
		if err = s.client.edit(ctx, whereTo(m), p.over, p.text, p.keyboard); !uneditable(err) {
			return err
		}
		return s.text(ctx, whereTo(m), p)
	default:
		return s.text(ctx, whereTo(m), p)
	}
	switch {
	case err == nil || !unfit(err):
		return err
	case p.text == "":
		s.client.cfg.Log.Error("left a picture out", "reply", r.Text.Key, "error", s.client.plainError("sendPhoto", err))
		if r.Text.Key == "" {
			return err
		}
		return nil // its text is the next part
	}
	s.client.cfg.Log.Error("sent a picture's text alone", "reply", r.Text.Key, "error", s.client.plainError("sendPhoto", err))
	return s.text(ctx, whereTo(m), p)
}

func (s *Sender) photo(ctx context.Context, m engine.Message, p part) error {
	params := &bot.SendPhotoParams{ChatID: whereTo(m), MessageThreadID: p.topic, ReplyParameters: p.reply, Caption: p.text, ReplyMarkup: p.keyboard}
	if p.text != "" {
		params.ParseMode = models.ParseModeHTML
	}
	key := pictureKey(m.Reply.Lang, *p.picture)
	if done, err := s.kept.again(key, func(f models.InputFile) error {
		params.Photo = f
		return s.call(ctx, calling(s.client.api.SendPhoto, params))
	}); done && !tooLong(err) && !markupAtFault(err) {
		return err
	}
	s.client.act(ctx, whereTo(m), p.topic, models.ChatActionUploadPhoto)
	card, err := s.drawn(ctx, m.Reply.Lang, *p.picture)
	if err != nil {
		return err
	}
	send := func() error {
		// The upload is read once, so every call gets its own reader.
		params.Photo = &models.InputFileUpload{Filename: "card.png", Data: bytes.NewReader(card)}
		err := s.call(ctx, calling(s.client.api.SendPhoto, params))
		s.kept.uploaded(ctx, [][sha256.Size]byte{key}, err)
		return err
	}
	err = send()
	if markupAtFault(err) {
		params.Caption, params.ParseMode = plain(p.text), ""
		err = send()
	}
	if tooLong(err) { // the picture first, its text below
		params.Caption, params.ParseMode, params.ReplyMarkup = "", "", nil
		if err = send(); err == nil {
			err = s.text(ctx, whereTo(m), p)
		}
	}
	return err
}

// document makes a paper and sends it as a file.
func (s *Sender) document(ctx context.Context, m engine.Message, p part) error {
	if s.Papers == nil {
		return errUnpainted
	}
	name, paper, err := s.Papers(ctx, m.Reply.Lang, m.Chat, *p.document)
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if err != nil || len(paper) == 0 {
		return errUnpainted
	}
	params := &bot.SendDocumentParams{ChatID: whereTo(m), MessageThreadID: p.topic, ReplyParameters: p.reply, Caption: plain(p.text), ReplyMarkup: p.keyboard}
	key := paperKey(name, paper)
	if done, err := s.kept.again(key, func(f models.InputFile) error {
		params.Document = f
		return s.call(ctx, calling(s.client.api.SendDocument, params))
	}); done && !tooLong(err) {
		return err
	}
	s.client.act(ctx, whereTo(m), p.topic, models.ChatActionUploadDocument)
	send := func() error {
		params.Document = &models.InputFileUpload{Filename: name, Data: bytes.NewReader(paper)}
		err := s.call(ctx, calling(s.client.api.SendDocument, params))
		s.kept.uploaded(ctx, [][sha256.Size]byte{key}, err)
		return err
	}
	err = send()
	if tooLong(err) {
		params.Caption, params.ReplyMarkup = "", nil
		if err = send(); err == nil {
			err = s.text(ctx, whereTo(m), p)
		}
	}
	return err
}

// album sends photos again by their file ids. Those that the platform refuses are named.
func (s *Sender) album(ctx context.Context, m engine.Message, shots []dialog.Shot) error {
	err := s.together(ctx, m, shots)
	if !refused(err) {
		return err
	}
	why := err
	var lost []phrase.Text
	for _, shot := range shots {
		if len(shots) > 1 {
			err = s.together(ctx, m, []dialog.Shot{shot})
		}
		switch {
		case err == nil:
		case refused(err):
			lost = append(lost, labelOf(shot))
		default:
			return err
		}
	}
	if lost == nil {
		return nil
	}
	s.client.cfg.Log.Error("photos can't be shown again", "count", len(lost), "error", s.client.plainError("sendMediaGroup", why))
	return s.text(ctx, whereTo(m), part{text: s.words.Text(m.Reply.Lang, phrase.Of("photo.lost").WithRow("labels", lost...)), topic: int(m.Reply.Topic)})
}

// together sends one photo, or several as an album.
func (s *Sender) together(ctx context.Context, m engine.Message, shots []dialog.Shot) error {
	caption := func(shot dialog.Shot) string {
		return clip(plain(s.words.Text(m.Reply.Lang, labelOf(shot))), captionLimit/2) // a letter takes two units at the most
	}
	method, params := again(shots, caption)
	params["chat_id"] = whereTo(m)
	if m.Reply.Topic != 0 {
		params["message_thread_id"] = m.Reply.Topic
	}
	if m.Reply.Protected {
		params["protect_content"] = true
	}
	return s.post(ctx, method, params)
}

func (s *Sender) text(ctx context.Context, chat int64, p part) error {
	params := &bot.SendMessageParams{
		ChatID: chat, Text: p.text, ParseMode: models.ParseModeHTML, ReplyMarkup: p.keyboard,
		MessageThreadID: p.topic, ReplyParameters: p.reply,
		LinkPreviewOptions: &models.LinkPreviewOptions{IsDisabled: new(true)},
	}
	err := s.post(ctx, "sendMessage", params)
	if markupAtFault(err) {
		s.client.cfg.Log.Error("sent a text without its markup, which the platform can't read")
		params.Text, params.ParseMode = plain(p.text), ""
		err = s.post(ctx, "sendMessage", params)
	}
	if tooLong(err) && shown(p.text) >= leastHalved {
		return s.texts(ctx, chat, p, split(p.text, shown(p.text)/2))
	}
	return err
}

// texts sends one text in several messages, the buttons under the last. If a later one
// fails, the next try sends all of them again: the platform's way of counting is known
// to differ in nothing, so it is not worth more.
func (s *Sender) texts(ctx context.Context, chat int64, whole part, list []string) error {
	s.client.cfg.Log.Error("split a text that the platform finds too long", "parts", len(list))
	for i, text := range list {
		p := part{text: text, topic: whole.topic}
		if i == 0 {
			p.reply = whole.reply
		}
		if i == len(list)-1 {
			p.keyboard = whole.keyboard
		}
		if err := s.text(ctx, chat, p); err != nil {
			return err
		}
	}
	return nil
}

// verdict decides what happens to a reply whose part failed with err.
func (s *Sender) verdict(ctx context.Context, err error) error {
	if err == nil || errors.Is(err, errApart) {
		return err
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	var tooMany *bot.TooManyRequestsError
	safe := scrub(s.client.cfg.Token, err)
	switch {
	case errors.As(err, &tooMany):
		return &engine.RetryError{After: time.Duration(max(1, tooMany.RetryAfter)) * time.Second, Limited: true, Err: safe}
	case errors.Is(err, bot.ErrorForbidden), errors.Is(err, bot.ErrorBadRequest), errors.Is(err, errUnpainted):
		return &engine.DropError{Err: safe, Gone: outOfReach(err)}
	case errors.Is(err, bot.ErrorUnauthorized), errors.Is(err, bot.ErrorNotFound):
		return &engine.RetryError{After: refusedWait, Err: safe}
	}
	return &engine.RetryError{Err: safe}
}
