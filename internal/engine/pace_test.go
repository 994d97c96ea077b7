package engine

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// The limits are those of the platform's Bots FAQ ("My bot is hitting limits"), as its
// support quotes it (S): 20 messages a minute in a group, about one a second in a chat with
// short bursts, 30 a second or so in all.

// timed is a Sender that notes when each message was sent.
type timed struct {
	post
	mu   sync.Mutex
	when []stamped
	// messages is how many of the platform's a reply takes; 0: one.
	messages int
}

type stamped struct {
	chat int64
	at   time.Time
}

func (s *timed) Send(ctx context.Context, m Message) (Sent, error) {
	for range max(1, s.messages) {
		Counts(ctx)
		s.mu.Lock()
		s.when = append(s.when, stamped{m.Chat, time.Now()})
		s.mu.Unlock()
	}
	return s.post.Send(ctx, m)
}

// all are the messages so far.
func (s *timed) all() []stamped {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.when)
}

// most is how many messages went to a chat, 0 for all, within any time of length d.
func (s *timed) most(chat int64, d time.Duration) (n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for i, first := range s.when {
		in := 0
		for _, w := range s.when[i:] {
			if (chat == 0 || w.chat == chat) && w.at.Sub(first.at) < d {
				in++
			}
		}
		n = max(n, in)
	}
	return n
}

// free is Options without a limit for what people write.
func free(perSecond float64) Options {
	return Options{SendsPerSecond: perSecond, Rate: -1, Sweep: time.Minute}
}

func TestAGroupGetsNoMoreThanTwentyAMinute(t *testing.T) {
	for messages := 1; messages <= 2; messages++ {
		still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
			p := &timed{messages: messages}
			e := open(p, free(30))
			run(t, e)
			takeAll(t, e, -5, 1, make([]string, 60)...)
			for len(p.sent(-5)) < 60 {
				time.Sleep(time.Second)
			}
			require.LessOrEqual(t, p.most(-5, time.Minute), 20)
			require.GreaterOrEqual(t, p.most(-5, time.Minute), 15, "what it takes is used")
			in, doubles := p.counts(t, -5)
			require.Len(t, in, 60)
			require.Zero(t, doubles)
		})
	}
}

// Whether each of an album counts the platform doesn't say; here it does.
func TestAlbumsInAGroupCountByTheirPictures(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &timed{messages: 10}
		o := free(30)
		o.Step = func(s dialog.State, _ dialog.Input) (dialog.State, []dialog.Reply) {
			s.Conv++
			return s, []dialog.Reply{{Text: phrase.Of("card"), Picture: &dialog.Picture{}, More: make([]dialog.Card, 9)}}
		}
		e := open(p, o)
		run(t, e)
		takeAll(t, e, -5, 1, make([]string, 6)...)
		for len(p.sent(-5)) < 6 {
			time.Sleep(time.Second)
		}
		require.LessOrEqual(t, p.most(-5, time.Minute), 20)
		require.Greater(t, p.most(-5, time.Minute), 10, "what it takes is used")
	})
}

func TestAPrivateChatGetsAboutOneASecond(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &timed{}
		e := open(p, free(30))
		run(t, e)
		takeAll(t, e, 5, 1, make([]string, 3)...)
		synctest.Wait()
		require.Len(t, p.sent(5), 3, "a short burst passes")
		takeAll(t, e, 5, 10, make([]string, 30)...)
		time.Sleep(time.Minute)
		require.Len(t, p.sent(5), 33)
		require.LessOrEqual(t, p.most(5, 10*time.Second), 10+chatBurst)
	})
}

func TestTheBotSendsNoMoreThanItMayAndInOrder(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &timed{}
		e := open(p, free(30))
		run(t, e)
		for chat := range int64(300) {
			require.NoError(t, e.Take(ctx, typed(chat+1, chat+1, "a")))
			time.Sleep(time.Millisecond)
		}
		time.Sleep(11 * time.Second)
		require.Len(t, p.all(), 300)
		require.LessOrEqual(t, p.most(0, time.Second), 35)
		for i, w := range p.all() {
			require.Equal(t, int64(i+1), w.chat, "who wrote first is answered first")
		}
	})
}

// What nobody waits for, and groups, let the answers of private chats go first, but are
// not kept for good.
func TestAnswersOfPrivateChatsGoFirst(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &timed{}
		o := free(1)
		o.Step = func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
			s, replies := count(s, in)
			if in.Text == "letter" {
				replies[0].Of = &talk.Letter{From: 9}
			}
			return s, replies
		}
		e := open(p, o)
		run(t, e)
		require.NoError(t, e.Take(ctx, typed(1, 1, "a"))) // takes the token there is
		synctest.Wait()
		for i := range int64(3) {
			require.NoError(t, e.Take(ctx, typed(10+i, -(10+i), "group")))
			require.NoError(t, e.Take(ctx, typed(20+i, 20+i, "letter")))
		}
		for i := range int64(12) {
			require.NoError(t, e.Take(ctx, typed(30+i, 30+i, "answer")))
		}
		time.Sleep(8500 * time.Millisecond)
		first := map[bool]int{}
		for _, w := range p.all()[1:9] {
			first[w.chat >= 30]++
		}
		require.Equal(t, map[bool]int{true: 6, false: 2}, first)
		time.Sleep(time.Minute)
		require.Len(t, p.all(), 19)
	})
}

// refusing refuses the chats that it is told to, as the platform does, and counts calls.
type refusing struct {
	timed
	until time.Time
	who   func(chat int64) bool
}

func (r *refusing) Send(ctx context.Context, m Message) (Sent, error) {
	_, err := r.timed.Send(ctx, m)
	if time.Now().Before(r.until) && r.who(m.Chat) {
		return Sent{}, &RetryError{After: time.Until(r.until), Limited: true, Err: errors.New("too many requests")}
	}
	return Sent{}, err
}

func TestAllWaitWhenTheWholeBotIsRefused(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		begun := time.Now()
		p := &refusing{until: begun.Add(20 * time.Second), who: func(int64) bool { return true }}
		o := free(30)
		o.Metrics = prometheus.NewRegistry()
		e := open(p, o)
		run(t, e)
		for chat := range int64(40) {
			require.NoError(t, e.Take(ctx, typed(chat+1, chat+1, "a")))
			synctest.Wait()
		}
		time.Sleep(19 * time.Second)
		require.Len(t, p.all(), 2, "the first two chats taught it, and nobody else was called for")
		require.InDelta(t, 1, metric(t, o.Metrics.(*prometheus.Registry), "sillbot_send_pauses_total", ""), 0)
		time.Sleep(10 * time.Second)
		require.Len(t, p.all(), 42, "all are answered afterwards")
		require.LessOrEqual(t, p.most(0, time.Second), 15+5, "it goes half as fast")
		require.InDelta(t, 15, metric(t, o.Metrics.(*prometheus.Registry), "sillbot_send_rate", ""), 0)
		for i := range int64(40) {
			time.Sleep(5 * time.Second)
			require.NoError(t, e.Take(ctx, typed(1000+i, 1000+i, "a")))
		}
		require.InDelta(t, 30, metric(t, o.Metrics.(*prometheus.Registry), "sillbot_send_rate", ""), 1e-9, "and as fast as before in the end")
	})
}

// One chat alone that is refused says nothing of the others, however often.
func TestOneChatThatIsRefusedHoldsUpNobody(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &refusing{until: time.Now().Add(20 * time.Second), who: func(chat int64) bool { return chat == -1 }}
		e := open(p, free(30))
		run(t, e)
		for i := range int64(10) {
			require.NoError(t, e.Take(ctx, typed(2*i+1, -1, "a")))
			require.NoError(t, e.Take(ctx, typed(2*i+2, 7, "a")))
			time.Sleep(1500 * time.Millisecond)
		}
		require.Len(t, p.sent(7), 10)
		time.Sleep(2 * time.Minute)
		require.GreaterOrEqual(t, len(p.sent(-1)), 10)
	})
}

// What is remembered is bounded by what was sent of late, not by who ever wrote.
func TestPaceForgetsWhoIsQuiet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newPace(1000, newMetrics(nil))
		for chat := range int64(20_000) {
			p.sent(chat+1, 1, 0)
			p.sent(-chat-1, 1, 0)
			time.Sleep(time.Millisecond)
		}
		require.Less(t, len(p.chats), 4*(1000+4000+1), "a private chat is full after a second, a group after four")
	})
}

// A reply that is written while the chat must wait goes with the one that waits.
func TestWhatWaitsForTheChatIsJoined(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{}
		o := free(30)
		o.Step = asking
		e := open(p, o)
		run(t, e)
		for i := range int64(20) {
			require.NoError(t, e.Take(ctx, typed(i+1, 5, fmt.Sprint(i))))
			synctest.Wait()
		}
		time.Sleep(3 * time.Second)
		all := allSaid(t, p, 5)
		require.Less(t, len(all), 10)
		require.Contains(t, all[len(all)-1], "ask 20")
		require.True(t, empty(t, e.store, 5))
	})
}

// stripping is a Sender of which each message has a number, and that takes buttons off.
type stripping struct {
	timed
	n        int64
	stripped int
}

func (s *stripping) Send(ctx context.Context, m Message) (Sent, error) {
	s.n++
	_, err := s.timed.Send(ctx, m)
	return Sent{Msg: s.n}, err
}

func (s *stripping) Strip(ctx context.Context, m Message, _ int64) {
	Counts(ctx)
	s.stripped++
	s.when = append(s.when, stamped{m.Chat, time.Now()})
}

// Taking old buttons off counts in a group as a message does, and is left where the group
// takes no more.
func TestStrippingCountsInAGroup(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &stripping{}
		o := free(30)
		o.Senders = 1
		o.Step = func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
			s, replies := count(s, in)
			replies[0].Asks = &talk.Asked{Key: "k", User: 31, Ends: true}
			return s, replies
		}
		e := open(p, o)
		run(t, e)
		takeAll(t, e, -5, 1, make([]string, 40)...)
		for len(p.sent(-5)) < 40 {
			time.Sleep(time.Second)
		}
		require.Positive(t, p.stripped)
		require.LessOrEqual(t, p.most(-5, time.Minute), 20)
	})
}
