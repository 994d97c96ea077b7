package main

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
	"sillbot/internal/telegram/telegramtest"
)

const hookSecret = "hook-secret_not-a-secret"

// rig is a messaging server, a Redis and the program between them.
type rig struct {
	t       testing.TB
	server  *telegramtest.Server
	redis   *sessiontest.Server // nil: miniredis
	url     string              // of the Redis
	acks    string              // REDIS_ACKS
	crew    string              // CREW
	clock   time.Time           // by which people are reminded from the next start on; zero: the machine's
	sends   string              // SENDS_PER_SECOND; "": no limit, for people of most tests type faster than any
	address string              // the program listens there
	webhook bool

	mu    sync.Mutex
	p     *process
	kills []death // of the program
}

// death is a time within which the program died: from just before the signal
// until the server had seen the last of it, before its successor began.
type death struct{ from, to time.Time }

// newRig starts a messaging server and a Redis: a real one where the tests may
// have it, else one in this process, which is outside the program's all the
// same.
func newRig(t testing.TB, webhook bool) *rig {
	t.Helper()
	r := &rig{t: t, server: telegramtest.Start(t), webhook: webhook}
	if os.Getenv("SILLBOT_REAL_REDIS") != "" {
		r.redis = sessiontest.Start(t)
		r.url = r.redis.URL()
	} else {
		_, r.url = sessiontest.Mini(t)
	}
	r.address = fmt.Sprintf("127.0.0.1:%d", sessiontest.Port(t))
	return r
}

// env is the program's environment.
func (r *rig) env() map[string]string {
	env := map[string]string{
		"TELEGRAM_TOKEN": telegramtest.Token, "TELEGRAM_API": r.server.URL, "REDIS_URL": r.url,
		"REDIS_ACKS": r.acks, "CREW": r.crew, "LISTEN": r.address, "LOG_LEVEL": "debug",
		"SENDS_PER_SECOND": cmp.Or(r.sends, "0"),
	}
	if !r.clock.IsZero() {
		env[testClock] = r.clock.Format(time.RFC3339Nano)
	}
	if r.webhook {
		env["WEBHOOK_URL"], env["WEBHOOK_SECRET"] = "http://"+r.address+"/hook", hookSecret
	}
	return env
}

// start starts the program and waits until it takes updates.
func (r *rig) start(ctx context.Context) *process {
	r.t.Helper()
	r.mu.Lock()
	defer r.mu.Unlock()
	if n := len(r.kills); n > 0 {
		// What the dead one wrote may still be on its way to the server.
		require.NoError(r.t, r.wait(ctx, func() bool { return r.server.Connections() == 0 }))
		r.kills[n-1].to = time.Now()
	}
	p := launch(r.t, r.env(), "serve")
	require.NoError(r.t, p.ready(ctx), "%s", p.log)
	r.p = p
	return p
}

// kill ends the program as a power cut would, and notes when.
func (r *rig) kill() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.kills = append(r.kills, death{from: time.Now()})
	r.p.kill()
}

// survey is what one person types: a survey whose readings no other person of
// the test has, an answer changed, and a second survey begun. Every reply to
// it differs from the one before.
func survey(person int) []string {
	w, h := 1204+2*person, 1050+2*person
	diagonal := int(math.Sqrt(float64((w-1)*(w-1) + (h+1)*(h+1))))
	lines := []string{"/start", "England, today", "bare", "none", "white"}
	for _, mm := range []int{w, w - 2, w - 1, h, h + 2, h + 1, diagonal, diagonal + 1} {
		lines = append(lines, fmt.Sprint(mm))
	}
	return append(lines, "level", "left fixed", "evenly", "brick", "bedroom", "ground", "900", "1400", "no", "4-20-4", "no",
		"change middle width", fmt.Sprint(w-3), "summary", "new window", "check", "150", "timber")
}

// replies is what a person gets for what they type: the program is asked in
// the terminal, where nothing can go wrong on the way.
func replies(t testing.TB, lines []string) []string {
	t.Helper()
	var in, out bytes.Buffer
	for _, line := range lines {
		require.NoError(t, json.NewEncoder(&in).Encode(map[string]any{"chat": 1, "user": 1, "text": line}))
	}
	require.NoError(t, chat(within(t, 5*time.Minute), []string{"--json", "--cards", t.TempDir()}, &in, &out, io.Discard))
	var said []string
	decoder := json.NewDecoder(&out)
	for decoder.More() {
		var a answer
		require.NoError(t, decoder.Decode(&a))
		require.Empty(t, a.Error)
		said = append(said, strings.TrimSpace(a.Text))
	}
	for i := range said[1:] {
		require.NotEqual(t, said[i], said[i+1], "doubles could not be told from replies")
	}
	return said
}

// outcome is what came of a run.
type outcome struct {
	messages, faults int
	replies          int
	lost             int // replies that never came, so readings that did not count
	disorder         int // replies out of place
	joined           int // replies that went out with another one
	doubles          int
	repeats          int // messages that hold such doubles
	unexcused        int // doubles though the program could know
	took             time.Duration
}

// compare holds what was sent to a chat against what should have been.
func (r *rig) compare(chat int64, want []string, o *outcome) {
	sent := messages(r.server.Sent(chat))
	at := 0
	for i, m := range sent {
		from, to := joined(m.Text, want, at)
		switch {
		case at < len(want) && (m.Text == want[at] || strings.HasPrefix(m.Text, want[at]+"\n▸ ")): // the rules are folded under it
			at++
		case i > 0 && m.Text == sent[i-1].Text:
			o.doubles++
			o.repeats++
			if !r.excused(sent[i-1], m) {
				o.unexcused++
			}
		case to > at:
			o.joined += to - from - 1
			o.doubles += at - from
			if from < at {
				o.repeats++
			}
			if from < at && !r.excused(sent[i-1], m) {
				o.unexcused++
			}
			at = to
		default:
			o.disorder++
			r.t.Errorf("chat %d, message %d is out of place:\n%q\nwanted %q", chat, i, m.Text, want[min(at, len(want)-1)])
		}
	}
	o.replies += at
	o.lost += len(want) - at
}

// messages are those of what was sent that say something: no old buttons taken off.
func messages(sent []telegramtest.Sent) []telegramtest.Sent {
	return slices.DeleteFunc(sent, func(m telegramtest.Sent) bool { return m.Method == "editMessageReplyMarkup" })
}

var aToken = regexp.MustCompile(`(?:/start |start=)([A-Za-z0-9_-]{22,})`)

// copied waits for a link on a button that copies it, and gives its token.
func (r *rig) copied(ctx context.Context, chat int64) (token string) {
	r.t.Helper()
	require.NoError(r.t, r.server.Wait(ctx, func() bool {
		for _, m := range r.server.Sent(chat) {
			for _, b := range slices.Concat(m.Buttons...) {
				if found := aToken.FindStringSubmatch(b.Copy); found != nil {
					token = found[1]
				}
			}
		}
		return token != ""
	}))
	return token
}

// joined finds the replies from to before to that a message has as one, where at
// is the next one due: the first lines of each, in order, and the last one whole.
// When nobody knows whether what was sent arrived, those before at come again.
func joined(text string, want []string, at int) (from, to int) {
	for from = at; from >= max(0, at-mostJoined); from-- {
		for to = max(from+2, at+1); to <= min(len(want), from+mostJoined); to++ {
			if rest, ok := strings.CutSuffix(text, want[to-1]); ok && beginnings(lines(rest), want[from:to-1]) {
				return from, to
			}
		}
	}
	return at, at
}

// mostJoined is how many replies the engine reads at once.
const mostJoined = 16

// beginnings is whether lines are the first of each reply, one at least, and
// nothing else.
func beginnings(said []string, replies []string) bool {
	if len(replies) == 0 || len(said) == 0 {
		return len(replies) == len(said)
	}
	for n, line := range lines(replies[0]) {
		if n == len(said) || said[n] != line {
			return false
		}
		if beginnings(said[n+1:], replies[1:]) {
			return true
		}
	}
	return false
}

func lines(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return r == '\n' })
}

// excused says whether nobody could know that the first copy had arrived: the
// platform had not said so, or the program died between the two.
func (r *rig) excused(first, second telegramtest.Sent) bool {
	if !first.Answered {
		return true
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, d := range r.kills {
		if first.At.Before(d.to) && second.At.After(d.from) {
			return true
		}
	}
	return false
}

// Figures of the program's own, by name and labels.
func (r *rig) figures(ctx context.Context) map[string]float64 {
	all := map[string]float64{}
	status, text := get(ctx, "http://"+r.address+"/metrics")
	if status != 200 {
		return all
	}
	for line := range strings.Lines(text) {
		var value float64
		name, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		if _, err := fmt.Sscan(rest, &value); err == nil && !strings.HasPrefix(line, "#") {
			all[name] = value
		}
	}
	return all
}

// people type their surveys at once, each in a chat of their own, and go on
// when the reply came or they grow tired of waiting. It returns when all that
// they sent was taken.
func (r *rig) people(ctx context.Context, scripts map[int64][]string, tired time.Duration, typing func(chat int64, text string)) error {
	var all sync.WaitGroup
	for chat, lines := range scripts {
		all.Go(func() {
			for _, line := range lines {
				before := len(r.server.Sent(chat))
				typing(chat, line)
				wait, cancel := context.WithTimeout(ctx, tired)
				_, _ = r.server.WaitSent(wait, chat, before+1) // most lines have one reply
				cancel()
			}
		})
	}
	all.Wait()
	return r.wait(ctx, func() bool { return r.server.Pending() == 0 })
}

// wait is the server's Wait for as long as ctx lasts.
func (r *rig) wait(ctx context.Context, done func() bool) error {
	for {
		err := r.server.Wait(ctx, done)
		if err == nil || ctx.Err() != nil {
			return err
		}
	}
}

// crowd is so many people with their scripts and the replies due to them.
func crowd(t testing.TB, n int) (scripts, want map[int64][]string) {
	due.Lock()
	defer due.Unlock()
	scripts, want = map[int64][]string{}, map[int64][]string{}
	for i := range n {
		if i == len(due.replies) {
			due.replies = append(due.replies, replies(t, survey(i)))
		}
		id := sessiontest.Chat()
		scripts[id], want[id] = survey(i), due.replies[i]
	}
	return scripts, want
}

// due holds the replies to each person's survey.
var due struct {
	sync.Mutex
	replies [][]string
}

// settled waits until every chat has all that is due to it, and compares.
func (r *rig) settled(ctx context.Context, want map[int64][]string) outcome {
	var o outcome
	// Doubles make the count too large too early; the last reply is the one to
	// wait for.
	_ = r.wait(ctx, func() bool {
		for chat, list := range want {
			sent := messages(r.server.Sent(chat))
			if len(sent) == 0 || !strings.HasSuffix(sent[len(sent)-1].Text, list[len(list)-1]) {
				return false
			}
		}
		return true
	})
	for chat := range maps.Keys(want) {
		r.compare(chat, want[chat], &o)
	}
	return o
}
