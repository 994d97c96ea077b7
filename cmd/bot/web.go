package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"time"

	"sillbot/internal/engine"
	"sillbot/internal/tryit"
	"sillbot/locales"
)

// web plays the conversation in a page on a Redis inside the process.
func web(ctx context.Context, args []string, out, errs io.Writer) error {
	flags := flag.NewFlagSet("web", flag.ContinueOnError)
	flags.SetOutput(errs)
	port := flags.Int("port", 0, "port on 127.0.0.1; 0: any that is free")
	if err := flags.Parse(args); err != nil {
		return err
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
	at, err := tryit.Listen(*port)
	if err != nil {
		return err
	}
	trial := &tryit.Trial{Speaker: words, Painter: painter(words), Papers: papers(words, store), Now: time.Now, Passes: memory.FastForward}
	address, err := trial.Open(at)
	if err != nil {
		return err
	}
	quiet := slog.New(slog.NewTextHandler(errs, &slog.HandlerOptions{Level: slog.LevelError}))
	taker := engine.New(store, trial, engine.Options{Log: quiet, Rate: -1, Home: trial.Home})
	fmt.Fprintln(out, address)
	return trial.Serve(ctx, at, taker, quiet)
}
