package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"sillbot/internal/engine"
	"sillbot/internal/session"
)

// fileAndDatabase is the one file that a subcommand is given, and what REDIS_URL names,
// opened.
func fileAndDatabase(ctx context.Context, name string, args []string, get func(string) string, errs io.Writer) (string, *session.Store, error) {
	flags := flag.NewFlagSet(name, flag.ContinueOnError)
	flags.SetOutput(errs)
	if err := flags.Parse(args); err != nil {
		return "", nil, err
	}
	if flags.NArg() != 1 {
		return "", nil, fmt.Errorf("usage: bot %s FILE", name)
	}
	url := get("REDIS_URL")
	if url == "" {
		return "", nil, errors.New("REDIS_URL is not set")
	}
	store, err := session.Open(ctx, url)
	return flags.Arg(0), store, err
}

// backup writes all that the database holds to a file.
func backup(ctx context.Context, args []string, get func(string) string, out, errs io.Writer) error {
	file, store, err := fileAndDatabase(ctx, "backup", args, get, errs)
	if err != nil {
		return err
	}
	defer store.Close()
	c, err := store.Backup(ctx, file, engine.CheckRecord)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s: %d bytes from %s, read again to the end.\n", file, c.Bytes, servers(c.Masters))
	printContents(out, c)
	return nil
}

// restore writes a backup into an empty database.
func restore(ctx context.Context, args []string, get func(string) string, out, errs io.Writer) error {
	file, store, err := fileAndDatabase(ctx, "restore", args, get, errs)
	if err != nil {
		return err
	}
	defer store.Close()
	r, err := store.Restore(ctx, file, engine.CheckRecord)
	if err != nil {
		return fmt.Errorf("%w\nThe database is not in use before a restore has ended", err)
	}
	if r.Again {
		fmt.Fprintln(out, "Gone on with a restore that had not ended.")
	}
	fmt.Fprintf(out, "Keys written, read again and found the same: %d. Left out because their time ran out since the backup: %d. Start the bot.\n", r.Written, r.Gone)
	printContents(out, r.Contents)
	return nil
}

func servers(n int) string {
	if n == 1 {
		return "one server"
	}
	return fmt.Sprintf("the %d masters of a cluster, of one moment", n)
}

func printContents(out io.Writer, c session.Contents) {
	for _, counts := range []struct {
		head string
		of   map[string]int
	}{{"Keys", c.Keys}, {"Records", c.Records}, {"Records that this program can't read, kept as they are", c.Unread}} {
		var parts []string
		for _, name := range slices.Sorted(maps.Keys(counts.of)) {
			parts = append(parts, fmt.Sprintf("%d %s", counts.of[name], name))
		}
		if parts != nil {
			fmt.Fprintf(out, "%s: %s.\n", counts.head, strings.Join(parts, ", "))
		}
	}
	if c.Foreign > 0 {
		fmt.Fprintf(out, "Keys that are not the bot's, which a restore leaves out: %d.\n", c.Foreign)
	}
}
