package telegramtest

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"image"
	_ "image/jpeg" // a photo may be one
	_ "image/png"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

const (
	textLimit        = 4096
	captionLimit     = 1024
	dataLimit        = 64
	buttonLimit      = 100
	photoLimit       = 10 << 20
	descriptionLimit = 512
	aboutLimit       = 120
	answerLimit      = 200
)

// Button is one button under a message: it presses Data, opens URL or copies Copy.
type Button struct{ Label, Data, URL, Copy string }

// Sent is one message that the bot sent, or one edit of it.
type Sent struct {
	Seq     int   // order over all chats, from 0
	ID      int64 // of the message
	Chat    int64
	Method  string
	Text    string // as a person sees it; a caption too
	HTML    string // as the bot sent it; "" without markup
	Buttons [][]Button
	Photo   []byte
	File    string // name of the photo or document
	FileID  string // of a photo or a document that a person sent and the bot sends again
	Album   int64  // what the messages of one album have in common; 0: none
	Topic   int64  // of a group
	ReplyTo int64  // the message that it answers
	Force   *Forced
	Protect bool // it can't be passed on or saved
	At      time.Time
	// Answered is false when the bot was not told that it was taken.
	Answered bool
}

// stored is a message in a chat.
type stored struct {
	id      int64
	from    int64
	date    int64
	text    string
	buttons [][]Button
	raw     map[string]any // as the bot sees it
}

var (
	secretForm  = regexp.MustCompile(`^[A-Za-z0-9_-]{1,256}$`)
	commandForm = regexp.MustCompile(`^[a-z0-9_]{1,32}$`)
)

// call carries out one method.
func (s *Server) call(ctx context.Context, method string, p params, answered bool) (any, error) {
	switch method {
	case "getme":
		return botUser(), nil
	case "getupdates":
		return s.getUpdates(ctx, p)
	case "setwebhook":
		return s.setWebhook(p)
	case "deletewebhook":
		return s.deleteWebhook(p)
	case "getwebhookinfo":
		return s.webhookInfo(), nil
	case "getfile":
		return s.getFile(p)
	case "sendmessage":
		return s.sendMessage(p, answered)
	case "sendvoice", "sendvideo", "sendvideonote", "sendaudio":
		c, err := s.chat(p)
		if err != nil {
			return nil, err
		}
		kind := map[string]string{"sendvoice": "voice", "sendvideo": "video", "sendvideonote": "video_note", "sendaudio": "audio"}[method]
		return s.sendAgain(c, method, kind, p.values[kind], p, answered)
	case "sendphoto", "senddocument":
		return s.sendFile(method, p, answered)
	case "sendmediagroup":
		return s.sendAlbum(p, answered)
	case "editmessagetext", "editmessagereplymarkup":
		return s.editMessage(method, p, answered)
	case "answercallbackquery":
		return s.answerPress(p)
	case "sendchataction":
		_, err := s.chat(p)
		return true, err
	case "setmycommands", "setmydescription", "setmyshortdescription", "setmyname", "setchatmenubutton":
		return s.setMy(method, p)
	case "getmycommands", "getmydescription", "getmyshortdescription", "getchatmenubutton":
		return s.getMy(method, p)
	case "deletemycommands":
		return s.deleteMyCommands(p)
	}
	return nil, &problem{code: http.StatusNotFound, text: "Not Found: method not found"}
}

func botUser() map[string]any {
	return map[string]any{"id": BotID, "is_bot": true, "first_name": "Trial", "username": BotName,
		"can_join_groups": true, "can_read_all_group_messages": false, "supports_inline_queries": false}
}

// chat finds the chat that a call is meant for, and whether the bot may write
// there.
func (s *Server) chat(p params) (*Chat, error) {
	id, err := strconv.ParseInt(p.values["chat_id"], 10, 64)
	if p.values["chat_id"] == "" {
		return nil, bad("chat_id is empty")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.chats[id]
	switch {
	case err != nil || c == nil:
		return nil, bad("chat not found")
	case c.MovedTo != 0:
		return nil, &problem{code: http.StatusBadRequest, migrateTo: c.MovedTo,
			text: "Bad Request: group chat was upgraded to a supergroup chat"}
	case c.Blocked && c.Type == "private":
		return nil, &problem{code: http.StatusForbidden, text: "Forbidden: bot was blocked by the user"}
	case c.Blocked:
		return nil, &problem{code: http.StatusForbidden, text: "Forbidden: bot was kicked from the " + c.Type + " chat"}
	}
	return c, s.placed(c, p)
}

// words reads a text parameter in its mode.
func words(p params, name string, limit int) (shown, markup string, err error) {
	text := p.values[name]
	if !utf8.ValidString(text) {
		return "", "", bad("strings must be encoded in UTF-8")
	}
	switch strings.ToLower(p.values["parse_mode"]) {
	case "":
		shown = text
	case "html":
		markup = text
		if shown, err = Read(text); err != nil {
			return "", "", err
		}
	default:
		return "", "", bad("this server reads no parse_mode but HTML")
	}
	shown = strings.TrimSpace(shown)
	if units(shown) > limit {
		if name == "caption" {
			return "", "", bad("message caption is too long")
		}
		return "", "", bad("message is too long")
	}
	return shown, markup, nil
}

func (s *Server) sendMessage(p params, answered bool) (any, error) {
	c, err := s.chat(p)
	if err != nil {
		return nil, err
	}
	shown, markup, err := words(p, "text", cmp.Or(s.TextMost, textLimit))
	if err != nil {
		return nil, err
	}
	if shown == "" {
		return nil, bad("message text is empty")
	}
	buttons, err := keyboard(p)
	if err != nil {
		return nil, err
	}
	return s.record(c, p, Sent{Method: "sendMessage", Text: shown, HTML: markup, Buttons: buttons, Answered: answered}), nil
}

func (s *Server) sendFile(method string, p params, answered bool) (any, error) {
	c, err := s.chat(p)
	if err != nil {
		return nil, err
	}
	field, name := "photo", "sendPhoto"
	if method == "senddocument" {
		field, name = "document", "sendDocument"
	}
	file := p.files[field]
	if id := p.values[field]; file == nil && id != "" {
		return s.sendAgain(c, name, field, id, p, answered)
	}
	if file == nil {
		return nil, bad("there is no %s in the request", field)
	}
	if err := checkFile(field, file); err != nil {
		return nil, err
	}
	shown, markup, err := words(p, "caption", cmp.Or(s.CaptionMost, captionLimit))
	if err != nil {
		return nil, err
	}
	buttons, err := keyboard(p)
	if err != nil {
		return nil, err
	}
	return s.record(c, p, Sent{Method: name, Text: shown, HTML: markup, Buttons: buttons, Photo: file.data, File: file.name, Answered: answered}), nil
}

func checkFile(field string, f *upload) error {
	if len(f.data) == 0 {
		return bad("file must be non-empty")
	}
	if field != "photo" {
		return nil
	}
	if len(f.data) > photoLimit {
		return &problem{code: http.StatusRequestEntityTooLarge, text: "Request Entity Too Large"}
	}
	size, _, err := image.DecodeConfig(bytes.NewReader(f.data))
	if err != nil {
		return bad("IMAGE_PROCESS_FAILED")
	}
	w, h := size.Width, size.Height
	if w+h > 10000 || w > 20*h || h > 20*w {
		return bad("PHOTO_INVALID_DIMENSIONS")
	}
	return nil
}

// keyboard reads and checks the buttons of a message.
func keyboard(p params) ([][]Button, error) {
	var markup struct {
		Rows [][]map[string]any `json:"inline_keyboard"`
	}
	if err := p.json("reply_markup", &markup); err != nil {
		return nil, err
	}
	var rows [][]Button
	n := 0
	for _, r := range markup.Rows {
		var row []Button
		for _, b := range r {
			label, _ := b["text"].(string)
			data, isData := b["callback_data"].(string)
			address, isURL := b["url"].(string)
			text, isCopy, err := copied(b["copy_text"])
			if err != nil {
				return nil, err
			}
			switch {
			case strings.TrimSpace(label) == "":
				return nil, bad("can't parse inline keyboard button: Text buttons are unallowed in the inline keyboard")
			case isURL && !strings.HasPrefix(address, "https://") && !strings.HasPrefix(address, "tg://"):
				return nil, bad("inline keyboard button URL is invalid: Wrong HTTP URL")
			case count(isData, isURL, isCopy) != 1:
				return nil, bad("can't parse inline keyboard button: no action")
			case isData && (len(data) == 0 || len(data) > dataLimit):
				return nil, bad("BUTTON_DATA_INVALID")
			}
			row = append(row, Button{label, data, address, text})
		}
		n += len(row)
		rows = append(rows, row)
	}
	if n > buttonLimit {
		return nil, bad("reply markup is too long")
	}
	return rows, nil
}

// copied reads what a button copies, of 1 to 256 characters (CopyTextButton).
func copied(v any) (text string, is bool, err error) {
	fields, is := v.(map[string]any)
	if !is {
		return "", false, nil
	}
	text, _ = fields["text"].(string)
	if n := utf8.RuneCountInString(text); n < 1 || n > 256 {
		return "", true, bad("BUTTON_COPY_TEXT_INVALID")
	}
	return text, true, nil
}

func count(list ...bool) (n int) {
	for _, is := range list {
		if is {
			n++
		}
	}
	return n
}

// record keeps a message that the bot sent and gives what it is told of it.
func (s *Server) record(c *Chat, p params, m Sent) json.RawMessage {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.change()
	s.lastID++
	m.place(p)
	m.Seq, m.ID, m.Chat, m.At = len(s.sent), s.lastID, c.ID, s.Clock()
	s.sent = append(s.sent, m)
	raw := map[string]any{"message_id": m.ID, "date": m.At.Unix(), "chat": c.json(), "from": botUser()}
	if m.Photo == nil && m.FileID == "" {
		raw["text"] = m.Text
	} else {
		raw["caption"] = m.Text
		id := cmp.Or(m.FileID, "f"+strconv.FormatInt(m.ID, 10))
		kind := "photo"
		file := map[string]any{"file_id": id, "file_unique_id": "u" + id, "width": 1, "height": 1}
		if raw[kind] = []any{file}; m.Method == "sendDocument" {
			delete(raw, kind)
			kind = "document"
			raw[kind] = file
		}
		if m.FileID == "" { // it can be sent again
			s.shots[id], s.uploads[id] = kind, upload{m.File, m.Photo}
		}
	}
	s.messages[c.ID] = append(s.messages[c.ID], &stored{id: m.ID, from: BotID, date: m.At.Unix(), text: m.Text, buttons: m.Buttons, raw: raw})
	return written(raw)
}

func (s *Server) editMessage(method string, p params, answered bool) (any, error) {
	c, err := s.chat(p)
	if err != nil {
		return nil, err
	}
	id, err := p.int("message_id", 0)
	if err != nil {
		return nil, err
	}
	buttons, err := keyboard(p)
	if err != nil {
		return nil, err
	}
	shown, markup, name := "", "", "editMessageReplyMarkup"
	if method == "editmessagetext" {
		name = "editMessageText"
		if shown, markup, err = words(p, "text", cmp.Or(s.TextMost, textLimit)); err != nil {
			return nil, err
		}
		if shown == "" {
			return nil, bad("message text is empty")
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.change()
	m := s.find(c.ID, id)
	switch {
	case m == nil:
		return nil, bad("message to edit not found")
	case m.from != BotID:
		return nil, bad("message can't be edited")
	}
	if method != "editmessagetext" {
		shown = m.text
	}
	if shown == m.text && same(buttons, m.buttons) {
		return nil, bad("message is not modified: specified new message content and reply markup are exactly the same as a current content and reply markup of the message")
	}
	m.text, m.buttons = shown, buttons
	m.raw["text"], m.raw["edit_date"] = shown, s.Clock().Unix()
	s.sent = append(s.sent, Sent{Seq: len(s.sent), ID: id, Chat: c.ID, Method: name, Text: shown, HTML: markup, Buttons: buttons, At: s.Clock(), Answered: answered})
	return written(m.raw), nil
}

// written is v as JSON, made while s.mu is held.
func written(v map[string]any) json.RawMessage {
	raw, err := json.Marshal(v)
	if err != nil {
		panic(err) // only ever called with what can be written
	}
	return raw
}

// find gives a message of a chat. s.mu is held.
func (s *Server) find(chat, id int64) *stored {
	for _, m := range s.messages[chat] {
		if m.id == id {
			return m
		}
	}
	return nil
}

func same(a, b [][]Button) bool {
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(b)
	return bytes.Equal(x, y)
}

func (s *Server) answerPress(p params) (any, error) {
	if utf8.RuneCountInString(p.values["text"]) > answerLimit {
		return nil, bad("MESSAGE_TOO_LONG")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, ok := s.queries[p.values["callback_query_id"]]; !ok {
		return nil, bad("query is too old and response timeout expired or query ID is invalid")
	}
	s.queries[p.values["callback_query_id"]]++
	if text := p.values["text"]; text != "" {
		s.toasts = append(s.toasts, text)
	}
	s.change()
	return true, nil
}

func (s *Server) setMy(method string, p params) (any, error) {
	value := ""
	switch method {
	case "setmycommands":
		value = p.values["commands"]
		var list []struct{ Command, Description string }
		if err := p.json("commands", &list); err != nil {
			return nil, err
		}
		for _, c := range list {
			if !commandForm.MatchString(c.Command) {
				return nil, bad("BOT_COMMAND_INVALID")
			}
			if n := utf8.RuneCountInString(c.Description); n < 1 || n > 256 {
				return nil, bad("BOT_COMMAND_DESCRIPTION_INVALID")
			}
		}
		if len(list) > 100 {
			return nil, bad("BOT_COMMANDS_TOO_MUCH")
		}
	case "setmydescription":
		if value = p.values["description"]; utf8.RuneCountInString(value) > descriptionLimit {
			return nil, bad("description is too long")
		}
	case "setmyshortdescription":
		if value = p.values["short_description"]; utf8.RuneCountInString(value) > aboutLimit {
			return nil, bad("short description is too long")
		}
	case "setmyname":
		value = p.values["name"]
	case "setchatmenubutton":
		var button struct{ Type string }
		if err := p.json("menu_button", &button); err != nil {
			return nil, err
		}
		if button.Type != "commands" && button.Type != "default" && button.Type != "web_app" {
			return nil, bad("can't parse menu button")
		}
		value = button.Type
	}
	if code := p.values["language_code"]; code != "" && len(code) != 2 {
		return nil, bad("invalid language code specified")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.set[menuPlace(method, p)] = value
	s.change()
	return true, nil
}

// Set is what a setMy… method or setChatMenuButton last set for a language
// code; "" is the code for everybody.
func (s *Server) Set(method, language string) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.set[strings.ToLower(method)+" "+language]
}

func checkWebhook(address, secret string) error {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" {
		return bad("bad webhook: invalid URL")
	}
	ip := net.ParseIP(u.Hostname())
	local := u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
	if u.Scheme != "https" && !(u.Scheme == "http" && local) {
		return bad("bad webhook: An HTTPS URL must be provided for webhook")
	}
	if secret != "" && !secretForm.MatchString(secret) {
		return bad("secret token contains unallowed characters")
	}
	return nil
}
