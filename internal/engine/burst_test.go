package engine

import (
	"context"
	"errors"
	"math/rand/v2"
	"strconv"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
	"sillbot/internal/talk"
)

// asking is a conversation that says what was typed and asks the next question,
// and to "card" shows a picture in place of that.
func asking(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
	if !in.ByPerson() {
		return s, nil
	}
	s.Conv++
	ask := phrase.Of("ask").WithInt("n", s.Conv)
	r := dialog.Reply{
		Text:    phrase.Of("message").WithLines("lines", phrase.Of("took").Saying("typed", in.Text).WithInt("n", s.Conv), ask),
		Buttons: [][]dialog.Button{{{Label: ask, Data: strconv.Itoa(s.Conv)}}},
		Open:    "open", Burst: &talk.Burst{Asks: 1},
	}
	if in.Text == "card" {
		r = dialog.Reply{Text: phrase.Of("card"), Picture: &dialog.Picture{}}
	}
	return s, []dialog.Reply{r}
}

// pieces is a Sender that takes several replies as one of up to so many lines;
// 0: any number.
type pieces struct {
	post
	most int
}

func (p *pieces) OnePiece(m Message) bool {
	return p.most == 0 || len(m.Reply.Text.Lines["lines"]) <= p.most
}

// said is what a message says: what was typed, or the key and number of a
// question; the buttons must be that question's.
func said(t testing.TB, m Message) (list []string) {
	t.Helper()
	for _, line := range m.Reply.Text.Lines["lines"] {
		if line.Key == "ask" {
			list = append(list, "ask "+line.Num["n"].String())
			require.Equal(t, line.Num["n"].String(), m.Reply.Buttons[0][0].Data, "the buttons are the question's")
			continue
		}
		list = append(list, line.Say["typed"])
	}
	if list == nil {
		list = []string{m.Reply.Text.Key}
	}
	return list
}

func allSaid(t testing.TB, p *pieces, chat int64) (all [][]string) {
	t.Helper()
	for _, m := range p.sent(chat) {
		all = append(all, said(t, m))
	}
	return all
}

// failing asks fail before each send.
func failing(fail func(m Message, try int) error) func(context.Context, Message, int) error {
	return func(_ context.Context, m Message, try int) error { return fail(m, try) }
}

// slowly makes each send last so long.
func slowly(d time.Duration) func(context.Context, Message, int) error {
	return failing(func(Message, int) error { time.Sleep(d); return nil })
}

func takeAll(t testing.TB, e *Engine, chat, id int64, texts ...string) {
	t.Helper()
	for i, text := range texts {
		require.NoError(t, e.Take(ctx, typed(id+int64(i), chat, text)))
	}
}

func TestABurstGetsOneReply(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{}
		e := open(p, Options{Step: asking})
		run(t, e)
		begun := time.Now()
		done := e.Gather(5)
		takeAll(t, e, 5, 1, "a", "b", "c", "d", "e")
		synctest.Wait()
		require.Empty(t, p.sent(5), "more is coming")
		done()
		synctest.Wait()
		require.Equal(t, [][]string{{"a", "b", "c", "d", "e", "ask 5"}}, allSaid(t, p, 5))
		require.Zero(t, time.Since(begun))
		require.True(t, empty(t, e.store, 5))

		takeAll(t, e, 5, 6, "f")
		synctest.Wait()
		require.Equal(t, []string{"f", "ask 6"}, said(t, p.sent(5)[1]), "a single message is answered at once")
		require.Zero(t, time.Since(begun))
	})
}

// Without Gather, what came while a send was going on goes out as one.
func TestWhatWaitsBehindASendIsJoined(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{}
		p.before = slowly(100 * time.Millisecond)
		e := open(p, Options{Step: asking})
		run(t, e)
		takeAll(t, e, 5, 1, "a")
		synctest.Wait()
		takeAll(t, e, 5, 2, "b", "c", "d")
		time.Sleep(time.Second)
		require.Equal(t, [][]string{{"a", "ask 1"}, {"b", "c", "d", "ask 4"}}, allSaid(t, p, 5))
	})
}

func TestBurstsOfTwoChatsStayApart(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{}
		e := open(p, Options{Step: asking})
		run(t, e)
		five, six := e.Gather(5), e.Gather(6)
		for i, text := range []string{"a", "b", "c"} {
			takeAll(t, e, 5, int64(10+2*i), text)
			takeAll(t, e, 6, int64(11+2*i), "x"+text)
		}
		five()
		synctest.Wait()
		require.Equal(t, [][]string{{"a", "b", "c", "ask 3"}}, allSaid(t, p, 5))
		require.Empty(t, p.sent(6))
		six()
		synctest.Wait()
		require.Equal(t, [][]string{{"xa", "xb", "xc", "ask 3"}}, allSaid(t, p, 6))
	})
}

func TestAPictureIsNotJoinedOver(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{}
		e := open(p, Options{Step: asking})
		takeAll(t, e, 5, 1, "a", "b", "card", "c", "d")
		require.NoError(t, e.Flush(ctx, 5))
		require.Equal(t, [][]string{{"a", "b", "ask 2"}, {"card"}, {"c", "d", "ask 5"}}, allSaid(t, p, 5))
	})
}

func TestABurstFitsIntoOneMessage(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{most: 3}
		e := open(p, Options{Step: asking})
		takeAll(t, e, 5, 1, "a", "b", "c", "d", "e")
		require.NoError(t, e.Flush(ctx, 5))
		require.Equal(t, [][]string{{"a", "b", "ask 2"}, {"c", "d", "ask 4"}, {"e", "ask 5"}}, allSaid(t, p, 5))
	})
}

// Replies are not kept back for longer than a second, whatever becomes of the
// rest of the burst, and not at all when the program leaves.
func TestABurstIsNotWaitedForLong(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{}
		e := open(p, Options{Step: asking})
		run(t, e)
		e.Gather(5)
		takeAll(t, e, 5, 1, "a")
		time.Sleep(600 * time.Millisecond)
		e.Gather(5)
		takeAll(t, e, 5, 2, "b")
		time.Sleep(399 * time.Millisecond)
		require.Empty(t, p.sent(5))
		time.Sleep(2 * time.Millisecond)
		require.Equal(t, [][]string{{"a", "b", "ask 2"}}, allSaid(t, p, 5))

		e.Gather(5)
		takeAll(t, e, 5, 3, "c")
		begun := time.Now()
		require.NoError(t, e.Drain(ctx))
		require.Equal(t, []string{"c", "ask 3"}, said(t, p.sent(5)[1]))
		require.Zero(t, time.Since(begun))
	})
}

// What may have arrived is tried again as it was, and what came since follows.
func TestAJoinedReplyIsTriedAgainAsItWas(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		p := &pieces{}
		// The lease runs out before the next try, so the outbox is read again.
		e := open(p, Options{Step: asking, Lease: 100 * time.Millisecond})
		p.before = failing(func(m Message, try int) error {
			if try > 1 {
				return nil
			}
			p.got[m.Chat] = append(p.got[m.Chat], m) // and the answer is lost
			takeAll(t, e, 5, 3, "c")
			return errors.New("connection reset after the request")
		})
		takeAll(t, e, 5, 1, "a", "b")
		require.NoError(t, e.Flush(ctx, 5))
		require.Equal(t, [][]string{{"a", "b", "ask 2"}, {"a", "b", "ask 2"}, {"c", "ask 3"}}, allSaid(t, p, 5))
		require.True(t, empty(t, e.store, 5))
	})
}

// When a joined reply can't be delivered, only the one at fault is dropped.
func TestOneBadReplyDoesNotTakeOthersAlong(t *testing.T) {
	for name, fault := range map[string]error{
		"refused":       &DropError{Err: errors.New("bad request")},
		"never through": errors.New("500"),
	} {
		t.Run(name, func(t *testing.T) {
			still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
				p := &pieces{}
				p.before = failing(func(m Message, _ int) error {
					for _, word := range said(t, m) {
						if word == "bad" {
							return fault
						}
					}
					return nil
				})
				e := open(p, Options{Step: asking, MaxAge: time.Hour, MaxWait: time.Minute})
				takeAll(t, e, 5, 1, "a", "bad", "c")
				require.NoError(t, e.Flush(ctx, 5))
				require.Equal(t, [][]string{{"a", "ask 1"}, {"c", "ask 3"}}, allSaid(t, p, 5))
			})
		})
	}
}

// A process dies after its commits, or in the send of a joined reply: another
// one sends it, whole. Only what may have arrived comes twice, and the late
// answer of the first takes nothing away.
func TestACrashLosesNothingOfABurst(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		stop := make(chan struct{})
		late, p := &pieces{}, &pieces{}
		late.before = failing(func(Message, int) error { <-stop; return nil })
		a := open(late, Options{Step: asking, Lease: 50 * time.Millisecond}) // no Run, so nobody renews
		takeAll(t, a, 5, 1, "a", "b", "c")
		takeAll(t, a, 6, 1, "x", "y")
		done := make(chan error)
		go func() { done <- a.Flush(ctx, 5) }()
		synctest.Wait() // it is sending
		b := open(p, Options{Step: asking})
		p.before = failing(func(m Message, try int) error {
			if m.Chat == 5 && try == 1 {
				takeAll(t, b, 5, 4, "d") // while it is sent
			}
			return nil
		})
		run(t, b)
		time.Sleep(time.Second)
		require.True(t, empty(t, b.store, 5))
		require.True(t, empty(t, b.store, 6))
		require.Equal(t, [][]string{{"a", "b", "c", "ask 3"}, {"d", "ask 4"}}, allSaid(t, p, 5))
		require.Equal(t, [][]string{{"x", "y", "ask 2"}}, allSaid(t, p, 6))
		takeAll(t, b, 5, 5, "e", "f")
		close(stop)
		require.NoError(t, <-done)
		time.Sleep(time.Second)
		require.Equal(t, [][]string{{"a", "b", "c", "ask 3"}}, allSaid(t, late, 5), "only the reply in hand went out twice")
		require.Equal(t, []string{"a", "b", "c", "d", "e", "f"}, typedIn(t, p, 5))
	})
}

// typedIn are the typed texts that were answered, in order.
func typedIn(t testing.TB, p *pieces, chat int64) (all []string) {
	t.Helper()
	for _, m := range p.sent(chat) {
		for _, line := range m.Reply.Text.Lines["lines"] {
			if line.Key == "took" {
				all = append(all, line.Say["typed"])
			}
		}
	}
	return all
}

// Bursts at two replicas, while answers of the platform are lost: every update
// is answered once, in order, and a reply comes again only when its answer was
// lost.
func TestBurstsLoseNothing(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p := &pieces{}
		lost := map[string]int{}
		p.before = failing(func(m Message, _ int) error {
			if rand.N(4) > 0 {
				return nil
			}
			p.mu.Lock()
			defer p.mu.Unlock()
			p.got[m.Chat] = append(p.got[m.Chat], m)
			lost[key(m)]++
			return errors.New("connection reset after the request")
		})
		var engines []*Engine
		for range 2 {
			e := newEngine(t, url, p, Options{Rate: -1, Step: asking, MaxWait: time.Millisecond})
			run(t, e)
			engines = append(engines, e)
		}
		chat, id := sessiontest.Chat(), int64(0)
		for range 60 {
			e := engines[rand.N(2)]
			done := e.Gather(chat)
			for range 1 + rand.N(5) {
				id++
				takeAll(t, e, chat, id, strconv.FormatInt(id, 10))
			}
			done()
			time.Sleep(time.Duration(rand.N(4)) * time.Millisecond)
		}
		eventually(t, "sent", func() bool { return empty(t, engines[0].store, chat) })
		next, joined := int64(1), 0
		sent := p.sent(chat)
		for i, m := range sent {
			if i > 0 && key(m) == key(sent[i-1]) {
				lost[key(m)]--
				require.GreaterOrEqual(t, lost[key(m)], 0, "twice without need: %s", key(m))
				continue
			}
			words := said(t, m)
			joined += len(words) - 2
			for _, word := range words[:len(words)-1] {
				require.Equal(t, strconv.FormatInt(next, 10), word)
				next++
			}
		}
		require.Equal(t, id+1, next, "each was answered")
		require.Positive(t, joined, "nothing was joined, so nothing was tested")
	})
}

// key tells one message of a chat from another.
func key(m Message) string {
	return m.Reply.Buttons[0][0].Data + m.Reply.Text.Lines["lines"][0].Say["typed"]
}

// While the lease was another's, that one may have removed some of what went out
// as one: the rest is still to be removed, not to be sent again.
func TestWhatStillWaitsOfAJoinedReply(t *testing.T) {
	items := func(ids ...string) (list []session.Item) {
		for _, id := range ids {
			list = append(list, session.Item{ID: id})
		}
		return list
	}
	for name, tc := range map[string]struct {
		now  []session.Item
		n    int
		sent bool
	}{
		"all":           {items("1", "2", "3", "4"), 3, true},
		"the first one": {items("2", "3", "4"), 2, true},
		"others":        {items("4", "5"), 0, false},
		"nothing":       {nil, 0, false},
		"a lost end":    {items("1", "2", "9"), 2, true},
	} {
		b := &box{items: items("1", "2", "3", "4"), n: 3, sent: true}
		b.stillThere(tc.now)
		require.Equal(t, tc.n, b.n, name)
		require.Equal(t, tc.sent, b.sent, name)
	}
}
