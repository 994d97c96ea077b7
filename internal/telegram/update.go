package telegram

import (
	"encoding/json"
	"errors"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sillbot/internal/dialog"
)

// wanted are the kinds of update that the platform is asked for.
var wanted = []string{"message", "edited_message", "callback_query", "my_chat_member"}

const (
	nameLimit = 64   // characters of a person's name
	textLimit = 4096 // characters of a message, as the platform has it
	dataLimit = 64   // bytes of a button's data
	latest    = 253402300799
)

// update is the part of an update that the program reads. The library's own
// type fails as a whole when any part of a message is of an unknown kind. Text
// entities are not read at all, so that a forged offset or length can do no
// harm.
type update struct {
	ID      int64    `json:"update_id"`
	Message *message `json:"message"`
	Edited  *message `json:"edited_message"`
	Press   *press   `json:"callback_query"`
	Member  *member  `json:"my_chat_member"`
}

type message struct {
	ID       int64  `json:"message_id"`
	Chat     chat   `json:"chat"`
	From     *user  `json:"from"`
	Date     int64  `json:"date"`
	EditDate int64  `json:"edit_date"`
	Text     string `json:"text"`
	Caption  string `json:"caption"`
	Album    string `json:"media_group_id"`
	// Of a group that became a supergroup: its new number in the old chat, and its
	// old one in the new chat.
	MigrateTo   int64 `json:"migrate_to_chat_id"`
	MigrateFrom int64 `json:"migrate_from_chat_id"`
	ReplyTo     *struct {
		ID   int64 `json:"message_id"`
		From *user `json:"from"`
	} `json:"reply_to_message"`

	// Thread is a topic of the group where InTopic says so, else a thread of answers.
	Thread  int64 `json:"message_thread_id"`
	InTopic bool  `json:"is_topic_message"`
	// As is the chat in whose name it was written: an anonymous administrator's group, or a
	// channel. Forwarded: the platform brought a post of the linked channel by itself.
	As        *chat `json:"sender_chat"`
	Forwarded bool  `json:"is_automatic_forward"`

	Photo     json.RawMessage `json:"photo"`
	Voice     json.RawMessage `json:"voice"`
	Audio     json.RawMessage `json:"audio"`
	VideoNote json.RawMessage `json:"video_note"`
	Video     json.RawMessage `json:"video"`
	Sticker   json.RawMessage `json:"sticker"`
	Location  *location       `json:"location"`
	Venue     *venue          `json:"venue"`
	Document  *document       `json:"document"`
}

// topic is the topic of a group that a message was written in; 0: none. Only there is the
// thread of a message one that can be written to.
func (m *message) topic() int64 {
	if !m.InTopic {
		return 0
	}
	return m.Thread
}

type document struct {
	ID   string `json:"file_id"`
	Name string `json:"file_name"`
	Type string `json:"mime_type"`
}

// table says whether it may be an answer file, by its name or its type.
func (d *document) table() bool {
	return d.Type == "text/csv" || strings.HasSuffix(strings.ToLower(d.Name), ".csv")
}

type press struct {
	ID      string   `json:"id"`
	From    *user    `json:"from"`
	Message *message `json:"message"`
	Data    string   `json:"data"`
}

// member is what became of the bot itself in a chat. In a private chat it comes when the
// person blocks the bot, and when they take that back (core.telegram.org/bots/api, Update
// and ChatMemberUpdated).
type member struct {
	Chat chat   `json:"chat"`
	From *user  `json:"from"`
	Date int64  `json:"date"`
	Old  status `json:"old_chat_member"`
	New  status `json:"new_chat_member"`
}

// status is as what an account is in a chat.
type status struct {
	Status string `json:"status"`
	Member bool   `json:"is_member"` // of one that is restricted
}

// in says whether the account is in the chat, known whether the platform said anything
// that this program knows.
func (s status) in() (in, known bool) {
	switch s.Status {
	case "creator", "administrator", "member":
		return true, true
	case "restricted":
		return s.Member, true
	case "left", "kicked":
		return false, true
	}
	return false, false
}

// location is a point on the map, in degrees; venue a place there with a name. A live
// location is one that is edited as the person moves: only its first point is a message.
type location struct {
	Latitude  json.Number `json:"latitude"`
	Longitude json.Number `json:"longitude"`
}

type venue struct {
	Title   string `json:"title"`
	Address string `json:"address"`
}

type chat struct {
	ID   int64  `json:"id"`
	Type string `json:"type"`
}

func (c chat) group() bool { return c.Type == "group" || c.Type == "supergroup" }

type user struct {
	ID       int64  `json:"id"`
	Bot      bool   `json:"is_bot"`
	First    string `json:"first_name"`
	Language string `json:"language_code"`
}

var errNoID = errors.New("no update id")

// decode reads one update. Its errors hold nothing of what was sent.
func decode(raw json.RawMessage) (update, error) {
	var u update
	err := json.Unmarshal(raw, &u)
	var syntax *json.SyntaxError
	var shape *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		return update{}, errors.New("not JSON")
	case errors.As(err, &shape):
		return update{ID: u.ID}, errors.New("the field " + fieldName(shape.Field) + " is of an unexpected kind")
	case err != nil:
		return update{}, errors.New("can't be read")
	case u.ID <= 0:
		return update{}, errNoID
	}
	return u, nil
}

// fieldName is a field of the types above; anything else is not repeated.
func fieldName(s string) string {
	if len(s) > 60 || strings.ContainsFunc(s, func(r rune) bool { return r != '.' && r != '_' && !unicode.IsLower(r) }) {
		return "(unnamed)"
	}
	return s
}

// place returns an update's id and the chat whose order is to be kept, as far
// as they can be read; 0 where unknown.
func place(raw json.RawMessage) (id, chat int64) {
	u, err := decode(raw)
	if err != nil {
		var bare struct {
			ID int64 `json:"update_id"`
		}
		// What else is wrong with it does not matter here.
		_ = json.Unmarshal(raw, &bare)
		return max(bare.ID, 0), 0
	}
	switch {
	case u.Message != nil:
		return u.ID, u.Message.Chat.ID
	case u.Edited != nil:
		return u.ID, u.Edited.Chat.ID
	case u.Press != nil && u.Press.Message != nil:
		return u.ID, u.Press.Message.Chat.ID
	case u.Member != nil:
		return u.ID, u.Member.Chat.ID
	}
	return u.ID, 0
}

// content returns the kind and text of a message. ok is false for a service
// message, which no person wrote.
func (m *message) content(raw json.RawMessage) (kind dialog.Kind, text string, ok bool) {
	switch {
	case m.Text != "":
		return dialog.Typed, m.Text, true
	case present(m.Photo), m.Document != nil && strings.HasPrefix(m.Document.Type, "image/"):
		return dialog.Photo, m.Caption, true
	case m.Document != nil:
		return dialog.File, m.Caption, true
	case present(m.Voice), present(m.Audio), present(m.VideoNote), present(m.Video):
		return dialog.Voice, m.Caption, true
	case m.Location != nil:
		return dialog.Place, "", true
	case present(m.Sticker):
		return dialog.Sticker, "", true
	}
	return dialog.Other, m.Caption, m.sent(raw)
}

func present(raw json.RawMessage) bool { return len(raw) > 0 && string(raw) != "null" }

// contents are what a person's message may hold besides text and what is read of it
// (core.telegram.org/bots/api, Message). What holds none of them the platform wrote by
// itself, today's service messages and those to come: nobody waits for an answer to it.
var contents = []string{
	"animation", "checklist", "contact", "dice", "document", "game", "live_photo", "paid_media", "poll",
	"rich_message", "story",
}

// sent says whether a person wrote a message of which nothing is read.
func (m *message) sent(raw json.RawMessage) bool {
	var u struct {
		Message map[string]json.RawMessage `json:"message"`
		Edited  map[string]json.RawMessage `json:"edited_message"`
	}
	if json.Unmarshal(raw, &u) != nil {
		return false
	}
	return m.Caption != "" || slices.ContainsFunc(contents, func(name string) bool { return present(u.Message[name]) || present(u.Edited[name]) })
}

// commandForm is a command, with the name of the bot it is meant for, if any.
var commandForm = regexp.MustCompile(`^/([A-Za-z0-9_]{1,32})(?:@([A-Za-z0-9_]{1,32}))?(\s|$)`)

// address is a text and whom it is for.
type address struct {
	text    string
	spoken  bool // it names the bot, or is a command for any bot
	another bool // it is a command for another bot
}

// addressed removes the bot's name from a text: the suffix of a command and
// every mention.
func addressed(text, name string) address {
	if command := commandForm.FindStringSubmatch(text); command != nil {
		if of := command[2]; of != "" && !strings.EqualFold(of, name) {
			return address{text: text, another: true}
		}
		return address{text: withoutSuffix(text), spoken: true}
	}
	rest, found := withoutMention(text, name)
	return address{text: rest, spoken: found}
}

// withoutSuffix takes the bot's name off a command.
func withoutSuffix(text string) string { return commandForm.ReplaceAllString(text, "/$1$3") }

// withoutMention takes every @name out that stands as a word of its own.
func withoutMention(text, name string) (string, bool) {
	if name == "" {
		return text, false
	}
	var kept strings.Builder
	found := false
	for i := 0; i < len(text); {
		if mentionAt(text, i, name) {
			found = true
			i += 1 + len(name)
			continue
		}
		kept.WriteByte(text[i])
		i++
	}
	if !found {
		return text, false
	}
	return strings.TrimSpace(kept.String()), true
}

func mentionAt(text string, i int, name string) bool {
	end := i + 1 + len(name)
	if text[i] != '@' || end > len(text) || !strings.EqualFold(text[i+1:end], name) {
		return false
	}
	before, _ := utf8.DecodeLastRuneInString(text[:i])
	after, _ := utf8.DecodeRuneInString(text[end:])
	return !wordRune(before) && !wordRune(after)
}

// wordRune reports whether r could be part of a name. At either end of a text r
// is utf8.RuneError, which is not.
func wordRune(r rune) bool {
	return r == '_' || unicode.IsDigit(r) || unicode.IsLetter(r)
}

// clip shortens what is longer than an honest client could send.
func clip(s string, runes int) string {
	if letters := []rune(s); len(letters) > runes {
		return string(letters[:runes])
	}
	return s
}

var languageForm = regexp.MustCompile(`^[A-Za-z0-9_-]{0,35}$`)

// language is a language code as a device names it; "" when it can't be one.
func (u *user) language() string {
	if u == nil || !languageForm.MatchString(u.Language) {
		return ""
	}
	return u.Language
}

// when is the update's own date, seconds since 1970; fallback when it has none
// that can be right.
func when(date int64, fallback time.Time) time.Time {
	if date <= 0 || date > latest {
		return fallback
	}
	return time.Unix(date, 0)
}
