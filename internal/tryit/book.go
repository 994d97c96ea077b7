package tryit

import (
	"crypto/rand"
	"html/template"
	"slices"
	"sync"
	"time"
)

// What is kept at the most; the oldest goes first.
const (
	mostMessages = 2000      // in a chat
	mostHeld     = 200 << 20 // bytes of pictures and papers
)

// message is one message of a chat, of the bot or of a person. One that is in a book
// is not changed any more: an edit puts another in its place.
type message struct {
	Number   int64 // in all chats; the chat's own number of it for the bot
	By       string
	At       time.Time
	Text     template.HTML
	Folded   []template.HTML
	Pictures []picture
	Papers   []file
	Buttons  [][]button
	Typed    string // by a person, who may correct it
	chat     int64
	changed  int64 // the number of the change that it came or was edited with
}

type picture struct{ File, Alt string }

// button is one under a message. Press is its data; one without leads to Link or copies
// Copy.
type button struct{ Label, Press, Link, Copy string }

// file is a picture or a paper. Inline: it is shown in the page, else downloaded.
type file struct {
	ID, Name, Type string
	Inline         bool
	data           []byte
}

// note is what is said of one press or message, once, and stands in no book.
type note struct {
	Text    string
	changed int64
}

// book is what was said in all chats. Its methods may be called from several
// goroutines.
type book struct {
	mu       sync.Mutex
	last     int64 // the number of the last change
	numbers  int64 // of messages
	messages map[int64][]message
	notes    map[int64]note
	drafts   map[int64]string
	ahead    time.Duration // of the clock
	clocked  int64         // the change that moved it last
	files    map[string]file
	order    []string // of files, the oldest first
	held     int
	news     chan struct{} // closed at each change
}

func newBook() *book {
	return &book{messages: map[int64][]message{}, notes: map[int64]note{}, drafts: map[int64]string{}, files: map[string]file{}, news: make(chan struct{})}
}

// change notes a change and wakes who waits for one. The lock is held.
func (b *book) change() int64 {
	b.last++
	close(b.news)
	b.news = make(chan struct{})
	return b.last
}

// add puts a message at the end of a chat and gives its number.
func (b *book) add(m message) int64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.numbers++
	m.Number, m.changed = b.numbers, b.change()
	all := append(b.messages[m.chat], m)
	b.messages[m.chat] = all[max(0, len(all)-mostMessages):]
	return m.Number
}

// edit puts a message in the place of another of its chat; false: that is not there.
func (b *book) edit(chat, number int64, edited func(message) message) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := b.messages[chat]
	i := slices.IndexFunc(all, func(m message) bool { return m.Number == number })
	if i < 0 {
		return false
	}
	m := edited(all[i])
	m.Number, m.chat, m.changed = number, chat, b.change()
	all[i] = m
	return true
}

// say notes what is to be said in a chat once.
func (b *book) say(chat int64, text string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if text != "" || b.notes[chat].Text != "" {
		b.notes[chat] = note{text, b.change()}
	}
}

// draft keeps what was typed in a chat and not sent.
func (b *book) draft(chat int64, text string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.drafts[chat] = text
}

// forward moves the clock.
func (b *book) forward(by time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ahead += by
	b.clocked = b.change()
}

func (b *book) clock(now time.Time) time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	return now.Add(b.ahead)
}

// keep holds a file under a name that nobody guesses, and drops the oldest when there
// is too much.
func (b *book) keep(f file) file {
	b.mu.Lock()
	defer b.mu.Unlock()
	f.ID = rand.Text()
	b.files[f.ID], b.order = f, append(b.order, f.ID)
	b.held += len(f.data)
	for b.held > mostHeld && len(b.order) > 1 {
		b.held -= len(b.files[b.order[0]].data)
		delete(b.files, b.order[0])
		b.order = b.order[1:]
	}
	return f
}

// one finds a message of a chat.
func (b *book) one(chat, number int64) (message, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := b.messages[chat]
	i := slices.IndexFunc(all, func(m message) bool { return m.Number == number })
	if i < 0 {
		return message{}, false
	}
	return all[i], true
}

func (b *book) file(id string) (file, bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	f, ok := b.files[id]
	return f, ok
}

// state is a book at one moment.
type state struct {
	last     int64
	messages map[int64][]message
	notes    map[int64]note
	drafts   map[int64]string
	ahead    time.Duration
	clocked  bool            // the clock was moved since
	news     <-chan struct{} // closed at the next change
}

// since gives what has changed after a change, 0 for all there is. A number that no
// change has had gives all as well.
func (b *book) since(after int64) state {
	b.mu.Lock()
	defer b.mu.Unlock()
	if after < 0 || after > b.last {
		after = 0
	}
	s := state{last: b.last, messages: map[int64][]message{}, notes: map[int64]note{}, drafts: map[int64]string{}, ahead: b.ahead, clocked: b.clocked > after, news: b.news}
	for chat, all := range b.messages {
		for _, m := range all {
			if m.changed > after {
				s.messages[chat] = append(s.messages[chat], m)
			}
		}
	}
	for chat, n := range b.notes {
		if n.changed > after {
			s.notes[chat] = n
		}
	}
	for chat, text := range b.drafts {
		s.drafts[chat] = text
	}
	return s
}
