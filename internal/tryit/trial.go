package tryit

import (
	"context"
	"sync"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
)

// Speaker makes the words.
type Speaker interface {
	Text(lang string, t phrase.Text) string
	Plain(lang string, t phrase.Text) string
	Known(tag string) (string, bool)
}

// Trial is one trial in a browser. It is also its engine's Sender.
type Trial struct {
	Speaker Speaker
	Painter func(ctx context.Context, lang string, p dialog.Picture) ([]byte, error)
	Papers  func(ctx context.Context, lang string, chat int64, d dialog.Document) (name string, data []byte, err error)
	Now     func() time.Time
	// Passes is told by how much the clock is moved, so that what the store keeps
	// for a time ends with it; nil: nobody.
	Passes func(time.Duration)

	book    *book
	door    door
	turn    sync.Mutex // one at a time, as they are typed
	updates int64
}

// now is the time by the clock of the page.
func (t *Trial) now() time.Time { return t.book.clock(t.Now()) }
