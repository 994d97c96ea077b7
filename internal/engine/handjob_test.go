package engine

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// dying is a program that dies at a call of Redis: before it is sent, or before its
// answer comes. From then on it reaches nothing.
type dying struct {
	mu    sync.Mutex
	left  int
	after bool
	end   context.CancelFunc
	dead  bool
}

var errDead = errors.New("dead")

func (d *dying) DialHook(next redis.DialHook) redis.DialHook { return next }

func (d *dying) call(do func() error) error {
	d.mu.Lock()
	was := d.dead
	d.left--
	d.dead = d.dead || d.left < 0
	now := d.dead
	d.mu.Unlock()
	switch {
	case !now:
		return do()
	case !was && d.after:
		_ = do() // it happens, and nobody learns of it
	}
	d.end()
	return errDead
}

func (d *dying) died() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.dead
}

func (d *dying) ProcessHook(next redis.ProcessHook) redis.ProcessHook {
	return func(ctx context.Context, cmd redis.Cmder) error {
		err := d.call(func() error { return next(context.WithoutCancel(ctx), cmd) })
		if errors.Is(err, errDead) {
			cmd.SetErr(err)
		}
		return err
	}
}

func (d *dying) ProcessPipelineHook(next redis.ProcessPipelineHook) redis.ProcessPipelineHook {
	return func(ctx context.Context, cmds []redis.Cmder) error {
		err := d.call(func() error { return next(context.WithoutCancel(ctx), cmds) })
		if errors.Is(err, errDead) {
			for _, cmd := range cmds {
				cmd.SetErr(err)
			}
		}
		return err
	}
}

// handTest is a job that is about to be handed over: it has a window, a lead who was asked
// to measure it, and a link for a desk that nobody has used.
type handTest struct {
	*reachTest
	old, mate, lead person
	ref, link, code string
}

func newHandTest(r *reachTest) *handTest {
	h := &handTest{
		reachTest: r, old: person{sessiontest.Chat(), "Wren Hollow"}, mate: person{sessiontest.Chat(), "Sid Marsh"}, lead: person{sessiontest.Chat(), "Lou Fallow"},
	}
	h.chats = nil
	h.says(h.old, h.old.id, "job", "England today", aWindow, "label mill", "invite lead")
	h.says(h.lead, h.lead.id, "/start "+h.token(h.old.id))
	h.says(h.old, h.old.id, "ask check", "invite desk")
	h.link = h.token(h.old.id)
	h.says(h.old, h.old.id, "hand job to")
	h.code, h.ref = h.token(h.old.id), h.refs(h.old.id)[0]
	h.chats = append(h.chats, h.mate.id)
	return h
}

// held is a chat's record of the job, whether it may be written there, and whether it is
// there with its window.
func (h *handTest) held(chat int64) (j *job.Job, writes, whole bool) {
	h.t.Helper()
	l, err := loadJob(ctx, h.store, chat, h.ref, nil)
	require.NoError(h.t, err)
	if l.job == nil {
		return nil, false, false
	}
	all, err := h.store.LoadJobs(ctx, chat)
	require.NoError(h.t, err)
	return l.job, l.job.Handing == nil, len(all[h.ref]) == 1+len(l.job.Openings) && len(l.job.Openings) > 0
}

// one demands that nothing is lost and that nobody writes beside another.
func (h *handTest) one(when string) {
	h.t.Helper()
	_, olds, here := h.held(h.old.id)
	_, mates, there := h.held(h.mate.id)
	require.False(h.t, olds && mates, "%s: two write", when)
	require.True(h.t, here || there, "%s: the job is lost", when)
}

// isOver demands that the mate has all of the job, with what the lead sent meanwhile, and
// that all who know of it know it there.
func (h *handTest) isOver(when string) {
	h.t.Helper()
	j, writes, whole := h.held(h.mate.id)
	require.True(h.t, writes && whole, when)
	require.Equal(h.t, "mill", j.Label, when)
	require.Equal(h.t, h.mate.id, j.Owner.Chat, when)
	full, _ := storedJob(h.t, h.engine, h.mate.id, h.ref)
	w, ok := full.Find(1)
	require.True(h.t, ok)
	require.Len(h.t, w.Check.Leads, 1, "%s: the lead's measure", when)

	note, writes, whole := h.held(h.old.id)
	require.False(h.t, writes || whole, when)
	require.True(h.t, note.Handing.There, when)
	require.Equal(h.t, h.mate.id, note.Handing.To, when)
	all, err := h.store.LoadJobs(ctx, h.old.id)
	require.NoError(h.t, err)
	require.Len(h.t, all[h.ref], 1, "%s: a window is left", when)

	c, err := h.store.Load(ctx, session.Key{Chat: h.lead.id})
	require.NoError(h.t, err)
	var s dialog.State
	require.NoError(h.t, json.Unmarshal(c.Data, &s))
	require.Equal(h.t, h.mate.id, s.Seats[0].Owner, "%s: the lead's chair", when)
	raw, err := h.store.Link(ctx, h.link)
	require.NoError(h.t, err)
	var l dialog.Link
	require.NoError(h.t, json.Unmarshal(raw, &l))
	require.Equal(h.t, h.mate.id, l.Owner, "%s: the link that is out", when)
}

// TestAHandOverThatIsCutOffGoesOn: whatever call of Redis it dies at, before the call or
// before its answer, at no time do two write, and at no time is the job lost; the next
// program ends what was begun, and a letter that came meanwhile is led on.
func TestAHandOverThatIsCutOffGoesOn(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	cuts := 0
	for _, after := range []bool{false, true} {
		for n, died := 0, int64(16); died == 16; n += 16 { // many at once: they wait for leases
			died = 0
			var all sync.WaitGroup
			for i := range 16 {
				_, url := sessiontest.Mini(t)
				all.Go(func() {
					if handOverCutAt(t, url, n+i, after) {
						atomic.AddInt64(&died, 1)
					}
				})
			}
			all.Wait()
			cuts += int(died)
			require.False(t, t.Failed())
		}
	}
	require.Greater(t, cuts, 60, "it was cut at every call")
	t.Logf("%d cuts", cuts)
}

// handOverCutAt hands a job over with a program that dies at its call n of Redis, and
// goes on with another. false: it was done before.
func handOverCutAt(t *testing.T, url string, n int, after bool) bool {
	quick := Options{Rate: -1, Log: slog.New(slog.DiscardHandler), MaxWait: time.Millisecond}
	when := fmt.Sprintf("cut at call %d, after it %v", n, after)
	r := newReachTest(t, url)
	r.live = true
	r.engine = New(r.store, r.post, quick)
	h := newHandTest(r)

	options, err := redis.ParseURL(url)
	require.NoError(t, err)
	client := redis.NewClient(options)
	until, end := context.WithCancel(ctx)
	s, err := session.Over(ctx, client)
	require.NoError(t, err)
	d := &dying{left: n, after: after, end: end}
	client.AddHook(d)
	short := quick
	short.Lease = 200 * time.Millisecond // the next program waits for it
	dies := New(s, h.post, short)
	u := h.update(h.mate, h.mate.id, "/start "+h.code)
	_ = dies.Take(until, u) // what fails is what is tested
	for range 3 {
		for _, chat := range h.chats {
			_ = dies.Flush(until, chat)
		}
	}
	end()
	h.one(when)
	require.NoError(t, s.Close())
	if !d.died() {
		return false
	}

	h.engine = New(h.store, h.post, quick)
	h.says(h.lead, h.lead.id, "measure 1", "1204 1202 1203 1050 1052 1051 1596 1597 level")
	h.one(when)
	h.take(u)
	h.take(u)
	for range 3 {
		for _, chat := range h.chats {
			require.NoError(t, h.engine.Flush(ctx, chat))
		}
	}
	h.isOver(when)
	h.says(h.old, h.old.id, "job "+h.ref, "label weir")
	j, _, _ := h.held(h.mate.id)
	require.Equal(t, "mill", j.Label, when)
	return true
}

// TestAJobIsHandedTwiceAndBack: the third owner has it, letters to the first come there,
// and back with the first it is theirs again.
func TestAJobIsHandedTwiceAndBack(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		r.live = true
		h := newHandTest(r)
		third := person{sessiontest.Chat(), "Kit Barrow"}
		h.says(h.mate, h.mate.id, "/start "+h.code, "job "+h.ref, "hand job to")
		h.says(third, third.id, "/start "+h.token(h.mate.id))
		h.says(h.lead, h.lead.id, "measure 1", "1204 1202 1203 1050 1052 1051 1596 1597 level")
		j, _ := storedJob(t, h.engine, third.id, h.ref)
		w, _ := j.Find(1)
		require.Len(t, w.Check.Leads, 1)
		require.ElementsMatch(t, []int64{h.old.id, h.mate.id}, j.Former)

		// One who had it leads a letter on; anybody else is not believed.
		for from, label := range map[int64]int{sessiontest.Chat(): 0, h.old.id: 1} {
			before := len(h.keys(h.lead.id, 0))
			require.NoError(t, h.engine.turns.deliver(ctx, from, fmt.Sprint("led ", from), dialog.Mail{
				To: third.id, Ref: h.ref, For: h.lead.id, Ask: &dialog.Ask{Who: job.Who{Role: job.Lead}, Do: "show"},
			}))
			require.NoError(t, h.engine.Flush(ctx, third.id))
			require.NoError(t, h.engine.Flush(ctx, h.lead.id))
			require.Equal(t, label == 1, len(h.keys(h.lead.id, 0)) > before)
		}

		h.says(third, third.id, "job "+h.ref, "hand job to")
		h.says(h.old, h.old.id, "/start "+h.token(third.id))
		j, _ = storedJob(t, h.engine, h.old.id, h.ref)
		require.Nil(t, j.Handing)
		require.Equal(t, h.old.id, j.Owner.Chat)
		require.ElementsMatch(t, []int64{h.mate.id, third.id}, j.Former)
		for _, chat := range []int64{h.mate.id, third.id} {
			note, _, whole := h.held(chat)
			require.False(t, whole)
			require.True(t, note.Handing.There)
		}
		h.says(h.old, h.old.id, "label weir")
		j, _ = storedJob(t, h.engine, h.old.id, h.ref)
		require.Equal(t, "weir", j.Label)
	})
}
