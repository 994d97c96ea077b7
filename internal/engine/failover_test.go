package engine

import (
	"fmt"
	"log/slog"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// acked is an engine on a Redis of which n replicas must have a turn before it
// counts.
func acked(t testing.TB, url string, n int, sender Sender, o Options) *Engine {
	t.Helper()
	s, err := session.OpenAcked(ctx, url, n)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	if o.Step == nil {
		o.Step = count
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Sweep == 0 {
		o.Sweep = 50 * time.Millisecond
	}
	return New(s, sender, o)
}

// failover is what came of a load whose Redis died in the middle of it, its
// replica in its place.
type failover struct {
	acknowledged, lost int             // turns before the primary died
	doubles            int             // replies sent again
	took               []time.Duration // from an update to its acknowledgement, before
	lasted             time.Duration   // the load, before
}

func (f *failover) add(g failover) {
	f.acknowledged += g.acknowledged
	f.lost += g.lost
	f.doubles += g.doubles
	f.took = append(f.took, g.took...)
	f.lasted += g.lasted
}

// load is people who write when they may, each in a chat of their own.
type load struct {
	t     *testing.T
	e     *Engine
	chats []int64
	over  chan struct{}
	all   sync.WaitGroup

	mu    sync.Mutex
	taken map[int64][]taking
	n     int64
}

// taking is an update that was acknowledged.
type taking struct{ begun, ended time.Time }

func startLoad(t *testing.T, e *Engine, chats int) *load {
	l := &load{t: t, e: e, chats: some(chats), over: make(chan struct{}), taken: map[int64][]taking{}}
	for _, chat := range l.chats {
		l.all.Go(func() { l.write(chat) })
	}
	return l
}

func (l *load) write(chat int64) {
	for id := int64(1); ; id++ {
		begun := time.Now()
		offer(l.t, typed(id, chat, fmt.Sprint(id-1)), []*Engine{l.e})
		l.mu.Lock()
		l.taken[chat] = append(l.taken[chat], taking{begun, time.Now()})
		l.n++
		l.mu.Unlock()
		select {
		case <-l.over:
			return
		default:
		}
	}
}

func (l *load) wait(turns int64) {
	l.t.Helper()
	count := func() int64 {
		l.mu.Lock()
		defer l.mu.Unlock()
		return l.n
	}
	from := count()
	eventually(l.t, "turns taken", func() bool { return count() >= from+turns })
}

// outcome ends the load and holds what was begun and acknowledged between two
// times against what Redis has.
func (l *load) outcome(begun, left time.Time) (f failover) {
	close(l.over)
	l.all.Wait()
	for _, chat := range l.chats {
		eventually(l.t, "all sent", func() bool { return empty(l.t, l.e.store, chat) })
		h, err := l.e.store.Export(ctx, chat, 0)
		require.NoError(l.t, err)
		seen := map[int64]bool{}
		for _, m := range h.Seen {
			seen[m.Update] = true
		}
		for i, turn := range l.taken[chat] {
			if turn.ended.After(left) {
				break
			}
			if turn.begun.Before(begun) {
				continue
			}
			f.took = append(f.took, turn.ended.Sub(turn.begun))
			f.acknowledged++
			if !seen[int64(i+1)] {
				f.lost++
			}
		}
	}
	f.lasted = left.Sub(begun)
	return f
}

// answered is that every update of a load counted once and was answered, in
// order but for what was sent again.
func (l *load) answered(p *post) (doubles int) {
	l.t.Helper()
	for _, chat := range l.chats {
		last := 0
		for _, m := range p.sent(chat) {
			switch n := int(m.Reply.Text.Num["n"].IntPart()); {
			case n <= last:
				doubles++
			default:
				require.Equal(l.t, last+1, n, "a turn was not answered, or counted twice")
				require.Equal(l.t, fmt.Sprint(last), m.Reply.Text.Say["typed"])
				last = n
			}
		}
		require.Len(l.t, l.taken[chat], last)
	}
	return doubles
}

// dies is one try: so many turns in so many chats, then the primary is killed
// and a replica that lags takes its place. There are so many others, which don't.
func dies(t *testing.T, lag time.Duration, others, acks, chats int, turns int64) failover {
	pair := sessiontest.Replicated(t, lag)
	var more []*sessiontest.Server
	for range others {
		r := sessiontest.Start(t)
		r.Follow(t, pair.Primary)
		more = append(more, r)
	}
	proxy := sessiontest.NewProxy(t, pair.Primary)
	p := &post{}
	e := acked(t, proxy.URL(), acks, p, Options{Rate: -1, Lease: time.Second, MaxWait: 100 * time.Millisecond})
	defer run(t, e)()
	begun := time.Now()
	l := startLoad(t, e, chats)
	l.wait(turns)
	pair.FailOver(t)
	left := time.Now()
	proxy.Lead(pair.Replica)
	if acks > 0 {
		// The dead one comes back as a replica. Until then nothing is acknowledged.
		require.NoError(t, pair.Primary.Restart())
		for _, r := range append(more, pair.Primary) {
			r.Follow(t, pair.Replica)
		}
	}
	l.wait(int64(chats))
	f := l.outcome(begun, left)
	if acks > others {
		require.Zero(t, f.lost, "acknowledged turns")
		f.doubles = l.answered(p)
	}
	return f
}

// A primary that dies under load loses no turn that its replica acknowledged.
// Without REDIS_ACKS it does, which shows that the rig would see it.
//
//	SILLBOT_FAILOVER=long SILLBOT_REAL_REDIS=1 go test ./internal/engine -run TestUncleanFailover -count=1 -v
//
// prints the tables of docs/performance.md.
func TestUncleanFailover(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	if os.Getenv("SILLBOT_FAILOVER") == "long" {
		failoverTables(t)
		return
	}
	f := dies(t, 50*time.Millisecond, 0, 1, 32, 400)
	require.Positive(t, f.acknowledged)
	f = dies(t, 200*time.Millisecond, 0, 0, 32, 400)
	require.Positive(t, f.lost, "the rig sees a loss")
}

// Of two replicas the one that takes over must have acknowledged: that is sure
// only where both must.
func TestTheHeirMustHaveAcknowledged(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	require.Positive(t, dies(t, 200*time.Millisecond, 1, 1, 32, 400).lost, "the other one has acknowledged")
	require.Zero(t, dies(t, 50*time.Millisecond, 1, 2, 32, 400).lost)
}

func failoverTables(t *testing.T) {
	lags := []time.Duration{0, 5 * time.Millisecond, 50 * time.Millisecond, 200 * time.Millisecond}
	t.Log("\n| lag | REDIS_ACKS | kills | acknowledged | lost | replies sent twice |")
	for _, lag := range lags {
		for acks, f := range byTurns(5, func(acks int) failover { return dies(t, lag, 0, acks, 256, 1500) }) {
			t.Logf("| %v | %d | 5 | %d | %d | %d |", lag, acks, f.acknowledged, f.lost, f.doubles)
		}
	}
	t.Log("\n| lag | REDIS_ACKS | turns a second | p50 | p99 |")
	for _, lag := range lags {
		for acks, f := range byTurns(3, func(acks int) failover { return lives(t, lag, acks, 256, 3000) }) {
			slices.Sort(f.took)
			at := func(percent int) time.Duration { return f.took[len(f.took)*percent/100].Round(100 * time.Microsecond) }
			t.Logf("| %v | %d | %.0f | %v | %v |", lag, acks, float64(f.acknowledged)/f.lasted.Seconds(), at(50), at(99))
		}
	}
}

// byTurns adds up tries without and with REDIS_ACKS: other load on the machine
// changes over time.
func byTurns(rounds int, try func(acks int) failover) (sum [2]failover) {
	for range rounds {
		for acks := range sum {
			sum[acks].add(try(acks))
		}
	}
	return sum
}

// lives is a load without a fault, once it has warmed up.
func lives(t *testing.T, lag time.Duration, acks, chats int, turns int64) failover {
	e := acked(t, sessiontest.Replicated(t, lag).Primary.URL(), acks, &post{}, Options{Rate: -1})
	defer run(t, e)()
	l := startLoad(t, e, chats)
	l.wait(turns / 5)
	begun := time.Now()
	l.wait(turns)
	return l.outcome(begun, time.Now())
}

// Sentinel finds out that the primary is gone, dead or hanging, and makes the
// replica the primary; the program goes there by itself. A primary that wakes up
// has nothing that counts.
func TestSentinelFailsOver(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	for _, hangs := range []bool{false, true} {
		t.Run(fmt.Sprint("hangs ", hangs), func(t *testing.T) {
			pair := sessiontest.Replicated(t, 0)
			pair.Replica.Follow(t, pair.Primary)
			watch := sessiontest.Watch(t, pair.Primary)
			p := &post{}
			e := acked(t, watch.URL(), 1, p, Options{Rate: -1, Lease: time.Second, MaxWait: 100 * time.Millisecond})
			require.Empty(t, e.store.Warnings)
			defer run(t, e)()
			begun := time.Now()
			l := startLoad(t, e, 8)
			l.wait(200)
			if hangs {
				pair.Primary.Hang(t, true)
			} else {
				pair.Primary.Kill()
			}
			left := time.Now()
			watch.WaitPrimary(t, pair.Replica)
			if hangs {
				pair.Primary.Hang(t, false)
			} else {
				require.NoError(t, pair.Primary.Restart())
			}
			pair.Primary.Follow(t, pair.Replica)
			l.wait(50)
			require.Zero(t, l.outcome(begun, left).lost)
			l.answered(p)
		})
	}
}

// A turn that the replica does not have yet is refused, though it stands, and
// nobody is told of it: neither by the process that took it nor by another. When
// the replica is back it is acknowledged and answered.
func TestNothingIsSaidBeforeReplicasHaveIt(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	pair := sessiontest.Replicated(t, 0)
	p := &post{}
	log := &lines{}
	reg := prometheus.NewRegistry()
	o := Options{Rate: -1, Lease: 50 * time.Millisecond, Sweep: 20 * time.Millisecond, MaxWait: 20 * time.Millisecond, Metrics: reg, Log: log.logger()}
	e := acked(t, pair.Primary.URL(), 1, p, o)
	run(t, e)
	o.Metrics = nil
	run(t, acked(t, pair.Primary.URL(), 1, p, o))
	chat := sessiontest.Chat()
	require.NoError(t, e.Take(ctx, typed(1, chat, "0")))
	eventually(t, "answered", func() bool { return len(p.sent(chat)) == 1 })

	pair.Replica.Hang(t, true)
	for range 2 { // the second time it is a repeated update
		require.ErrorIs(t, e.Take(ctx, typed(2, chat, "1")), session.ErrTooFew)
	}
	require.ErrorIs(t, e.Dead(ctx, []byte("?"), "test"), session.ErrTooFew)
	require.EqualValues(t, 2, metric(t, reg, "sillbot_turns_total", "unacknowledged"))
	eventually(t, "both have tried to read the outbox", func() bool { return log.count(session.ErrTooFew.Error()) >= 6 })
	require.Len(t, p.sent(chat), 1, "nothing was sent")

	pair.Replica.Hang(t, false)
	eventually(t, "taken", func() bool { return e.Take(ctx, typed(2, chat, "1")) == nil })
	eventually(t, "answered", func() bool { return empty(t, e.store, chat) })
	require.Equal(t, []string{"0", "1"}, p.words(chat))
}

// A primary that has been replaced without knowing it acknowledges nothing, and
// nothing of what it took goes out. The turn counts where it is offered next.
func TestAPrimaryThatWasReplacedAcknowledgesNothing(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	pair := sessiontest.Replicated(t, 0)
	proxy := sessiontest.NewProxy(t, pair.Primary)
	p := &post{}
	e := acked(t, proxy.URL(), 1, p, Options{Rate: -1, Lease: 50 * time.Millisecond, Sweep: 20 * time.Millisecond, MaxWait: 20 * time.Millisecond})
	run(t, e)
	chat := sessiontest.Chat()
	require.NoError(t, e.Take(ctx, typed(1, chat, "0")))
	eventually(t, "answered", func() bool { return empty(t, e.store, chat) })
	pair.Part(t)
	require.ErrorIs(t, e.Take(ctx, typed(2, chat, "1")), session.ErrTooFew)
	require.ErrorIs(t, e.Take(ctx, typed(3, chat, "2")), session.ErrTooFew)
	pair.Primary.Follow(t, pair.Replica) // it learns, and forgets what it took
	proxy.Lead(pair.Replica)
	for id := range int64(2) {
		eventually(t, "taken", func() bool { return e.Take(ctx, typed(id+2, chat, fmt.Sprint(id+1))) == nil })
	}
	eventually(t, "answered", func() bool { return empty(t, e.store, chat) })
	require.Equal(t, []string{"0", "1", "2"}, p.words(chat))
}

// A full server lets out what waits, with acknowledgements too.
func TestAFullServerIsEmptiedWithAcks(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	pair := sessiontest.Replicated(t, 0)
	p := &post{}
	e := acked(t, pair.Primary.URL(), 1, p, Options{Lease: 200 * time.Millisecond})
	chat := sessiontest.Chat()
	require.NoError(t, e.Take(ctx, typed(1, chat, "0")))
	pair.Primary.Do(t, "CONFIG", "SET", "maxmemory", 1)
	require.Error(t, e.Take(ctx, typed(2, chat, "1")))
	require.NoError(t, acked(t, pair.Primary.URL(), 1, p, Options{Lease: time.Second}).Flush(ctx, chat))
	require.NoError(t, e.Flush(ctx, chat))
	require.Equal(t, []string{"0"}, p.words(chat))
}

// lines is a log that is counted in.
type lines struct {
	mu   sync.Mutex
	text strings.Builder
}

func (l *lines) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(b)
}

func (l *lines) logger() *slog.Logger { return slog.New(slog.NewTextHandler(l, nil)) }

func (l *lines) count(what string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Count(l.text.String(), what)
}
