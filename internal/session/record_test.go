package session

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

func TestDeadList(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s := open(t, url)
	ctx := context.Background()
	m.SetTime(time.Now())
	for i := range deadRoom + 5 {
		require.NoError(t, s.Bury(ctx, fmt.Appendf(nil, "{%d", i)))
	}
	require.Equal(t, fmt.Sprintf("{%d", deadRoom+4), dead(t, s)[0])
	require.Len(t, dead(t, s), deadRoom)
	require.Equal(t, 14*24*time.Hour, m.TTL(deadKey))

	// Old ones go though new ones keep coming.
	_, err := m.Push(deadKey, string(ladder(nil).seal(1, []byte("old"))))
	require.NoError(t, err)
	require.NoError(t, s.Bury(ctx, []byte("new")))
	require.NotContains(t, dead(t, s), "old")
	require.NoError(t, s.Bury(ctx, []byte(strings.Repeat("x", 1<<20))))
	require.Len(t, dead(t, s)[0], deadSize)
}

// dead are the updates on the dead list, newest first.
func dead(t *testing.T, s *Store) (all []string) {
	list, err := s.rdb.LRange(context.Background(), deadKey, 0, -1).Result()
	require.NoError(t, err)
	for _, raw := range list {
		if _, data, err := ladder(nil).open([]byte(raw)); err == nil {
			all = append(all, string(data))
		}
	}
	return all
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
	box, err := claim(later, 5, "me", 9)
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
	box, err = claim(old, 5, "me", 9)
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
	box, err := claim(s, 50, "me", 9)
	require.NoError(t, err)
	require.ErrorIs(t, box.Items[0].Err, ErrBroken)
	_, err = remove(s, 50, []string{box.Items[0].ID}, "me", 9)
	require.NoError(t, err)
	w, ok, err := s.NextPutOff(ctx, 50)
	require.NoError(t, err)
	require.True(t, ok)
	require.ErrorIs(t, w.Err, ErrBroken)
	require.NoError(t, s.PutOffAside(ctx, 50, w, []byte(`"aside"`)))
	box, err = claim(s, 50, "me", 9)
	require.NoError(t, err)
	box, err = remove(s, 50, []string{box.Items[0].ID}, "me", 9)
	require.NoError(t, err)
	require.True(t, box.Empty)
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
