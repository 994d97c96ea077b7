package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

// crowd are people who write.
type crowd interface {
	// next is a chat in which nothing is under way, and what its person types now.
	next() (chat int, text string)
	// done says whether it was answered.
	done(chat int, took bool)
}

// people go on with the conversations that were loaded, each where it stands.
type people struct {
	f *filler

	mu     sync.Mutex
	random *rand.Rand
	lines  []uint8 // by chat, how many it has gone on
	busy   []bool  // by chat: a message is under way
}

func newPeople(f *filler, seed uint64) *people {
	return &people{f: f, random: rand.New(rand.NewPCG(seed, 14)), lines: make([]uint8, len(f.of)), busy: make([]bool, len(f.of))}
}

// next is a chat at random, and what its person types now.
func (d *people) next() (chat int, text string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	for {
		chat = d.random.IntN(len(d.f.of))
		k, messages := d.f.at(chat)
		if at := messages + int(d.lines[chat]); !d.busy[chat] && at < len(k.script) {
			d.busy[chat] = true
			return chat, k.script[at]
		}
	}
}

func (d *people) done(chat int, took bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.busy[chat] = false
	if took {
		d.lines[chat]++
	}
}

// taken is one turn: when it was due, and until it was answered.
type taken struct {
	due  time.Time
	took time.Duration
}

// replayed is what a replay found.
type replayed struct {
	turns         []taken
	failed        int64
	why           error // of one that failed
	rate          float64
	cpu, redisCPU time.Duration // a turn
	busy          [3]float64    // cores: the program, Redis, the people with the messaging server
	cards         int64         // pictures among the replies
}

func (r replayed) String() string {
	p50, p99, most := spread(r.turns)
	text := fmt.Sprintf("%d turns, %.0f a second, p50 %.1f ms, p99 %.1f ms, the longest %.0f ms, %d not answered, %.0f cards a second; CPU a turn: program %d µs, Redis %d µs; cores: program %.2f, Redis %.2f, people and messaging server %.2f",
		len(r.turns), r.rate, p50, p99, most, r.failed, float64(r.cards)*r.rate/float64(len(r.turns)), r.cpu.Microseconds(), r.redisCPU.Microseconds(), r.busy[0], r.busy[1], r.busy[2])
	if r.why != nil {
		text += fmt.Sprintf(" (one of them: %v)", r.why)
	}
	return text
}

// apart is the times of the turns that were due between from and to, and of the others.
func (r replayed) apart(from, to time.Time) string {
	var within, others []taken
	for _, t := range r.turns {
		if t.due.After(from) && t.due.Before(to) {
			within = append(within, t)
		} else {
			others = append(others, t)
		}
	}
	p50, p99, most := spread(within)
	text := fmt.Sprintf("in that time %d turns, p50 %.1f ms, p99 %.1f ms, the longest %.0f ms", len(within), p50, p99, most)
	p50, p99, most = spread(others)
	return text + fmt.Sprintf("; the others p50 %.1f ms, p99 %.1f ms, the longest %.0f ms", p50, p99, most)
}

// spread is the middle, the 99th of a hundred and the longest of the times, ms.
func spread(turns []taken) (p50, p99, most float64) {
	if len(turns) == 0 {
		return 0, 0, 0
	}
	took := make([]time.Duration, len(turns))
	for i, t := range turns {
		took[i] = t.took
	}
	slices.Sort(took)
	ms := func(i int) float64 { return float64(took[i]) / float64(time.Millisecond) }
	return ms(len(took) / 2), ms(len(took) * 99 / 100), ms(len(took) - 1)
}

// replay sends turns at a rate for some time, whether or not those before are answered
// yet; a turn's time counts from when it was due. With rate 0 each of the workers sends
// as soon as it was answered.
func (b *bench) replay(ctx context.Context, d crowd, rate float64, lasts time.Duration, workers int) (replayed, error) {
	var r replayed
	var mu sync.Mutex
	var failed atomic.Int64
	b.load.client.Transport = pool(workers)
	cpu := [3]time.Duration{cpuOf(b.program.Process.Pid), cpuOf(b.redis.Process.Pid), ownCPU()}
	cards := b.api.cards.Load()
	begun := time.Now()
	due := b.clock(ctx, begun, rate, lasts)
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			var mine []taken
			for at := range due {
				chat, text := d.next()
				_, err := b.load.turn(ctx, chat, text)
				d.done(chat, err == nil)
				if err != nil {
					failed.Add(1)
					mu.Lock()
					r.why = fmt.Errorf("%q: %w", text, err)
					mu.Unlock()
					continue
				}
				mine = append(mine, taken{at, time.Since(at)})
			}
			mu.Lock()
			r.turns = append(r.turns, mine...)
			mu.Unlock()
		})
	}
	all.Wait()
	if err := ctx.Err(); err != nil {
		return r, err
	}
	if len(r.turns) == 0 {
		return r, fmt.Errorf("no turn of %d was answered: %w", failed.Load(), r.why)
	}
	elapsed, n := time.Since(begun), time.Duration(len(r.turns))
	r.cards = b.api.cards.Load() - cards
	r.failed, r.rate = failed.Load(), float64(len(r.turns))/elapsed.Seconds()
	used := [3]time.Duration{cpuOf(b.program.Process.Pid) - cpu[0], cpuOf(b.redis.Process.Pid) - cpu[1], ownCPU() - cpu[2]}
	r.cpu, r.redisCPU = used[0]/n, used[1]/n
	for i, u := range used {
		r.busy[i] = u.Seconds() / elapsed.Seconds()
	}
	return r, nil
}

// clock says when each turn is due, and closes when the time is over.
func (b *bench) clock(ctx context.Context, begun time.Time, rate float64, lasts time.Duration) <-chan time.Time {
	due := make(chan time.Time)
	if rate > 0 {
		due = make(chan time.Time, int(rate*lasts.Seconds())+1)
	}
	go func() {
		defer close(due)
		for i := 0; ; i++ {
			at := time.Now()
			if rate > 0 {
				at = begun.Add(time.Duration(float64(i) / rate * float64(time.Second)))
				time.Sleep(time.Until(at)) // about a millisecond at the most
			}
			if at.Sub(begun) >= lasts {
				return
			}
			select {
			case due <- at:
			case <-ctx.Done():
				return
			}
		}
	}()
	return due
}
