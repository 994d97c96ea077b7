package engine

import (
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// oddRecords are bytes that no program of ours writes: cut short, of other schemas, with
// numbers that no number of Go or Lua holds, of words that mean nothing.
var oddRecords = []string{
	"", " ", "garbage", "1 2", "1 2 ", "1 2 name", "1 2  x", "0 123 odd {}", "99999999999999999999 123 odd {}",
	"1 99999999999999999999 odd {}", "1 99999999999999999999999999999999999999 odd {}", "1 2 odd {", "1 2 odd null", "1 2 odd []",
	"1 2 odd {}", "-1 2 odd {}", "1 2 \xff\x00 {}", "2 123 odd {}", `1 9999999999999 odd {"reply":{"mail":{}}}`,
	`1 123 odd {"reply":{"text":{"key":"nosuch"}}}`,
}

// Whatever stands where a reply, an update that was put off or the chat's entry of the
// index should be, the chat is answered, by the sweep alone as well, and nothing stays.
func TestOddRecordsMakeNoChatMute(t *testing.T) {
	t.Parallel() // it waits, on servers of its own
	for name, start := range map[string]func(testing.TB) string{
		"mini": func(t testing.TB) string { _, url := sessiontest.Mini(t); return url }, "node": sessiontest.Node,
	} {
		t.Run(name, func(t *testing.T) {
			url := start(t)
			for _, with := range oddRecords {
				oddly(t, url, "o", "1 0 0 ", with)
			}
			for _, with := range append([]string{
				`1 2 007 {"ID":7}`, `1 2 5 {}`, `1 2 5 {"ID":5,"Chat":77}`, `1 2 5 {"ID":5,"Chat":CHAT,"Input":{"Kind":"mailed"}}`,
				`1 2 5 {"ID":5,"Chat":CHAT,"Input":{"Kind":"mailed","Mail":{"ask":{}}}}`, `1 2 -5 {"ID":-5,"Chat":CHAT,"Input":{"Kind":"lost"}}`,
			}, oddRecords...) {
				oddly(t, url, "i", "1 0 1 ", with)
			}
			for _, entry := range append([]string{
				"99999999999999999999 0 0 ", "1 99999999999999999999999 0 gone 5 100", "1 2 0 gone 99999999999999999999 100",
				"1 2 0 gone 9223372036854775807 100", "1 2 1 gone 99999999999999999999 100", "1 99999999999999 0 gone 5 99999999999999",
				"1 2 0 gone 5 100 odd 3 sent", "1 2 0 gone 5 100 odd 99999999999999999999 late", "1 2 7  ", "1 2 1 ", "1 2 0 gone 5 100 x y z w",
			}, oddRecords...) {
				oddly(t, url, "p", entry, "")
			}
		})
	}
}

func oddly(t *testing.T, url, kind, entry, with string) {
	t.Run(strings.Join([]string{kind, entry, with}, " "), func(t *testing.T) {
		o, err := redis.ParseURL(url)
		require.NoError(t, err)
		db := redis.NewClient(o)
		defer db.Close()
		chat, p := sessiontest.Chat(), &post{}
		index, field := fmt.Sprintf("sb:{%d}:p", chat%1024), fmt.Sprint(chat)
		opts := Options{Step: count, Rate: -1, Log: slog.New(slog.DiscardHandler), Lease: time.Second, Sweep: 50 * time.Millisecond}
		if kind == "p" { // a reply waits, and who wrote it is gone
			require.NoError(t, New(store(t, url), p, opts).Take(ctx, typed(1, chat, "first")))
		} else {
			require.NoError(t, db.RPush(ctx, keyOf(kind, chat), strings.ReplaceAll(with, "CHAT", field)).Err())
		}
		require.NoError(t, db.HSet(ctx, index, field, entry).Err())
		e := New(store(t, url), p, opts)
		run(t, e)
		gone := func() bool {
			return db.Exists(ctx, keyOf("o", chat)).Val()+db.Exists(ctx, keyOf("i", chat)).Val() == 0 && !db.HExists(ctx, index, field).Val()
		}
		eventually(t, "the sweep attends to it", func() bool { return kind != "p" || slices.Contains(p.words(chat), "first") })
		require.NoError(t, e.Take(ctx, typed(2, chat, "second")))
		eventually(t, "nothing stays", func() bool { return slices.Contains(p.words(chat), "second") && gone() })
		require.LessOrEqual(t, len(p.sent(chat)), 4, "again and again")
	})
}
