package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/redis/go-redis/v9"

	"sillbot/internal/session"
)

const (
	firstUpdate = 700_000_000 // the platform's update ids have nine digits
	// blocks of chats are written at once; the loader's memory is a matter of these.
	block    = 50
	fillers  = 128
	sampling = 2000 // conversations, by which the rest is reckoned
)

// filler writes conversations into a Redis, as the program writes them: state, job and
// replies by the script of a turn, the marks of the turns before as docs/storage.md says.
type filler struct {
	store *session.Store
	rdb   redis.UniversalClient
	kinds []*kind
	of    []place // by chat
	// One of so many chats has a reply in its outbox that nobody has sent.
	oneWaits int
	waits    atomic.Int64 // how many have
}

// place is where a chat stands: of which kind it is, and how many answers of its last
// window it has given.
type place struct{ kind, stand uint8 }

// newFiller plays the kinds on a store, as if it were now.
func newFiller(ctx context.Context, store *session.Store, rdb redis.UniversalClient, kinds []*kind, now time.Time) (*filler, error) {
	f := &filler{store: store, rdb: rdb, kinds: kinds, oneWaits: 1000}
	for _, k := range f.kinds {
		if err := k.play(ctx, store, now); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// at is where a chat stands: its kind, and how many messages it has written.
func (f *filler) at(i int) (k *kind, messages int) {
	k = f.kinds[f.of[i].kind]
	return k, k.from + int(f.of[i].stand)
}

// fill adds conversations until there are n, the kinds mixed at random but always the
// same way.
func (f *filler) fill(ctx context.Context, n int) error {
	from := len(f.of)
	random := rand.New(rand.NewPCG(14, uint64(from)))
	for len(f.of) < n {
		in := random.IntN(100)
		kind := 0
		for in -= f.kinds[kind].share; in >= 0; in -= f.kinds[kind].share {
			kind++
		}
		f.of = append(f.of, place{uint8(kind), uint8(random.IntN(stands))})
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var next atomic.Int64
	next.Store(int64(from))
	var all sync.WaitGroup
	for range fillers {
		all.Go(func() {
			for ctx.Err() == nil {
				end := int(next.Add(block))
				if begin := end - block; begin >= n {
					return
				} else if err := f.block(ctx, begin, min(end, n)); err != nil {
					cancel(err)
				}
			}
		})
	}
	all.Wait()
	return context.Cause(ctx)
}

// block writes the chats from begin to end.
func (f *filler) block(ctx context.Context, begin, end int) error {
	now := float64(time.Now().Unix())
	_, err := f.rdb.Pipelined(ctx, func(p redis.Pipeliner) error {
		for i := begin; i < end; i++ {
			_, messages := f.at(i)
			marks := make([]redis.Z, messages-1) // the last turn is the script's
			for m := range marks {
				marks[m] = redis.Z{Score: now - (typing * time.Duration(messages-m)).Seconds(), Member: updateOf(i, m)}
			}
			if len(marks) > 0 {
				p.ZAdd(ctx, seenKey(firstChat+int64(i)), marks...)
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("writing marks: %w", err)
	}
	for i := begin; i < end; i++ {
		if err := f.commit(ctx, i); err != nil {
			return err
		}
	}
	return nil
}

// commit writes the last turn of a chat.
func (f *filler) commit(ctx context.Context, i int) error {
	k, messages := f.at(i)
	s, chat := k.stands[f.of[i].stand], firstChat+int64(i)
	t := session.Turn{Update: updateOf(i, messages-1), Key: session.Key{Chat: chat}, Data: k.under(chat, s.state)}
	if s.ref != "" {
		t.Job.Ref = s.ref
		for _, p := range s.parts {
			t.Job.Write = append(t.Job.Write, session.Part{Window: p.Window, Data: k.under(chat, p.Data)})
		}
	}
	if i%f.oneWaits == f.oneWaits-1 {
		t.Say = [][]byte{k.under(chat, s.reply)}
		f.waits.Add(1)
	}
	r, err := f.store.Commit(ctx, t)
	// Duplicate: the connection broke after the first try, which went through.
	if err == nil && r.Outcome != session.Committed && r.Outcome != session.Duplicate {
		err = fmt.Errorf("chat %d of %q was there already (%d)", i, k.name, r.Outcome)
	}
	return err
}

// updateOf is the id of a chat's update: the platform counts those of all chats.
func updateOf(chat, turn int) int64 { return firstUpdate + int64(chat)%100_000*2000 + int64(turn) }

// seenKey is the key of a chat's seen marks, and its others: see docs/storage.md.
func seenKey(chat int64) string { return keyOf("s", chat) }

func keyOf(kind string, chat int64) string {
	return "sb:{" + strconv.FormatInt(chat%1024, 10) + "}:" + kind + ":" + strconv.FormatInt(chat, 10)
}

// roomFor refuses to load what the machine can't hold. A conversation takes memory bytes
// in Redis, which may need as much again while it rewrites its file, and disk bytes in its
// file, of which there are two for a while. free are the machine's own, bytes.
func roomFor(n int, memory, disk, freeMemory, freeDisk int64) error {
	for _, c := range []struct {
		of         string
		need, have int64
	}{
		{"memory while Redis rewrites its file", 2 * memory, freeMemory},
		{"disk, for the file and its next", 2 * disk, freeDisk},
	} {
		if most := c.have * 9 / 10 / max(1, c.need); most < int64(n) {
			return fmt.Errorf("%d conversations need %.1f GB of %s, and of the %.1f GB that are free a tenth stays free: ask for %d at the most",
				n, float64(c.need)*float64(n)/1e9, c.of, float64(c.have)/1e9, most)
		}
	}
	return nil
}

// freeMemory is what the machine could give without swapping, bytes.
func freeMemory() (int64, error) {
	raw, err := os.ReadFile("/proc/meminfo")
	if err != nil {
		return 0, err
	}
	_, after, _ := strings.Cut(string(raw), "MemAvailable:")
	var kb int64
	if _, err := fmt.Sscan(after, &kb); err != nil {
		return 0, fmt.Errorf("/proc/meminfo: %w", err)
	}
	return kb * 1024, nil
}

func freeDisk(dir string) (int64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(dir, &s); err != nil {
		return 0, fmt.Errorf("free disk: %w", err)
	}
	return int64(s.Bavail) * int64(s.Bsize), nil
}
