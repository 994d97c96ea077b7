package telegram

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/talk"
	"sillbot/internal/telegram/telegramtest"
)

// What an album takes is by the platform's description (core.telegram.org/bots/api,
// sendMediaGroup): 2 to 10 items, by file id or uploaded as attach://, captions of up to
// 1024 characters, no buttons, and an array of messages as the answer. That a refused item
// refuses the whole album is common practice, no source.

// withCards has n cards of the jobs 0, 1, …, each with its own caption.
func withCards(n int) func(*dialog.Reply) {
	return func(r *dialog.Reply) {
		r.Text, r.Picture = text("caption 0"), &dialog.Picture{Job: "0"}
		for i := 1; i < n; i++ {
			r.More = append(r.More, dialog.Card{Text: text(fmt.Sprint("caption ", i)), Picture: dialog.Picture{Job: fmt.Sprint(i)}})
		}
	}
}

// studio draws a picture of another height for each job, and counts.
type studio struct {
	drawn []string
	bad   map[string][]byte // by job; nil: it can't be drawn
}

func (s *studio) paint(_ context.Context, _ string, p dialog.Picture) ([]byte, error) {
	s.drawn = append(s.drawn, p.Job)
	if data, is := s.bad[p.Job]; is {
		return data, errorOf(data)
	}
	return card(60, 40+len(p.Job)+int(p.Job[0])), nil
}

func errorOf(data []byte) error {
	if data == nil {
		return errBusy
	}
	return nil
}

// cardsOf is what a chat sees: the caption and whether a picture is there.
func cardsOf(sent []telegramtest.Sent) (list []string) {
	for _, m := range sent {
		line := m.Text
		if m.Photo != nil {
			line += " +"
		}
		list = append(list, line)
	}
	return list
}

func TestCardsGoAsAnAlbum(t *testing.T) {
	studio := &studio{}
	server, s := stage(t, words{"caption 3": "<b>Three</b> &amp; more"}, studio.paint)
	m := reply("", withCards(10))
	m.Reply.For = &talk.Addressee{User: 7, Msg: server.Type(7, "cards")}
	require.NoError(t, failed(s.Send(within(t), m)))
	require.Equal(t, 1, server.Calls("sendMediaGroup"))
	first := server.Sent(7)
	require.Len(t, first, 10)
	require.Len(t, studio.drawn, 10)
	for i, got := range first {
		require.Equal(t, first[0].Album, got.Album)
		require.Empty(t, got.FileID, "it was uploaded")
		want, _ := studio.paint(t.Context(), "en", dialog.Picture{Job: fmt.Sprint(i)})
		require.True(t, bytes.Equal(want, got.Photo))
		require.Equal(t, m.Reply.For.Msg, got.ReplyTo)
	}
	require.NotZero(t, first[0].Album)
	require.Equal(t, "Three & more", first[3].Text)
	require.Equal(t, "en caption 4", first[4].Text)

	studio.drawn = nil
	require.NoError(t, failed(s.Send(within(t), reply("", withCards(10)))))
	require.Equal(t, 2, server.Calls("sendMediaGroup"))
	require.Empty(t, studio.drawn)
	for i, got := range server.Sent(7)[10:] {
		require.NotEmpty(t, got.FileID, "nothing is uploaded twice")
		require.Equal(t, first[i].Photo, got.Photo)
		require.Equal(t, first[i].Text, got.Text)
	}
	require.Zero(t, server.Calls("sendPhoto"))
	require.NoError(t, server.Wait(within(t), func() bool { return server.Calls("sendChatAction") == 1 }))
}

// What goes by itself and in an album is the same upload, and only what is new is drawn.
func TestOnlyNewCardsAreUploaded(t *testing.T) {
	studio := &studio{}
	server, s := stage(t, words{}, studio.paint)
	require.NoError(t, failed(s.Send(within(t), reply("", withCards(1)))))
	require.NoError(t, failed(s.Send(within(t), reply("", withCards(2)))))
	require.Equal(t, []string{"0", "1"}, studio.drawn)
	sent := server.Sent(7)
	require.Len(t, sent, 3)
	require.NotEmpty(t, sent[1].FileID)
	require.Empty(t, sent[2].FileID)

	studio.drawn = nil
	server.Lose(sent[1].FileID)
	require.NoError(t, failed(s.Send(within(t), reply("", withCards(2)))))
	require.Equal(t, []string{"0", "1"}, studio.drawn, "the platform has one no more")
	require.Equal(t, 3, server.Calls("sendMediaGroup"))
	require.NoError(t, failed(s.Send(within(t), reply("", withCards(2)))))
	require.Len(t, studio.drawn, 2)
	require.Len(t, server.Sent(7), 7)
}

func TestARefusedCardDoesNotTakeTheOthersWithIt(t *testing.T) {
	for name, bad := range map[string][]byte{"not drawn": nil, "no picture": []byte("none"), "too narrow": card(1, 500)} {
		t.Run(name, func(t *testing.T) {
			studio := &studio{bad: map[string][]byte{"1": bad}}
			server, s := stage(t, words{}, studio.paint)
			require.NoError(t, failed(s.Send(within(t), reply("", withCards(4)))))
			require.Equal(t, []string{"en caption 0 +", "en caption 1", "en caption 2 +", "en caption 3 +"}, cardsOf(server.Sent(7)))
			require.Less(t, server.Calls("sendMediaGroup"), 2)
		})
	}
}

// Even the words of one may be refused: its error is given, and the others go.
func TestACardWhoseWordsAreRefusedIsLost(t *testing.T) {
	studio := &studio{bad: map[string][]byte{"1": nil}}
	server, s := stage(t, words{}, studio.paint)
	server.Fail("sendMessage", telegramtest.Fault{Status: 400, Text: "Bad Request: BUTTON_DATA_INVALID"})
	var dropped *engine.DropError
	require.ErrorAs(t, failed(s.Send(within(t), reply("", withCards(3)))), &dropped)
	require.False(t, dropped.Gone)
	require.Equal(t, []string{"en caption 0 +", "en caption 2 +"}, cardsOf(server.Sent(7)))
}

func TestCardsAreTriedAgain(t *testing.T) {
	studio := &studio{bad: map[string][]byte{"1": nil}}
	server, s := stage(t, words{}, studio.paint)
	m := reply("", withCards(4))
	var again *engine.RetryError
	server.Fail("sendPhoto", telegramtest.Fault{}, telegramtest.TooMany(3))
	server.Fail("sendMediaGroup", telegramtest.Failing) // the two that are left go together again
	require.ErrorAs(t, failed(s.Send(within(t), m)), &again)
	require.ErrorAs(t, failed(s.Send(within(t), m)), &again)
	require.NoError(t, failed(s.Send(within(t), m)))
	require.Equal(t, []string{"en caption 0 +", "en caption 1", "en caption 2 +", "en caption 3 +"}, cardsOf(server.Sent(7)), "none of them twice")

	server, s = stage(t, words{}, paintCard)
	server.Fail("sendMediaGroup", telegramtest.CutAfter, telegramtest.TooMany(2))
	require.ErrorAs(t, failed(s.Send(within(t), m)), &again)
	require.EqualValues(t, 1, s.Unsure.Load())
	require.ErrorAs(t, failed(s.Send(within(t), m)), &again)
	require.True(t, again.Limited)
	require.NoError(t, failed(s.Send(within(t), m)))
	require.Len(t, server.Sent(7), 8, "a lost answer doubles an album, and loses none")
}

func TestCardsToAChatThatIsOutOfReach(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	server.Fail("sendMediaGroup", telegramtest.BlockedByMe)
	var dropped *engine.DropError
	require.ErrorAs(t, failed(s.Send(within(t), reply("", withCards(3)))), &dropped)
	require.True(t, dropped.Gone)
	require.Zero(t, server.Calls("sendPhoto"))

	server.Fail("sendMediaGroup", telegramtest.Fault{Status: 401})
	err := failed(s.Send(within(t), reply("", withCards(3))))
	var again *engine.RetryError
	require.ErrorAs(t, err, &again)
	require.False(t, errors.As(err, &dropped))
	require.Empty(t, server.Sent(7))
}

// No buttons can stand under an album: the card that has them goes behind it. Nor can a
// text: a caption that is too long follows its picture, as ever.
func TestWhatCannotStandUnderAnAlbumComesAfterIt(t *testing.T) {
	server, s := stage(t, words{"caption 2": strings.Repeat("x", 1025)}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("", withCards(6), withButton("yes", "1")))))
	sent := server.Sent(7)
	require.Equal(t, []string{"en caption 0 +", "en caption 1 +", " +", strings.Repeat("x", 1025), "en caption 3 +", "en caption 4 +", "en caption 5 +"}, cardsOf(sent))
	require.Equal(t, sent[0].Album, sent[2].Album)
	require.Equal(t, sent[4].Album, sent[5].Album)
	require.NotEqual(t, sent[0].Album, sent[4].Album)
	require.Len(t, sent[6].Buttons, 1)
	require.Zero(t, sent[6].Album)
}

func TestBrokenMarkupOfACardGoesAsPlainText(t *testing.T) {
	server, s := stage(t, words{"caption 1": "<b>Order <u>1190</b> &lt; 1200"}, paintCard)
	require.NoError(t, failed(s.Send(within(t), reply("", withCards(3)))))
	require.Equal(t, []string{"en caption 0 +", "Order 1190 < 1200 +", "en caption 2 +"}, cardsOf(server.Sent(7)))
}

func TestCardsOfATopicThatIsGone(t *testing.T) {
	server, s := stage(t, words{}, paintCard)
	server.Join(telegramtest.Chat{ID: -9, Type: "supergroup", Topics: []int64{4}})
	for _, topic := range []int64{4, 5} {
		m := reply("", withCards(2))
		m.Chat, m.Reply.Topic = -9, topic
		require.NoError(t, failed(s.Send(within(t), m)))
	}
	var topics []int64
	for _, m := range server.Sent(-9) {
		topics = append(topics, m.Topic)
	}
	require.Equal(t, []int64{4, 4, 0, 0}, topics)
}
