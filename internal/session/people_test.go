package session

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// mate makes a mate of whoever is changed, and says so.
func mate(p *Person) (bool, *Trace) {
	p.As, p.Name = Mate, "Ann"
	return true, &Trace{What: "in", Who: p.ID, Name: p.Name, By: 7, ByName: "Bob"}
}

func standing(t *testing.T, s *Store, id int64) Standing {
	t.Helper()
	p, err := s.Person(context.Background(), id)
	require.NoError(t, err)
	return p.As
}

func TestAPersonHasANumberForGood(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, ann, bob := context.Background(), sessiontest.Chat(), sessiontest.Chat()
		require.Equal(t, Stranger, standing(t, s, ann))
		first, err := s.ChangePerson(ctx, ann, mate)
		require.NoError(t, err)
		require.Positive(t, first.Number)
		second, err := s.ChangePerson(ctx, bob, mate)
		require.NoError(t, err)
		require.Greater(t, second.Number, first.Number)
		until := time.Now().Add(time.Hour).Truncate(time.Second)
		again, err := s.ChangePerson(ctx, ann, func(p *Person) (bool, *Trace) {
			p.Invites, p.Until = true, until
			p.Chairs = []Chair{{Ref: "ACDFGH", Role: "desk", Owner: 5}}
			return true, nil
		})
		require.NoError(t, err)
		require.Equal(t, first.Number, again.Number)
		require.True(t, again.Invites)
		require.True(t, until.Equal(again.Until))
		require.Equal(t, "Ann", again.Name)
		require.Equal(t, Mate, again.May(until))
		require.Equal(t, Out, again.May(until.Add(time.Second)), "whose time is over is out")
		require.NoError(t, s.Dismiss(ctx, ann))
		require.NoError(t, s.Dismiss(ctx, bob))
		third, err := s.ChangePerson(ctx, ann, mate)
		require.NoError(t, err)
		require.Greater(t, third.Number, second.Number, "no number is used again")
	})
}

// Who was let in by the version of before is read, is listed with a number, and is
// put out of both places.
func TestTheSetsOfBeforeAreRead(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, ann, bob := context.Background(), sessiontest.Chat(), sessiontest.Chat()
		require.NoError(t, s.rdb.SAdd(ctx, "sb:crew", ann).Err())
		require.NoError(t, s.rdb.SAdd(ctx, "sb:guests", ann, bob).Err())
		require.Equal(t, Mate, standing(t, s, ann))
		require.Equal(t, Guest, standing(t, s, bob))
		people, err := s.People(ctx)
		require.NoError(t, err)
		found := map[int64]Person{}
		for i, p := range people {
			found[p.ID] = p
			if i > 0 {
				require.Greater(t, p.Number, people[i-1].Number)
			}
		}
		require.Equal(t, Mate, found[ann].As)
		require.Positive(t, found[ann].Number)
		require.Equal(t, Guest, found[bob].As)

		_, err = s.ChangePerson(ctx, ann, func(p *Person) (bool, *Trace) {
			p.As = Out
			return true, nil
		})
		require.NoError(t, err)
		require.Equal(t, Out, standing(t, s, ann))
		require.False(t, s.rdb.SIsMember(ctx, "sb:crew", ann).Val(), "a program of before is to see it too")
		require.False(t, s.rdb.SIsMember(ctx, "sb:guests", ann).Val())
		require.NoError(t, s.Dismiss(ctx, bob))
		require.Equal(t, Stranger, standing(t, s, bob))
	})
}

// However many come by a link at once, one is in and the link is gone, also by a
// link of the version of before.
func TestALinkLetsOneIn(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, maker := context.Background(), sessiontest.Chat()
		for name, put := range map[string]func(context.Context, int64, string, []byte, time.Duration) error{"now": s.PutCrewLink, "before": s.PutLink} {
			token := fmt.Sprint("token of ", name, maker)
			require.NoError(t, put(ctx, maker, token, []byte("here"), time.Hour))
			var in, winner atomic.Int64
			var all sync.WaitGroup
			for range 20 {
				all.Go(func() {
					id := sessiontest.Chat()
					p, ok, err := s.LetIn(ctx, token, Person{}, id, mate)
					if err != nil {
						t.Error(err)
					}
					if ok {
						in.Add(1)
						winner.Store(p.ID)
					}
				})
			}
			all.Wait()
			require.EqualValues(t, 1, in.Load(), name)
			require.Equal(t, Mate, standing(t, s, winner.Load()))
			data, err := s.Link(ctx, token)
			require.NoError(t, err)
			require.Nil(t, data)
		}
	})
}

// A link of before that was kept for a person when the program died lets just that
// person in.
func TestAClaimedLinkWaitsForItsPerson(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, first, second := context.Background(), sessiontest.Chat(), sessiontest.Chat()
		token := fmt.Sprint("token for ", first)
		require.NoError(t, s.PutLink(ctx, second, token, []byte(`{"role":"crew"}`), time.Hour))
		require.NoError(t, claimLinkScript.Run(ctx, s.rdb, []string{linkKey(token)}, first).Err())
		data, err := s.Link(ctx, token)
		require.NoError(t, err)
		require.JSONEq(t, `{"role":"crew"}`, string(data))
		_, in, err := s.LetIn(ctx, token, Person{}, second, mate)
		require.NoError(t, err)
		require.False(t, in)
		_, in, err = s.LetIn(ctx, token, Person{}, first, mate)
		require.NoError(t, err)
		require.True(t, in)
		require.Equal(t, Mate, standing(t, s, first))
		require.Equal(t, Stranger, standing(t, s, second))
	})
}

// A link whose maker is not as they were read lets nobody in.
func TestALinkHangsOnItsMaker(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, maker, id := context.Background(), sessiontest.Chat(), sessiontest.Chat()
		token := fmt.Sprint("token by ", maker)
		was, err := s.ChangePerson(ctx, maker, mate)
		require.NoError(t, err)
		require.NoError(t, s.PutCrewLink(ctx, maker, token, []byte("here"), time.Hour))
		_, err = s.ChangePerson(ctx, maker, func(p *Person) (bool, *Trace) {
			p.As = Out
			return true, nil
		})
		require.NoError(t, err)
		_, in, err := s.LetIn(ctx, token, was, id, mate)
		require.Error(t, err)
		require.False(t, in)
		require.Equal(t, Stranger, standing(t, s, id))
	})
}

func TestTheTrailGoesBackAYear(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, old, ann := context.Background(), sessiontest.Chat(), sessiontest.Chat()
		s.now = func() time.Time { return time.Now().Add(-366 * 24 * time.Hour) }
		_, err := s.ChangePerson(ctx, old, mate)
		require.NoError(t, err)
		s.now = time.Now
		_, err = s.ChangePerson(ctx, ann, mate)
		require.NoError(t, err)
		trail, err := s.Trail(ctx)
		require.NoError(t, err)
		require.Equal(t, ann, trail[0].Who)
		require.Equal(t, "Ann", trail[0].Name)
		for _, line := range trail {
			require.NotEqual(t, old, line.Who)
		}
		require.NotContains(t, fmt.Sprint(s.rdb.LRange(ctx, trailKey, 0, -1).Val()), fmt.Sprint(old))

		for range mostTraces + 20 {
			_, err = s.ChangePerson(ctx, ann, mate)
			require.NoError(t, err)
		}
		require.EqualValues(t, mostTraces, s.rdb.LLen(ctx, trailKey).Val())
		require.Positive(t, s.rdb.TTL(ctx, trailKey).Val())
	})
}

// Who is dismissed stands nowhere: not in the list, not in the trail, and not as who
// let others in.
func TestDismissTakesNameAndNumber(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, ann, bob := context.Background(), sessiontest.Chat(), sessiontest.Chat()
		by := func(p *Person) (bool, *Trace) {
			p.As, p.Name, p.By, p.ByName = Mate, fmt.Sprint("n", p.ID), ann, fmt.Sprint("n", ann)
			return true, &Trace{What: "in", Who: p.ID, Name: p.Name, By: ann, ByName: p.ByName}
		}
		for _, id := range []int64{ann, bob} {
			_, err := s.ChangePerson(ctx, id, by)
			require.NoError(t, err)
		}
		require.NoError(t, s.Dismiss(ctx, ann))
		stored := fmt.Sprint(s.rdb.HGetAll(ctx, peopleKey).Val(), s.rdb.LRange(ctx, trailKey, 0, -1).Val())
		require.NotContains(t, stored, fmt.Sprint(ann))
		require.Contains(t, stored, fmt.Sprint("n", bob))
		require.Equal(t, Mate, standing(t, s, bob))
	})
}

func TestAStrangerIsToldOnceAnHour(t *testing.T) {
	m, url := sessiontest.Mini(t)
	s, ctx, id := open(t, url), context.Background(), sessiontest.Chat()
	told := func() bool {
		first, err := s.Told(ctx, id)
		require.NoError(t, err)
		return first
	}
	require.True(t, told())
	require.False(t, told())
	m.FastForward(time.Hour)
	require.True(t, told())
}

// Who was put out, or whose time was over, more than a year ago is kept no longer.
func TestWhoWasPutOutIsForgottenAfterAYear(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, long, late, expired, in := context.Background(), sessiontest.Chat(), sessiontest.Chat(), sessiontest.Chat(), sessiontest.Chat()
		before := time.Now().Add(-366 * 24 * time.Hour)
		for id, p := range map[int64]Person{
			long: {As: Out, Entry: Entry{At: before.Unix()}}, late: {As: Out, Entry: Entry{At: time.Now().Unix()}},
			expired: {As: Mate, Until: before}, in: {As: Mate, Entry: Entry{At: before.Unix()}},
		} {
			_, err := s.ChangePerson(ctx, id, func(was *Person) (bool, *Trace) {
				was.As, was.Until, was.Entry = p.As, p.Until, p.Entry
				return true, nil
			})
			require.NoError(t, err)
		}
		later := sessiontest.Chat() // of whom this program can't tell since when
		require.NoError(t, s.rdb.HSet(ctx, peopleKey, later, "9 1 out:-:0:901 {later}").Err())
		require.NoError(t, s.Trim(ctx))
		require.Equal(t, Out, standing(t, s, later))
		require.Equal(t, Stranger, standing(t, s, long))
		require.Equal(t, Stranger, standing(t, s, expired))
		require.Equal(t, Out, standing(t, s, late))
		require.Equal(t, Mate, standing(t, s, in))
	})
}

// A record of a later program still says who may come in; a broken one lets nobody in
// and is not listed.
func TestRecordsOfPeopleThatCannotBeRead(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, ann, bob := context.Background(), sessiontest.Chat(), sessiontest.Chat()
		require.NoError(t, s.rdb.HSet(ctx, peopleKey, ann, "9 1 mate:+:0:900 {later}", bob, "nonsense").Err())
		p, err := s.Person(ctx, ann)
		require.NoError(t, err)
		require.Equal(t, Mate, p.As)
		require.Equal(t, 900, p.Number)
		require.Equal(t, Stranger, standing(t, s, bob))
		people, err := s.People(ctx)
		require.NoError(t, err)
		for _, p := range people {
			require.NotEqual(t, bob, p.ID)
		}
		require.NoError(t, s.Dismiss(ctx, bob))
		require.NoError(t, s.Dismiss(ctx, ann))
		require.Empty(t, s.rdb.HMGet(ctx, peopleKey, fmt.Sprint(ann)).Val()[0])
	})
}
