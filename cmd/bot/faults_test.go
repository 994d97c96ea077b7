package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/telegram/telegramtest"
)

// The long form: more people, and each run again and again.
var long = os.Getenv("SILLBOT_FAULTS") == "long"

// size is how many people type a survey of 30 messages each in a run, and how
// often it is repeated.
func (t trouble) size() (people, rounds int) {
	switch {
	case long:
		return 10, 10
	case t.kills:
		return 10, 1
	}
	return 3, 1
}

// trouble is one kind of fault. begin sets it on, and gives what counts it.
type trouble struct {
	name string
	// kills: the program dies, which is tried on 300 messages in the short form
	// too.
	kills bool
	// pollingOnly: pushing has nothing of the kind.
	pollingOnly bool
	// doubles: the platform may offer no way to know.
	doubles bool
	// meanwhile goes on until ctx ends, and gives how many faults there were:
	// at least one. nil: there are none.
	meanwhile func(ctx context.Context, r *rig) int
	// typing sends one line; nil: as it is.
	typing func(r *rig, chat int64, text string)
}

// TestFaults runs whole surveys of several people through the program as a
// process while something fails, and counts. Nothing may be lost or out of
// order, and a reply may come twice only where nobody could know that the
// first copy had arrived.
//
//	SILLBOT_REAL_REDIS=1 go test ./cmd/bot -run TestFaults -count=1 -v
//
// prints the table. SILLBOT_FAULTS=long plays ten times 300 messages of each.
// With -timeout 1h.
func TestFaults(t *testing.T) {
	if os.Getenv("SILLBOT_REAL_REDIS") == "" {
		t.Skip("SILLBOT_REAL_REDIS is not set")
	}
	troubles := []trouble{
		{name: "none"},
		{name: "program killed (kill -9), started again", kills: true, doubles: true, meanwhile: programKilled},
		{name: "Redis killed (kill -9), started again", meanwhile: redisKilled},
		{name: "Redis hangs", meanwhile: redisDoes(
			[]any{"CLIENT", "PAUSE", 700, "ALL"}, []any{"PING"})},
		{name: "Redis full, no eviction", meanwhile: redisDoes(
			[]any{"CONFIG", "SET", "maxmemory", 1}, []any{"CONFIG", "SET", "maxmemory", 0})},
		{name: "Redis read-only", meanwhile: redisDoes(
			[]any{"REPLICAOF", "127.0.0.1", 1}, []any{"REPLICAOF", "NO", "ONE"})},
		{name: "platform: 429", meanwhile: platform("send", telegramtest.TooMany(1))},
		{name: "platform: 500, 502 with HTML", meanwhile: platform("send", telegramtest.Failing, telegramtest.BadGateway)},
		{name: "connection cut before the message was taken", meanwhile: platform("send", telegramtest.CutBefore)},
		{name: "connection cut after the message was taken", doubles: true, meanwhile: platform("send", telegramtest.CutAfter)},
		{name: "asking for updates fails in every way", pollingOnly: true, meanwhile: platform("getupdates",
			telegramtest.TooMany(1), telegramtest.Failing, telegramtest.BadGateway, telegramtest.CutBefore, telegramtest.CutAfter)},
		{name: "duplicate updates", typing: twice},
		{name: "polled batches in the wrong order", pollingOnly: true, meanwhile: reversed},
		{name: "updates of unknown kinds and forms", typing: withStrangers},
		{name: "all of it at once", doubles: true, meanwhile: everything, typing: twice},
	}
	var table sync.Map
	// The parallel runs of the group are over when Run returns.
	t.Run("with", func(t *testing.T) {
		for _, trouble := range troubles {
			for _, webhook := range []bool{false, true} {
				if webhook && trouble.pollingOnly {
					continue
				}
				name := trouble.name + ", " + map[bool]string{false: "polling", true: "webhook"}[webhook]
				t.Run(name, func(t *testing.T) {
					t.Parallel()
					var sum outcome
					people, rounds := trouble.size()
					for range rounds {
						sum.add(suffer(t, trouble, people, webhook))
					}
					table.Store(name, sum)
				})
			}
		}
	})
	var b strings.Builder
	b.WriteString("\n| fault | updates by | messages | faults | replies | lost | out of order | sent twice | of these avoidable | longest |\n|---|---|---|---|---|---|---|---|---|---|\n")
	for _, trouble := range troubles {
		for _, by := range []string{"polling", "webhook"} {
			v, ok := table.Load(trouble.name + ", " + by)
			if !ok {
				continue
			}
			o := v.(outcome)
			fmt.Fprintf(&b, "| %s | %s | %d | %d | %d | %d | %d | %d | %d | %.1f s |\n", trouble.name, by,
				o.messages, o.faults, o.replies, o.lost, o.disorder, o.doubles, o.unexcused, o.took.Seconds())
		}
	}
	t.Log(b.String())
}

func (o *outcome) add(p outcome) {
	o.messages += p.messages
	o.faults += p.faults
	o.replies += p.replies
	o.lost += p.lost
	o.disorder += p.disorder
	o.doubles += p.doubles
	o.unexcused += p.unexcused
	o.took = max(o.took, p.took)
}

// suffer is one run.
func suffer(t *testing.T, trouble trouble, people int, webhook bool) outcome {
	r := newRig(t, webhook)
	ctx := within(t, 5*time.Minute)
	scripts, want := crowd(t, people)
	r.start(ctx)
	defer func() { r.p.kill() }()
	begun := time.Now()
	var messages atomic.Int64
	typing := func(chat int64, text string) {
		messages.Add(1)
		if trouble.typing != nil {
			trouble.typing(r, chat, text)
			return
		}
		r.server.Type(chat, text)
	}
	suffering, relief := context.WithCancel(ctx)
	var n int
	var trial sync.WaitGroup
	if trouble.meanwhile != nil {
		trial.Go(func() { n = trouble.meanwhile(suffering, r) })
	}
	err := r.people(ctx, scripts, 150*time.Millisecond, typing)
	relief()
	trial.Wait()
	require.NoError(t, err, "not all was taken:\n%s", tail(r.p.log))
	o := r.settled(ctx, want)
	o.messages, o.faults, o.took = int(messages.Load()), n, time.Since(begun)

	require.Equal(t, trouble.meanwhile != nil, n > 0, "whether anything failed")
	require.Zero(t, o.lost, "readings lost\n%s", tail(r.p.log))
	require.Zero(t, o.disorder)
	require.Zero(t, o.unexcused, "replies sent twice though the program could know")
	if !trouble.doubles {
		require.Zero(t, o.doubles)
	}
	if o.doubles > 0 && len(r.kills) == 0 {
		require.GreaterOrEqual(t, r.figures(ctx)["sillbot_sends_unsure_total"], float64(o.doubles), "doubles are counted")
	}
	silent(t, r.p.log.String())
	return o
}

// tail is the end of a log, for a failed test.
func tail(j *journal) string {
	text := j.String()
	return text[max(0, len(text)-3000):]
}

// often does something at once and then up to so many times in all, after a
// random wait up to most each, and counts.
func often(ctx context.Context, times int, most time.Duration, do func()) int {
	do()
	for n := 1; n < times; n++ {
		select {
		case <-time.After(rand.N(most)):
		case <-ctx.Done():
			return n
		}
		do()
	}
	return times
}

// programKilled kills the program at random moments. The platform takes some
// time for each call, as it does in life, so that many a kill falls between a
// message that was taken and the word of it.
func programKilled(ctx context.Context, r *rig) int {
	r.server.FailWhen(func(telegramtest.Call) *telegramtest.Fault {
		return &telegramtest.Fault{Delay: rand.N(10 * time.Millisecond)}
	})
	defer r.server.FailWhen(nil)
	return often(ctx, 12, 400*time.Millisecond, func() { r.restart() })
}

// restart kills the program and starts it again.
func (r *rig) restart() {
	r.kill()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	r.start(ctx)
}

func redisKilled(ctx context.Context, r *rig) int {
	return often(ctx, 4, 800*time.Millisecond, func() {
		r.redis.Kill()
		time.Sleep(rand.N(300 * time.Millisecond))
		if err := r.redis.Restart(); err != nil {
			r.t.Error(err)
		}
	})
}

func redisDoes(on, off []any) func(context.Context, *rig) int {
	return func(ctx context.Context, r *rig) int {
		return often(ctx, 3, 500*time.Millisecond, func() {
			r.redis.Do(r.t, on...)
			time.Sleep(200*time.Millisecond + rand.N(300*time.Millisecond))
			r.redis.Do(r.t, off...)
		})
	}
}

// platform makes the first call of a kind fail, and one in six after it.
func platform(method string, faults ...telegramtest.Fault) func(context.Context, *rig) int {
	return func(ctx context.Context, r *rig) int {
		var n atomic.Int64
		r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault {
			if !strings.HasPrefix(c.Method, method) || n.Load() > 0 && rand.N(6) > 0 {
				return nil
			}
			n.Add(1)
			return &faults[rand.N(len(faults))]
		})
		<-ctx.Done()
		r.server.FailWhen(nil)
		return int(n.Load())
	}
}

// twice delivers one in four updates again, at once or late.
func twice(r *rig, chat int64, text string) {
	id := r.server.Type(chat, text)
	switch rand.N(8) {
	case 0:
		r.server.Again(id)
	case 1:
		time.AfterFunc(rand.N(300*time.Millisecond), func() { r.server.Again(id) })
	}
}

func reversed(ctx context.Context, r *rig) int {
	return often(ctx, 20, 100*time.Millisecond, func() {
		r.server.Pause(true)
		time.Sleep(rand.N(200 * time.Millisecond))
		r.server.Reverse()
		r.server.Pause(false)
	})
}

// withStrangers mixes updates in that nobody knows.
func withStrangers(r *rig, chat int64, text string) {
	stranger := []string{
		`{"update_id":"ID","telepathy":{"from":{"id":1},"thought":"1204"}}`,
		`{"update_id":"ID","message":{"message_id":1,"date":1,"chat":{"id":%d,"type":"private"},"from":{"id":%d,"is_bot":false},"hologram":{}}}`,
		`{"update_id":"ID","message":{"chat":"one"}}`,
		`{"update_id":"ID","message":[]}`,
		`{"update_id":"ID","callback_query":{"id":"1","from":{"id":%d},"data":7}}`,
		`{"update_id":"ID"}`,
		`[]`,
	}[rand.N(7)]
	if strings.Contains(stranger, "hologram") {
		stranger = `{"update_id":"ID","telepathy":[]}` // a message of no known content is answered, see internal/telegram
	}
	if rand.N(2) == 0 {
		r.server.PushRaw(chat, strings.ReplaceAll(stranger, "%d", fmt.Sprint(chat)))
	}
	r.server.Type(chat, text)
}

// everything kills the program and Redis while the platform fails too.
func everything(ctx context.Context, r *rig) int {
	all := []telegramtest.Fault{
		telegramtest.TooMany(1), telegramtest.Failing, telegramtest.BadGateway, telegramtest.CutBefore, telegramtest.CutAfter,
	}
	var n atomic.Int64
	r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault {
		if rand.N(12) > 0 {
			return nil
		}
		n.Add(1)
		return &all[rand.N(len(all))]
	})
	defer r.server.FailWhen(nil)
	kills := often(ctx, 8, time.Second, func() {
		if r.redis != nil && rand.N(2) == 0 {
			r.redis.Kill()
			time.Sleep(rand.N(100 * time.Millisecond))
			if err := r.redis.Restart(); err != nil {
				r.t.Error(err)
			}
			return
		}
		r.restart()
	})
	return int(n.Load()) + kills
}

// An update that comes after later ones counts all the same: nothing is
// passed over because a higher id was taken.
func TestLateUpdateCounts(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		if webhook {
			t.Skip("the platform pushes a chat's updates one after the other")
		}
		r := newRig(t, webhook)
		ctx := within(t, 5*time.Minute)
		r.start(ctx)
		id := int64(9)
		for i, line := range []string{"/start", "England, today", "bare", "none", "white"} {
			r.server.Type(id, line)
			require.NoError(t, r.server.Wait(ctx, func() bool { return len(messages(r.server.Sent(id))) > i }))
		}
		r.server.HoldNext()
		late := r.server.Type(id, "1204")
		r.server.Type(id, "1202")
		_, err := r.server.WaitText(ctx, id, 5, "Top width: 1202 mm")
		require.NoError(t, err)
		r.server.Release(late)
		_, err = r.server.WaitText(ctx, id, 6, "Middle width: 1204 mm")
		require.NoError(t, err)
	})
}

// Two presses at once, of one button and of two, from two devices of one
// person: one counts, the other is refused kindly.
func TestTwoPressesAtOnce(t *testing.T) {
	both(t, func(t *testing.T, webhook bool) {
		r := newRig(t, webhook)
		ctx := within(t, 5*time.Minute)
		r.start(ctx)
		told := 0
		for chat, buttons := range map[int64][2]string{21: {"England, today", "England, today"}, 22: {"England, today", "Wales, today"}} {
			r.server.Type(chat, "/start")
			_, err := r.server.WaitSent(ctx, chat, 1)
			require.NoError(t, err)
			r.server.Pause(true)
			for _, label := range buttons {
				_, err := r.server.PressLast(chat, chat, label)
				require.NoError(t, err)
			}
			r.server.Pause(false)
			_, err = r.server.WaitText(ctx, chat, 1, "Nation: ")
			require.NoError(t, err)
			told++
			require.NoError(t, r.server.Wait(ctx, func() bool { return len(r.server.Toasts()) == told }))
			require.Contains(t, r.server.Toasts()[told-1], "That question is answered")
			counted := 0
			for _, m := range r.server.Sent(chat) {
				counted += strings.Count(m.Text, "Nation: ")
			}
			require.Equal(t, 1, counted)
		}
		require.NoError(t, r.server.Wait(ctx, func() bool { return r.server.Answers() == 4 }), "no button goes on turning")
	})
}
