package telegramtest

import (
	"bytes"
	"context"
	"encoding/json"
	"image"
	"image/png"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func within(t *testing.T) context.Context {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	t.Cleanup(cancel)
	return ctx
}

type answer struct {
	OK          bool            `json:"ok"`
	Result      json.RawMessage `json:"result"`
	Code        int             `json:"error_code"`
	Description string          `json:"description"`
	Parameters  map[string]int64
}

// call calls a method with a JSON body.
func call(t *testing.T, s *Server, method string, params map[string]any) answer {
	t.Helper()
	body, err := json.Marshal(params)
	require.NoError(t, err)
	return send(t, s, method, "application/json", body)
}

func send(t *testing.T, s *Server, method, kind string, body []byte) answer {
	t.Helper()
	req, err := http.NewRequestWithContext(within(t), http.MethodPost, s.URL+"/bot"+Token+"/"+method, bytes.NewReader(body))
	require.NoError(t, err)
	req.Header.Set("Content-Type", kind)
	resp, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer resp.Body.Close()
	var a answer
	require.NoError(t, json.NewDecoder(resp.Body).Decode(&a))
	if !a.OK {
		require.Equal(t, resp.StatusCode, a.Code)
	}
	return a
}

func form(t *testing.T, fields map[string]string, fileField string, file []byte) (kind string, body []byte) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for name, value := range fields {
		require.NoError(t, w.WriteField(name, value))
	}
	if fileField != "" {
		part, err := w.CreateFormFile(fileField, "card.png")
		require.NoError(t, err)
		_, err = part.Write(file)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return w.FormDataContentType(), b.Bytes()
}

func picture(t *testing.T, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))))
	return b.Bytes()
}

// The limits are those of the platform's public description, from memory.
func TestMessagesAreCheckedAsStrictlyAsThePlatformDoes(t *testing.T) {
	s := Start(t)
	s.Join(Chat{ID: 1, Type: "private"})
	s.Join(Chat{ID: 2, Type: "private", Blocked: true})
	s.Join(Chat{ID: -3, Type: "group", MovedTo: -1003})
	button := func(data string) string {
		return `{"inline_keyboard":[[{"text":"Yes","callback_data":"` + data + `"}]]}`
	}
	for name, tc := range map[string]struct {
		params map[string]any
		want   string // "": taken
	}{
		"plain":            {map[string]any{"chat_id": 1, "text": "<b>"}, ""},
		"markup":           {map[string]any{"chat_id": 1, "text": "<b>x</b>", "parse_mode": "HTML"}, ""},
		"4096 characters":  {map[string]any{"chat_id": 1, "text": "<i>" + strings.Repeat("&lt;", 4096) + "</i>", "parse_mode": "HTML"}, ""},
		"4097 characters":  {map[string]any{"chat_id": 1, "text": strings.Repeat("x", 4097)}, "message is too long"},
		"two units each":   {map[string]any{"chat_id": 1, "text": strings.Repeat("😀", 2049)}, "message is too long"},
		"nothing":          {map[string]any{"chat_id": 1, "text": " \n"}, "message text is empty"},
		"nothing in a tag": {map[string]any{"chat_id": 1, "text": "<b> </b>", "parse_mode": "HTML"}, "message text is empty"},
		"no chat":          {map[string]any{"text": "x"}, "chat_id is empty"},
		"unknown chat":     {map[string]any{"chat_id": 9, "text": "x"}, "chat not found"},
		"blocked":          {map[string]any{"chat_id": 2, "text": "x"}, "bot was blocked"},
		"moved":            {map[string]any{"chat_id": -3, "text": "x"}, "upgraded to a supergroup"},
		"broken markup":    {map[string]any{"chat_id": 1, "text": "<b>x", "parse_mode": "HTML"}, "can't parse entities"},
		"other mode":       {map[string]any{"chat_id": 1, "text": "x", "parse_mode": "MarkdownV2"}, "parse_mode"},
		"64 bytes of data": {map[string]any{"chat_id": 1, "text": "x", "reply_markup": button(strings.Repeat("x", 64))}, ""},
		"65 bytes of data": {map[string]any{"chat_id": 1, "text": "x", "reply_markup": button(strings.Repeat("x", 65))}, "BUTTON_DATA_INVALID"},
		"66 in 33 letters": {map[string]any{"chat_id": 1, "text": "x", "reply_markup": button(strings.Repeat("ü", 33))}, "BUTTON_DATA_INVALID"},
		"no data":          {map[string]any{"chat_id": 1, "text": "x", "reply_markup": button("")}, "BUTTON_DATA_INVALID"},
		"button as an object": {map[string]any{"chat_id": 1, "text": "x",
			"reply_markup": map[string]any{"inline_keyboard": []any{[]any{map[string]any{"text": "Yes", "callback_data": "1"}}}}}, ""},
		"button without a label": {map[string]any{"chat_id": 1, "text": "x",
			"reply_markup": `{"inline_keyboard":[[{"text":" ","callback_data":"1"}]]}`}, "unallowed"},
		"broken keyboard": {map[string]any{"chat_id": 1, "text": "x", "reply_markup": "{"}, "can't parse reply_markup"},
		"101 buttons": {map[string]any{"chat_id": 1, "text": "x",
			"reply_markup": `{"inline_keyboard":[[` + strings.Repeat(`{"text":"a","callback_data":"1"},`, 100) + `{"text":"a","callback_data":"1"}]]}`}, "too long"},
	} {
		t.Run(name, func(t *testing.T) {
			a := call(t, s, "sendMessage", tc.params)
			require.Equal(t, tc.want == "", a.OK, a.Description)
			require.Contains(t, a.Description, tc.want)
			if name == "moved" {
				require.EqualValues(t, -1003, a.Parameters["migrate_to_chat_id"])
			}
		})
	}
}

func TestReadKnowsThePlatformsMarkup(t *testing.T) {
	for in, want := range map[string]string{
		"a <b>b <i>c</i></b>":        "a b c",
		"&lt;b&gt; &amp; &quot;":     `<b> & "`,
		"&#8722;5 &#xD7; 6":          "−5 × 6",
		"&nbsp; & &unknown;":         "&nbsp; & &unknown;",
		`<a href="https://x">y</a>`:  "y",
		"5 > 4":                      "5 > 4",
		"<tg-spoiler>x</tg-spoiler>": "x",
		"<B>x</b>":                   "x",
	} {
		got, err := Read(in)
		require.NoError(t, err, in)
		require.Equal(t, want, got)
	}
	for in, want := range map[string]string{
		"<b>x":             "end tag",
		"x</b>":            "Unexpected end tag",
		"<b><i>x</b></i>":  "Unmatched end tag",
		"<table>x</table>": "Unsupported start tag",
		"5 < 6":            "start tag",
		"<":                "start tag",
		"<b":               "start tag",
		"<br/>":            "start tag",
		"<span>x</span>":   "must have class",
	} {
		_, err := Read(in)
		require.ErrorContains(t, err, want, in)
	}
}

func TestPhotos(t *testing.T) {
	s := Start(t)
	s.Join(Chat{ID: 1, Type: "private"})
	for name, tc := range map[string]struct {
		fields map[string]string
		file   []byte
		want   string
	}{
		"taken":          {map[string]string{"chat_id": "1", "caption": "<b>x</b>", "parse_mode": "HTML"}, picture(t, 30, 20), ""},
		"1024 caption":   {map[string]string{"chat_id": "1", "caption": strings.Repeat("x", 1024)}, picture(t, 30, 20), ""},
		"1025 caption":   {map[string]string{"chat_id": "1", "caption": strings.Repeat("x", 1025)}, picture(t, 30, 20), "caption is too long"},
		"too narrow":     {map[string]string{"chat_id": "1"}, picture(t, 1, 21), "PHOTO_INVALID_DIMENSIONS"},
		"not a picture":  {map[string]string{"chat_id": "1"}, []byte("x"), "IMAGE_PROCESS_FAILED"},
		"empty":          {map[string]string{"chat_id": "1"}, []byte{}, "non-empty"},
		"too large":      {map[string]string{"chat_id": "1"}, make([]byte, photoLimit+1), "Too Large"},
		"to nobody":      {map[string]string{"chat_id": "5"}, picture(t, 30, 20), "chat not found"},
		"bad caption":    {map[string]string{"chat_id": "1", "caption": "<u>", "parse_mode": "HTML"}, picture(t, 30, 20), "can't parse entities"},
		"button too big": {map[string]string{"chat_id": "1", "reply_markup": `{"inline_keyboard":[[{"text":"a","callback_data":"` + strings.Repeat("x", 65) + `"}]]}`}, picture(t, 30, 20), "BUTTON"},
	} {
		t.Run(name, func(t *testing.T) {
			kind, body := form(t, tc.fields, "photo", tc.file)
			a := send(t, s, "sendPhoto", kind, body)
			require.Equal(t, tc.want == "", a.OK, a.Description)
			require.Contains(t, a.Description, tc.want)
		})
	}
	require.Len(t, s.Sent(1), 2)
	require.Equal(t, picture(t, 30, 20), s.Sent(1)[0].Photo)
	kind, body := form(t, map[string]string{"chat_id": "1"}, "document", []byte("any file"))
	require.True(t, send(t, s, "sendDocument", kind, body).OK)
	kind, body = form(t, map[string]string{"chat_id": "1"}, "", nil)
	require.Contains(t, send(t, s, "sendPhoto", kind, body).Description, "no photo")
}

func TestCallsOfEveryForm(t *testing.T) {
	s := Start(t)
	s.Join(Chat{ID: 1, Type: "private"})
	require.True(t, send(t, s, "sendMessage", "application/x-www-form-urlencoded", []byte("chat_id=1&text=a%20b")).OK)
	require.True(t, send(t, s, "SENDMESSAGE?chat_id=1&text=c", "", nil).OK)
	kind, body := form(t, map[string]string{"chat_id": "1", "text": "d"}, "", nil)
	require.True(t, send(t, s, "sendMessage", kind, body).OK)
	require.True(t, send(t, s, "getMe", kind, nil).OK, "the library sends calls without parameters with an empty body")
	var texts []string
	for _, m := range s.Sent(1) {
		texts = append(texts, m.Text)
	}
	require.Equal(t, []string{"a b", "c", "d"}, texts)

	require.False(t, send(t, s, "sendMessage", "application/json", []byte("{")).OK)
	require.False(t, send(t, s, "sendMessage", kind, body[:20]).OK)
	require.Equal(t, 404, send(t, s, "launchRocket", "", nil).Code)
	resp, err := http.Get(s.URL + "/bot1:wrong/getMe")
	require.NoError(t, err)
	resp.Body.Close()
	require.Equal(t, 401, resp.StatusCode)
}

func TestEditsAndAnswers(t *testing.T) {
	s := Start(t)
	s.Join(Chat{ID: 1, Type: "private"})
	require.True(t, call(t, s, "sendMessage", map[string]any{"chat_id": 1, "text": "q", "reply_markup": `{"inline_keyboard":[[{"text":"Yes","callback_data":"1"}]]}`}).OK)
	id := s.Sent(1)[0].ID
	require.Contains(t, call(t, s, "editMessageText", map[string]any{"chat_id": 1, "message_id": id + 5, "text": "x"}).Description, "not found")
	require.True(t, call(t, s, "editMessageReplyMarkup", map[string]any{"chat_id": 1, "message_id": id}).OK)
	require.Contains(t, call(t, s, "editMessageReplyMarkup", map[string]any{"chat_id": 1, "message_id": id}).Description, "not modified")
	require.True(t, call(t, s, "editMessageText", map[string]any{"chat_id": 1, "message_id": id, "text": "<b>new</b>", "parse_mode": "HTML"}).OK)
	require.Equal(t, "new", s.Sent(1)[2].Text)
	_, err := s.PressLast(1, 1, "Yes")
	require.Error(t, err, "the buttons are gone")
	require.Contains(t, call(t, s, "answerCallbackQuery", map[string]any{"callback_query_id": "q99"}).Description, "query is too old")
	_, err = s.Press(1, 1, id, "forged")
	require.NoError(t, err)
	require.True(t, call(t, s, "answerCallbackQuery", map[string]any{"callback_query_id": "q1"}).OK)
	require.Equal(t, 1, s.Answers())
}

func TestMenuIsChecked(t *testing.T) {
	s := Start(t)
	for name, tc := range map[string]struct {
		method string
		params map[string]any
		ok     bool
	}{
		"commands":            {"setMyCommands", map[string]any{"commands": `[{"command":"new","description":"x"}]`, "language_code": "de"}, true},
		"command in capitals": {"setMyCommands", map[string]any{"commands": `[{"command":"New","description":"x"}]`}, false},
		"no description":      {"setMyCommands", map[string]any{"commands": `[{"command":"new","description":""}]`}, false},
		"long description":    {"setMyDescription", map[string]any{"description": strings.Repeat("x", 513)}, false},
		"long about":          {"setMyShortDescription", map[string]any{"short_description": strings.Repeat("x", 121)}, false},
		"language name":       {"setMyDescription", map[string]any{"description": "x", "language_code": "german"}, false},
		"menu button":         {"setChatMenuButton", map[string]any{"menu_button": `{"type":"commands"}`}, true},
		"odd menu button":     {"setChatMenuButton", map[string]any{"menu_button": `{"type":"dance"}`}, false},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, tc.ok, call(t, s, tc.method, tc.params).OK)
		})
	}
}

func ids(t *testing.T, a answer) []int64 {
	t.Helper()
	require.True(t, a.OK, a.Description)
	var list []struct {
		ID int64 `json:"update_id"`
	}
	require.NoError(t, json.Unmarshal(a.Result, &list))
	var ids []int64
	for _, u := range list {
		ids = append(ids, u.ID)
	}
	return ids
}

func TestUpdatesStayUntilTheOffsetPassesThem(t *testing.T) {
	s := Start(t)
	a, b, c := s.Type(1, "a"), s.Type(1, "b"), s.Type(2, "c")
	require.Equal(t, []int64{a, b, c}, ids(t, call(t, s, "getUpdates", nil)))
	require.Equal(t, []int64{a, b, c}, ids(t, call(t, s, "getUpdates", nil)))
	require.Equal(t, []int64{b}, ids(t, call(t, s, "getUpdates", map[string]any{"offset": b, "limit": 1})))
	require.Equal(t, 2, s.Pending())
	require.Equal(t, []int64{c}, ids(t, call(t, s, "getUpdates", map[string]any{"offset": -1})))
	require.Empty(t, ids(t, call(t, s, "getUpdates", map[string]any{"offset": c + 1})))
	require.Zero(t, s.Pending())
	s.Again(a)
	require.Equal(t, []int64{a}, ids(t, call(t, s, "getUpdates", map[string]any{"offset": c + 1})))
}

func TestOnlyKindsThatWereAskedFor(t *testing.T) {
	s := Start(t)
	call(t, s, "getUpdates", map[string]any{"allowed_updates": []string{"message"}})
	s.Type(1, "a")
	_, err := s.EditLast(1, 1, "b")
	require.NoError(t, err)
	require.Equal(t, 1, s.Pending())
}

func TestALongPollWaitsAndANewerOneEndsIt(t *testing.T) {
	s := Start(t)
	older := make(chan answer, 1)
	go func() { older <- call(t, s, "getUpdates", map[string]any{"timeout": 20}) }()
	require.NoError(t, s.Wait(within(t), func() bool { return s.open() }))
	newer := make(chan answer, 1)
	go func() { newer <- call(t, s, "getUpdates", map[string]any{"timeout": 20}) }()
	require.Equal(t, 409, (<-older).Code)
	id := s.Type(1, "a")
	require.Equal(t, []int64{id}, ids(t, <-newer))
	require.Equal(t, 1, s.Conflicts())
}

// open says whether a poll is open.
func (s *Server) open() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.poll != nil
}

func TestPushKeepsTheOrderOfAChatAndRetries(t *testing.T) {
	s := Start(t)
	s.PushFirst, s.PushMost = time.Millisecond, 4*time.Millisecond
	var mu sync.Mutex
	got := map[int64][]string{}
	n := 0
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		defer mu.Unlock()
		n++
		if r.Header.Get("X-Telegram-Bot-Api-Secret-Token") != "s3" || n%4 == 0 {
			w.Header().Set("Retry-After", "1")
			w.WriteHeader(http.StatusServiceUnavailable)
			return
		}
		var u struct {
			Message struct {
				Text string
				Chat struct{ ID int64 }
			}
		}
		json.NewDecoder(r.Body).Decode(&u)
		got[u.Message.Chat.ID] = append(got[u.Message.Chat.ID], u.Message.Text)
	}))
	t.Cleanup(web.Close)
	require.False(t, call(t, s, "setWebhook", map[string]any{"url": "http://bot.example/in"}).OK)
	require.False(t, call(t, s, "setWebhook", map[string]any{"url": web.URL, "secret_token": "a b"}).OK)
	for _, text := range []string{"1", "2"} {
		s.Type(1, text)
	}
	require.True(t, call(t, s, "setWebhook", map[string]any{"url": web.URL, "secret_token": "s3"}).OK)
	require.Equal(t, 409, call(t, s, "getUpdates", nil).Code)
	for _, text := range []string{"3", "4", "5"} {
		s.Type(1, text)
		s.Type(2, text)
	}
	require.NoError(t, s.WaitTaken(within(t)))
	mu.Lock()
	require.Equal(t, map[int64][]string{1: {"1", "2", "3", "4", "5"}, 2: {"3", "4", "5"}}, got)
	mu.Unlock()
	require.Contains(t, string(call(t, s, "getWebhookInfo", nil).Result), web.URL)
	require.True(t, call(t, s, "deleteWebhook", nil).OK)
	require.True(t, call(t, s, "getUpdates", nil).OK)
}

func TestFaults(t *testing.T) {
	s := Start(t)
	s.Join(Chat{ID: 1, Type: "private"})
	hello := map[string]any{"chat_id": 1, "text": "x"}
	s.Fail("sendMessage", TooMany(7), Failing, Fault{Status: 500, Taken: true}, Fault{})
	a := call(t, s, "sendMessage", hello)
	require.Equal(t, 429, a.Code)
	require.EqualValues(t, 7, a.Parameters["retry_after"])
	require.Equal(t, 500, call(t, s, "sendMessage", hello).Code)
	require.Empty(t, s.Sent(1))
	require.Equal(t, 500, call(t, s, "sendMessage", hello).Code)
	require.Len(t, s.Sent(1), 1)
	require.False(t, s.Sent(1)[0].Answered)
	require.True(t, call(t, s, "sendMessage", hello).OK)

	s.FailWhen(func(c Call) *Fault {
		if c.Method == "sendmessage" && c.Chat == 1 {
			return &CutAfter
		}
		return nil
	})
	_, err := http.PostForm(s.URL+"/bot"+Token+"/sendMessage", map[string][]string{"chat_id": {"1"}, "text": {"x"}})
	require.Error(t, err)
	require.Len(t, s.Sent(1), 3)
	require.True(t, call(t, s, "getMe", nil).OK)
}

func TestWaitGivesUp(t *testing.T) {
	s := Start(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := s.WaitSent(ctx, 1, 1)
	require.ErrorIs(t, err, context.Canceled)
	_, err = s.WaitText(ctx, 1, 0, "x")
	require.ErrorIs(t, err, context.Canceled)
}

func TestLimits(t *testing.T) {
	s := Start(t)
	now := time.Unix(1e9, 0)
	s.Clock = func() time.Time { return now }
	s.Limits = Limits{Group: 20, Chat: 1, Bot: 30}
	s.Join(Chat{ID: -5, Type: "group"})
	s.Join(Chat{ID: 7, Type: "private"})
	sent := func(chat string) (n int) {
		for {
			if a := call(t, s, "sendMessage", map[string]any{"chat_id": chat, "text": "a"}); !a.OK {
				require.Equal(t, http.StatusTooManyRequests, a.Code)
				require.Positive(t, a.Parameters["retry_after"])
				return n
			}
			n++
		}
	}
	require.Equal(t, 20, sent("-5"), "a minute in a group")
	require.Equal(t, 10, sent("7"), "a short burst in a chat")
	require.True(t, call(t, s, "sendChatAction", map[string]any{"chat_id": "7", "action": "typing"}).OK, "no message")
	now = now.Add(5 * time.Second)
	require.Equal(t, 5, sent("7"))
	require.Zero(t, sent("-5"))
	now = now.Add(55 * time.Second)
	require.Equal(t, 20, sent("-5"))
	require.Equal(t, 5, s.Refused())
}

func TestAlbumsOfUploads(t *testing.T) {
	s := Start(t)
	now := time.Unix(1e9, 0)
	s.Clock = func() time.Time { return now }
	s.Join(Chat{ID: -5, Type: "group"})
	item := func(media, caption string) string {
		return `{"type":"photo","media":"` + media + `","caption":"` + caption + `","parse_mode":"HTML"}`
	}
	send := func(items ...string) answer {
		return call(t, s, "sendMediaGroup", map[string]any{"chat_id": "-5", "media": json.RawMessage("[" + strings.Join(items, ",") + "]")})
	}
	s.SendPhoto(7, "p1", "", "")
	require.False(t, send(item("attach://a.png", "")+","+item("p1", "")).OK, "there is no such part")
	require.False(t, send(item("p1", "")).OK, "one is no album")
	require.False(t, send(item("p1", "<b>"), item("p1", "")).OK)
	require.Empty(t, s.Sent(-5), "all or none")
	s.Limits = Limits{Group: 20, Chat: 1, Bot: 30}
	ten := strings.TrimSuffix(strings.Repeat(item("p1", "<b>a</b>")+",", 10), ",")
	require.True(t, send(ten).OK)
	require.Equal(t, "a", s.Sent(-5)[9].Text)
	now = now.Add(20 * time.Second)
	require.True(t, send(item("p1", ""), item("p1", "")).OK)
	refused := send(ten)
	require.Equal(t, http.StatusTooManyRequests, refused.Code, "each of an album counts")
	require.EqualValues(t, 40, refused.Parameters["retry_after"])
	now = now.Add(40 * time.Second)
	require.True(t, send(ten).OK)
}
