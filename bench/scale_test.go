package main

import (
	"context"
	"fmt"
	"log/slog"
	"maps"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/engine"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// now is the clock of all that is played in a test.
var now = time.Now()

// fewer are the first n kinds: the others take long to play.
func fewer(n int) []*kind {
	list := kinds()[:n]
	for _, k := range kinds()[n:] {
		list[n-1].share += k.share
	}
	return list
}

// loaded is a miniredis with so many conversations.
func loaded(t *testing.T, kinds []*kind, n int) (*miniredis.Miniredis, *filler) {
	ctx := context.Background()
	mini, url := sessiontest.Mini(t)
	store, err := session.Open(ctx, url)
	require.NoError(t, err)
	t.Cleanup(func() { store.Close() })
	rdb := redis.NewClient(&redis.Options{Addr: mini.Addr()})
	t.Cleanup(func() { rdb.Close() })
	f, err := newFiller(ctx, store, rdb, kinds, now)
	require.NoError(t, err)
	require.Empty(t, mini.Keys(), "what was played to be copied is gone")
	f.oneWaits = 100
	require.NoError(t, f.fill(ctx, n))
	return mini, f
}

// everything is what a chat has in Redis, without its number, and without what differs
// from one turn to the next: revisions, and which update a mark is of. By key and field,
// with how long it stays.
func everything(t *testing.T, mini *miniredis.Miniredis, chat int64) map[string]string {
	t.Helper()
	number := fmt.Sprint(chat)
	got := map[string]string{}
	keep := func(name, key, record string, heads int) {
		payload := strings.SplitN(record, " ", heads+1)[heads]
		got[name] = mini.TTL(key).Round(time.Hour).String() + " " + strings.ReplaceAll(payload, number, "CHAT")
	}
	for _, key := range mini.Keys() {
		_, name, _ := strings.Cut(key, "}:")
		name, found := strings.CutSuffix(name, number)
		if !found {
			continue
		}
		switch mini.Type(key) {
		case "string":
			value, err := mini.Get(key)
			require.NoError(t, err)
			keep(name, key, value, 3)
		case "hash":
			fields, err := mini.HKeys(key)
			require.NoError(t, err)
			for _, field := range fields {
				keep(name+field, key, mini.HGet(key, field), 2)
			}
		case "zset":
			marks, err := mini.SortedSet(key)
			require.NoError(t, err)
			keep(name, key, fmt.Sprint(len(marks)), 0)
		case "list":
			replies, err := mini.List(key)
			require.NoError(t, err)
			keep(name, key, strings.Join(replies, "\n"), 3)
		}
	}
	return got
}

// What the loader writes for a chat is, byte for byte, what the engine leaves when the
// same person types the same in that chat.
func TestWhatIsLoadedIsWhatTheProgramWrites(t *testing.T) {
	ctx := context.Background()
	mini, f := loaded(t, fewer(3), 60)
	e := engine.New(f.store, &lastSaid{}, engine.Options{Rate: -1, Log: slog.New(slog.DiscardHandler)})
	compared := map[uint8]int{}
	for i, p := range f.of {
		if compared[p.kind] == 3 {
			continue
		}
		compared[p.kind]++
		played := int64(7_070_000_000 + i)
		k, messages := f.at(i)
		for line := range messages {
			require.NoError(t, k.turn(ctx, e, played, updateOf(i, line), line, now))
		}
		want := everything(t, mini, played)
		require.Contains(t, want, "c:")
		require.Equal(t, want, everything(t, mini, firstChat+int64(i)), "%s, %d answers", k.name, p.stand)
	}
	require.Equal(t, map[uint8]int{0: 3, 1: 3, 2: 3}, compared)
}

// Somebody whose conversation was loaded goes on with it and gets the card; a job has a
// window more then.
func TestALoadedConversationGoesOn(t *testing.T) {
	ctx := context.Background()
	_, f := loaded(t, fewer(3), 60)
	said := &lastSaid{}
	e := engine.New(f.store, said, engine.Options{Rate: -1, Log: slog.New(slog.DiscardHandler)})
	tried := map[uint8]int{}
	for i, p := range f.of {
		if tried[p.kind] == 3 || p.stand == stands-1 { // that one has its card
			continue
		}
		tried[p.kind]++
		chat := firstChat + int64(i)
		k, messages := f.at(i)
		for line := messages; line < k.from+len(window); line++ {
			require.Zero(t, said.cards)
			require.NoError(t, k.turn(ctx, e, chat, updateOf(i, line), line, now))
			require.Equal(t, chat, said.last.Chat)
		}
		require.Equal(t, 1, said.cards, "%s, from %d answers on", k.name, p.stand)
		said.cards = 0
		jobs, err := f.store.LoadJobs(ctx, chat)
		require.NoError(t, err)
		for _, parts := range jobs {
			require.Len(t, parts, 1+k.windows+1, "a head, and a window more")
		}
		require.Equal(t, k.windows > 0, len(jobs) == 1)
	}
	require.Equal(t, map[uint8]int{0: 3, 1: 3, 2: 3}, tried)
}

// The loader writes as many as it was told to, in two goes as in one, of each kind its
// share, and the replies wait that are to.
func TestAsManyAreLoadedAsWereAskedFor(t *testing.T) {
	mini, f := loaded(t, fewer(2), 150)
	require.NoError(t, f.fill(context.Background(), 250))
	count := map[string]int{}
	for _, key := range mini.Keys() {
		_, name, _ := strings.Cut(key, "}:")
		kind, _, _ := strings.Cut(name, ":")
		count[kind]++
	}
	jobs := 0
	by := map[uint8]int{}
	for _, p := range f.of {
		by[p.kind]++
		if f.kinds[p.kind].windows > 0 {
			jobs++
		}
	}
	require.Equal(t, map[string]int{"c": 250, "s": 250, "j": jobs, "o": 2, "p": 2}, count)
	for kind, n := range maps.All(by) {
		require.InDelta(t, float64(f.kinds[kind].share), float64(n)/2.5, 10, "of a hundred: %s", f.kinds[kind].name)
	}
	waiting, err := f.store.Pending(context.Background())
	require.NoError(t, err)
	require.Len(t, waiting, 2)
	sum := 0
	for _, k := range kinds() {
		sum += k.share
	}
	require.Equal(t, 100, sum)
}

func TestTheLoaderRefusesWhatTheMachineCannotHold(t *testing.T) {
	const gb = 1_000_000_000
	for _, c := range []struct {
		chats        int
		memory, disk int64 // free
		says         string
	}{
		// 1000 bytes of memory each, twice: 2 GB for a million, of which 0.9 may be taken; 500 bytes
		// of disk, twice.
		{1_000_000, 3 * gb, 2 * gb, ""},
		{1_000_000, 2 * gb, 2 * gb, "1000000 conversations need 2.0 GB of memory while Redis rewrites its file, and of the 2.0 GB that are free a tenth stays free: ask for 900000 at the most"},
		{900_000, 2 * gb, 2 * gb, ""},
		{1_000_000, 3 * gb, gb, "1000000 conversations need 1.0 GB of disk, for the file and its next, and of the 1.0 GB that are free a tenth stays free: ask for 900000 at the most"},
		{1, 0, gb, "ask for 0 at the most"},
	} {
		err := roomFor(c.chats, 1000, 500, c.memory, c.disk)
		if c.says == "" {
			require.NoError(t, err)
			continue
		}
		require.ErrorContains(t, err, c.says)
	}
	free, err := freeMemory()
	require.NoError(t, err)
	require.Positive(t, free)
	free, err = freeDisk(t.TempDir())
	require.NoError(t, err)
	require.Positive(t, free)
}

// The whole measurement, small: every turn is answered, and some bring a card.
func TestScaleOnARealServer(t *testing.T) {
	ctx := onAServer(t)
	require.NoError(t, inFolder(ctx, "", func(dir string, program []string) error {
		all, err := scale(ctx, dir, program, plan{kinds: fewer(3), chats: 1200, rate: 200, lasts: 2 * time.Second, workers: 8})
		require.NoError(t, err)
		require.Zero(t, all.failed, all.why)
		require.Positive(t, all.cards)
		require.NotEmpty(t, all.turns)
		return nil
	}))
}

// A platform that takes 30 messages a second is kept to: of twice as many, who come for two
// seconds, everybody is answered, and next to nothing is called in vain.
func TestAStrictPlatformAnswersEverybody(t *testing.T) {
	ctx := onAServer(t)
	require.NoError(t, inFolder(ctx, "", func(dir string, program []string) error {
		all, refused, err := strict(ctx, dir, program, 60, 2*time.Second)
		require.NoError(t, err)
		require.Zero(t, all.failed, all.why)
		require.Len(t, all.turns, 120)
		require.LessOrEqual(t, float64(refused), 0.05*120)
		return nil
	}))
}

// onAServer is for a test with a real redis-server and the built program.
func onAServer(t *testing.T) context.Context {
	if os.Getenv("SILLBOT_REAL_REDIS") == "" {
		t.Skip("SILLBOT_REAL_REDIS is not set")
	}
	if _, err := exec.LookPath("redis-server"); err != nil {
		t.Skip("redis-server is not installed")
	}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	t.Cleanup(cancel)
	return ctx
}
