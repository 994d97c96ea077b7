package telegram

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
)

// errApart is an album that the platform refuses for what is in it, or of which a card
// can't be drawn: each of its cards goes by itself.
var errApart = errors.New("the album was refused")

// together is the first of parts, with those behind it that go with it as one album:
// pictures that have nothing under them but a caption.
func together(parts []part) part {
	n := 0
	for n < min(len(parts), albumMost) && parts[n].picture != nil && parts[n].keyboard == nil {
		n++
	}
	if n < 2 {
		return parts[0]
	}
	return part{cards: parts[:n], reply: parts[0].reply}
}

// cards sends several cards as an album. It gives errApart where each is to go by itself.
func (s *Sender) cards(ctx context.Context, m engine.Message, p part) error {
	var keys [][sha256.Size]byte
	for _, c := range p.cards {
		keys = append(keys, pictureKey(m.Reply.Lang, *c.picture))
	}
	again := false
	for _, key := range keys {
		again = again || s.kept.find(key) != ""
	}
	err := s.cardsOnce(ctx, m, p, keys)
	if again && idAtFault(err) {
		for _, key := range keys {
			s.kept.keep(key, "")
		}
		err = s.cardsOnce(ctx, m, p, keys)
	}
	if refused(err) {
		s.client.cfg.Log.Error("cards go one by one", "count", len(keys), "error", s.client.plainError("sendMediaGroup", err))
		return errApart
	}
	return err
}

// cardsOnce makes the call. A card that was uploaded before is named by its file id, and
// the others are drawn, one at a time.
func (s *Sender) cardsOnce(ctx context.Context, m engine.Message, p part, keys [][sha256.Size]byte) error {
	params := &bot.SendMediaGroupParams{ChatID: whereTo(m), MessageThreadID: p.topic, ReplyParameters: p.reply, ProtectContent: m.Reply.Protected}
	draws := false
	for i, c := range p.cards {
		item := &models.InputMediaPhoto{Media: s.kept.find(keys[i]), Caption: c.text}
		if c.text != "" {
			item.ParseMode = models.ParseModeHTML
		}
		if item.Media == "" {
			if !draws {
				s.client.act(ctx, whereTo(m), p.topic, models.ChatActionUploadPhoto)
			}
			draws = true
			card, err := s.drawn(ctx, m.Reply.Lang, *c.picture)
			if err != nil {
				return err
			}
			item.Media, item.MediaAttachment = fmt.Sprintf("attach://card%d.png", i+1), bytes.NewReader(card)
		}
		params.Media = append(params.Media, item)
	}
	err := s.call(ctx, calling(s.client.api.SendMediaGroup, params))
	s.kept.uploaded(ctx, keys, err)
	return err
}

// drawn draws a picture. It gives errUnpainted for one that can't be.
func (s *Sender) drawn(ctx context.Context, lang string, p dialog.Picture) ([]byte, error) {
	card, err := s.paint(ctx, lang, p)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil || len(card) == 0 {
		return nil, errUnpainted
	}
	return card, nil
}
