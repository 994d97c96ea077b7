package engine

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/session/sessiontest"
)

// deliver offers a chat's updates in order, each until it is taken, as the
// platform does.
func deliver(t testing.TB, chat int64, turns int, takers ...*Engine) {
	for i := range turns {
		offer(t, typed(int64(i+1), chat, strconv.Itoa(i)), takers)
	}
}

// refused counts the offers that were not taken.
var refused atomic.Int64

func offer(t testing.TB, u Update, takers []*Engine) {
	for end := time.Now().Add(2 * time.Minute); ; {
		c, cancel := context.WithTimeout(ctx, time.Second)
		err := takers[rand.N(len(takers))].Take(c, u)
		cancel()
		if err == nil {
			return
		}
		refused.Add(1)
		if time.Now().After(end) {
			t.Errorf("update %d was never taken: %v", u.ID, err)
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// complete is that every update of a chat counted once and was answered in
// order; it gives the replies that went out twice.
func complete(t testing.TB, p *post, e *Engine, chat int64, turns int) (doubles int) {
	t.Helper()
	eventually(t, "all sent", func() bool {
		h, err := e.store.Export(ctx, chat, 0)
		return err == nil && len(h.Unsent) == 0 && len(h.Waiting) == 0
	})
	in, doubles := p.counts(t, chat)
	require.Len(t, in, turns, "each update counts once")
	require.Equal(t, turns, in[turns-1])
	var words []string
	for _, w := range p.words(chat) {
		if len(words) == 0 || words[len(words)-1] != w {
			words = append(words, w)
		}
	}
	for i := range turns {
		require.Equal(t, strconv.Itoa(i), words[i])
	}
	return doubles
}

// play delivers to several chats at once for as long as something happens, and
// checks that nothing was lost. What happens may wait for some updates to be
// taken.
func play(t *testing.T, p *post, engines []*Engine, chats []int64, meanwhile func(wait func(updates int64))) {
	t.Helper()
	var all sync.WaitGroup
	var taken atomic.Int64
	turns := make([]int, len(chats))
	over := make(chan struct{})
	for i, chat := range chats {
		all.Go(func() {
			for going := true; going; turns[i]++ {
				select {
				case <-over:
					going = false // one more, in peace
				default:
				}
				offer(t, typed(int64(turns[i]+1), chat, strconv.Itoa(turns[i])), engines)
				taken.Add(1)
			}
		})
	}
	meanwhile(func(updates int64) {
		from := taken.Load()
		eventually(t, "updates taken", func() bool { return taken.Load() >= from+updates })
	})
	close(over)
	all.Wait()
	sum, doubles := 0, 0
	for i, chat := range chats {
		doubles += complete(t, p, engines[0], chat, turns[i])
		wholeJob(t, engines[0], chat, turns[i])
		sum += turns[i]
	}
	t.Logf("%d updates, lost 0, replies sent twice %d", sum, doubles)
}

// fewWindows is how many windows the job of a fault test has, the bin apart.
const fewWindows = 8

// countInJob counts as count does, and in the label of a job, of which it adds,
// changes and deletes windows.
func countInJob(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
	who := job.Who{Chat: in.Chat, Person: in.Chat, Role: job.Fitter}
	if s.Job == nil {
		j := job.New(testRef, who, in.Now, job.DefaultSettings())
		s.Job, s.Ref = &j, testRef
	}
	j := *s.Job
	n, _ := strconv.Atoi(j.Label)
	var err error
	if len(j.Openings) == fewWindows {
		j, _, err = j.Delete(who, in.Now, j.Openings[n%fewWindows].ID)
	}
	if err == nil {
		j, err = j.Begin(who, in.Now, fmt.Sprint("window ", n), opening.Record{})
	}
	if err == nil {
		j, _, err = j.SetCount(who, in.Now, j.Openings[n%len(j.Openings)].ID, 1+n%90)
	}
	if err != nil {
		return s, nil // a window is not loaded
	}
	j.Label = strconv.Itoa(n + 1)
	s.Job = &j
	return count(s, in)
}

// wholeJob is that a job counted every turn, and that the windows that its head
// counts on are stored, and no other.
func wholeJob(t testing.TB, e *Engine, chat int64, turns int) {
	t.Helper()
	j, parts := storedJob(t, e, chat, testRef)
	require.Equal(t, strconv.Itoa(turns), j.Label)
	require.Len(t, j.Openings, min(turns, fewWindows))
	for _, part := range parts {
		require.NotNil(t, part.Data)
	}
	held, err := e.store.Export(ctx, chat, 0)
	require.NoError(t, err)
	require.Len(t, held.Jobs[testRef].Windows, len(parts)-1)
}

// noticed waits until some update was refused since the fault was set on.
func noticed(t testing.TB, fault func()) {
	t.Helper()
	from := refused.Load()
	fault()
	eventually(t, "updates refused", func() bool { return refused.Load() > from })
}

// some are chats of a test.
func some(n int) []int64 {
	chats := make([]int64, n)
	for i := range chats {
		chats[i] = sessiontest.Chat()
	}
	return chats
}

func TestRedisKilled(t *testing.T) {
	server := sessiontest.Start(t)
	p := &post{}
	var engines []*Engine
	for range 2 {
		e := newEngine(t, server.URL(), p, Options{Rate: -1, Step: countInJob, Lease: time.Second, MaxWait: 100 * time.Millisecond})
		run(t, e)
		engines = append(engines, e)
	}
	play(t, p, engines, some(6), func(wait func(int64)) {
		for range 4 {
			wait(100 + rand.Int64N(100))
			noticed(t, server.Kill)
			require.NoError(t, server.Restart())
		}
		wait(100)
	})
}

func TestConnectionsCut(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	server := sessiontest.Start(t)
	proxy := sessiontest.NewProxy(t, server)
	p := &post{}
	e := newEngine(t, proxy.URL(), p, Options{Rate: -1, Step: countInJob, Lease: time.Second, MaxWait: 100 * time.Millisecond})
	run(t, e)
	play(t, p, []*Engine{e}, some(6), func(wait func(int64)) {
		for range 30 {
			wait(rand.Int64N(50))
			proxy.Cut()
		}
		wait(100)
	})
}

func TestFailover(t *testing.T) {
	old, heir := sessiontest.Start(t), sessiontest.Start(t)
	old.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", 0)
	heir.Do(t, "REPLICAOF", "127.0.0.1", old.Port())
	eventually(t, "replica in step", func() bool {
		return slices.Contains(strings.Fields(heir.Do(t, "INFO", "replication")), "master_link_status:up")
	})
	proxy := sessiontest.NewProxy(t, old)
	p := &post{}
	e := newEngine(t, proxy.URL(), p, Options{Rate: -1, Step: countInJob, Lease: time.Second, MaxWait: 100 * time.Millisecond})
	run(t, e)
	play(t, p, []*Engine{e}, some(6), func(wait func(int64)) {
		wait(200)
		old.Do(t, "FAILOVER", "TO", "127.0.0.1", heir.Port(), "TIMEOUT", 60000)
		// For a while the program still talks to the old one, which is
		// read-only now.
		eventually(t, "handed over", func() bool {
			return slices.Contains(strings.Fields(heir.Do(t, "INFO", "replication")), "role:master")
		})
		noticed(t, func() {})
		proxy.Lead(heir)
		wait(200)
	})
}

// A server that refuses to write keeps nothing of a turn, and the turn counts
// when it is offered again.
func TestRedisRefuses(t *testing.T) {
	for name, fault := range map[string]struct{ on, off []any }{
		"read-only": {[]any{"REPLICAOF", "127.0.0.1", 1}, []any{"REPLICAOF", "NO", "ONE"}},
		"full":      {[]any{"CONFIG", "SET", "maxmemory", 1}, []any{"CONFIG", "SET", "maxmemory", 0}},
		"no disk":   {[]any{"CONFIG", "SET", "min-replicas-to-write", 1}, []any{"CONFIG", "SET", "min-replicas-to-write", 0}},
	} {
		t.Run(name, func(t *testing.T) {
			server := sessiontest.Start(t)
			p := &post{}
			e := newEngine(t, server.URL(), p, Options{MaxWait: 50 * time.Millisecond})
			chat := sessiontest.Chat()
			require.NoError(t, e.Take(ctx, typed(1, chat, "0")))
			before := content(t, server)
			server.Do(t, fault.on...)
			for range 3 {
				c, cancel := context.WithTimeout(ctx, 2*time.Second)
				require.Error(t, e.Take(c, typed(2, chat, "1")))
				cancel()
			}
			require.Equal(t, before, content(t, server), "nothing was written")
			if name == "full" {
				require.NoError(t, e.Flush(ctx, chat), "sending makes room")
				other := newEngine(t, server.URL(), p, Options{})
				require.NoError(t, other.Flush(ctx, chat))
			}
			server.Do(t, fault.off...)
			require.NoError(t, e.Take(ctx, typed(2, chat, "1")))
			require.NoError(t, e.Take(ctx, typed(2, chat, "1")))
			require.NoError(t, e.Flush(ctx, chat))
			require.Zero(t, complete(t, p, e, chat, 2))
		})
	}
}

// content is every key of a server with its value.
func content(t testing.TB, s *sessiontest.Server) map[string]string {
	t.Helper()
	c := s.Client()
	defer c.Close()
	all := map[string]string{}
	it := c.Scan(ctx, 0, "*", 100).Iterator()
	for it.Next(ctx) {
		value, err := c.Dump(ctx, it.Val()).Result()
		require.NoError(t, err)
		all[it.Val()] = value
	}
	require.NoError(t, it.Err())
	require.NotEmpty(t, all)
	return all
}

// On a full server another process can take an outbox over too.
func TestFullServerCanBeEmptied(t *testing.T) {
	server := sessiontest.Start(t)
	chat := sessiontest.Chat()
	dead := newEngine(t, server.URL(), &post{}, Options{Lease: 20 * time.Millisecond})
	require.NoError(t, dead.Take(ctx, typed(1, chat, "0")))
	server.Do(t, "CONFIG", "SET", "maxmemory", 1)
	p := &post{}
	e := newEngine(t, server.URL(), p, Options{MaxWait: 50 * time.Millisecond})
	run(t, e)
	complete(t, p, e, chat, 1)
}

func TestRedisSlow(t *testing.T) {
	server := sessiontest.Start(t)
	p := &post{}
	e := newEngine(t, server.URL(), p, Options{})
	run(t, e)
	chat := sessiontest.Chat()
	deliver(t, chat, 1, e)
	server.Hang(t, true)
	c, cancel := context.WithTimeout(ctx, 50*time.Millisecond)
	defer cancel()
	require.ErrorIs(t, e.Take(c, typed(2, chat, "1")), context.DeadlineExceeded, "the caller's time limit holds")
	server.Hang(t, false)
	deliver(t, chat, 3, e) // the two again, and one more
	complete(t, p, e, chat, 3)
}

func TestSlotMoves(t *testing.T) {
	nodes := sessiontest.Cluster(t)
	if len(nodes.Servers) == 0 {
		t.Skip("not a cluster of our own")
	}
	p := &post{}
	var engines []*Engine
	for range 2 {
		e := newEngine(t, nodes.URL(), p, Options{Rate: -1, Step: countInJob, MaxWait: 100 * time.Millisecond})
		run(t, e)
		engines = append(engines, e)
	}
	// Several chats of one bucket, so of one slot.
	first := sessiontest.Chat() / 1024 * 1024
	play(t, p, engines, []int64{first, first + 1024, first + 2048, first + 3072}, func(wait func(int64)) {
		for range 6 {
			wait(50)
			require.NoError(t, nodes.MoveSlot("sb:{0}:p"))
		}
		wait(50)
	})
}

// A turn costs two round trips before it is acknowledged, one if the chat
// wrote of late, and one after its reply is sent.
func TestRoundTrips(t *testing.T) {
	server := sessiontest.Start(t)
	proxy := sessiontest.NewProxy(t, server)
	e := newEngine(t, proxy.URL(), &post{}, Options{Sweep: time.Hour, Lease: time.Hour})
	for i := range int64(5) { // connections, scripts
		require.NoError(t, e.Take(ctx, typed(i+1, 1000, "0")))
		require.NoError(t, e.Flush(ctx, 1000))
	}
	trips := func(do func() error) int64 {
		before := proxy.Requests.Load()
		require.NoError(t, do())
		return proxy.Requests.Load() - before
	}
	for chat := range int64(5) {
		for turn := range int64(3) {
			before := int64(2)
			if turn > 0 {
				before = 1
			}
			require.Equal(t, before, trips(func() error { return e.Take(ctx, typed(10+turn, chat, "1")) }))
			require.EqualValues(t, 1, trips(func() error { return e.Flush(ctx, chat) }))
		}
	}
}

// BenchmarkTake is a whole turn, sent included, on a real server; it needs
// SILLBOT_REAL_REDIS=1 or SILLBOT_REDIS. BenchmarkBare, a GET, a SET and the
// same send, is what there is to compare it with.
func BenchmarkTake(b *testing.B) {
	for _, chatCount := range []int64{1000, 10000, 100000} {
		b.Run(fmt.Sprintf("%d chats", chatCount), func(b *testing.B) {
			e := newEngine(b, sessiontest.Node(b), discard{}, Options{Rate: -1, Sweep: 5 * time.Second})
			run(b, e)
			takeMany(b, chatCount, func(u Update) error { return e.Take(ctx, u) })
		})
	}
}

func BenchmarkBare(b *testing.B) {
	o, err := redis.ParseURL(sessiontest.Node(b))
	require.NoError(b, err)
	c := redis.NewClient(o)
	defer c.Close()
	takeMany(b, 1000, func(u Update) error {
		key := strconv.FormatInt(u.Chat, 10)
		if err := c.Get(ctx, key).Err(); err != nil && !errors.Is(err, redis.Nil) {
			return err
		}
		return c.Set(ctx, key, `{"v":1,"c":7}`, time.Hour).Err()
	})
}

// takeMany takes b.N turns of so many chats, 32 at a time.
func takeMany(b *testing.B, chatCount int64, take func(Update) error) {
	base := sessiontest.Chat()
	var id atomic.Int64
	b.SetParallelism(32 / runtime.GOMAXPROCS(0))
	b.ReportAllocs()
	b.ResetTimer()
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			n := id.Add(1)
			if err := take(typed(n, base+n%chatCount, "1204")); err != nil {
				b.Error(err)
				return
			}
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "turns/s")
}

type discard struct{}

func (discard) Send(context.Context, Message) (Sent, error) { return Sent{}, nil }

// The connection to the platform breaks after the message was taken: nobody
// can know, so the message goes out again, and is counted.
func TestDoublesAreCounted(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p := &post{}
		reg := prometheus.NewRegistry()
		cut := cutAfter{post: p}
		e := newEngine(t, url, &cut, Options{Metrics: reg, Rate: -1, Step: countInJob, MaxWait: time.Millisecond})
		run(t, e)
		play(t, p, []*Engine{e}, some(4), func(wait func(int64)) { wait(200) })
		require.Positive(t, cut.n.Load())
		require.EqualValues(t, cut.n.Load(), metric(t, reg, "sillbot_sends_total", "again"))
	})
}

type cutAfter struct {
	*post
	n atomic.Int64
}

func (c *cutAfter) Send(ctx context.Context, m Message) (Sent, error) {
	if sent, err := c.post.Send(ctx, m); err != nil {
		return sent, err
	}
	if rand.N(5) == 0 {
		c.n.Add(1)
		return Sent{}, errors.New("connection reset after the request")
	}
	return Sent{}, nil
}
