package telegram

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
	"sillbot/internal/telegram/telegramtest"
	"sillbot/locales"
)

// What a message in a group is answered with is what the platform's documents say of
// reply_parameters, ForceReply (targets of selective: who is mentioned, and the sender of
// the message that is answered) and message_thread_id.

// crew is a server with a group that has topic 3, and a sender that knows its bot.
func crew(t *testing.T) (*telegramtest.Server, *Sender) {
	t.Helper()
	server, s := stage(t, words{"group.for": "<b>Ana &amp; Co</b>:", "q": "<b>Ana &amp; Co</b>:\nTop width?", "group.placeholder": "Your &amp; answer"}, paintCard)
	server.Join(telegramtest.Chat{ID: -5, Type: "supergroup", Topics: []int64{3}})
	_, err := s.client.Me(within(t))
	require.NoError(t, err)
	return server, s
}

func toAna(msg int64, change ...func(*dialog.Reply)) engine.Message {
	m := engine.Message{Chat: -5, Reply: dialog.Reply{Text: text("q"), Lang: "en", Open: "width.top", For: &talk.Addressee{User: 31, Name: "Ana & Co", Msg: msg}}}
	for _, c := range change {
		c(&m.Reply)
	}
	return m
}

func TestAQuestionInAGroupAnswersWhoItIsFor(t *testing.T) {
	server, s := crew(t)
	server.TypeIn(-5, 31, "hello")
	for _, m := range []engine.Message{
		toAna(1), toAna(0), toAna(99), toAna(1, withButton("yes", "1|a")), toAna(1, func(r *dialog.Reply) { r.Open = "" }),
		toAna(1, func(r *dialog.Reply) { r.For = nil }), toAna(1, withPicture),
	} {
		_, err := s.Send(within(t), m)
		require.NoError(t, err)
	}
	sent := server.Sent(-5)
	require.Len(t, sent, 7)
	force := &telegramtest.Forced{Placeholder: "Your & answer", Selective: true, Force: true}
	require.EqualValues(t, 1, sent[0].ReplyTo)
	require.Equal(t, force, sent[0].Force)
	require.Equal(t, "Ana & Co:\nTop width?", sent[0].Text)
	require.NotContains(t, sent[0].HTML, "tg://", "who is answered hears of it once")
	require.Zero(t, sent[1].ReplyTo)
	require.Equal(t, force, sent[1].Force)
	require.Equal(t, `<a href="tg://user?id=31">Ana &amp; Co</a>:`+"\nTop width?", sent[1].HTML, "a mention, for a press has no message of theirs")
	require.EqualValues(t, 99, sent[2].ReplyTo, "a message that was deleted keeps no answer back")
	require.Nil(t, sent[3].Force, "with buttons there is none")
	require.Len(t, sent[3].Buttons, 1)
	require.Nil(t, sent[4].Force, "no question is open")
	require.Nil(t, sent[5].Force)
	require.Zero(t, sent[5].ReplyTo)
	require.EqualValues(t, 1, sent[6].ReplyTo)
	require.Equal(t, force, sent[6].Force)
}

// A typed question can't open the answer in place of the message whose button was pressed.
func TestATypedQuestionAfterAPressIsANewMessage(t *testing.T) {
	server, s := crew(t)
	sent, err := s.Send(within(t), toAna(0, withButton("yes", "1|a")))
	require.NoError(t, err)
	over := func(r *dialog.Reply) { r.Over = sent.Msg }
	_, err = s.Send(within(t), toAna(0, over, withButton("no", "1|b")))
	require.NoError(t, err)
	_, err = s.Send(within(t), toAna(0, over))
	require.NoError(t, err)
	all := server.Sent(-5)
	require.Equal(t, "editMessageText", all[1].Method)
	require.Equal(t, "sendMessage", all[2].Method)
	require.NotNil(t, all[2].Force)
}

func TestATopicIsAnsweredInItself(t *testing.T) {
	server, s := crew(t)
	server.Join(telegramtest.Chat{ID: -5, Type: "supergroup", Topics: []int64{3}})
	shots := func(r *dialog.Reply) {
		label := phrase.Of("label")
		r.Shots = []dialog.Shot{{File: "a", Label: &label}, {File: "b", Label: &label}}
	}
	server.SendPhoto(31, "a", "", "")
	server.SendPhoto(31, "b", "", "")
	in := func(topic int64) func(*dialog.Reply) { return func(r *dialog.Reply) { r.Topic = topic } }
	for _, topic := range []int64{3, 8} { // 8 was deleted
		for _, m := range []engine.Message{toAna(0, in(topic)), toAna(0, in(topic), withPicture), toAna(0, in(topic), shots)} {
			_, err := s.Send(within(t), m)
			require.NoError(t, err)
		}
	}
	var topics []int64
	for _, m := range server.Sent(-5) {
		topics = append(topics, m.Topic)
		if m.Method == "sendPhoto" {
			require.NotEmpty(t, m.Photo, "a picture stays one")
		}
	}
	require.Equal(t, []int64{3, 3, 3, 3, 3, 0, 0, 0, 0, 0}, topics)
}

// Who writes as the group or as a channel is handed over without a person; a post that the
// platform brings from the linked channel is passed over, though it may name the bot.
func TestWhoWritesInAnothersName(t *testing.T) {
	server := telegramtest.Start(t)
	server.Join(telegramtest.Chat{ID: -5, Type: "supergroup", Topics: []int64{3}})
	var d fakeEngine
	startPoll(t, config(server), &d, &graves{})
	server.TypeAs(-5, -5, "/job", false)
	server.TypeAs(-5, -77, "nothing for the bot", false)
	server.TypeAs(-5, -77, "/job", true)
	server.TypeInTopic(-5, 31, 3, "1204")
	require.NoError(t, server.WaitTaken(within(t)))
	require.Len(t, d.taken, 2)
	require.Equal(t, talk.Nameless, d.taken[0].Input.Kind)
	require.Zero(t, d.taken[0].User)
	require.NotZero(t, d.taken[0].Input.Msg)
	require.Equal(t, dialog.Typed, d.taken[1].Input.Kind)
	require.EqualValues(t, 3, d.taken[1].Input.Topic)
	require.Equal(t, "1204", d.taken[1].Input.Text)
}

// A message merged of several people's calls each by their number
// (core.telegram.org/bots/api, HTML style), whatever they call themselves; one to a person
// alone answers that one's message.
func TestAMergedMessageCallsEach(t *testing.T) {
	catalogue, err := locales.Load()
	require.NoError(t, err)
	server := telegramtest.Start(t)
	server.Join(telegramtest.Chat{ID: -5, Type: "supergroup"})
	s := connect(t, config(server)).Sender(catalogue, paintCard)
	answer := func(user int64, name string) dialog.Reply {
		_, replies := dialog.Step(dialog.State{}, dialog.Input{
			Kind: dialog.Typed, Text: "England today bare none white 1204", Now: time.Unix(1e9, 0), Lang: "en",
			Chat: -5, User: user, Name: name, Group: true, Msg: user, Seed: make([]byte, 32),
		})
		require.Len(t, replies, 1)
		return replies[0]
	}
	names := []string{"Ana\n<b>Cy</b>:", `Bo</a><a href="tg://user?id=1">`, "the @boss", "020 7946 0000", "A\n<b>Ana</b>: x"}
	all := answer(31, names[0])
	require.NoError(t, failed(s.Send(within(t), engine.Message{Chat: -5, Reply: all})))
	require.NotContains(t, server.Sent(-5)[0].HTML, "tg://")
	for i, name := range names[1:] {
		var ok bool
		all, ok = dialog.Join(all, answer(int64(32+i), name))
		require.True(t, ok)
	}
	require.True(t, s.OnePiece(engine.Message{Chat: -5, Reply: all}))
	require.NoError(t, failed(s.Send(within(t), engine.Message{Chat: -5, Reply: all})))
	sent := server.Sent(-5)[1]
	require.EqualValues(t, 35, sent.ReplyTo)
	var called []string
	for _, m := range regexp.MustCompile(`(?m)^<a href="tg://user\?id=([0-9]+)"><b>`).FindAllStringSubmatch(sent.HTML, -1) {
		called = append(called, m[1])
	}
	require.Equal(t, []string{"31", "32", "33", "34", "35"}, called)
	require.Equal(t, len(called), strings.Count(sent.HTML, "<a "))
	require.Empty(t, telegramtest.Live(sent.Text))
	require.Contains(t, withoutJoiner(sent.Text), "\nthe @boss:\n")
}
