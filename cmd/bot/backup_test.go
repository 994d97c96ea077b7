package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// TestBackupInTheMiddleOfASurvey: people type, a backup is made meanwhile and restored
// into another server, and the bot goes on there. Every turn that was answered before the
// backup began is in it, and each survey goes on at the line after the last turn in it.
func TestBackupInTheMiddleOfASurvey(t *testing.T) {
	if os.Getenv("SILLBOT_REAL_REDIS") == "" {
		t.Skip("SILLBOT_REAL_REDIS is not set")
	}
	ctx := within(t, 2*time.Minute)
	r := newRig(t, false)
	r.redis.Do(t, "CONFIG", "SET", "repl-diskless-sync-delay", "0") // else the server waits 5 s
	r.start(ctx)
	scripts, want := crowd(t, 3)
	const answered = 8 // lines before the backup
	typing := func(r *rig) func(int64, string) { return func(chat int64, text string) { r.server.Type(chat, text) } }
	first := map[int64][]string{}
	for chat, lines := range scripts {
		first[chat] = lines[:answered]
	}
	require.NoError(t, r.people(ctx, first, 10*time.Second, typing(r)))
	require.NoError(t, r.wait(ctx, func() bool {
		for chat := range scripts {
			if len(r.server.Sent(chat)) < answered {
				return false
			}
		}
		return true
	}))
	going := make(chan error)
	go func() {
		rest := map[int64][]string{}
		for chat, lines := range scripts {
			rest[chat] = lines[answered:]
		}
		going <- r.people(ctx, rest, 10*time.Second, typing(r))
	}()
	file := filepath.Join(t.TempDir(), "sillbot.backup")
	env := func(url string) func(string) string {
		return func(name string) string { return map[string]string{"REDIS_URL": url}[name] }
	}
	var said bytes.Buffer
	require.NoError(t, backup(ctx, []string{file}, env(r.url), &said, &said))
	require.Contains(t, said.String(), "Records: 3 conversation")
	require.ErrorContains(t, restore(ctx, []string{file}, env(r.url), &said, &said), "holds")
	require.NoError(t, <-going)
	r.p.terminate(t)

	again := newRig(t, false)
	require.NoError(t, restore(ctx, []string{file}, env(again.url), &said, &said))
	store, err := session.Open(ctx, again.url)
	require.NoError(t, err)
	defer store.Close()
	rest, due := map[int64][]string{}, map[int64][]string{}
	for chat, lines := range scripts {
		c, err := store.Load(ctx, session.Key{Chat: chat})
		require.NoError(t, err)
		var s dialog.State
		require.NoError(t, json.Unmarshal(c.Data, &s))
		require.GreaterOrEqual(t, s.Turn, answered)
		held, err := store.Export(ctx, chat, 0)
		require.NoError(t, err)
		rest[chat], due[chat] = lines[s.Turn:], want[chat][s.Turn-len(held.Unsent):]
		t.Logf("chat goes on at line %d of %d, %d replies were on their way", s.Turn, len(lines), len(held.Unsent))
	}
	again.server.Number(1 << 40)
	again.start(ctx)
	require.NoError(t, again.people(ctx, rest, 10*time.Second, typing(again)))
	o := again.settled(ctx, due)
	require.Zero(t, o.lost)
	require.Zero(t, o.disorder)
	again.p.terminate(t)

	// While a restore has not ended, the program does not start.
	other := sessiontest.Start(t)
	other.Do(t, "SET", "sb:restore", "unfinished")
	again.url = other.URL()
	p := launch(t, again.env(), "serve")
	select {
	case <-p.ended:
	case <-ctx.Done():
		t.Fatal("the program started")
	}
	require.Error(t, p.err)
	require.Contains(t, p.log.String(), "run bot restore again")
}
