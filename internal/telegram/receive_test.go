package telegram

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/telegram/telegramtest"
)

const (
	private = `"chat":{"id":7,"type":"private"},"from":{"id":7,"language_code":"en-GB"},"date":1700000000`
	group   = `"chat":{"id":-9,"type":"supergroup"},"from":{"id":7},"date":1700000000`
)

var sentAt = time.Unix(1700000000, 0)

func updateOf(kind, content string) json.RawMessage {
	return json.RawMessage(fmt.Sprintf(`{"update_id":11,%q:{"message_id":1,%s}}`, kind, content))
}

func TestHandleReadsWhatPeopleSend(t *testing.T) {
	server := telegramtest.Start(t)
	in := func(kind dialog.Kind, text string) *engine.Update {
		return &engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: kind, Text: text, Now: sentAt, Lang: "en-GB"}}
	}
	inGroup := func(kind dialog.Kind, text string) *engine.Update {
		return &engine.Update{ID: 11, Chat: -9, User: 7, Group: true, Input: dialog.Input{Kind: kind, Text: text, Now: sentAt}}
	}
	shot := func(text string, s dialog.Shot) *engine.Update {
		u := in(dialog.Photo, text)
		u.Input.Shot, u.Input.Album = &s, s.Album
		if s.As != "" {
			u.Input.Kind = dialog.Voice
		}
		return u
	}
	spotted := func(figures, address string) *engine.Update {
		u := in(dialog.Place, "")
		u.Input.Spot = &dialog.Spot{Figures: figures, Address: address}
		return u
	}
	lost := func(u *engine.Update) *engine.Update {
		u.Input.Lost = &dialog.Lost{Why: dialog.Left}
		return u
	}
	toBot := fmt.Sprintf(`,"reply_to_message":{"message_id":3,"from":{"id":%d,"is_bot":true}}`, telegramtest.BotID)
	at := "@" + telegramtest.BotName
	for name, tc := range map[string]struct {
		kind, content string
		want          *engine.Update // nil: passed over
	}{
		"text":                  {"message", private + `,"text":"1204 mm"`, in(dialog.Typed, "1204 mm")},
		"command":               {"message", private + `,"text":"/new kitchen"`, in(dialog.Typed, "/new kitchen")},
		"command with the name": {"message", private + `,"text":"/new` + at + ` kitchen"`, in(dialog.Typed, "/new kitchen")},
		"start with a link":     {"message", private + `,"text":"/start AbC_1-2"`, in(dialog.Typed, "/start AbC_1-2")},
		"photo":                 {"message", private + `,"photo":[{"file_id":"x"}],"caption":"left jamb"`, shot("left jamb", dialog.Shot{File: "x"})},
		"the largest size": {"message", private + `,"photo":[{"file_id":"s","width":90,"height":60},{"file_id":"l","width":1280,"height":853},{"file_id":"m","width":320,"height":213}]`,
			shot("", dialog.Shot{File: "l"})},
		"photo of an album":    {"message", private + `,"media_group_id":"13","photo":[{"file_id":"x"}]`, shot("", dialog.Shot{File: "x", Album: "13"})},
		"photo without a file": {"message", private + `,"photo":[{}]`, in(dialog.Photo, "")},
		"photo of a new kind":  {"message", private + `,"photo":{"hologram":1}`, in(dialog.Photo, "")},
		"forged file id":       {"message", private + `,"photo":[{"file_id":"x|y;z"}]`, in(dialog.Photo, "")},
		"edited caption": {"edited_message", private + `,"edit_date":1700000060,"photo":[{"file_id":"x"}],"caption":"right jamb"`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Edited, Text: "right jamb", Now: sentAt.Add(time.Minute), Lang: "en-GB"}}},
		"photo as a file":           {"message", private + `,"document":{"file_id":"x","mime_type":"image/png"}`, shot("", dialog.Shot{File: "x", Document: true})},
		"file":                      {"message", private + `,"document":{"file_id":"x","mime_type":"application/pdf"},"caption":"schedule"`, in(dialog.File, "schedule")},
		"voice":                     {"message", private + `,"voice":{"file_id":"x"}`, shot("", dialog.Shot{File: "x", As: "voice"})},
		"round video":               {"message", private + `,"video_note":{"file_id":"x"}`, shot("", dialog.Shot{File: "x", As: "round"})},
		"video of an album":         {"message", private + `,"video":{"file_id":"x"},"media_group_id":"13","caption":"head"`, shot("head", dialog.Shot{File: "x", As: "video", Album: "13"})},
		"recording":                 {"message", private + `,"audio":{"file_id":"x"}`, shot("", dialog.Shot{File: "x", As: "audio"})},
		"voice of a new kind":       {"message", private + `,"voice":[{"file_id":"x"}]`, in(dialog.Voice, "")},
		"sticker":                   {"message", private + `,"sticker":{"file_id":"x"}`, in(dialog.Sticker, "")},
		"place":                     {"message", private + `,"location":{"latitude":1.0000049,"longitude":-2,"live_period":60}`, spotted("1.00000, -2.00000", "")},
		"venue":                     {"message", private + `,"location":{"latitude":52.205337,"longitude":0.121817},"venue":{"location":{"latitude":1,"longitude":2},"title":"Mill","address":"Weir Lane 3"}`, spotted("52.20534, 0.12182", "Mill, Weir Lane 3")},
		"place off the earth":       {"message", private + `,"location":{"latitude":1e99999,"longitude":2}`, in(dialog.Place, "")},
		"place without figures":     {"message", private + `,"location":{}`, in(dialog.Place, "")},
		"something new":             {"message", private + `,"hologram":{"file_id":"x"},"caption":"look"`, in(dialog.Other, "look")},
		"a service message to come": {"message", private + `,"hologram_switched_off":{"by":7}`, nil},
		"poll":                      {"message", private + `,"poll":{"id":"x"}`, in(dialog.Other, "")},
		"a joined group":            {"message", private + `,"new_chat_members":[{"id":7}],"new_chat_participant":{"id":7}`, nil},
		"unknown part of a text": {"message", private + `,"text":"1204","reply_to_message":{"message_id":1,"from":null,"paid_media":{"paid_media":[{"type":"smell"}]}}`,
			in(dialog.Typed, "1204")},
		"pinned":          {"message", private + `,"pinned_message":{"message_id":1}`, nil},
		"no photo":        {"message", private + `,"photo":null,"text":"1204"`, in(dialog.Typed, "1204")},
		"a bot":           {"message", `"chat":{"id":7,"type":"private"},"from":{"id":8,"is_bot":true},"date":1700000000,"text":"x"`, nil},
		"a page's number": {"message", `"chat":{"id":4503599627370500,"type":"private"},"from":{"id":4503599627370500},"date":1700000000,"text":"confirm 1 A"`, nil},
		"nobody":          {"message", `"chat":{"id":7,"type":"private"},"date":1700000000,"text":"x"`, nil},
		"channel":         {"message", `"chat":{"id":-7,"type":"channel"},"from":{"id":7},"date":1700000000,"text":"x"`, nil},
		"edit": {"edited_message", private + `,"edit_date":1700000060,"text":"1205"`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Edited, Text: "1205", Now: sentAt.Add(time.Minute), Lang: "en-GB"}}},
		"place moving on": {"edited_message", private + `,"edit_date":1700000060,"location":{"latitude":1,"longitude":2}`, nil},
		"press": {"callback_query", `"id":"q","from":{"id":7},"data":"1|w|2","message":{"chat":{"id":7,"type":"private"},"date":5}`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Pressed, Text: "1|w|2", Now: noon}}},
		"press of an old message": {"callback_query", `"id":"q","from":{"id":7},"data":"x","message":{"chat":{"id":7,"type":"private"},"date":0,"message_id":1}`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Pressed, Text: "x", Now: noon}}},
		"press in a group": {"callback_query", `"id":"q","from":{"id":8},"data":"x","message":{"chat":{"id":-9,"type":"group"},"date":5}`,
			&engine.Update{ID: 11, Chat: -9, User: 8, Group: true, Input: dialog.Input{Kind: dialog.Pressed, Text: "x", Now: noon}}},
		"press elsewhere": {"callback_query", `"id":"q","from":{"id":7},"data":"x","inline_message_id":"i"`, nil},
		"forged press": {"callback_query", `"id":"q","from":{"id":7},"data":"` + strings.Repeat("x", 65) + `","message":{"chat":{"id":7,"type":"private"}}`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Pressed, Now: noon}}},

		"group talk":               {"message", group + `,"text":"fetch the ladder"`, nil},
		"group photo":              {"message", group + `,"photo":[{"file_id":"x"}]`, nil},
		"group command":            {"message", group + `,"text":"/new"`, inGroup(dialog.Typed, "/new")},
		"group command by name":    {"message", group + `,"text":"/new` + strings.ToUpper(at) + ` 2"`, inGroup(dialog.Typed, "/new 2")},
		"group command of another": {"message", group + `,"text":"/new@another_bot"` + toBot, nil},
		"group path":               {"message", group + `,"text":"/etc/passwd"`, nil},
		"group mention":            {"message", group + `,"text":"` + at + ` 1204"`, inGroup(dialog.Typed, "1204")},
		"group mention, end":       {"message", group + `,"text":"1204 ` + at + `"`, inGroup(dialog.Typed, "1204")},
		"group mention of another": {"message", group + `,"text":"` + at + `2 1204"`, nil},
		"group address":            {"message", group + `,"text":"me` + at + `.example"`, nil},
		"group reply":              {"message", group + `,"text":"1204"` + toBot, inGroup(dialog.Typed, "1204")},
		"group reply to another":   {"message", group + `,"text":"1204","reply_to_message":{"from":{"id":5}}`, nil},
		"group photo for us": {"message", group + `,"photo":[{"file_id":"x"}],"caption":"` + at + ` look"`, func() *engine.Update {
			u := inGroup(dialog.Photo, "look")
			u.Input.Shot = &dialog.Shot{File: "x"}
			return u
		}()},

		"blocked":                   {"my_chat_member", private + `,"old_chat_member":{"status":"member"},"new_chat_member":{"status":"kicked","until_date":0}`, lost(in(dialog.Undelivered, ""))},
		"blocked no more":           {"my_chat_member", private + `,"old_chat_member":{"status":"kicked"},"new_chat_member":{"status":"member"}`, in(dialog.Returned, "")},
		"added":                     {"my_chat_member", group + `,"old_chat_member":{"status":"left"},"new_chat_member":{"status":"member"}`, inGroup(dialog.Added, "")},
		"added as an administrator": {"my_chat_member", group + `,"old_chat_member":{"status":"kicked"},"new_chat_member":{"status":"administrator"}`, inGroup(dialog.Added, "")},
		"put out": {"my_chat_member", group + `,"old_chat_member":{"status":"restricted","is_member":true},"new_chat_member":{"status":"left"}`,
			lost(&engine.Update{ID: 11, Chat: -9, Input: dialog.Input{Kind: dialog.Undelivered, Now: sentAt}})},
		"more rights":         {"my_chat_member", group + `,"old_chat_member":{"status":"member"},"new_chat_member":{"status":"administrator"}`, nil},
		"a new status":        {"my_chat_member", group + `,"old_chat_member":{"status":"member"},"new_chat_member":{"status":"asleep"}`, nil},
		"half a membership":   {"my_chat_member", group + `,"new_chat_member":{"status":"left"}`, nil},
		"member of a channel": {"my_chat_member", `"chat":{"id":-7,"type":"channel"},"from":{"id":7},"date":1700000000,"old_chat_member":{"status":"left"},"new_chat_member":{"status":"administrator"}`, nil},
		"unknown kind":        {"telepathy", `"thought":{"deep":[1,2,{"x":null}]}`, nil},

		"negative entity":  {"message", private + `,"text":"/new","entities":[{"type":"bot_command","offset":-5,"length":3}]`, in(dialog.Typed, "/new")},
		"huge entity":      {"message", private + `,"text":"/new","entities":[{"type":"bot_command","offset":0,"length":2147483647}]`, in(dialog.Typed, "/new")},
		"entity of words":  {"message", private + `,"text":"/new","entities":[{"type":7,"offset":"x","length":{}}]`, in(dialog.Typed, "/new")},
		"no entity at all": {"message", group + `,"text":"/new","entities":"none"`, inGroup(dialog.Typed, "/new")},

		"date before time": {"message", strings.Replace(private, "1700000000", "-4", 1) + `,"text":"1"`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Typed, Text: "1", Now: noon, Lang: "en-GB"}}},
		"date after time": {"message", strings.Replace(private, "1700000000", "9223372036854775807", 1) + `,"text":"1"`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Typed, Text: "1", Now: noon, Lang: "en-GB"}}},
		"odd language": {"message", strings.Replace(private, "en-GB", "<b>", 1) + `,"text":"1"`,
			&engine.Update{ID: 11, Chat: 7, User: 7, Input: dialog.Input{Kind: dialog.Typed, Text: "1", Now: sentAt}}},
		"too long": {"message", private + `,"text":"` + strings.Repeat("ä", 5000) + `"`, in(dialog.Typed, strings.Repeat("ä", 4096))},
	} {
		t.Run(name, func(t *testing.T) {
			var d fakeEngine
			var g graves
			r := connect(t, config(server)).Receiver(&d, &g)
			require.NoError(t, r.Handle(within(t), updateOf(tc.kind, tc.content)))
			r.Wait()
			require.Empty(t, g.raw)
			if tc.want == nil {
				require.Empty(t, d.taken)
				return
			}
			want := *tc.want
			switch numbered := strings.Contains(tc.content, `"message_id":1`); {
			case tc.kind == "callback_query" && numbered:
				want.Input.Under = 1
			case strings.HasSuffix(tc.kind, "message"):
				want.Input.Msg = 1
				if m := replied.FindStringSubmatch(tc.content); m != nil {
					want.Input.ReplyTo, _ = strconv.ParseInt(m[1], 10, 64)
				}
			}
			require.Equal(t, []engine.Update{want}, d.taken)
		})
	}
}

var replied = regexp.MustCompile(`"reply_to_message":\{"message_id":(\d+)`)

func TestWhatCannotBeReadGoesToTheDeadList(t *testing.T) {
	server := telegramtest.Start(t)
	for name, raw := range map[string]string{
		"nothing":            ``,
		"not JSON":           `<html>`,
		"cut off":            `{"update_id":11,"message":{"text":"12`,
		"a list":             `[]`,
		"null":               `null`,
		"no id":              `{"message":{` + private + `,"text":"1"}}`,
		"id of words":        `{"update_id":"x"}`,
		"id too large":       `{"update_id":1e99}`,
		"negative id":        `{"update_id":-1,"message":{` + private + `,"text":"1"}}`,
		"text of a number":   `{"update_id":11,"message":{` + private + `,"text":12}}`,
		"message of words":   `{"update_id":11,"message":"hello"}`,
		"no chat":            `{"update_id":11,"message":{"from":{"id":7},"text":"1"}}`,
		"press by nobody":    `{"update_id":11,"callback_query":{"id":"q","data":"x","message":{"chat":{"id":7,"type":"private"}}}}`,
		"chat of words":      `{"update_id":11,"message":{"chat":{"id":"seven"},"from":{"id":7},"text":"1"}}`,
		"nested without end": strings.Repeat(`{"update_id":`, 20000),
	} {
		t.Run(name, func(t *testing.T) {
			var d fakeEngine
			var g graves
			r := connect(t, config(server)).Receiver(&d, &g)
			require.NoError(t, r.Handle(within(t), json.RawMessage(raw)))
			require.Empty(t, d.taken)
			require.Equal(t, []string{raw}, g.raw)
			require.NotEmpty(t, g.whys[0])

			g.err = errBusy
			require.ErrorIs(t, r.Handle(within(t), json.RawMessage(raw)), errBusy, "not kept means not acknowledged")
		})
	}
}

func TestTheTakersErrorHoldsTheUpdateBack(t *testing.T) {
	server := telegramtest.Start(t)
	d := fakeEngine{fail: func(engine.Update) error { return errBusy }}
	r := connect(t, config(server)).Receiver(&d, &graves{})
	require.ErrorIs(t, r.Handle(within(t), updateOf("message", private+`,"text":"1"`)), errBusy)
	press := updateOf("callback_query", `"id":"q","from":{"id":7},"data":"x","message":{"chat":{"id":7,"type":"private"}}`)
	require.ErrorIs(t, r.Handle(within(t), press), errBusy)
	r.Wait()
	require.Zero(t, server.Calls("answerCallbackQuery"), "a press that was not taken is not answered")
}

func TestAPanicPutsTheUpdateOnTheDeadList(t *testing.T) {
	server := telegramtest.Start(t)
	d := fakeEngine{fail: func(engine.Update) error { panic("what a person wrote") }}
	var g graves
	r := connect(t, config(server)).Receiver(&d, &g)
	raw := updateOf("message", private+`,"text":"1"`)
	require.NoError(t, r.Handle(within(t), raw))
	require.Equal(t, []string{string(raw)}, g.raw)
	require.Equal(t, []string{"panic"}, g.whys)
}

func TestInAGroupTheBotsOwnNameIsNeeded(t *testing.T) {
	server := telegramtest.Start(t)
	server.Fail("getMe", telegramtest.BadGateway)
	var d fakeEngine
	r := connect(t, config(server)).Receiver(&d, &graves{})
	raw := updateOf("message", group+`,"text":"/new"`)
	require.Error(t, r.Handle(within(t), raw), "whom it was said to is not known yet")
	require.Empty(t, d.taken)
	require.NoError(t, r.Handle(within(t), raw))
	require.NoError(t, r.Handle(within(t), raw))
	require.Len(t, d.taken, 1)
	require.Equal(t, 2, server.Calls("getMe"), "asked until known, and then no more")
}

func TestAPressIsAnsweredOnceTaken(t *testing.T) {
	server := telegramtest.Start(t)
	client := connect(t, config(server))
	server.Type(7, "hello")
	message := engine.Message{Chat: 7, Reply: dialog.Reply{Text: text("q"), Buttons: [][]dialog.Button{{{Label: text("yes"), Data: "1"}}}}}
	require.NoError(t, failed(client.Sender(words{}, paintCard).Send(within(t), message)))
	id, err := server.PressLast(7, 7, "1")
	require.NoError(t, err)
	var d fakeEngine
	r := client.Receiver(&d, &graves{})
	server.Fail("answerCallbackQuery", telegramtest.Failing)
	require.NoError(t, r.Handle(within(t), server.Raw(id)), "an answer that fails changes nothing")
	r.Wait()
	require.Zero(t, server.Answers())
	require.NoError(t, r.Handle(within(t), server.Raw(id)))
	r.Wait()
	require.Equal(t, 1, server.Answers())
	require.Equal(t, []string{"1"}, d.texts(7))
}

// FuzzHandle: whatever comes, there is no panic, and it is either taken, passed
// over or on the dead list; what is taken keeps to the limits.
func FuzzHandle(f *testing.F) {
	for _, seed := range []string{
		`{"update_id":11,"message":{` + private + `,"text":"/new@trial_window_bot 1204"}}`,
		`{"update_id":11,"message":{` + group + `,"text":"@trial_window_bot 1204","entities":[{"type":"mention","offset":-1,"length":99999}]}}`,
		`{"update_id":11,"edited_message":{` + private + `,"edit_date":5,"text":"1204"}}`,
		`{"update_id":11,"callback_query":{"id":"q","from":{"id":7},"data":"x","message":{"chat":{"id":7}}}}`,
		`{"update_id":11,"message":{` + private + `,"photo":[{}],"caption":"@"}}`,
		`{"update_id":11,"my_chat_member":{}}`, `{"update_id":9223372036854775808}`, `[1`, `"x"`,
	} {
		f.Add([]byte(seed))
	}
	server := telegramtest.Start(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		var d fakeEngine
		var g graves
		r := connect(t, config(server)).Receiver(&d, &g)
		require.NoError(t, r.Handle(within(t), raw))
		id, _ := place(raw)
		require.GreaterOrEqual(t, id, int64(0))
		for _, u := range d.taken {
			require.Positive(t, u.ID)
			require.NotZero(t, u.Chat)
			require.LessOrEqual(t, utf8.RuneCountInString(u.Input.Text), textLimit)
			require.True(t, utf8.ValidString(u.Input.Text))
			_, err := json.Marshal(u)
			require.NoError(t, err, "what is taken must be storable")
		}
		for _, why := range g.whys {
			require.NotEqual(t, "panic", why)
		}
		r.Wait()
	})
}
