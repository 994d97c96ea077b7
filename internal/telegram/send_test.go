package telegram

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/telegram/telegramtest"
)

func text(key string) phrase.Text { return phrase.Of(key) }

// reply is a message to chat 7.
func reply(key string, change ...func(*dialog.Reply)) engine.Message {
	m := engine.Message{Chat: 7, Reply: dialog.Reply{Text: text(key), Lang: "en"}}
	for _, c := range change {
		c(&m.Reply)
	}
	return m
}

func withPicture(r *dialog.Reply) { r.Picture = &dialog.Picture{} }

func withButton(label, data string) func(*dialog.Reply) {
	return func(r *dialog.Reply) {
		r.Buttons = append(r.Buttons, []dialog.Button{{Label: text(label), Data: data}})
	}
}

// stage is a server with chat 7 open, and a sender.
func stage(t *testing.T, w words, paint Painter) (*telegramtest.Server, *Sender) {
	t.Helper()
	server := telegramtest.Start(t)
	server.Join(telegramtest.Chat{ID: 7, Type: "private"})
	return server, connect(t, config(server)).Sender(w, paint)
}

func TestSendText(t *testing.T) {
	server, s := stage(t, words{"size": "Order <b>1190 × 990</b> &amp; no more", "yes": "Yes &amp; go"}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("size", withButton("yes", "1|a"), withButton("no", "1|b")))))
	sent := server.Sent(7)
	require.Len(t, sent, 1)
	require.Equal(t, "Order 1190 × 990 & no more", sent[0].Text)
	require.Equal(t, "Order <b>1190 × 990</b> &amp; no more", sent[0].HTML)
	require.Equal(t, [][]telegramtest.Button{{{Label: "Yes & go", Data: "1|a"}}, {{Label: "en no", Data: "1|b"}}}, sent[0].Buttons)
}

func TestAButtonThatWouldBeRefusedIsLeftOut(t *testing.T) {
	server, s := stage(t, words{"blank": " "}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("q",
		withButton("long", strings.Repeat("x", 65)), withButton("empty", ""), withButton("blank", "1"), withButton("good", strings.Repeat("x", 64))))))
	sent := server.Sent(7)
	require.Len(t, sent, 1)
	require.Equal(t, [][]telegramtest.Button{{{Label: "en good", Data: strings.Repeat("x", 64)}}}, sent[0].Buttons)
}

func TestALongTextGoesInParts(t *testing.T) {
	long := "<b>" + strings.Repeat("fixing 😀\n", 1000) + "</b>end"
	server, s := stage(t, words{"long": long}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("long", withButton("yes", "1")))))
	sent := server.Sent(7)
	require.Len(t, sent, 3)
	whole := ""
	for i, m := range sent {
		require.Equal(t, i == 2, m.Buttons != nil, "buttons stand under the last part")
		whole += m.Text
	}
	require.Equal(t, strings.Repeat("fixing😀", 1000)+"end", withoutSpace(whole))
}

func TestAPictureGoesWithItsCaption(t *testing.T) {
	server, s := stage(t, words{"short": "<b>Card</b>"}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("short", withPicture, withButton("yes", "1")))))
	sent := server.Sent(7)
	require.Len(t, sent, 1)
	require.Equal(t, "Card", sent[0].Text)
	require.Equal(t, card(40, 30), sent[0].Photo)
	require.Len(t, sent[0].Buttons, 1)
}

func TestASketchIsPaintedForItsReading(t *testing.T) {
	var asked dialog.Picture
	server, s := stage(t, words{}, func(_ context.Context, _ string, p dialog.Picture) ([]byte, error) {
		asked = p
		return card(48, 36), nil
	})
	want := dialog.Picture{Reading: "height.left", Under: true}
	require.NoError(t, failed(s.Send(within(t), reply("how", func(r *dialog.Reply) { r.Picture = &want }))))
	require.Equal(t, want, asked)
	sent := server.Sent(7)
	require.Len(t, sent, 1)
	require.Equal(t, "en how", sent[0].Text)
	require.Equal(t, card(48, 36), sent[0].Photo)
}

func TestALongCaptionFollowsThePicture(t *testing.T) {
	server, s := stage(t, words{"long": strings.Repeat("x", 1025), "fits": strings.Repeat("&lt;", 1024)}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("long", withPicture, withButton("yes", "1")))))
	require.NoError(t, failed(s.Send(within(t), reply("fits", withPicture))))
	sent := server.Sent(7)
	require.Len(t, sent, 3)
	require.NotNil(t, sent[0].Photo)
	require.Empty(t, sent[0].Text)
	require.Nil(t, sent[0].Buttons)
	require.Len(t, sent[1].Text, 1025)
	require.Len(t, sent[1].Buttons, 1)
	require.Len(t, sent[2].Text, 1024)
}

func TestWithoutAPictureTheTextStillGoes(t *testing.T) {
	for name, paint := range map[string]Painter{
		"not drawn":   func(context.Context, string, dialog.Picture) ([]byte, error) { return nil, errBusy },
		"no picture":  func(context.Context, string, dialog.Picture) ([]byte, error) { return []byte("not a picture"), nil },
		"too narrow":  func(context.Context, string, dialog.Picture) ([]byte, error) { return card(1, 500), nil },
		"drawn empty": func(context.Context, string, dialog.Picture) ([]byte, error) { return nil, nil },
	} {
		t.Run(name, func(t *testing.T) {
			server, s := stage(t, words{"long": strings.Repeat("y", 2000)}, paint)
			require.NoError(t, failed(s.Send(within(t), reply("short", withPicture, withButton("yes", "1")))))
			require.NoError(t, failed(s.Send(within(t), reply("long", withPicture))))
			sent := server.Sent(7)
			require.Len(t, sent, 2)
			require.Equal(t, "en short", sent[0].Text)
			require.Len(t, sent[0].Buttons, 1)
			require.Len(t, sent[1].Text, 2000)
		})
	}
}

func TestBrokenMarkupGoesAsPlainText(t *testing.T) {
	server, s := stage(t, words{"broken": "<b>Order <u>1190</b> &lt; 1200"}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("broken", withButton("yes", "1")))))
	require.NoError(t, failed(s.Send(within(t), reply("broken", withPicture, withButton("yes", "1")))))
	sent := server.Sent(7)
	require.Len(t, sent, 2)
	for _, m := range sent {
		require.Equal(t, "Order 1190 < 1200", m.Text)
		require.Empty(t, m.HTML)
		require.Len(t, m.Buttons, 1)
	}
	require.NotNil(t, sent[1].Photo)
}

func TestWhatBecomesOfAFailedReply(t *testing.T) {
	const drop = time.Duration(-1)
	for name, tc := range map[string]struct {
		fault  telegramtest.Fault
		after  time.Duration // drop: never again
		unsure int64
	}{
		"too many":            {telegramtest.TooMany(3), 3 * time.Second, 0},
		"too many, no figure": {telegramtest.TooMany(0), time.Second, 0},
		"blocked":             {telegramtest.BlockedByMe, drop, 0},
		"bad request":         {telegramtest.Fault{Status: 400, Text: "Bad Request: chat not found"}, drop, 0},
		"token revoked":       {telegramtest.Fault{Status: 401, Text: "Unauthorized"}, refusedWait, 0},
		"unknown method":      {telegramtest.Fault{Status: 404, Text: "Not Found"}, refusedWait, 0},
		"server error":        {telegramtest.Failing, 0, 1},
		"gateway":             {telegramtest.BadGateway, 0, 1},
		"gateway, forbidden":  {telegramtest.Fault{Status: 403, Body: "<html>no</html>"}, 0, 1},
		"portal":              {telegramtest.Fault{Status: 200, Body: "<html>log in first</html>"}, 0, 1},
		"cut before":          {telegramtest.CutBefore, 0, 1},
		"cut after":           {telegramtest.CutAfter, 0, 1},
	} {
		t.Run(name, func(t *testing.T) {
			server, s := stage(t, words{}, paintCard)
			server.Fail("sendMessage", tc.fault)
			err := failed(s.Send(within(t), reply("q")))
			var retry *engine.RetryError
			var dropped *engine.DropError
			if tc.after == drop {
				require.ErrorAs(t, err, &dropped)
				require.True(t, dropped.Gone, "nothing else reaches the chat either")
			} else {
				require.ErrorAs(t, err, &retry)
				require.Equal(t, tc.after, retry.After)
				require.Equal(t, tc.fault.Status == 429, retry.Limited)
				require.NoError(t, failed(s.Send(within(t), reply("q"))), "the next try goes through")
			}
			require.Equal(t, tc.unsure, s.Unsure.Load())
		})
	}
}

func TestAServerThatIsAwayIsTriedAgain(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	server.Close()
	var retry *engine.RetryError
	require.ErrorAs(t, failed(s.Send(within(t), reply("q"))), &retry)
	require.Zero(t, s.Unsure.Load(), "what never left can't become a double")
}

func TestTheEndOfTheContextIsPassedOn(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	server.Fail("sendMessage", telegramtest.Fault{Delay: 10 * time.Second})
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Millisecond)
	defer cancel()
	err := failed(s.Send(ctx, reply("q")))
	require.ErrorIs(t, err, context.DeadlineExceeded)
	var retry *engine.RetryError
	require.False(t, errors.As(err, &retry))
}

func TestAnAnswerThatTheLibraryCannotReadIsASuccess(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	server.Fail("sendMessage", telegramtest.Fault{Status: 200, Taken: true,
		Body: `{"ok":true,"result":{"message_id":1,"chat":{"id":7},"chat_background_set":{"type":{"type":"unheard of"}}}}`})
	require.NoError(t, failed(s.Send(within(t), reply("q"))))
	require.Len(t, server.Sent(7), 1)
	require.Zero(t, s.Unsure.Load())
}

// The limit is of what is shown: "1-4096 characters after entities parsing", by
// the platform's documentation of sendMessage.
func TestOnePieceIsWhatFitsIntoAMessage(t *testing.T) {
	_, s := stage(t, words{
		"fits":     "<b>" + strings.Repeat("&amp;", 4096) + "</b>",
		"too long": strings.Repeat("a", 4097),
	}, paintCard)
	require.True(t, s.OnePiece(reply("fits")))
	require.False(t, s.OnePiece(reply("too long")))
}

func TestAReplySentInPartGoesOnWhereItStopped(t *testing.T) {
	long := words{"long": strings.Repeat("word ", 2000)}
	server, s := stage(t, long, paintCard)
	m := reply("long", withPicture)
	server.Fail("sendMessage", telegramtest.Fault{}, telegramtest.Failing, telegramtest.TooMany(1))
	require.Error(t, failed(s.Send(within(t), m)))
	require.Error(t, failed(s.Send(within(t), m)))
	require.NoError(t, failed(s.Send(within(t), m)))
	sent := server.Sent(7)
	require.Len(t, sent, 4, "one picture and three parts, none of them twice")
	require.NotNil(t, sent[0].Photo)

	require.NoError(t, failed(s.Send(within(t), m)))
	require.Len(t, server.Sent(7), 8, "the same reply later on is a new one")
}

func TestADroppedReplyLeavesNothingBehind(t *testing.T) {
	server, s := stage(t, words{"long": strings.Repeat("word ", 1000)}, paintCard)
	server.Fail("sendMessage", telegramtest.Fault{}, telegramtest.BlockedByMe)
	var dropped *engine.DropError
	require.ErrorAs(t, failed(s.Send(within(t), reply("long"))), &dropped)
	require.NoError(t, failed(s.Send(within(t), reply("long"))))
	require.Len(t, server.Sent(7), 3, "one part before the refusal, then both")
}

func TestAnotherReplyIsNotTakenForTheUnfinishedOne(t *testing.T) {
	server, s := stage(t, words{"long": strings.Repeat("word ", 1000), "next": strings.Repeat("next ", 1000)}, paintCard)
	server.Fail("sendMessage", telegramtest.Fault{}, telegramtest.Failing)
	require.Error(t, failed(s.Send(within(t), reply("long"))))
	require.NoError(t, failed(s.Send(within(t), reply("next"))))
	require.Len(t, server.Sent(7), 3)
}

// TestAGroupThatMovedIsFollowed: whoever sends is told the new number, and what is
// made for the chat is made for the number that has its records.
func TestAGroupThatMovedIsFollowed(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	server.Join(telegramtest.Chat{ID: -5, Type: "group", MovedTo: -1005})
	server.Join(telegramtest.Chat{ID: -1005, Type: "supergroup"})
	var of int64
	s.Papers = func(_ context.Context, _ string, chat int64, _ dialog.Document) (string, []byte, error) {
		of = chat
		return "held.json", []byte("{}"), nil
	}
	for name, r := range map[string]dialog.Reply{
		"text": reply("q").Reply, "album": reply("", withCards(2)).Reply, "picture": reply("q", withPicture).Reply, "paper": {Text: phrase.Of("q"), Document: &dialog.Document{}},
	} {
		m := engine.Message{Chat: -5, Reply: r}
		err := failed(s.Send(within(t), m))
		var moved *engine.MovedError
		require.ErrorAs(t, err, &moved, name)
		require.EqualValues(t, -1005, moved.To)
		m.To = moved.To
		require.NoError(t, failed(s.Send(within(t), m)), name)
	}
	require.Len(t, server.Sent(-1005), 5)
	require.EqualValues(t, -5, of)
}

// TestWhatIsRefusedForItsFormIsNoOutage: the next message may be taken.
func TestWhatIsRefusedForItsFormIsNoOutage(t *testing.T) {
	for text, gone := range map[string]bool{
		"Bad Request: message is too long":                                 false,
		"Bad Request: BUTTON_DATA_INVALID":                                 false,
		"Bad Request: not enough rights to send text messages to the chat": true,
		"Bad Request: have no rights to send a message":                    true,
		"Bad Request: PEER_ID_INVALID":                                     true,
	} {
		server, s := stage(t, words{}, paintCard)
		server.Fail("sendMessage", telegramtest.Fault{Status: 400, Text: text})
		var dropped *engine.DropError
		require.ErrorAs(t, failed(s.Send(within(t), reply("q"))), &dropped)
		require.Equal(t, gone, dropped.Gone, text)
	}
}

func TestAReplyThatShowsNothingIsDropped(t *testing.T) {
	server, s := stage(t, words{"blank": "<b> </b>"}, paintCard)
	var dropped *engine.DropError
	require.ErrorAs(t, failed(s.Send(within(t), reply("blank"))), &dropped)
	require.Zero(t, server.Calls("sendMessage"))
}

func TestAPictureAloneThatCannotBeDrawnIsDropped(t *testing.T) {
	_, s := stage(t, words{}, func(context.Context, string, dialog.Picture) ([]byte, error) { return nil, errBusy })
	var dropped *engine.DropError
	require.ErrorAs(t, failed(s.Send(within(t), reply("", withPicture))), &dropped)
}

// failed is the error of a send.
func failed(_ engine.Sent, err error) error { return err }
