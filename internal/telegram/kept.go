package telegram

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"sync"

	"github.com/go-telegram/bot"
	"github.com/go-telegram/bot/models"

	"sillbot/internal/dialog"
)

// uploads knows the file ids of what was uploaded, so that a card or a paper that is sent
// again is neither drawn nor uploaded again. It is kept in the process: after a start each
// is uploaded once more.
type uploads struct {
	mu  sync.Mutex
	ids map[[sha256.Size]byte]string
}

// uploadsMost is how many it knows; each takes some 150 bytes.
const uploadsMost = 4096

func (u *uploads) find(key [sha256.Size]byte) string {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.ids[key]
}

// keep notes an id; "" forgets it.
func (u *uploads) keep(key [sha256.Size]byte, id string) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if id == "" {
		delete(u.ids, key)
		return
	}
	if u.ids == nil || len(u.ids) >= uploadsMost {
		u.ids = map[[sha256.Size]byte]string{}
	}
	u.ids[key] = id
}

// pictureKey is the key of what is drawn in a language.
func pictureKey(lang string, p dialog.Picture) [sha256.Size]byte {
	raw, err := json.Marshal(p)
	if err != nil {
		return [sha256.Size]byte{} // can't be
	}
	return paperKey(lang, raw)
}

// paperKey is the key of a file with a name.
func paperKey(name string, data []byte) [sha256.Size]byte {
	h := sha256.New()
	h.Write([]byte(name + "\x00"))
	h.Write(data)
	return [sha256.Size]byte(h.Sum(nil))
}

// again sends by the id of an upload of before; done is false where there is none, or the
// platform has it no more.
func (u *uploads) again(key [sha256.Size]byte, send func(models.InputFile) error) (done bool, err error) {
	id := u.find(key)
	if id == "" {
		return false, nil
	}
	err = send(&models.InputFileString{Data: id})
	if idAtFault(err) {
		u.keep(key, "")
		return false, nil
	}
	return true, err
}

// idAtFault reports whether the platform may have one of the files no more.
func idAtFault(err error) bool {
	return refused(err) && !tooLong(err) && !markupAtFault(err) && !errors.Is(err, errUnpainted)
}

// act says that something is on its way, while it is made. It delays nothing, and nothing
// depends on it.
func (c *Client) act(ctx context.Context, chat int64, topic int, action models.ChatAction) {
	select {
	case c.acting <- struct{}{}:
	default:
		return
	}
	go func() {
		defer func() { <-c.acting }()
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), answerTimeout)
		defer cancel()
		ctx, _ = withReceipt(ctx) // not that of the send
		_, err := c.post(ctx, "sendChatAction", &bot.SendChatActionParams{ChatID: chat, MessageThreadID: topic, Action: action})
		if err != nil {
			c.cfg.Log.Debug("a chat action was not taken", "error", c.plainError("sendChatAction", err))
		}
	}()
}

// uploaded notes the file ids of what a call has just uploaded, one a key, in order.
func (u *uploads) uploaded(ctx context.Context, keys [][sha256.Size]byte, err error) {
	got, _ := ctx.Value(receiptKey{}).(*receipt)
	if err != nil || got == nil || len(got.files) != len(keys) {
		return
	}
	for i, key := range keys {
		if got.files[i] != "" {
			u.keep(key, got.files[i])
		}
	}
}
