package main

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
)

// size is what one program does at one number of conversations.
type size struct {
	chats        int
	resident     float64 // memory of the program, MB
	conversation float64 // memory of Redis, bytes a conversation
	// The work below is done in so many of the chats; 0: none was.
	in int
	figures
}

// sizes lets both programs grow and says what each of them costs.
func sizes(ctx context.Context, dir string, ours, bare []string, workers, most int) error {
	of, err := grow(ctx, dir, ours, workers, most)
	if err != nil {
		return err
	}
	than, err := grow(ctx, dir, bare, workers, most)
	if err != nil {
		return fmt.Errorf("bare: %w", err)
	}
	fmt.Printf("\nConversations as they come to be, each with its nation and date; then 10 000 answers and as many taken back, in a part of the chats:\n\n")
	fmt.Println("| conversations | memory of the program | memory of Redis, a conversation | in chats | turns a second | p99 | CPU of the program, a turn | CPU of Redis, a turn | bare bot: turns a second | CPU | CPU of Redis |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|---|")
	for i, s := range of {
		fmt.Printf("| %d | %.1f MB | %.0f bytes ", s.chats, s.resident, s.conversation)
		if s.in == 0 {
			fmt.Println("| | | | | | | | |")
			continue
		}
		b := than[i]
		fmt.Printf("| %d | %.0f | %d ms | %d µs | %d µs | %.0f | %d µs | %d µs |\n", s.in, s.rate, s.p99.Milliseconds(),
			s.cpu.Microseconds(), s.redisCPU.Microseconds(), b.rate, b.cpu.Microseconds(), b.redisCPU.Microseconds())
	}
	return nil
}

// grow adds conversations and measures the same work at every power of ten:
// first in a thousand of the chats, then in as many as there are answers, so
// that a program can't have any of them cached.
func grow(ctx context.Context, dir string, program []string, workers, most int) ([]size, error) {
	b, err := set(ctx, dir, program, workers)
	if err != nil {
		return nil, err
	}
	defer b.end()
	empty, err := b.usedMemory(ctx)
	if err != nil {
		return nil, err
	}
	var list []size
	have := 0
	for chats := 1; chats <= most; chats *= 10 {
		from := have
		if err := b.store.ConfigSet(ctx, "auto-aof-rewrite-percentage", "100").Err(); err != nil {
			return nil, err
		}
		err := b.load.send(ctx, chats-from, func(n int) (int, string) { return from + n, lines[0] })
		if err != nil {
			return nil, err
		}
		have = chats
		used, err := b.usedMemory(ctx)
		if err != nil {
			return nil, err
		}
		now := size{chats: chats, resident: residentOf(b.program.Process.Pid), conversation: float64(used-empty) / float64(chats)}
		if chats < few {
			list = append(list, now)
			continue
		}
		for _, now.in = range []int{few, many} {
			if now.in > chats {
				continue
			}
			if now.figures, err = b.toAndFro(ctx, now.in, chats/now.in); err != nil {
				return nil, err
			}
			list = append(list, now)
		}
	}
	return list, b.whole(ctx)
}

// In how many chats the work of toAndFro is done.
const (
	few  = 1000
	many = 10_000
)

// toAndFro answers a question in every step-th chat and takes the answer back,
// until there are 10 000 of each.
func (b *bench) toAndFro(ctx context.Context, chats, step int) (figures, error) {
	// Redis may be rewriting its file, or about to, which is not to be measured
	// here.
	if err := b.store.ConfigSet(ctx, "auto-aof-rewrite-percentage", "0").Err(); err != nil {
		return figures{}, err
	}
	if err := until(ctx, func() bool { return !b.rewriting(ctx) }); err != nil {
		return figures{}, err
	}
	return b.timed(func() error {
		for range many / chats {
			for _, text := range []string{"bare", "back"} {
				if err := b.load.send(ctx, chats, func(n int) (int, string) { return n * step, text }); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

// whole returns what a conversation takes in Redis after a whole survey.
func (b *bench) whole(ctx context.Context) error {
	var keys, bytes, longest int64
	it := b.store.Scan(ctx, 0, "sb:*:c:*", 1000).Iterator()
	for it.Next(ctx) && keys < 10_000 {
		n, err := b.store.StrLen(ctx, it.Val()).Result()
		if err != nil {
			return err
		}
		keys, bytes, longest = keys+1, bytes+n, max(longest, n)
	}
	if err := it.Err(); err != nil {
		return err
	}
	if keys == 0 {
		return nil // the bare bot's have another name
	}
	fmt.Printf("\nOf %d conversation records looked at: mean %d bytes, the longest %d bytes.\n", keys, bytes/keys, longest)
	return nil
}

func (b *bench) rewriting(ctx context.Context) bool {
	info, err := b.store.Info(ctx, "persistence").Result()
	return err != nil || strings.Contains(info, "aof_rewrite_in_progress:1") || strings.Contains(info, "aof_rewrite_scheduled:1")
}

func (b *bench) usedMemory(ctx context.Context) (int64, error) {
	info, err := b.store.Info(ctx, "memory").Result()
	if err != nil {
		return 0, err
	}
	_, after, _ := strings.Cut(info, "used_memory:")
	number, _, _ := strings.Cut(after, "\r")
	return strconv.ParseInt(number, 10, 64)
}

// residentOf is the resident memory of a process, MB.
func residentOf(pid int) float64 {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	_, after, _ := strings.Cut(string(raw), "VmRSS:")
	var kb float64
	fmt.Sscan(after, &kb)
	return kb / 1024
}
