// Package terminal holds the conversation in a terminal or a pipe: lines typed
// by one person, or one JSON object a line, so that a program can act as
// several people.
package terminal

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// Taker is what the terminal needs of the engine.
type Taker interface {
	Take(ctx context.Context, u engine.Update) error
	engine.Answerer
	Show(ctx context.Context, k session.Key) (dialog.Shown, error)
}

// Speaker makes the words.
type Speaker interface {
	Plain(lang string, t phrase.Text) string
}

// Painter draws a picture as a PNG.
type Painter func(ctx context.Context, lang string, p dialog.Picture) ([]byte, error)

// Chat is one terminal. It is also its engine's Sender.
type Chat struct {
	Out     io.Writer
	JSON    bool
	Folder  string // where pictures are written
	Speaker Speaker
	Painter Painter
	Papers  func(ctx context.Context, lang string, chat int64, d dialog.Document) (name string, data []byte, err error)
	Now     func() time.Time

	turns int64 // taken so far

	mu      sync.Mutex
	buttons map[int64][][]dialog.Button // under the last message of each chat
	lang    map[int64]string
	files   int
	away    map[int64]bool // chats that nothing reaches
}

// said is one line of JSON to a program.
type said struct {
	Chat    int64         `json:"chat"`
	Text    string        `json:"text,omitempty"`
	Buttons [][]pressable `json:"buttons,omitempty"`
	Open    string        `json:"open,omitempty"`
	Files   []string      `json:"files,omitempty"`
	// Photos are file ids of photos that are shown again. Protected: not to be passed on.
	Photos    []string `json:"photos,omitempty"`
	Protected bool     `json:"protected,omitempty"`
	Error     string   `json:"error,omitempty"`
	Reach     *bool    `json:"reach,omitempty"`
	*dialog.Shown
}

type pressable struct {
	Label string `json:"label"`
	Data  string `json:"data"`
}

// Run reads in until it ends or ctx does, and answers each line before it reads
// the next.
func (c *Chat) Run(ctx context.Context, in io.Reader, taker Taker) error {
	if !c.JSON {
		if err := c.line(ctx, taker, line{text: "/start"}); err != nil {
			return ended(ctx, err)
		}
	}
	lines, failed := read(ctx, in)
	for {
		select {
		case <-ctx.Done():
			return nil
		case l, open := <-lines:
			if !open {
				return <-failed
			}
			if err := c.line(ctx, taker, l); err != nil {
				return ended(ctx, err)
			}
		}
	}
}

// ended is nil for an error that only says that the program is leaving.
func ended(ctx context.Context, err error) error {
	if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return nil
	}
	return err
}

// line answers one line. One of JSON that can't be taken is answered with an
// error, and the conversation goes on.
func (c *Chat) line(ctx context.Context, taker Taker, l line) error {
	switch {
	case !c.JSON:
		return c.take(ctx, taker, event{Chat: 1, User: 1, Text: &l.text})
	case l.long:
		return c.print(said{Error: fmt.Sprintf("not understood: a line of more than %d bytes", mostLine)})
	case strings.TrimSpace(l.text) == "":
		return nil
	}
	e, err := readEvent(l.text)
	if err == nil {
		err = e.check()
	}
	if err != nil {
		return c.print(said{Chat: e.Chat, Error: "not understood: " + err.Error()})
	}
	switch {
	case e.Show != "":
		return c.show(ctx, taker, e)
	case e.Reach != nil:
		return c.reach(e)
	}
	return c.take(ctx, taker, e)
}

// show prints the record at hand.
func (c *Chat) show(ctx context.Context, taker Taker, e event) error {
	shown, err := taker.Show(ctx, session.Key{Chat: e.Chat, User: e.User, Group: e.Group})
	if err != nil {
		return fmt.Errorf("showing a record: %w", err)
	}
	return c.print(said{Chat: e.Chat, Shown: &shown})
}

// reach makes that nothing reaches a chat, or that it can be reached again.
func (c *Chat) reach(e event) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.away == nil {
		c.away = map[int64]bool{}
	}
	c.away[e.Chat] = !*e.Reach
	return c.print(said{Chat: e.Chat, Reach: e.Reach})
}

// errAway is a chat that nothing reaches.
var errAway = errors.New("nothing reaches this chat")

// take brings one event through the engine and prints what it answers. What is
// typed in more than one message of the platform comes as so many.
func (c *Chat) take(ctx context.Context, taker Taker, e event) error {
	if e.Text == nil {
		return c.turn(ctx, taker, e)
	}
	for _, text := range pieces(*e.Text) {
		e.Text = &text
		if err := c.turn(ctx, taker, e); err != nil {
			return err
		}
	}
	return nil
}

func (c *Chat) turn(ctx context.Context, taker Taker, e event) error {
	in := e.input(c.Now())
	var err error
	if in.Table, err = e.table(); err != nil {
		return c.print(said{Chat: e.Chat, Error: "not understood: " + err.Error()})
	}
	if data, ok := c.labelled(e.Chat, in.Text); ok && !c.JSON {
		in.Kind, in.Text = dialog.Pressed, data
	}
	c.turns++
	if err := taker.Take(ctx, engine.Update{ID: c.turns, Chat: e.Chat, User: e.User, Group: e.Group, Input: in}); err != nil {
		return fmt.Errorf("taking a line: %w", err)
	}
	return engine.Answer(ctx, taker)
}

// labelled finds the button whose label was typed: in a terminal that presses
// it.
func (c *Chat) labelled(chat int64, text string) (string, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, row := range c.buttons[chat] {
		for _, b := range row {
			if strings.EqualFold(strings.TrimSpace(text), c.Speaker.Plain(c.lang[chat], b.Label)) {
				return b.Data, true
			}
		}
	}
	return "", false
}

// Send prints one reply. It makes Chat an engine.Sender.
func (c *Chat) Send(ctx context.Context, m engine.Message) (engine.Sent, error) {
	chat := cmp.Or(m.To, m.Chat)
	c.mu.Lock()
	away := c.away[chat]
	c.mu.Unlock()
	if away {
		return engine.Sent{}, &engine.DropError{Err: errAway, Gone: true}
	}
	var err error
	for _, m.Reply = range m.Reply.Apart() { // what can't be drawn doesn't take the others with it
		err = errors.Join(err, c.say(ctx, chat, m))
	}
	return engine.Sent{}, err
}

// say prints one message.
func (c *Chat) say(ctx context.Context, chat int64, m engine.Message) error {
	out := said{Chat: chat, Text: c.Speaker.Plain(m.Reply.Lang, m.Reply.Text), Open: m.Reply.Open, Protected: m.Reply.Protected}
	for _, shot := range m.Reply.Shots {
		out.Photos = append(out.Photos, shot.File)
	}
	for _, row := range m.Reply.Buttons {
		var line []pressable
		for _, b := range row {
			if b.Data == "" {
				continue // a terminal can neither pass on nor copy; the words have it
			}
			line = append(line, pressable{Label: c.Speaker.Plain(m.Reply.Lang, b.Label), Data: b.Data})
		}
		if line != nil {
			out.Buttons = append(out.Buttons, line)
		}
	}
	if m.Reply.Picture != nil {
		path, err := c.draw(ctx, m.Reply)
		if err != nil {
			return &engine.DropError{Err: err}
		}
		out.Files = []string{path}
	}
	if m.Reply.Document != nil {
		path, err := c.file(ctx, m)
		if err != nil {
			return &engine.DropError{Err: err}
		}
		out.Files = append(out.Files, path)
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.buttons == nil {
		c.buttons, c.lang = map[int64][][]dialog.Button{}, map[int64]string{}
	}
	c.buttons[chat], c.lang[chat] = m.Reply.Buttons, m.Reply.Lang
	return c.messages(out)
}

// messages prints a reply; to a program in as many messages as the platform
// would make of it, with the files first and the buttons under the last.
func (c *Chat) messages(s said) error {
	if !c.JSON {
		return c.print(s)
	}
	parts := pieces(s.Text)
	for _, text := range parts[:len(parts)-1] {
		if err := c.print(said{Chat: s.Chat, Text: text, Files: s.Files, Protected: s.Protected}); err != nil {
			return err
		}
		s.Files = nil
	}
	s.Text = parts[len(parts)-1]
	return c.print(s)
}

// draw writes a card or a sketch into the folder and gives its path.
func (c *Chat) draw(ctx context.Context, r dialog.Reply) (string, error) {
	png, err := c.Painter(ctx, r.Lang, *r.Picture)
	if err != nil {
		return "", fmt.Errorf("drawing a picture: %w", err)
	}
	if r.Picture.Reading != "" {
		return c.write("sketch.png", png)
	}
	return c.write("card.png", png)
}

// file writes a paper into the folder and gives its path.
func (c *Chat) file(ctx context.Context, m engine.Message) (string, error) {
	if c.Papers == nil {
		return "", errors.New("no papers are made here")
	}
	name, data, err := c.Papers(ctx, m.Reply.Lang, m.Chat, *m.Reply.Document)
	if err != nil {
		return "", fmt.Errorf("making a paper: %w", err)
	}
	return c.write(name, data)
}

// write saves a file under a numbered name, so that none is overwritten. It may
// hold an address, so only its owner can read it.
func (c *Chat) write(name string, data []byte) (string, error) {
	if err := os.MkdirAll(c.Folder, 0o700); err != nil {
		return "", fmt.Errorf("making the folder for files: %w", err)
	}
	c.mu.Lock()
	c.files++
	ext := filepath.Ext(name)
	path := filepath.Join(c.Folder, fmt.Sprintf("%s-%d%s", strings.TrimSuffix(name, ext), c.files, ext))
	c.mu.Unlock()
	if err := os.WriteFile(path, data, 0o600); err != nil {
		return "", fmt.Errorf("writing a file: %w", err)
	}
	return path, nil
}

// print writes one reply, as JSON or for a person.
func (c *Chat) print(s said) error {
	if c.JSON {
		encoder := json.NewEncoder(c.Out)
		encoder.SetEscapeHTML(false)
		return encoder.Encode(s)
	}
	var b strings.Builder
	b.WriteString("\n")
	if s.Text != "" {
		b.WriteString(s.Text + "\n")
	}
	for _, path := range s.Files {
		b.WriteString("→ " + path + "\n")
	}
	for _, row := range s.Buttons {
		for i, button := range row {
			if i > 0 {
				b.WriteString("  ")
			}
			b.WriteString("[" + button.Label + "]")
		}
		b.WriteString("\n")
	}
	_, err := io.WriteString(c.Out, b.String())
	return err
}
