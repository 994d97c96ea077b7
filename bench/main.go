// Bench measures the whole program against a bare bot on the same library,
// machine and Redis, which does one GET, one SET and one sendMessage for each
// message. Run it from the top of the tree:
//
//	go run ./bench            the ratio, memory and cost at up to 100 000 chats
//	go run ./bench -quick     the ratio alone, from fewer messages
//	go run ./bench -against ../before    the same beside the program of another tree
//
//	go run ./bench -scale 1000000    what a million conversations need, and a day's turns of them
//	go run ./bench -sends            what the platform lets a bot send: a model
//
// It starts a redis-server and a messaging server of its own on loopback,
// talks to nothing else, and ends by itself: the number of messages is fixed,
// and -limit bounds the time. It prints tables in Markdown.
package main

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

const (
	token  = "4242:bench-token_not-a-secret"
	secret = "bench-secret_not-a-secret"
)

func main() {
	if len(os.Args) > 1 && os.Args[1] == "bare" {
		fail(bare())
		return
	}
	quick := flag.Bool("quick", false, "the ratio alone, from fewer messages")
	chats := flag.Int("chats", 400, "chats of a round")
	rounds := flag.Int("rounds", 9, "rounds of each program, by turns")
	workers := flag.Int("workers", 32, "messages under way at once")
	most := flag.Int("most", 100_000, "chats at the end")
	limit := flag.Duration("limit", 20*time.Minute, "give up after this long")
	program := flag.String("bot", "", "the program; empty: it is built")
	against := flag.String("against", "", "a third one to compare with: the program of another commit, or that commit's tree, of which it is built")
	many := flag.Int("scale", 0, "load so many conversations, and measure with them")
	rate := flag.Float64("rate", 2300, "with -scale: turns a second, as far as the machine holds them")
	lasts := flag.Duration("for", 5*time.Minute, "with -scale: how long turns are replayed")
	options := flag.String("redis", "", "with -scale: more options of redis-server, as on its command line")
	newcomers := flag.Float64("strict", 0, "so many people a second write, for as long as -for says, to a platform that takes only 30")
	model := flag.Bool("sends", false, "the model of the platform's limits alone")
	flag.Parse()
	if *model {
		sends(os.Stdout)
		return
	}
	if *quick {
		*rounds, *most = 3, 0
	}
	ctx, cancel := context.WithTimeout(context.Background(), *limit)
	defer cancel()
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt)
	defer stop()
	if *many > 0 {
		fail(inFolder(ctx, *program, func(dir string, program []string) error {
			_, err := scale(ctx, dir, program, plan{kinds: kinds(), chats: *many, rate: *rate, lasts: *lasts, workers: *workers, redis: strings.Fields(*options)})
			return err
		}))
		return
	}
	if *newcomers > 0 {
		fail(inFolder(ctx, *program, func(dir string, program []string) error {
			_, _, err := strict(ctx, dir, program, *newcomers, *lasts)
			return err
		}))
		return
	}
	fail(inFolder(ctx, *program, func(dir string, program []string) error {
		other, err := built(ctx, *against, filepath.Join(dir, "other"))
		if err != nil {
			return err
		}
		return measure(ctx, dir, program, other, *chats, *rounds, *workers, *most)
	}))
}

func fail(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

// inFolder measures with a folder that is removed afterwards, and the program, which is
// built from the tree unless there is one.
func inFolder(ctx context.Context, program string, do func(dir string, program []string) error) error {
	dir, err := os.MkdirTemp("", "sillbot-bench")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if program == "" {
		if program, err = built(ctx, ".", filepath.Join(dir, "bot")); err != nil {
			return err
		}
	}
	fmt.Printf("Load of the machine before: %s\n", busyness())
	err = do(dir, []string{program, "serve"})
	fmt.Printf("\nLoad of the machine after: %s\n", busyness())
	return err
}

// built is the program of a tree, built as to; a program is taken as it is, "" is none.
func built(ctx context.Context, from, to string) (string, error) {
	if info, err := os.Stat(from); from == "" || err == nil && !info.IsDir() {
		return from, nil
	}
	build := exec.CommandContext(ctx, "go", "build", "-o", to, "sillbot/cmd/bot")
	build.Dir = from
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("building the program of %s: %w\n%s", from, err, out)
	}
	return to, nil
}

func measure(ctx context.Context, dir string, program []string, other string, chats, rounds, workers, most int) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	bare := []string{self, "bare"}
	list := []contestant{{name: "bare bot", command: bare}, {name: "whole program", command: program}}
	if other != "" {
		list = append(list, contestant{name: "the other program", command: []string{other, "serve"}})
	}
	if err := compare(ctx, dir, list, chats, rounds, workers); err != nil {
		return err
	}
	if most > 0 {
		err = sizes(ctx, dir, program, bare, workers, most)
	}
	return err
}

func busyness() string {
	raw, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return "not known"
	}
	return strings.Join(strings.Fields(string(raw))[:3], " ")
}

// bench is a program under test with the servers that it needs.
type bench struct {
	place   string // of Redis' files
	port    int    // of Redis
	options []string
	redis   *exec.Cmd
	store   *redis.Client
	api     *platform
	program *exec.Cmd
	ops     string // the program's address for operators
	load    *loader
	sends   string // that the program takes the platform to take a second
}

// set starts a fresh Redis, a messaging server and the program.
func set(ctx context.Context, dir string, program []string, workers int) (b *bench, err error) {
	return paced(ctx, dir, program, workers, "0")
}

// paced is set with a program that keeps to so many messages a second; "0": any number.
func paced(ctx context.Context, dir string, program []string, workers int, sends string) (b *bench, err error) {
	b = &bench{sends: sends}
	defer func() {
		if err != nil {
			b.end()
		}
	}()
	if _, err := b.serve(ctx, dir); err != nil {
		return b, err
	}
	return b, b.run(ctx, program, workers)
}

// serve starts Redis, a fresh one the first time and with what its files hold later,
// and says how long it took to answer.
func (b *bench) serve(ctx context.Context, dir string) (took time.Duration, err error) {
	if b.place == "" {
		if b.place, err = os.MkdirTemp(dir, "redis"); err != nil {
			return 0, err
		}
		if b.port, err = freePort(); err != nil {
			return 0, err
		}
		b.store = redis.NewClient(&redis.Options{Addr: fmt.Sprintf("127.0.0.1:%d", b.port)})
	}
	options := append([]string{"--port", strconv.Itoa(b.port), "--bind", "127.0.0.1", "--dir", b.place,
		"--save", "", "--appendonly", "yes", "--appendfsync", "always", "--maxmemory-policy", "noeviction"}, b.options...)
	b.redis = exec.CommandContext(ctx, "redis-server", options...)
	begun := time.Now()
	if err := b.redis.Start(); err != nil {
		return 0, fmt.Errorf("starting redis-server: %w", err)
	}
	if err := until(ctx, func() bool { return b.store.Ping(ctx).Err() == nil }); err != nil {
		return 0, fmt.Errorf("redis-server: %w", err)
	}
	return time.Since(begun), nil
}

// run starts a messaging server and the program.
func (b *bench) run(ctx context.Context, program []string, workers int) (err error) {
	if b.api, err = newPlatform(); err != nil {
		return err
	}
	hook, err := freePort()
	if err != nil {
		return err
	}
	ops, err := freePort()
	if err != nil {
		return err
	}
	address := fmt.Sprintf("127.0.0.1:%d", hook)
	b.ops = fmt.Sprintf("127.0.0.1:%d", ops)
	b.program = exec.CommandContext(ctx, program[0], program[1:]...)
	b.program.Env = []string{
		"PATH=" + os.Getenv("PATH"), "TELEGRAM_TOKEN=" + token, "TELEGRAM_API=" + b.api.url,
		fmt.Sprintf("REDIS_URL=redis://127.0.0.1:%d", b.port), "WEBHOOK_URL=http://" + address + "/hook",
		"WEBHOOK_SECRET=" + secret, "LISTEN=" + address, "LISTEN_OPS=" + b.ops, "LOG_LEVEL=warn", "CREW=off",
		"SENDS_PER_SECOND=" + cmp.Or(b.sends, "0"),
	}
	b.program.Stderr = os.Stderr
	if err := b.program.Start(); err != nil {
		return err
	}
	b.load = newLoader("http://"+address+"/hook", b.api, workers)
	if err := until(ctx, func() bool { return b.ready(ctx) }); err != nil {
		return fmt.Errorf("the program did not become ready: %w", err)
	}
	return nil
}

// ready is whether the program says that it is: at its address for operators, or, as the
// programs did that had none, at that of its webhook.
func (b *bench) ready(ctx context.Context) bool {
	hook, _, _ := strings.Cut(strings.TrimPrefix(b.load.hook, "http://"), "/")
	return slices.ContainsFunc([]string{b.ops, hook}, func(address string) bool {
		req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+address+"/readyz", nil)
		if err != nil {
			return false
		}
		resp, err := http.DefaultClient.Do(req)
		if err != nil {
			return false
		}
		resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	})
}

func (b *bench) end() {
	if b.program != nil && b.program.Process != nil {
		_ = b.program.Process.Kill() // it may be gone
		_ = b.program.Wait()
	}
	if b.store != nil {
		b.store.Close()
	}
	if b.redis != nil && b.redis.Process != nil {
		_ = b.redis.Process.Kill()
		_ = b.redis.Wait()
	}
	if b.api != nil {
		b.api.server.Close()
	}
}

func until(ctx context.Context, done func() bool) error {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Minute)
	defer cancel()
	for !done() {
		select {
		case <-time.After(20 * time.Millisecond):
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

func freePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}

// figures are of one round.
type figures struct {
	rate     float64 // turns a second
	p50, p99 time.Duration
	cpu      time.Duration // of the program, a turn
	redisCPU time.Duration // of its Redis, a turn
	bytes    float64       // in Redis, a conversation after the survey
}

func round(ctx context.Context, dir string, command []string, chats, workers int) (figures, error) {
	b, err := set(ctx, dir, command, workers)
	if err != nil {
		return figures{}, err
	}
	defer b.end()
	// Warm up connections, scripts and pages: the first tenth does not count.
	warm := max(1, chats/10)
	for i := range lines {
		if err := b.load.send(ctx, warm, func(n int) (int, string) { return n, lines[i] }); err != nil {
			return figures{}, err
		}
	}
	f, err := b.timed(func() error {
		for i := range lines {
			if err := b.load.send(ctx, chats-warm, func(n int) (int, string) { return warm + n, lines[i] }); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return f, err
	}
	total, err := b.allKeys(ctx)
	f.bytes = float64(total) / float64(chats)
	return f, err
}

// allKeys is what all keys take up in Redis, bytes.
func (b *bench) allKeys(ctx context.Context) (int64, error) {
	var sum int64
	it := b.store.Scan(ctx, 0, "*", 1000).Iterator()
	for it.Next(ctx) {
		n, err := b.store.MemoryUsage(ctx, it.Val()).Result()
		if err != nil && !errors.Is(err, redis.Nil) {
			return 0, err
		}
		sum += n
	}
	return sum, it.Err()
}

// timed gives the figures of what do sends.
func (b *bench) timed(do func() error) (figures, error) {
	b.load.took = b.load.took[:0]
	cpu, redisCPU := cpuOf(b.program.Process.Pid), cpuOf(b.redis.Process.Pid)
	begun := time.Now()
	if err := do(); err != nil {
		return figures{}, err
	}
	elapsed := time.Since(begun)
	took := slices.Sorted(slices.Values(b.load.took))
	n := len(took)
	return figures{
		rate: float64(n) / elapsed.Seconds(), p50: took[n/2], p99: took[n*99/100],
		cpu:      (cpuOf(b.program.Process.Pid) - cpu) / time.Duration(n),
		redisCPU: (cpuOf(b.redis.Process.Pid) - redisCPU) / time.Duration(n),
	}, nil
}

// ownCPU is the time that this process has had.
func ownCPU() time.Duration { return cpuOf(os.Getpid()) }

// cpuOf is the time that a process has had, to 10 ms.
func cpuOf(pid int) time.Duration {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0
	}
	_, after, _ := strings.Cut(string(raw), ") ")
	fields := strings.Fields(after)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.Atoi(fields[11])
	system, _ := strconv.Atoi(fields[12])
	return time.Duration(user+system) * 10 * time.Millisecond
}
