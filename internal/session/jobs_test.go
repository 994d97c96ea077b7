package session

import (
	"context"
	"crypto/rand"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// headOf is a change that stores a new job of a head alone.
func headOf(ref string, data []byte) JobChange {
	return JobChange{Ref: ref, Write: []Part{{Data: data}}}
}

func TestAJobIsWrittenWithItsTurnOrNotAtAll(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		k := Key{Chat: chat}
		none, err := s.LoadJob(ctx, chat, "ACDFGH", 1, 2)
		require.NoError(t, err)
		require.Equal(t, []Part{{}, {Window: 1}, {Window: 2}}, none)
		first := Turn{Update: 1, Key: k, Data: []byte(`{"v":1}`), Job: JobChange{
			Ref: "ACDFGH", Write: []Part{{Data: []byte(`"head"`)}, {Window: 1, Data: []byte(`"one"`)}, {Window: 2, Data: []byte(`"two"`)}},
		}}
		require.Equal(t, Committed, commit(t, s, first).Outcome)

		// Somebody who loaded the job before that is stale, even where the
		// conversation is another one of the same chat.
		other := Key{Chat: chat, User: 7, Group: true}
		for _, change := range []JobChange{
			{Ref: "ACDFGH", Write: none[:1]},
			{Ref: "ACDFGH", Write: []Part{{Window: 1, Data: []byte(`"late"`)}}},
			{Ref: "ACDFGH", Read: none[2:], Write: []Part{{Window: 3, Data: []byte(`"late"`)}}},
		} {
			r := commit(t, s, Turn{Update: 2, Key: other, Data: []byte(`{"v":2}`), Job: change})
			require.Equal(t, Stale, r.Outcome)
		}
		require.Nil(t, load(t, s, other).Data, "nothing of a stale turn is written")

		now, err := s.LoadJob(ctx, chat, "ACDFGH", 2, 1, 3)
		require.NoError(t, err)
		require.Equal(t, []string{`"head"`, `"two"`, `"one"`, ""}, dataOf(now))
		now[1].Data, now[2].Data = []byte(`"two again"`), nil
		r := commit(t, s, Turn{Update: 2, Key: other, Data: []byte(`{"v":2}`), Job: JobChange{Ref: "ACDFGH", Read: now[:1], Write: now[1:3]}})
		require.Equal(t, Committed, r.Outcome)
		after, err := s.LoadJob(ctx, chat, "ACDFGH", 2, 1)
		require.NoError(t, err)
		require.Equal(t, []string{`"head"`, `"two again"`, ""}, dataOf(after))
		require.Equal(t, now[0].Rev, after[0].Rev, "what was only read has its revision still")
		require.NotEqual(t, now[1].Rev, after[1].Rev)
	})
}

func dataOf(parts []Part) (data []string) {
	for _, p := range parts {
		data = append(data, string(p.Data))
	}
	return data
}

// Two people of a group who answer in two windows of one job do not get in each
// other's way; in one window the second is stale.
func TestWindowsOfAJobHaveRevisionsOfTheirOwn(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		chat := -sessiontest.Chat()
		ana, ben := Key{Chat: chat, User: 1, Group: true}, Key{Chat: chat, User: 2, Group: true}
		of := func(parts ...Part) JobChange { return JobChange{Ref: "ACDFGH", Write: parts} }
		commit(t, s, Turn{Update: 1, Key: ana, Job: of(Part{Window: 1, Data: []byte("1")}, Part{Window: 2, Data: []byte("2")})})
		parts, err := s.LoadJob(context.Background(), chat, "ACDFGH", 1, 2)
		require.NoError(t, err)
		one, two := parts[1], parts[2]
		one.Data, two.Data = []byte("one"), []byte("two")
		require.Equal(t, Committed, commit(t, s, Turn{Update: 2, Key: ana, Job: of(one)}).Outcome)
		require.Equal(t, Committed, commit(t, s, Turn{Update: 3, Key: ben, Job: of(two)}).Outcome)
		require.Equal(t, Stale, commit(t, s, Turn{Update: 4, Key: ben, Job: of(one)}).Outcome)
		require.NoError(t, s.Forget(context.Background(), chat))
	})
}

// What was stored before windows stood by themselves is a field of the job's
// name with the whole job in it.
func TestAJobStoredWholeIsReplaced(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		require.NoError(t, s.rdb.HSet(ctx, key("j", chat), "ACDFGH", `1 1764061200000000 {"v":1,"openings":[{"id":1}]}`).Err())
		old, err := s.LoadJob(ctx, chat, "ACDFGH")
		require.NoError(t, err)
		require.Equal(t, []Part{{Rev: 1764061200000000, Data: []byte(`{"v":1,"openings":[{"id":1}]}`)}}, old)
		change := JobChange{Ref: "ACDFGH", Write: []Part{{Rev: old[0].Rev, Data: []byte(`{"v":2}`)}, {Window: 1, Data: []byte(`{"id":1}`)}}}
		require.Equal(t, Committed, commit(t, s, Turn{Update: 1, Key: Key{Chat: chat}, Job: change}).Outcome)
		require.Equal(t, Stale, commit(t, s, Turn{Update: 2, Key: Key{Chat: chat}, Job: change}).Outcome)
		stored, err := s.rdb.HGetAll(ctx, key("j", chat)).Result()
		require.NoError(t, err)
		require.Len(t, stored, 2)
		require.Equal(t, `1 1764061200000001 {"v":2}`, stored["ACDFGH"])
		require.Contains(t, stored["ACDFGH/1"], `{"id":1}`)
	})
}

func TestLinksLeadToOneChatUntilTheyAreDropped(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx, chat := context.Background(), sessiontest.Chat()
		require.NoError(t, s.PutLink(ctx, chat, "first-token-of-the-test", []byte("here"), time.Hour))
		require.NoError(t, s.PutLink(ctx, chat, "second-token-of-the-test", []byte("there"), time.Hour))
		data, err := s.Link(ctx, "first-token-of-the-test")
		require.NoError(t, err)
		require.Equal(t, "here", string(data))
		require.NoError(t, s.DropLink(ctx, "first-token-of-the-test"))
		data, err = s.Link(ctx, "first-token-of-the-test")
		require.NoError(t, err)
		require.Nil(t, data)

		// Deletion takes the links along, and the jobs.
		_, err = s.Commit(ctx, Turn{Update: 1, Key: Key{Chat: chat}, Data: []byte(`{}`), Job: headOf("ACDFGH", []byte(`{}`))})
		require.NoError(t, err)
		held, err := s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Contains(t, held.Jobs, "ACDFGH")
		require.Len(t, held.Links, 2)
		require.NoError(t, s.Forget(ctx, chat))
		data, err = s.Link(ctx, "second-token-of-the-test")
		require.NoError(t, err)
		require.Nil(t, data)
		held, err = s.Export(ctx, chat, 0)
		require.NoError(t, err)
		require.Equal(t, Holding{Chat: chat}, held)
	})
}

// A process that was stopped in the middle of writing a link brings none back that was
// used or withdrawn meanwhile.
func TestALinkIsWrittenOnce(t *testing.T) {
	each(t, func(t *testing.T, s *Store) {
		ctx := context.Background()
		owner, token := sessiontest.Chat(), rand.Text()
		leads := func() string {
			data, err := s.Link(ctx, token)
			require.NoError(t, err)
			return string(data)
		}
		require.NoError(t, s.DropLink(ctx, token), "there is none yet")
		require.NoError(t, s.PutLink(ctx, owner, token, []byte("a job"), time.Hour))
		require.Equal(t, "a job", leads())
		require.NoError(t, s.DropLink(ctx, token))
		require.NoError(t, s.PutLink(ctx, owner, token, []byte("a job"), time.Hour))
		require.Empty(t, leads())

		token = rand.Text()
		put := func() { require.NoError(t, s.PutCrewLink(ctx, owner, token, []byte("crew"), time.Hour)) }
		put()
		person := sessiontest.Chat()
		in := func() bool {
			_, in, err := s.LetIn(ctx, token, Person{}, person, func(p *Person) (bool, *Trace) {
				p.As = Mate
				return true, nil
			})
			require.NoError(t, err)
			return in
		}
		require.True(t, in())
		put()
		require.Empty(t, leads())
		person = sessiontest.Chat()
		require.False(t, in())
	})
}
