package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"

	"sillbot/internal/session"
)

// plan is what -scale measures.
type plan struct {
	kinds   []*kind
	chats   int
	rate    float64 // turns a second at the most
	lasts   time.Duration
	workers int
	redis   []string // more options of redis-server
}

// scale loads a Redis with many conversations and says what they need, and what a day's
// turns among them take; it gives those turns.
func scale(ctx context.Context, dir string, program []string, p plan) (all replayed, err error) {
	// The file is rewritten when it is time to measure that.
	b := &bench{options: append([]string{"--auto-aof-rewrite-percentage", "0"}, p.redis...)}
	defer b.end()
	if _, err := b.serve(ctx, dir); err != nil {
		return all, err
	}
	store, err := session.Open(ctx, b.url())
	if err != nil {
		return all, err
	}
	defer store.Close()
	f, err := load(ctx, b, store, p)
	if err != nil {
		return all, err
	}
	if err := b.weigh(ctx, f); err != nil {
		return all, err
	}
	if err := b.rewriteAndStart(ctx, dir, store, program, p.workers); err != nil {
		return all, err
	}
	return b.day(ctx, f, p)
}

// load fills Redis, if the machine has room for it.
func load(ctx context.Context, b *bench, store *session.Store, p plan) (*filler, error) {
	f, err := newFiller(ctx, store, b.store, p.kinds, time.Now())
	if err != nil {
		return nil, err
	}
	before, err := b.info(ctx, "used_memory", "aof_current_size")
	if err != nil {
		return nil, err
	}
	begun := time.Now()
	if err := f.fill(ctx, min(sampling, p.chats)); err != nil {
		return nil, err
	}
	after, err := b.info(ctx, "used_memory", "aof_current_size")
	if err != nil {
		return nil, err
	}
	memory, err := freeMemory()
	if err != nil {
		return nil, err
	}
	disk, err := freeDisk(b.place)
	if err != nil {
		return nil, err
	}
	each := func(i int) int64 { return (after[i] - before[i]) / int64(min(sampling, p.chats)) }
	if err := roomFor(p.chats, each(0), each(1), memory, disk); err != nil {
		return nil, err
	}
	if err := f.fill(ctx, p.chats); err != nil {
		return nil, err
	}
	took := time.Since(begun)
	fmt.Printf("\n%d conversations of %d kinds written in %.1f s (%.0f a second), %d of them with a reply that waits; the loader takes %.0f MB.\n",
		p.chats, len(f.kinds), took.Seconds(), float64(p.chats)/took.Seconds(), f.waits.Load(), residentOf(os.Getpid()))
	return f, nil
}

// weighed is how many conversations of each kind are looked at.
const weighed = 200

// weigh says what the conversations take up.
func (b *bench) weigh(ctx context.Context, f *filler) error {
	now, err := b.info(ctx, "used_memory", "used_memory_rss", "aof_current_size")
	if err != nil {
		return err
	}
	n := float64(len(f.of))
	fmt.Printf("\n| in Redis | all | a conversation |\n|---|---|---|\n")
	for i, name := range []string{"used_memory", "resident", "append-only file, never rewritten"} {
		fmt.Printf("| %s | %.2f GB | %.0f bytes |\n", name, float64(now[i])/1e9, float64(now[i])/n)
	}
	fmt.Printf("\nBy kind, means over where they stand in their last window:\n\n| kind | of 100 | messages | conversation | seen marks | job | together, bytes |\n|---|---|---|---|---|---|---|\n")
	for kind, k := range f.kinds {
		var sum [3]int64
		seen := int64(0)
		for i := 0; i < len(f.of) && seen < weighed; i++ {
			if int(f.of[i].kind) != kind {
				continue
			}
			seen++
			for at, letter := range []string{"c", "s", "j"} {
				size, err := b.store.MemoryUsage(ctx, keyOf(letter, firstChat+int64(i)), 0).Result()
				if err != nil && !errors.Is(err, redis.Nil) { // not every chat has a job
					return err
				}
				sum[at] += size
			}
		}
		seen = max(1, seen)
		fmt.Printf("| %s | %d | %d | %d | %d | %d | %d |\n", k.name, k.share, k.from+stands/2,
			sum[0]/seen, sum[1]/seen, sum[2]/seen, (sum[0]+sum[1]+sum[2])/seen)
	}
	return nil
}

// rewriteAndStart measures what takes long with a full Redis: reading its file at the
// start, rewriting it, reading the new one; and the start of the program.
func (b *bench) rewriteAndStart(ctx context.Context, dir string, store *session.Store, program []string, workers int) error {
	asWritten, err := b.restart(ctx, dir)
	if err != nil {
		return err
	}
	r, err := b.rewrite(ctx)
	if err != nil {
		return err
	}
	rewritten, err := b.restart(ctx, dir)
	if err != nil {
		return err
	}
	fmt.Printf("\nRewriting the file with nobody writing: %s.\n", r)
	fmt.Printf("Redis answers after its start: %.1f s with the file as it was written, %.1f s with the one rewritten.\n", asWritten.Seconds(), rewritten.Seconds())
	begun := time.Now()
	waiting, err := store.Pending(ctx)
	if err != nil {
		return err
	}
	swept := time.Since(begun)
	begun = time.Now()
	if err := b.run(ctx, program, workers); err != nil {
		return err
	}
	ready := time.Since(begun)
	if err := until(ctx, func() bool {
		left, err := store.Pending(ctx)
		return err == nil && len(left) == 0
	}); err != nil {
		return fmt.Errorf("replies that waited were not sent: %w", err)
	}
	fmt.Printf("The program is ready %.2f s after its start, and has sent the %d replies that waited %.2f s after it; a look through the 1024 buckets takes %.0f ms.\n",
		ready.Seconds(), len(waiting), time.Since(begun).Seconds(), float64(swept.Microseconds())/1000)
	return nil
}

// restart kills Redis and starts it again on its files.
func (b *bench) restart(ctx context.Context, dir string) (time.Duration, error) {
	_ = b.redis.Process.Kill()
	_ = b.redis.Wait() // it says that it was killed
	return b.serve(ctx, dir)
}

// rewriting is one rewrite of the append-only file.
type rewriting struct {
	from, to time.Time
	copied   int64 // bytes of pages that were copied because somebody wrote to them
	resident int64 // of Redis and its child together, at the most, bytes
	size     int64 // of the file afterwards
}

func (r rewriting) String() string {
	return fmt.Sprintf("%.1f s, %.0f MB of pages copied, at most %.2f GB resident with the child's own, file %.2f GB",
		r.to.Sub(r.from).Seconds(), float64(r.copied)/1e6, float64(r.resident)/1e9, float64(r.size)/1e9)
}

func (b *bench) rewrite(ctx context.Context) (r rewriting, err error) {
	r.from = time.Now()
	if err := b.store.BgRewriteAOF(ctx).Err(); err != nil {
		return r, err
	}
	for {
		now, err := b.info(ctx, "aof_rewrite_in_progress", "used_memory_rss", "current_cow_peak", "aof_last_cow_size", "aof_current_size")
		if err != nil {
			return r, err
		}
		r.copied, r.resident = max(r.copied, now[2]), max(r.resident, now[1]+now[2])
		if now[0] == 0 {
			r.to, r.copied, r.size = time.Now(), max(r.copied, now[3]), now[4]
			return r, nil
		}
		select {
		case <-time.After(50 * time.Millisecond):
		case <-ctx.Done():
			return r, ctx.Err()
		}
	}
}

// steady is how much of the turns that go at the most are asked for over a longer time:
// the rest is for the rewrite of the file, which takes a core of what may be two.
const steady = 0.75

// day replays turns of all the chats: first as many as go, then at the rate asked for or
// as much of it as went, with a rewrite of the file in the middle.
func (b *bench) day(ctx context.Context, f *filler, p plan) (all replayed, err error) {
	d := newPeople(f, rand.Uint64())
	warm := min(p.lasts/4, 15*time.Second)
	if _, err := b.replay(ctx, d, 0, warm, p.workers); err != nil { // connections, scripts
		return all, err
	}
	most, err := b.replay(ctx, d, 0, warm, p.workers)
	if err != nil {
		return all, err
	}
	fmt.Printf("\nAs many turns as go, %d people who wait for each answer: %s.\n", p.workers, most)
	rate := min(p.rate, most.rate*steady)
	var during rewriting
	rewritten := make(chan error, 1)
	go func() {
		select {
		case <-time.After(p.lasts / 2):
		case <-ctx.Done():
		}
		var err error
		during, err = b.rewrite(ctx)
		rewritten <- err
	}()
	all, err = b.replay(ctx, d, rate, p.lasts, p.workers*16)
	if err != nil {
		return all, err
	}
	if err := <-rewritten; err != nil {
		return all, err
	}
	fmt.Printf("\n%.0f turns a second asked for, %s, chats at random among %d: %s.\n", rate, p.lasts, len(f.of), all)
	fmt.Printf("Meanwhile the file was rewritten: %s; %s.\n", during, all.apart(during.from, during.to))
	now, err := b.info(ctx, "used_memory", "used_memory_rss", "aof_current_size")
	if err != nil {
		return all, err
	}
	fmt.Printf("Afterwards: used_memory %.2f GB, resident %.2f GB, file %.2f GB; the program %.0f MB, the people and the messaging server %.0f MB. %s.\n",
		float64(now[0])/1e9, float64(now[1])/1e9, float64(now[2])/1e9, residentOf(b.program.Process.Pid), residentOf(os.Getpid()), machine())
	return all, nil
}

func (b *bench) url() string { return "redis://127.0.0.1:" + strconv.Itoa(b.port) }

// info is what Redis says of itself, by name.
func (b *bench) info(ctx context.Context, names ...string) ([]int64, error) {
	text, err := b.store.Info(ctx).Result()
	if err != nil {
		return nil, err
	}
	values := make([]int64, len(names))
	for i, name := range names {
		_, after, found := strings.Cut(text, "\n"+name+":")
		number, _, _ := strings.Cut(after, "\r")
		if values[i], err = strconv.ParseInt(number, 10, 64); err != nil || !found {
			return nil, fmt.Errorf("INFO has no number %s", name)
		}
	}
	return values, nil
}

// machine is what was measured on.
func machine() string {
	model := "not known"
	if raw, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		_, after, _ := strings.Cut(string(raw), "model name")
		after, _, _ = strings.Cut(strings.TrimLeft(after, "\t: "), "\n")
		model = after
	}
	version, _ := exec.Command("redis-server", "--version").Output() // for the reader only
	return fmt.Sprintf("%d cores (%s), %s, %s, %s", runtime.NumCPU(), model, strings.TrimSpace(strings.SplitN(string(version), " sha", 2)[0]),
		runtime.Version(), time.Now().UTC().Format("2006-01-02"))
}
