package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"time"

	"sillbot/internal/engine"
	"sillbot/internal/session"
	"sillbot/internal/telegram"
)

// What the doctor takes for too much or too little. Common practice, no source.
const (
	mostClock   = 2 * time.Second  // between this machine and Redis
	mostOutside = 30 * time.Second // and the platform, whose answer has whole seconds
	mostUsed    = 0.8              // of the memory that Redis may use
	leastFree   = 1 << 30          // bytes of a disk
	mostDead    = 100              // updates that could not be read
	lastFailure = 15 * time.Minute // since the platform could not bring an update
	mostPending = 100              // updates that the platform holds
)

// patient prints one line a check: ok, mended, unknown or wrong, what it is about, and
// what to do.
type patient struct {
	out   io.Writer
	mend  bool
	wrong int
}

func (p *patient) say(state, about, text string, args ...any) {
	if state == "wrong" {
		p.wrong++
	}
	fmt.Fprintf(p.out, "%-8s%s: %s\n", state, about, fmt.Sprintf(text, args...))
}

// ill says wrong with what to do when it is so, else ok.
func (p *patient) ill(wrong bool, about, found, help string) {
	if wrong {
		p.say("wrong", about, "%s. %s", found, help)
		return
	}
	p.say("ok", about, "%s", found)
}

// doctor looks at all that serve needs, and mends with --mend what can be mended while
// the program runs. The error says how much is wrong.
func doctor(ctx context.Context, args []string, get func(string) string, out, errs io.Writer) error {
	flags := flag.NewFlagSet("doctor", flag.ContinueOnError)
	flags.SetOutput(errs)
	p := &patient{out: out}
	flags.BoolVar(&p.mend, "mend", false, "mend what can be mended while the program runs")
	if err := flags.Parse(args); err != nil {
		return err
	}
	c, err := environment(get)
	if err != nil {
		p.say("wrong", "settings", "%s", err)
	} else {
		p.say("ok", "settings", "set are %s", strings.Join(namesSet(get), ", "))
	}
	if c.redis != "" {
		p.database(ctx, c)
	}
	p.disk("folder for temporary files", os.TempDir())
	if c.telegram.Token != "" {
		p.platform(ctx, c)
	}
	if p.wrong > 0 {
		return fmt.Errorf("things that are wrong: %d", p.wrong)
	}
	return nil
}

// namesSet are the variables that are set, without what they are set to.
func namesSet(get func(string) string) (set []string) {
	for _, name := range []string{
		"TELEGRAM_TOKEN", "TELEGRAM_TOKEN_FILE", "TELEGRAM_API", "REDIS_URL", "REDIS_ACKS", "WEBHOOK_URL",
		"WEBHOOK_SECRET", "WEBHOOK_SECRET_FILE", "WEBHOOK_CONNECTIONS", "LISTEN", "LISTEN_OPS", "LOG_LEVEL", "CREW", "SENDS_PER_SECOND",
	} {
		if get(name) != "" {
			set = append(set, name)
		}
	}
	return set
}

// database looks at Redis and what is in it.
func (p *patient) database(ctx context.Context, c config) {
	opening, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	store, err := session.OpenAcked(opening, c.redis, c.acks)
	if err != nil {
		p.say("wrong", "Redis", "%s. Start it, or mend REDIS_URL; nothing in it could be looked at", err)
		return
	}
	defer store.Close()
	p.say("ok", "Redis", "answers")
	if err := store.Whole(ctx); err != nil {
		p.say("wrong", "restore", "%s", err)
	}
	for _, warning := range store.Warnings {
		p.say("wrong", "settings of Redis", "%s Set it in redis.conf and by CONFIG SET", warning)
	}
	if len(store.Warnings) == 0 {
		p.say("ok", "settings of Redis", "appendonly, appendfsync and maxmemory-policy are as they must be")
	}
	nodes, err := store.Nodes(ctx)
	if err != nil {
		p.say("wrong", "servers of Redis", "%s", err)
	}
	for _, n := range nodes {
		p.node(n)
	}
	p.records(ctx, store)
}

func (p *patient) node(n session.Node) {
	used := fmt.Sprintf("%d MB used, no bound set", n.Used>>20)
	if n.Most > 0 {
		used = fmt.Sprintf("%d of %d MB used", n.Used>>20, n.Most>>20)
	}
	p.ill(n.Most > 0 && float64(n.Used) > mostUsed*float64(n.Most), "memory of "+n.String(), used,
		"Give it more before it is full: then it takes no turns")
	p.ill(n.Ahead.Abs() > mostClock, "clock of "+n.String(), fmt.Sprintf("%v from this machine's", n.Ahead.Round(time.Millisecond)),
		"Set both by a time server")
	if _, err := os.Stat(n.Folder); n.Folder == "" || err != nil {
		p.say("unknown", "disk of "+n.String(), "it is on another machine, or does not say where its files are: look there")
		return
	}
	p.disk("disk of "+n.String(), n.Folder)
}

func (p *patient) disk(about, folder string) {
	free, err := freeOf(folder)
	if err != nil {
		p.say("unknown", about, "how much is free can't be told here")
		return
	}
	p.ill(free < leastFree, about, fmt.Sprintf("%d MB free", free>>20), "Make room before it is full")
}

// records looks at what is stored, and mends.
func (p *patient) records(ctx context.Context, store *session.Store) {
	f, err := store.Look(ctx, engine.CheckRecord)
	if err != nil {
		p.say("wrong", "records", "could not be looked through: %s", err)
		return
	}
	kinds := map[string]int{}
	for _, o := range f.Odd {
		kinds[o.What]++
	}
	found := fmt.Sprintf("leases that stand ahead %d, entries with nothing waiting %d, waiting without an entry %d", kinds["ahead"], kinds["empty"], kinds["missing"])
	n := 0
	if p.mend {
		n, err = store.MendIndex(ctx, f)
	}
	switch {
	case err != nil:
		p.say("wrong", "what waits to be sent", "%s; mending failed: %s", found, err)
	case n > 0:
		p.say("mended", "what waits to be sent", "%s; %d put right", found, n)
	default:
		p.ill(len(f.Odd) > 0 && !p.mend, "what waits to be sent", found, "bot doctor --mend puts it right")
	}
	p.unread(f)
	p.aside(ctx, store, f)
	dead := "none"
	if f.Dead > 0 {
		dead = fmt.Sprintf("%d, the oldest of %s", f.Dead, f.DeadSince.UTC().Format("2 Jan 15:04 MST"))
	}
	p.ill(f.Dead > mostDead, "updates that could not be read", dead, "Something sends what the platform does not; see sb:{dead}:d. They go after 14 days")
}

func (p *patient) unread(f session.Findings) {
	newer, broken := 0, 0
	for _, r := range f.Unread {
		if errors.Is(r.Err, session.ErrNewer) {
			newer++
		} else {
			broken++
		}
	}
	p.ill(newer > 0, "records of a newer version", fmt.Sprint(newer), "Start the newer version again. Until then people are told, and can begin anew")
	p.ill(broken > 0, "damaged records", fmt.Sprint(broken), "People are told, and can begin anew, which sets them aside. A backup of before has them whole")
}

// aside looks at what was set aside, and puts back what can be.
func (p *patient) aside(ctx context.Context, store *session.Store, f session.Findings) {
	found := fmt.Sprintf("%d, of which this version can read %d", f.Aside, f.Readable)
	if !p.mend || f.Readable == 0 {
		p.ill(f.Readable > 0 && !p.mend, "records set aside", found, "bot doctor --mend puts back what nothing was begun in place of")
		return
	}
	back, stays, err := store.PutBack(ctx, f, engine.CheckRecord, engine.GoesLate)
	switch {
	case err != nil:
		p.say("wrong", "records set aside", "%s; putting back failed after %d: %s", found, back, err)
	case back > 0:
		p.say("mended", "records set aside", "%s; %d put back, %d stay because something was begun since or they come too late", found, back, stays)
	default:
		p.say("ok", "records set aside", "%s; all stay because something was begun since or they come too late", found)
	}
}

// platform looks at the way to and from the messaging platform.
func (p *patient) platform(ctx context.Context, c config) {
	ctx, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	client, err := telegram.New(c.telegram)
	if err != nil {
		p.say("wrong", "platform", "%s", err)
		return
	}
	r, err := client.Reach(ctx)
	if err != nil {
		p.say("wrong", "platform", "%s. Look at the network and at TELEGRAM_TOKEN", err)
		return
	}
	webhook := c.telegram.WebhookURL != ""
	switch {
	case r.Elsewhere && webhook:
		p.say("wrong", "webhook", "the platform brings updates to another address, or none. bot serve sets it at its start; is another program using the token?")
	case r.Elsewhere:
		p.say("wrong", "webhook", "one is set though WEBHOOK_URL is not, so polling gets nothing. bot serve takes it away at its start; is another program using the token?")
	default:
		p.say("ok", "webhook", "%s", map[bool]string{true: "is the configured one", false: "none is set: polling"}[webhook])
	}
	if webhook {
		last := "never failed that it knows"
		if !r.Failed.IsZero() {
			last = fmt.Sprintf("failed last at %s (%s)", r.Failed.UTC().Format("2 Jan 15:04 MST"), r.Kind)
		}
		p.ill(time.Since(r.Failed) < lastFailure, "bringing of updates", last, "docs/operation.md says what each word means")
	}
	p.ill(r.Pending > mostPending, "updates that the platform holds", fmt.Sprint(r.Pending), "Does bot serve run and answer?")
	p.outside(ctx, c)
}

// outside compares the clock with that of the platform's answers.
func (p *patient) outside(ctx context.Context, c config) {
	base := c.telegram.API
	if base == "" {
		base = telegram.DefaultAPI
	}
	const about = "clock of the platform"
	request, err := http.NewRequestWithContext(ctx, http.MethodHead, base, nil)
	if err != nil {
		p.say("unknown", about, "TELEGRAM_API is no address")
		return
	}
	answer, err := http.DefaultTransport.RoundTrip(request)
	if err != nil {
		p.say("unknown", about, "it gave no time")
		return
	}
	answer.Body.Close()
	at, err := http.ParseTime(answer.Header.Get("Date"))
	if err != nil {
		p.say("unknown", about, "it gave no time")
		return
	}
	ahead := time.Until(at)
	p.ill(ahead.Abs() > mostOutside, about, fmt.Sprintf("%v from this machine's", ahead.Round(time.Second)), "Set this machine's by a time server: links and days go by it")
}
