package session

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/session/sessiontest"
)

func TestMain(m *testing.M) { sessiontest.Main(m) }

const lease = 10 * time.Second

func open(t testing.TB, url string) *Store {
	t.Helper()
	s, err := Open(context.Background(), url)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s
}

// each runs a test with a store on every kind of Redis that is to be had.
func each(t *testing.T, test func(t *testing.T, s *Store)) {
	sessiontest.Each(t, func(t *testing.T, url string) { test(t, open(t, url)) })
}

func say(texts ...string) [][]byte {
	var out [][]byte
	for _, text := range texts {
		out = append(out, []byte(text))
	}
	return out
}

func texts(items []Item) []string {
	var out []string
	for _, it := range items {
		out = append(out, string(it.Data))
	}
	return out
}

func commit(t testing.TB, s *Store, turn Turn) Result {
	t.Helper()
	r, err := s.Commit(context.Background(), turn)
	require.NoError(t, err)
	return r
}

func load(t testing.TB, s *Store, k Key) Conversation {
	t.Helper()
	c, err := s.Load(context.Background(), k)
	require.NoError(t, err)
	return c
}

func TestCommit(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		require.Equal(t, Conversation{}, load(t, s, k))

		first := Turn{Update: 70, Key: k, Data: []byte(`{"a":1}`), Say: say("one", "two"), Owner: "me", Lease: lease}
		r := commit(t, s, first)
		require.Equal(t, Committed, r.Outcome)
		require.True(t, r.Held)
		require.Zero(t, r.Ahead)
		require.Equal(t, []string{"one", "two"}, texts(r.Items))
		require.Equal(t, `{"a":1}`, string(load(t, s, k).Data))

		// The same delivery again, as loaded then and as loaded now.
		for _, from := range []Conversation{{}, load(t, s, k)} {
			again := first
			again.From, again.Data, again.Say = from, []byte(`{"a":2}`), say("three")
			require.Equal(t, Duplicate, commit(t, s, again).Outcome)
		}
		// Another update on a conversation that has changed.
		require.Equal(t, Stale, commit(t, s, Turn{Update: 71, Key: k, Data: []byte(`{"a":3}`), Say: say("x")}).Outcome)
		require.Equal(t, `{"a":1}`, string(load(t, s, k).Data))

		// An older id that was never taken counts: no watermark.
		require.Equal(t, load(t, s, k), r.Now)
		r = commit(t, s, Turn{Update: 3, Key: k, From: r.Now, Data: []byte(`{"a":4}`), Say: say("three"), Owner: "you", Lease: lease})
		require.Equal(t, Committed, r.Outcome)
		require.False(t, r.Held)
		require.Equal(t, 2, r.Ahead)

		// A turn that changes nothing keeps the conversation.
		require.Equal(t, Committed, commit(t, s, Turn{Update: 4, Key: k, From: r.Now}).Outcome)
		require.Equal(t, `{"a":4}`, string(load(t, s, k).Data))

		box, err := s.Claim(context.Background(), k.Chat, "me", lease, 10)
		require.NoError(t, err)
		require.Equal(t, []string{"one", "two", "three"}, texts(box.Items))
		require.Equal(t, []string{"70.0", "70.1", "3.0"}, []string{box.Items[0].ID, box.Items[1].ID, box.Items[2].ID})
	})
}

func TestGroupMembersAreApart(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		chat := -sessiontest.Chat()
		a, b := Key{Chat: chat, User: 1, Group: true}, Key{Chat: chat, User: 2, Group: true}
		commit(t, s, Turn{Update: 1, Key: a, Data: []byte("A")})
		require.Equal(t, Conversation{}, load(t, s, b))
		require.Equal(t, Committed, commit(t, s, Turn{Update: 2, Key: b, Data: []byte("B")}).Outcome)
		require.Equal(t, "A", string(load(t, s, a).Data))
		require.Equal(t, "B", string(load(t, s, b).Data))
		// Without Group the user does not matter.
		require.Equal(t, Key{Chat: 5}.conversation(), Key{Chat: 5, User: 9}.conversation())
	})
}

func TestOutboxNeedsTheLease(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a", "b", "c"), Owner: "me", Lease: lease})

		box, err := s.Claim(ctx, k.Chat, "you", lease, 10)
		require.NoError(t, err)
		require.False(t, box.Held)
		require.Greater(t, box.Free, lease/2)
		box, err = s.Remove(ctx, k.Chat, "1.0", "you", lease, 10)
		require.NoError(t, err)
		require.False(t, box.Held)

		box, err = s.Remove(ctx, k.Chat, "1.1", "me", lease, 10)
		require.NoError(t, err)
		require.Equal(t, []string{"a", "b", "c"}, texts(box.Items), "only the head goes")
		box, err = s.Remove(ctx, k.Chat, "1.0", "me", lease, 1)
		require.NoError(t, err)
		require.Equal(t, 2, box.Left)
		require.Equal(t, []string{"b"}, texts(box.Items))
		box, err = s.Remove(ctx, k.Chat, "1.0", "me", lease, 0)
		require.NoError(t, err)
		require.Equal(t, 2, box.Left, "removed once")
		require.Empty(t, box.Items)

		lost, err := s.Renew(ctx, []int64{k.Chat}, "you", lease)
		require.NoError(t, err)
		require.Equal(t, []int64{k.Chat}, lost)
		lost, err = s.Renew(ctx, []int64{k.Chat}, "me", lease)
		require.NoError(t, err)
		require.Empty(t, lost)

		require.NoError(t, s.Release(ctx, k.Chat, "you"))
		box, err = s.Claim(ctx, k.Chat, "you", lease, 10)
		require.NoError(t, err)
		require.False(t, box.Held, "only the owner gives it back")
		require.NoError(t, s.Release(ctx, k.Chat, "me"))
		box, err = s.Claim(ctx, k.Chat, "you", lease, 10)
		require.NoError(t, err)
		require.True(t, box.Held)

		_, err = s.Remove(ctx, k.Chat, "1.1", "you", lease, 0)
		require.NoError(t, err)
		box, err = s.Remove(ctx, k.Chat, "1.2", "you", lease, 10)
		require.NoError(t, err)
		require.True(t, box.Empty())
		// The lease went with the last reply.
		require.True(t, commit(t, s, Turn{Update: 2, Key: k, From: load(t, s, k), Say: say("d"), Owner: "me", Lease: lease}).Held)
	})
}

// Sending took longer than the lease, but nobody else came.
func TestRemoveAfterTheLease(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a", "b", "c"), Owner: "me", Lease: lease})
		require.NoError(t, s.Release(ctx, k.Chat, "me"))
		box, err := s.Remove(ctx, k.Chat, "1.0", "me", lease, 9)
		require.NoError(t, err)
		require.True(t, box.Held)
		require.Equal(t, []string{"b", "c"}, texts(box.Items))
		box, err = s.Claim(ctx, k.Chat, "you", lease, 9)
		require.NoError(t, err)
		require.False(t, box.Held, "it is ours again")

		// Someone else came, sent the reply and went.
		require.NoError(t, s.Release(ctx, k.Chat, "me"))
		_, err = s.Claim(ctx, k.Chat, "you", lease, 9)
		require.NoError(t, err)
		_, err = s.Remove(ctx, k.Chat, "1.1", "you", lease, 9)
		require.NoError(t, err)
		require.NoError(t, s.Release(ctx, k.Chat, "you"))
		box, err = s.Remove(ctx, k.Chat, "1.1", "me", lease, 9)
		require.NoError(t, err)
		require.Equal(t, []string{"c"}, texts(box.Items))
	})
}

func TestLeaseRunsOut(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a"), Owner: "dead", Lease: 60 * time.Millisecond})
		require.Eventually(t, func() bool {
			box, err := s.Claim(context.Background(), k.Chat, "me", lease, 10)
			return err == nil && box.Held && len(box.Items) == 1
		}, time.Minute, 10*time.Millisecond)
		box, err := s.Remove(context.Background(), k.Chat, "1.0", "dead", lease, 10)
		require.NoError(t, err)
		require.False(t, box.Held, "whoever comes back late can't remove")
	})
}

// A process that died after its commit is found out by the second delivery.
func TestDuplicateTakesUpWhatWaits(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		k := Key{Chat: sessiontest.Chat()}
		turn := Turn{Update: 1, Key: k, Data: []byte("1"), Say: say("a")}
		commit(t, s, turn) // without a lease, as if it had run out
		turn.Owner, turn.Lease = "me", lease
		r := commit(t, s, turn)
		require.Equal(t, Result{Outcome: Duplicate, Held: true, Ahead: 1}, r)
		_, err := s.Remove(context.Background(), k.Chat, "1.0", "me", lease, 0)
		require.NoError(t, err)
		require.Equal(t, Result{Outcome: Duplicate}, commit(t, s, turn))
	})
}

func TestPending(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		waits := func(chat int64, age time.Duration) bool {
			found, err := s.Pending(ctx, age)
			require.NoError(t, err)
			return slices.ContainsFunc(found, func(p Pending) bool { return p.Chat == chat })
		}
		k := Key{Chat: -sessiontest.Chat()}
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1")})
		require.False(t, waits(k.Chat, 0), "it said nothing")
		commit(t, s, Turn{Update: 2, Key: k, From: load(t, s, k), Say: say("a", "b"), Owner: "me", Lease: lease})
		require.Eventually(t, func() bool { return waits(k.Chat, 0) }, time.Minute, time.Millisecond)
		require.False(t, waits(k.Chat, time.Minute))
		_, err := s.Remove(ctx, k.Chat, "2.0", "me", lease, 0)
		require.NoError(t, err)
		require.True(t, waits(k.Chat, 0))
		_, err = s.Remove(ctx, k.Chat, "2.1", "me", lease, 0)
		require.NoError(t, err)
		require.False(t, waits(k.Chat, 0))
	})
}

func TestPutOff(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		put := func(id int64) Queued {
			q, err := s.PutOff(ctx, PutOff{
				Update: id, Chat: k.Chat, Data: fmt.Appendf(nil, "u%d", id), Room: 3,
				Slow: []byte("slow"), Full: []byte("full"), Owner: "me", Lease: lease,
			})
			require.NoError(t, err)
			return q
		}
		require.Equal(t, Queued{Outcome: Committed, Said: true, Held: true}, put(1))
		require.Equal(t, Queued{Outcome: Duplicate, Held: true}, put(1))
		require.Equal(t, Queued{Outcome: Committed, Held: true}, put(2))
		// One that comes directly must not overtake them.
		require.Equal(t, Behind, commit(t, s, Turn{Update: 9, Key: k, Data: []byte("9")}).Outcome)
		require.Equal(t, Duplicate, commit(t, s, Turn{Update: 2, Key: k, Data: []byte("2")}).Outcome)
		require.Equal(t, Queued{Outcome: Committed, Held: true}, put(3))
		require.Equal(t, Queued{Outcome: Committed, Full: true, Said: true, Held: true}, put(4))
		require.Equal(t, Queued{Outcome: Duplicate, Held: true}, put(4), "refused for good")

		for id := int64(1); id <= 3; id++ {
			w, ok, err := s.NextPutOff(ctx, k.Chat)
			require.NoError(t, err)
			require.True(t, ok)
			require.Equal(t, id, w.Update)
			require.Equal(t, fmt.Sprintf("u%d", id), string(w.Data))
			turn := Turn{Update: id, Key: k, From: load(t, s, k), Data: []byte("x"), Say: say("r"), WasPutOff: true}
			stale := turn
			stale.From.Rev = 99
			require.Equal(t, Stale, commit(t, s, stale).Outcome)
			require.Equal(t, Committed, commit(t, s, turn).Outcome)
			require.Equal(t, Duplicate, commit(t, s, turn).Outcome)
		}
		_, ok, err := s.NextPutOff(ctx, k.Chat)
		require.NoError(t, err)
		require.False(t, ok)
		box, err := s.Claim(ctx, k.Chat, "me", lease, 10)
		require.NoError(t, err)
		require.Equal(t, []string{"slow", "full", "r", "r", "r"}, texts(box.Items))
		require.Equal(t, Committed, commit(t, s, Turn{Update: 9, Key: k, From: load(t, s, k), Data: []byte("9")}).Outcome)
	})
}

func TestPutOffChatIsPending(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		chat := sessiontest.Chat()
		_, err := s.PutOff(ctx, PutOff{Update: 1, Chat: chat, Data: []byte("u"), Room: 3, Owner: "me", Lease: lease})
		require.NoError(t, err)
		box, err := s.Claim(ctx, chat, "me", lease, 10)
		require.NoError(t, err)
		require.False(t, box.Empty())
		require.Equal(t, 1, box.PutOff)
		w, _, err := s.NextPutOff(ctx, chat)
		require.NoError(t, err)
		require.NoError(t, s.BuryPutOff(ctx, chat, w))
		box, err = s.Claim(ctx, chat, "me", lease, 10)
		require.NoError(t, err)
		require.True(t, box.Empty())
		found, err := s.Pending(ctx, 0)
		require.NoError(t, err)
		require.NotContains(t, found, Pending{Chat: chat})
	})
}

// Any sequence of deliveries has the effect of each update once, in the order
// of the first time.
func TestDeliveriesProperty(t *testing.T) {
	_, url := sessiontest.Mini(t)
	s := open(t, url)
	rapid.Check(t, func(t *rapid.T) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		var want, got []string
		var before, last Conversation
		seen := map[int64]bool{}
		for _, id := range rapid.SliceOfN(rapid.Int64Range(1, 12), 1, 30).Draw(t, "ids") {
			loaded := last
			if rapid.Bool().Draw(t, "stale") {
				loaded = before
			}
			name := fmt.Sprint(id)
			r, err := s.Commit(ctx, Turn{Update: id, Key: k, From: loaded, Data: []byte(name), Say: say(name), Owner: "me", Lease: lease})
			if err != nil {
				t.Fatal(err)
			}
			wanted := Committed
			switch {
			case seen[id]:
				wanted = Duplicate
			case loaded.Rev != last.Rev:
				wanted = Stale
			default:
				seen[id] = true
				want = append(want, name)
				before, last = last, r.Now
			}
			if r.Outcome != wanted {
				t.Fatalf("update %d: outcome %d, want %d", id, r.Outcome, wanted)
			}
		}
		for {
			box, err := s.Claim(ctx, k.Chat, "me", lease, 4)
			if err != nil {
				t.Fatal(err)
			}
			if box.Empty() {
				break
			}
			got = append(got, string(box.Items[0].Data))
			if _, err := s.Remove(ctx, k.Chat, box.Items[0].ID, "me", lease, 0); err != nil {
				t.Fatal(err)
			}
		}
		if !slices.Equal(want, got) {
			t.Fatalf("sent %v, want %v", got, want)
		}
	})
}

func TestRetention(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s := open(t, url)
	k := Key{Chat: 77, User: 8, Group: true}
	set := func(now time.Time) {
		m.SetTime(now)
		s.now = func() time.Time { return now }
	}
	start := time.Date(2025, 3, 1, 8, 0, 0, 0, time.UTC)
	set(start)
	last := commit(t, s, Turn{Update: 1, Key: k, Data: []byte("1")}).Now
	require.Equal(t, 90*24*time.Hour, m.TTL(k.conversation()))
	require.Equal(t, 90*24*time.Hour, m.TTL(key("m", 77)))
	require.Equal(t, 49*time.Hour, m.TTL(key("s", 77)))
	set(start.Add(59 * time.Minute)) // trimmed too short a while ago
	last = commit(t, s, Turn{Update: 2, Key: k, From: last, Data: []byte("2")}).Now

	// A mark lasts 48 h however many turns come between, and goes with a turn
	// after that.
	set(start.Add(47 * time.Hour))
	commit(t, s, Turn{Update: 3, Key: k, From: last})
	require.Equal(t, Duplicate, commit(t, s, Turn{Update: 1, Key: k, From: last}).Outcome)
	require.Equal(t, 90*24*time.Hour, m.TTL(k.conversation()), "a turn that changes nothing keeps it too")
	set(start.Add(48*time.Hour + 30*time.Minute))
	last = commit(t, s, Turn{Update: 4, Key: k, From: load(t, s, k), Data: []byte("3")}).Now
	marks, err := m.ZMembers(key("s", 77))
	require.NoError(t, err)
	require.ElementsMatch(t, []string{"2", "3", "4"}, marks)
	set(start.Add(49*time.Hour + 40*time.Minute))
	commit(t, s, Turn{Update: 5, Key: k, From: last, Data: []byte("4")})
	marks, err = m.ZMembers(key("s", 77))
	require.NoError(t, err)
	require.ElementsMatch(t, []string{"3", "4", "5"}, marks)
	set(start.Add(99 * time.Hour))
	require.False(t, m.Exists(key("s", 77)))
	require.True(t, m.Exists(k.conversation()))
	set(start.Add((50 + 90*24) * time.Hour))
	require.Empty(t, m.Keys(), "nothing stays for ever")
}

func TestKeepIsASetting(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s := open(t, url)
	s.Keep.Conversation = 7 * 24 * time.Hour
	m.SetTime(time.Now())
	commit(t, s, Turn{Update: 1, Key: Key{Chat: 5}, Data: []byte("1")})
	require.Equal(t, 7*24*time.Hour, m.TTL(key("c", 5)))
}

func TestDeadList(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s := open(t, url)
	ctx := context.Background()
	m.SetTime(time.Now())
	for i := range deadRoom + 5 {
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, "{%d", i)))
	}
	dead, err := s.Dead(ctx, 2)
	require.NoError(t, err)
	require.Equal(t, fmt.Sprintf("{%d", deadRoom+4), string(dead[0].Raw))
	all, err := s.Dead(ctx, 2*deadRoom)
	require.NoError(t, err)
	require.Len(t, all, deadRoom)
	require.Equal(t, 14*24*time.Hour, m.TTL(deadKey))

	// Old ones go though new ones keep coming.
	_, err = m.Push(deadKey, string(ladder(nil).seal(1, []byte("old"))))
	require.NoError(t, err)
	require.NoError(t, s.Bury(ctx, []byte("new")))
	all, err = s.Dead(ctx, 2*deadRoom)
	require.NoError(t, err)
	for _, d := range all {
		require.NotEqual(t, "old", string(d.Raw))
	}
	require.NoError(t, s.Bury(ctx, []byte(strings.Repeat("x", 1<<20))))
	dead, err = s.Dead(ctx, 1)
	require.NoError(t, err)
	require.Len(t, dead[0].Raw, deadSize)
}

func keysOf(t *testing.T, s *Store, chat int64) []string {
	t.Helper()
	var found []string
	err := s.eachNode(context.Background(), func(ctx context.Context, c *redis.Client) error {
		it := c.Scan(ctx, 0, fmt.Sprintf("*%d*", chat), 1000).Iterator()
		for it.Next(ctx) {
			found = append(found, it.Val())
		}
		return it.Err()
	})
	require.NoError(t, err)
	return found
}

// holders are the keys anywhere in Redis whose values hold the bytes.
func holders(t *testing.T, s *Store, bytes string) []string {
	t.Helper()
	var found []string
	err := s.eachNode(context.Background(), func(ctx context.Context, c *redis.Client) error {
		it := c.Scan(ctx, 0, "*", 1000).Iterator()
		for it.Next(ctx) {
			k := it.Val()
			var values any
			switch kind := c.Type(ctx, k).Val(); kind {
			case "string":
				values = c.Get(ctx, k).Val()
			case "hash":
				values = c.HGetAll(ctx, k).Val()
			case "list":
				values = c.LRange(ctx, k, 0, -1).Val()
			case "set":
				values = c.SMembers(ctx, k).Val()
			case "zset":
				values = c.ZRange(ctx, k, 0, -1).Val()
			case "none": // ran out meanwhile
			default:
				return fmt.Errorf("%s is a %s", k, kind)
			}
			if strings.Contains(fmt.Sprint(values), bytes) {
				found = append(found, k)
			}
		}
		return it.Err()
	})
	require.NoError(t, err)
	return found
}

// What a person wrote is in no value of any key after it was deleted: neither
// all at once, nor a window of a job that went.
func TestDeletionLeavesNoOldBytes(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		words := func(chat int64, where string) []byte { return fmt.Appendf(nil, `{"words":"WORDS-%d-%s"}`, chat, where) }
		fill := func(k Key) {
			commit(t, s, Turn{Update: 1, Key: k, Data: words(k.Chat, "state"), Say: [][]byte{words(k.Chat, "reply")}, Owner: "me", Lease: lease, Job: JobChange{
				Ref: "ACDFGH", Write: []Part{{Data: words(k.Chat, "head")}, {Window: 1, Data: words(k.Chat, "one")}, {Window: 2, Data: words(k.Chat, "two")}},
			}})
			require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d},"words":"WORDS-%d-dead"}`, k.Chat, k.Chat)))
			require.NoError(t, s.PutLink(ctx, k.Chat, fmt.Sprint("token of ", k.Chat), words(k.Chat, "link"), time.Hour))
			require.Len(t, holders(t, s, fmt.Sprint("WORDS-", k.Chat)), 5, "state, outbox, jobs, dead list, link")
		}

		private := Key{Chat: sessiontest.Chat()}
		fill(private)
		parts, err := s.LoadJob(ctx, private.Chat, "ACDFGH", 1, 2)
		require.NoError(t, err)
		parts[1].Data, parts[2].Data = nil, words(private.Chat, "other")
		old := load(t, s, private)
		r := commit(t, s, Turn{Update: 2, Key: private, From: old, Job: JobChange{Ref: "ACDFGH", Read: parts[:1], Write: parts[1:]}})
		require.Equal(t, Committed, r.Outcome)
		require.Empty(t, holders(t, s, fmt.Sprintf("WORDS-%d-one", private.Chat)))
		require.Empty(t, holders(t, s, fmt.Sprintf("WORDS-%d-two", private.Chat)))
		require.Len(t, holders(t, s, fmt.Sprintf("WORDS-%d-other", private.Chat)), 1)

		r = commit(t, s, Turn{Update: 3, Key: private, From: old, Say: say("forgotten"), Forget: true, Owner: "me", Lease: lease})
		require.Equal(t, Committed, r.Outcome)
		_, err = s.Remove(ctx, private.Chat, "1.0", "me", lease, 9)
		require.NoError(t, err)
		require.NoError(t, s.ForgetRest(ctx, private.Chat))
		require.Empty(t, holders(t, s, fmt.Sprint("WORDS-", private.Chat)))

		group := Key{Chat: -sessiontest.Chat(), User: 1, Group: true}
		fill(group)
		require.NoError(t, s.Forget(ctx, group.Chat))
		require.Empty(t, holders(t, s, fmt.Sprint("WORDS-", group.Chat)))
	})
}

func TestExportAndForget(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		chat := -sessiontest.Chat()
		other := Key{Chat: sessiontest.Chat()}
		begun := time.Now()
		commit(t, s, Turn{Update: 1, Key: other, Data: []byte(`{"o":1}`), Say: say(`"other"`), Owner: "me", Lease: lease})
		for user := int64(1); user <= 3; user++ {
			k := Key{Chat: chat, User: user, Group: true}
			commit(t, s, Turn{Update: 10 + user, Key: k, Data: fmt.Appendf(nil, `{"user":%d}`, user), Say: say(`"hello"`), Owner: "me", Lease: lease})
		}
		_, err := s.PutOff(ctx, PutOff{Update: 20, Chat: chat, Data: []byte(`{"text":"1204"}`), Room: 9, Owner: "me", Lease: lease})
		require.NoError(t, err)
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d},"new":1}`, chat)))
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d1},"new":2}`, chat)))

		h, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Len(t, h.Conversations, 3)
		for _, c := range h.Conversations {
			require.JSONEq(t, fmt.Sprintf(`{"user":%d}`, c.User), string(c.State))
			// It is cut down to a second, and made by two clocks.
			require.False(t, c.Expires.Before(begun.Add(s.Keep.Conversation-2*time.Second)))
			require.False(t, c.Expires.After(time.Now().Add(s.Keep.Conversation+time.Second)))
		}
		require.Len(t, h.Unsent, 3)
		require.JSONEq(t, `"hello"`, string(h.Unsent[0].Data))
		require.Len(t, h.Waiting, 1)
		require.JSONEq(t, `{"text":"1204"}`, string(h.Waiting[0].Data))
		require.Len(t, h.Seen, 4)
		require.Len(t, h.Dead, 1)
		require.Contains(t, string(h.Dead[0].Data), `"new":1`)

		// One person of a group gets what is theirs and the group's, and can be
		// forgotten alone.
		two := Key{Chat: chat, User: 2, Group: true}
		h, err = s.Export(ctx, chat, 2)
		require.NoError(t, err)
		require.Len(t, h.Conversations, 1)
		require.JSONEq(t, `{"user":2}`, string(h.Conversations[0].State))
		h.Conversations = nil
		require.Equal(t, Holding{Chat: chat}, h, "nothing of the others")
		// The update that was put off goes first, so that the turn is no other's.
		next, _, err := s.NextPutOff(ctx, chat)
		require.NoError(t, err)
		require.EqualValues(t, 20, next.Update)
		r := commit(t, s, Turn{Update: 20, Key: two, From: load(t, s, two), Data: []byte("{}"), Say: say(`"forgotten"`), Forget: true, WasPutOff: true})
		require.Equal(t, Committed, r.Outcome)
		require.Equal(t, Conversation{}, r.Now)
		require.Equal(t, Conversation{}, load(t, s, two))
		h, err = s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Len(t, h.Conversations, 2)

		was := load(t, s, Key{Chat: chat, User: 1, Group: true})
		require.NoError(t, s.Forget(ctx, chat))
		require.Empty(t, keysOf(t, s, chat))
		h, err = s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Equal(t, Holding{Chat: chat}, h)
		found, err := s.Pending(ctx, 0)
		require.NoError(t, err)
		require.False(t, slices.ContainsFunc(found, func(p Pending) bool { return p.Chat == chat }))
		box, err := s.Remove(ctx, chat, "11.0", "me", lease, 9)
		require.NoError(t, err)
		require.True(t, box.Empty(), "a sender in the middle of it writes nothing back")
		require.Empty(t, keysOf(t, s, chat))

		// A turn that was loaded before begins again from nothing.
		require.Equal(t, Stale, commit(t, s, Turn{Update: 30, Key: Key{Chat: chat, User: 1, Group: true}, From: was, Data: []byte("{}")}).Outcome)
		// Nor is a new conversation taken for the old one, at whatever revision.
		again := commit(t, s, Turn{Update: 30, Key: Key{Chat: chat, User: 1, Group: true}, Data: []byte("new")})
		require.Equal(t, Committed, again.Outcome)
		require.NotEqual(t, was.Rev, again.Now.Rev)
		require.NoError(t, s.Forget(ctx, chat))
		// Others are as they were.
		require.Equal(t, `{"o":1}`, string(load(t, s, other).Data))
		dead, err := s.Dead(ctx, deadRoom)
		require.NoError(t, err)
		require.True(t, slices.ContainsFunc(dead, func(d Dead) bool { return strings.Contains(string(d.Raw), fmt.Sprintf("%d1}", chat)) }))
		require.NoError(t, s.Forget(ctx, other.Chat))
	})
}

// A turn that forgets deletes what was there before it, and not what comes
// after it, however late the rest is done.
func TestForgetLeavesWhatComesAfter(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		first := commit(t, s, Turn{Update: 1, Key: k, Data: []byte(`"old"`), Job: headOf("ACDFGH", []byte(`{}`))})
		gone := commit(t, s, Turn{Update: 2, Key: k, From: first.Now, Data: []byte(`"reset"`), Say: say("forget"), Forget: true, Owner: "me", Lease: lease})
		require.Equal(t, Committed, gone.Outcome)
		h, err := s.Export(ctx, k.Chat, 0)
		require.NoError(t, err)
		require.Empty(t, h.Conversations)
		require.Empty(t, h.Jobs)
		require.Equal(t, Stale, commit(t, s, Turn{Update: 3, Key: k, From: first.Now, Data: []byte("x")}).Outcome)

		after := commit(t, s, Turn{Update: 3, Key: k, Data: []byte(`"new"`), Say: say("welcome"), Job: headOf("ACDFGJ", []byte(`{}`))})
		require.Equal(t, Committed, after.Outcome)
		_, err = s.PutOff(ctx, PutOff{Update: 4, Chat: k.Chat, Data: []byte(`"u"`), Room: 3})
		require.NoError(t, err)
		for range 2 { // as after a crash before the reply was removed
			require.NoError(t, s.ForgetRest(ctx, k.Chat))
		}
		box, err := s.Remove(ctx, k.Chat, "2.0", "me", lease, 9)
		require.NoError(t, err)
		require.Equal(t, []string{"welcome"}, texts(box.Items))
		require.Equal(t, 1, box.PutOff)
		require.Equal(t, after.Now.Data, load(t, s, k).Data)
		h, err = s.Export(ctx, k.Chat, 0)
		require.NoError(t, err)
		require.Contains(t, h.Jobs, "ACDFGJ")
		require.Len(t, h.Seen, 4)
		require.Equal(t, Duplicate, commit(t, s, Turn{Update: 2, Key: k, From: after.Now, Forget: true}).Outcome, "nor is it forgotten once more")
	})
}

// With nothing after it, nothing at all is left.
func TestForgetLeavesNothingElse(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, `{"chat":{"id":%d}}`, k.Chat)))
		require.NoError(t, s.PutLink(ctx, k.Chat, fmt.Sprint("token of ", k.Chat), []byte("here"), time.Hour))
		first := commit(t, s, Turn{Update: 1, Key: k, Data: []byte(`"old"`), Job: headOf("ACDFGH", []byte(`{}`))})
		commit(t, s, Turn{Update: 2, Key: k, From: first.Now, Say: say("forget"), Forget: true, Owner: "me", Lease: lease})
		require.NoError(t, s.ForgetRest(ctx, k.Chat))
		box, err := s.Remove(ctx, k.Chat, "2.0", "me", lease, 9)
		require.NoError(t, err)
		require.True(t, box.Empty())
		require.Empty(t, keysOf(t, s, k.Chat))
		h, err := s.Export(ctx, k.Chat, 0)
		require.NoError(t, err)
		require.Equal(t, Holding{Chat: k.Chat}, h)
	})
}

// Who has a share's token can sit down, so it goes into no file.
func TestExportKeepsTokens(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: -sessiontest.Chat(), User: 1, Group: true}
		data := `{"ref":"ACDFGH","token":"a word","width":1203.50,"shares":[{"token":"S3CRET","role":"lead","used_by":9007199254740993}]}`
		commit(t, s, Turn{Update: 1, Key: k, Data: []byte(`{}`), Job: headOf("ACDFGH", []byte(data))})
		newer := "2 5 " + data
		require.NoError(t, s.rdb.HSet(ctx, key("j", k.Chat), "NEWER", newer).Err())
		for _, user := range []int64{0, 1} {
			h, err := s.Export(ctx, k.Chat, user)
			require.NoError(t, err)
			for _, ref := range []string{"ACDFGH", "NEWER"} {
				require.NotContains(t, string(h.Jobs[ref].Head), "S3CRET")
				require.Contains(t, string(h.Jobs[ref].Head), `"token":"a word"`)
				require.Contains(t, string(h.Jobs[ref].Head), `1203.50`, "figures as they are stored")
				require.Contains(t, string(h.Jobs[ref].Head), `"used_by":9007199254740993`)
			}
		}
		require.NoError(t, s.Forget(ctx, k.Chat))
	})
}

// Every key of a chat is in the slot of its index.
func TestOneSlot(t *testing.T) {
	c := sessiontest.Cluster(t)
	s := open(t, c.URL())
	ctx := context.Background()
	for _, chat := range []int64{1, -1, -1001234567890, 1 << 50, 1023, 1024} {
		want, err := s.rdb.ClusterKeySlot(ctx, indexKey(bucketOf(chat))).Result()
		require.NoError(t, err)
		for _, k := range append(boxKeys(chat), key("s", chat), key("m", chat), Key{Chat: chat}.conversation(), Key{Chat: chat, User: 7, Group: true}.conversation()) {
			slot, err := s.rdb.ClusterKeySlot(ctx, k).Result()
			require.NoError(t, err)
			require.Equal(t, want, slot, k)
		}
	}
}

func TestSettings(t *testing.T) {
	_, url := sessiontest.Mini(t)
	require.Len(t, open(t, url).Warnings, 1, "a server that doesn't tell")

	server := sessiontest.Start(t)
	require.Empty(t, open(t, server.URL()).Warnings)
	server.Do(t, "CONFIG", "SET", "appendfsync", "everysec")
	server.Do(t, "CONFIG", "SET", "maxmemory-policy", "allkeys-lru")
	require.Equal(t, []string{
		"Redis runs with appendfsync everysec, not always: a crash of the machine may lose what was acknowledged last.",
		"Redis runs with maxmemory-policy allkeys-lru, not noeviction: a full server may throw conversations away.",
	}, open(t, server.URL()).Warnings)
	server.Do(t, "CONFIG", "SET", "appendonly", "no")
	require.Len(t, open(t, server.URL()).Warnings, 3)

	require.Empty(t, open(t, sessiontest.Cluster(t).URL()).Warnings)
}

func TestOpenRefuses(t *testing.T) {
	for _, url := range []string{"", " , ", "redis://:hunter2@host:notaport/0", "http://:hunter2@h", "redis://:hunter2@h:1/x", "redis://u:hunter2@h:1,\x7f", "redis://:hunter2@127.0.0.1:1"} {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		_, err := Open(ctx, url)
		cancel()
		require.Error(t, err, url)
		require.NotContains(t, err.Error(), "hunter2")
	}
}

func TestConnectReadsLists(t *testing.T) {
	one, err := connect("rediss://bot:pw@a:7000/2?pool_size=3")
	require.NoError(t, err)
	o := one.(*redis.Client).Options()
	require.Equal(t, []any{"a:7000", "bot", "pw", 2, 3, true}, []any{o.Addr, o.Username, o.Password, o.DB, o.PoolSize, o.TLSConfig != nil})
	one.Close()
	bare, err := connect("a:7000")
	require.NoError(t, err)
	require.Equal(t, "a:7000", bare.(*redis.Client).Options().Addr)
	bare.Close()
	for _, list := range []string{"redis://bot:pw@a:7000,redis://b:7001, c:7002", "bot:pw@a:7000,redis://x:y@b:7001,c:7002"} {
		many, err := connect(list)
		require.NoError(t, err)
		co := many.(*redis.ClusterClient).Options()
		require.Equal(t, "bot", co.Username)
		require.Equal(t, "pw", co.Password)
		require.ElementsMatch(t, []string{"a:7000", "b:7001", "c:7002"}, co.Addrs)
		many.Close()
	}
	seed, err := connect("redis://a:7000,")
	require.NoError(t, err)
	require.IsType(t, &redis.ClusterClient{}, seed)
	seed.Close()
}

func TestMigration(t *testing.T) {
	_, url := sessiontest.Mini(t)
	ctx := context.Background()
	k := Key{Chat: 5}
	old := open(t, url)
	commit(t, old, Turn{Update: 1, Key: k, Data: []byte("w=900"), Say: say("sent")})
	_, err := old.PutOff(ctx, PutOff{Update: 2, Chat: 5, Data: []byte("up"), Room: 9, Owner: "me", Lease: lease})
	require.NoError(t, err)

	later := open(t, url)
	later.states = ladder{
		func(b []byte) ([]byte, error) { return append(b, ";second"...), nil },
		func(b []byte) ([]byte, error) { return append(b, ";third"...), nil },
	}
	later.replies = ladder{func(b []byte) ([]byte, error) { return append(b, '!'), nil }}
	later.updates = ladder{func(b []byte) ([]byte, error) { return append(b, '?'), nil }}
	require.Equal(t, "w=900;second;third", string(load(t, later, k).Data))
	box, err := later.Claim(ctx, 5, "me", lease, 9)
	require.NoError(t, err)
	require.Equal(t, []string{"sent!"}, texts(box.Items))
	w, _, err := later.NextPutOff(ctx, 5)
	require.NoError(t, err)
	require.Equal(t, "up?", string(w.Data))

	// What the later program writes, the older one leaves alone.
	w.Data = []byte("now")
	require.Equal(t, Committed, commit(t, later, Turn{Update: 2, Key: k, From: load(t, later, k), Data: []byte("v3"), Say: say("new"), WasPutOff: true}).Outcome)
	require.Equal(t, "v3", string(load(t, later, k).Data))
	got, err := old.Load(ctx, k)
	require.ErrorIs(t, err, ErrNewer)
	require.Equal(t, load(t, later, k).Rev, got.Rev)
	box, err = old.Claim(ctx, 5, "me", lease, 9)
	require.NoError(t, err)
	require.NoError(t, box.Items[0].Err)
	require.ErrorIs(t, box.Items[1].Err, ErrNewer)
	require.Equal(t, "2.0", box.Items[1].ID)
	require.Equal(t, Committed, commit(t, old, Turn{Update: 3, Key: k, From: got}).Outcome)
	require.Equal(t, "v3", string(load(t, later, k).Data))

	broken := open(t, url)
	broken.states = ladder{func([]byte) ([]byte, error) { return nil, errors.New("no") }, nil}
	m := []byte("1 7 x")
	_, _, err = broken.states.open(m)
	require.ErrorIs(t, err, ErrBroken)
}

// A record that is damaged neither blocks its chat nor is taken for another.
func TestBrokenRecords(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s := open(t, url)
	ctx := context.Background()
	for i, raw := range []string{"", "x", "1", "1 5", "1 5 ", "1 5 {}", "1 5 7 ", "x 5 {}", "0 5 {}", "1 x {}", "-1 5 {}", "1 +5 {}", "99 5 {}"} {
		k := Key{Chat: int64(100 + i)}
		require.NoError(t, m.Set(k.conversation(), raw))
		c, err := s.Load(ctx, k)
		if raw != "1 5 7 " {
			require.Error(t, err, raw)
		}
		require.Equal(t, Committed, commit(t, s, Turn{Update: 1, Key: k, From: c, Data: []byte("{}")}).Outcome, "%q", raw)
		require.Equal(t, "{}", string(load(t, s, k).Data))
	}
	k := Key{Chat: 50}
	m.HSet(indexKey(50), "50", "damaged")
	_, err := m.Push(key("o", 50), "damaged")
	require.NoError(t, err)
	_, err = m.Push(key("i", 50), "damaged")
	require.NoError(t, err)
	box, err := s.Claim(ctx, 50, "me", lease, 9)
	require.NoError(t, err)
	require.ErrorIs(t, box.Items[0].Err, ErrBroken)
	_, err = s.Remove(ctx, 50, box.Items[0].ID, "me", lease, 9)
	require.NoError(t, err)
	w, ok, err := s.NextPutOff(ctx, 50)
	require.NoError(t, err)
	require.True(t, ok)
	require.ErrorIs(t, w.Err, ErrBroken)
	require.NoError(t, s.BuryPutOff(ctx, 50, w))
	box, err = s.Claim(ctx, 50, "me", lease, 9)
	require.NoError(t, err)
	require.True(t, box.Empty())
	require.Equal(t, Committed, commit(t, s, Turn{Update: 1, Key: k}).Outcome)
}

func FuzzRecord(f *testing.F) {
	f.Add([]byte("1 5 {}"))
	f.Add([]byte("1 5 7.0 {}"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		l := ladder{func(b []byte) ([]byte, error) { return b, nil }}
		if n, data, err := l.open(raw); err == nil {
			n2, data2, err := l.open(l.seal(n, data))
			require.NoError(t, err)
			require.Equal(t, n, n2)
			require.Equal(t, data, data2)
		}
		if n, name, data, err := l.openNamed(raw); err == nil {
			n2, name2, data2, err := l.openNamed(l.sealNamed(n, name, data))
			require.NoError(t, err)
			require.Equal(t, n, n2)
			require.Equal(t, name, name2)
			require.Equal(t, string(data), string(data2))
		}
	})
}

// Scripts that are called at once are sent together, and each gets its own
// answer.
func TestBatch(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		echo := redis.NewScript(`return {tonumber(ARGV[1])}`)
		ask := func(n int) error {
			v, err := s.scripts.run(ctx, echo, []string{key("x", 1)}, n).Int64Slice()
			if err == nil && (len(v) != 1 || v[0] != int64(n)) {
				return fmt.Errorf("%d gave %v", n, v)
			}
			return err
		}
		var all sync.WaitGroup
		for n := range 500 {
			all.Go(func() {
				if err := ask(n); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		// The server has forgotten the scripts, as after a restart.
		err := s.eachNode(ctx, func(ctx context.Context, c *redis.Client) error { return c.ScriptFlush(ctx).Err() })
		require.NoError(t, err)
		for n := range 50 {
			all.Go(func() {
				if err := ask(n); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		require.Error(t, s.scripts.run(ctx, redis.NewScript("this is no script"), []string{"x"}).Err())
		require.NoError(t, ask(1))

		gone, cancel := context.WithCancel(ctx)
		cancel()
		require.ErrorIs(t, s.scripts.run(gone, echo, []string{"x"}, 1).Err(), context.Canceled)
		require.NoError(t, s.Close())
		require.Error(t, ask(1), "closed")
	})
}

// What does not come from the platform has an id below zero.
func TestPutOffBelowZero(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		k := Key{Chat: sessiontest.Chat()}
		_, err := s.PutOff(ctx, PutOff{Update: -7, Chat: k.Chat, Data: []byte("u"), Room: 3, Owner: "me", Lease: lease})
		require.NoError(t, err)
		w, _, err := s.NextPutOff(ctx, k.Chat)
		require.NoError(t, err)
		require.EqualValues(t, -7, w.Update)
		require.Equal(t, Committed, commit(t, s, Turn{Update: -7, Key: k, Data: []byte("x"), WasPutOff: true}).Outcome)
		box, err := s.Claim(ctx, k.Chat, "me", lease, 9)
		require.NoError(t, err)
		require.True(t, box.Empty())
	})
}
