package telegram

import (
	"cmp"
	"errors"

	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
)

// part is one message of the platform.
type part struct {
	text     string // HTML
	picture  *dialog.Picture
	document *dialog.Document
	album    []dialog.Shot
	cards    []part             // that go as one album, see together
	keyboard models.ReplyMarkup // nil: no buttons
	over     int64              // the message that it takes the place of; 0: none
	topic    int                // of a group; 0: none
	reply    *models.ReplyParameters
}

func (p part) plainText() bool {
	return p.picture == nil && p.document == nil && p.album == nil && p.cards == nil
}

// whereTo is the number under which the platform has the message's chat.
func whereTo(m engine.Message) int64 { return cmp.Or(m.To, m.Chat) }

func labelOf(shot dialog.Shot) phrase.Text {
	if shot.Label == nil {
		return phrase.Text{}
	}
	return *shot.Label
}

// errUnpainted is a picture that could not be drawn.
var errUnpainted = errors.New("the picture could not be drawn")
