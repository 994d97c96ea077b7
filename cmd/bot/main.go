// Bot takes the readings of window openings by chat and answers with the
// order size, the fixings, the packers, the glass blocks and the warnings.
//
//	bot              a conversation in the terminal, nothing kept
//	bot chat --json  the same for programs, one JSON object a line
//	bot web          the same in a page of a browser on this machine
//	bot serve        the messaging platform and Redis, set by the environment
//	bot ready        asks a bot serve with this environment whether it is ready
//	bot plan FILE    openings in a file (- for standard input), plans out
//	bot rules        which edition of which rule is known, from when to when
//	bot doctor       looks at all that serve needs; --mend mends
//	bot backup FILE  all that the database holds, while the bot runs
//	bot restore FILE the same into an empty database
//
// See docs/operation.md for the environment of serve.
package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"strings"
	"syscall"
	"time"
	_ "time/tzdata" // the static image has no zones of its own

	"sillbot/internal/engine"
	"sillbot/internal/phrase"
	"sillbot/internal/terminal"
	"sillbot/locales"
)

func main() {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) { // the terminal's window was closed
		signals = append(signals, syscall.SIGHUP)
	}
	ctx, stop := signal.NotifyContext(context.Background(), signals...)
	err := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	leaving := ctx.Err() != nil && errors.Is(err, context.Canceled)
	stop()
	if err != nil && !leaving && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, "bot:", err)
		os.Exit(1)
	}
}

const usage = `usage: bot [chat [--json] [--cards DIR] | web [--port PORT] | serve | ready | plan [--text] [--job] [--card DIR] [--sheet FILE] FILE | plan --schema | plan --order-schema | rules [--until YEAR|DAY] | doctor [--mend] | backup FILE | restore FILE]

Without a subcommand: serve when TELEGRAM_TOKEN is set, else chat.
`

// run is the program, with everything it touches from outside passed in.
func run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) error {
	// The heap is a few megabytes: collecting it at four times that, not
	// twice, costs little memory and saves more than half the work of a plan.
	if os.Getenv("GOGC") == "" {
		defer debug.SetGCPercent(debug.SetGCPercent(300))
	}
	name := "chat"
	if os.Getenv("TELEGRAM_TOKEN") != "" {
		name = "serve"
	}
	if len(args) > 0 && args[0] != "" && args[0][0] != '-' {
		name, args = args[0], args[1:]
	}
	switch name {
	case "chat":
		return chat(ctx, args, in, out, errs)
	case "web":
		return web(ctx, args, out, errs)
	case "serve":
		return serve(ctx, os.Getenv, errs)
	case "ready":
		return askReady(ctx, os.Getenv, out)
	case "plan":
		return planFile(ctx, args, in, out, errs)
	case "doctor":
		return doctor(ctx, args, os.Getenv, out, errs)
	case "backup":
		return backup(ctx, args, os.Getenv, out, errs)
	case "restore":
		return restore(ctx, args, os.Getenv, out, errs)
	case "rules":
		return printRules(args, time.Now(), out, errs)
	}
	fmt.Fprint(errs, usage)
	return fmt.Errorf("unknown subcommand %q", name)
}

// chat plays the conversation in the terminal on a Redis inside the process.
func chat(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) error {
	flags := flag.NewFlagSet("chat", flag.ContinueOnError)
	flags.SetOutput(errs)
	asJSON := flags.Bool("json", false, "one JSON object a line, in and out")
	// A name that nobody else on the machine can have created before.
	folder := filepath.Join(os.TempDir(), "sillbot-cards-"+strings.ToLower(rand.Text()))
	cards := flags.String("cards", folder, "folder for card pictures")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *cards == folder {
		defer os.RemoveAll(folder) // nothing is kept of a trial
	}
	words, err := locales.Load()
	if err != nil {
		return err
	}
	memory, store, err := inMemory(ctx)
	if err != nil {
		return err
	}
	defer memory.Close()
	defer store.Close()
	if !*asJSON {
		fmt.Fprintln(out, words.Plain(locales.Default, phrase.Of("terminal.unkept")))
	}
	screen := &terminal.Chat{Out: out, JSON: *asJSON, Folder: *cards, Speaker: words, Painter: painter(words), Papers: papers(words, store), Now: time.Now}
	quiet := slog.New(slog.NewTextHandler(errs, &slog.HandlerOptions{Level: slog.LevelError}))
	taker := engine.New(store, screen, engine.Options{Log: quiet, Rate: -1})
	return screen.Run(ctx, in, taker)
}
