package engine

import (
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// frameOn is a job of a chat of which a frame comes on that day.
func frameOn(t testing.TB, chat int64, ref, day string) job.Job {
	t.Helper()
	j := job.New(ref, job.Who{Chat: chat, Person: chat}, time.Now(), job.DefaultSettings())
	j.LastID = 1
	j.Openings = []job.Opening{{ID: 1, Said: opening.Record{}.Put(opening.Stamp{Role: opening.Fitter, At: time.Now().Unix(), Turn: 1},
		opening.Entry{Act: opening.Set, Key: "name", Value: "hall"},
		opening.Entry{Act: opening.Step, Value: "at." + string(job.Confirmed)},
		opening.Entry{Act: opening.Set, Key: "due", Value: day},
	)}}
	stored, err := j.Encode()
	require.NoError(t, err)
	j, err = stored.Decode() // what follows from the window, for its row
	require.NoError(t, err)
	return j
}

// deliveredOn stores a frameOn.
func deliveredOn(t testing.TB, s *session.Store, chat int64, ref, day string) {
	t.Helper()
	stored, err := frameOn(t, chat, ref, day).Encode()
	require.NoError(t, err)
	k := session.Key{Chat: chat}
	begin(t, s, k, ref, session.Part{Data: stored.Head}, session.Part{Window: 1, Data: stored.Parts[1]})
	now, err := s.Load(ctx, k)
	require.NoError(t, err)
	_, err = s.Commit(ctx, session.Turn{Update: 2, Key: k, From: now, Data: now.Data, Looked: true}) // the next turn says when to look
	require.NoError(t, err)
}

// reminded are the reminders that a chat got.
func (p *post) reminded(chat int64) (list []Message) {
	for _, m := range p.sent(chat) {
		for _, line := range m.Reply.Text.Lines["lines"] {
			if line.Key == "remind.job" {
				list = append(list, m)
			}
		}
	}
	return list
}

// A frame that comes on a Thursday is told of on the Wednesday at eight by the reader's clock,
// once, though two programs look; and who never writes is not kept for longer by it. The
// bubble begins on Saturday, 1 January 2000.
func TestAReminderComesOnceInTheMorning(t *testing.T) {
	still(t, func(t *testing.T, open func(Sender, Options) *Engine) {
		sent := &post{}
		o := Options{Step: dialog.Step, Sweep: 12 * time.Hour, Lease: 24 * time.Hour, Remind: 3 * time.Hour}
		figures := [2]*prometheus.Registry{prometheus.NewRegistry(), prometheus.NewRegistry()}
		o.Metrics = figures[0]
		one := open(sent, o)
		o.Metrics = figures[1]
		two := open(sent, o)
		deliveredOn(t, one.store, 5, "ACDFGH", "2000-01-06")
		deliveredOn(t, one.store, 6, "BCDFGH", "2000-01-06")
		for id, text := range map[int64]string{5: "reminders", 6: "zone America/New_York"} {
			u := typed(10, id, text)
			u.Input.Now = time.Now()
			require.NoError(t, map[int64]*Engine{5: one, 6: two}[id].Take(ctx, u))
		}
		held, err := one.store.Export(ctx, 5, 0)
		require.NoError(t, err)
		require.Equal(t, "2000-01-01T08:00:00Z", held.Look.UTC().Format(time.RFC3339), "a turn says to look in the morning")
		expires := held.Conversations[0].Expires
		time.Sleep(4 * 24 * time.Hour) // both programs were down
		run(t, one)
		run(t, two)
		for _, wait := range []struct {
			until string
			a, b  int
		}{
			{"2000-01-05T07:59:00Z", 0, 0}, {"2000-01-05T12:59:00Z", 1, 0}, {"2000-01-05T15:01:00Z", 1, 1},
			{"2000-01-06T13:00:00Z", 1, 1},
		} {
			until, err := time.Parse(time.RFC3339, wait.until)
			require.NoError(t, err)
			time.Sleep(time.Until(until))
			require.Len(t, sent.reminded(5), wait.a, wait.until)
			require.Len(t, sent.reminded(6), wait.b, wait.until)
		}
		held, err = one.store.Export(ctx, 5, 0)
		require.NoError(t, err)
		require.Nil(t, held.Look, "there is nothing to wait for any more")
		require.WithinDuration(t, expires, held.Conversations[0].Expires, 2*time.Second)
		said := 0.0
		for _, f := range figures {
			said += metric(t, f, "sillbot_reminders_total", "said")
		}
		require.EqualValues(t, 2, said)
	})
}

// After a look the first turn of the chat says anew when to look, within the hour too: what
// it changes may come before what the look saw.
func TestATurnAfterALookSaysWhenToLook(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		chat := sessiontest.Chat()
		step := func(s dialog.State, in dialog.Input) (dialog.State, []dialog.Reply) {
			if day, ok := strings.CutPrefix(in.Text, "due "); ok {
				named := frameOn(t, chat, s.Job.Ref, day)
				s.Job = &named
				return s, nil
			}
			return dialog.Step(s, in)
		}
		e := newEngine(t, url, &post{}, Options{Step: step, Rate: -1})
		deliveredOn(t, e.store, chat, "ACDFGH", "2026-12-31")
		at := time.Date(2026, time.November, 25, 9, 0, 0, 0, time.UTC)
		look := func() string {
			held, err := e.store.Export(ctx, chat, 0)
			require.NoError(t, err)
			return held.Look.UTC().Format("2006-01-02 15:04")
		}
		take := func(id int64, text string) {
			u := typed(id, chat, text)
			u.Input.Now = at
			require.NoError(t, e.Take(ctx, u))
		}
		take(4, "reminders")
		require.Equal(t, "2026-11-26 08:00", look())
		require.NoError(t, e.Remind(ctx, at.AddDate(0, 0, 1)))
		require.Equal(t, "2026-12-30 08:00", look(), "the day before the delivery")
		at = at.AddDate(0, 0, 1)
		take(5, "reminders")
		require.Equal(t, "2026-11-27 08:00", look())
		require.NoError(t, e.Remind(ctx, at.AddDate(0, 0, 1).Add(12*time.Hour)))
		require.Equal(t, "2026-11-28 08:00", look(), "at night it is only put off")
		at = at.AddDate(0, 0, 1)
		take(6, "due 2026-11-28")
		require.Equal(t, "2026-11-27 09:15", look(), "a delivery of tomorrow, named after 8")
		require.NoError(t, e.Remind(ctx, at.Add(15*time.Minute)))
		take(7, "reminders")
		require.Equal(t, "2026-11-28 08:00", look(), "it is no news any more")
	})
}

// Who was put out hears of nothing, and what can't be read is left for a day.
func TestWhoIsNotReminded(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		sent := &post{}
		e := newEngine(t, url, sent, Options{Step: dialog.Step, Crew: []int64{1}})
		out, in, broken := sessiontest.Chat(), sessiontest.Chat(), sessiontest.Chat()
		eve := time.Date(2026, time.December, 30, 9, 0, 0, 0, time.UTC)
		for _, chat := range []int64{out, in} {
			deliveredOn(t, e.store, chat, "ACDFGH", "2026-12-31")
			as := session.Mate
			if chat == out {
				as = session.Out
			}
			_, err := e.store.ChangePerson(ctx, chat, func(p *session.Person) (bool, *session.Trace) {
				p.As = as
				return true, nil
			})
			require.NoError(t, err)
		}
		for _, chat := range []int64{out, in, broken} {
			k := session.Key{Chat: chat}
			old, err := e.store.Load(ctx, k)
			require.NoError(t, err)
			turn := session.Turn{Update: 9, Key: k, From: old, Look: eve, Must: true}
			if chat == broken {
				turn.Data = []byte("{")
			}
			r, err := e.store.Commit(ctx, turn)
			require.NoError(t, err)
			require.Equal(t, session.Committed, r.Outcome)
		}
		require.NoError(t, e.Remind(ctx, eve))
		require.NoError(t, e.Flush(ctx, in))
		require.NoError(t, e.Flush(ctx, out))
		require.Len(t, sent.reminded(in), 1)
		require.Empty(t, sent.sent(out))
		require.Empty(t, sent.sent(broken))
		due, err := e.store.Due(ctx, eve.Add(23*time.Hour))
		require.NoError(t, err)
		require.NotContains(t, due, broken)
		due, err = e.store.Due(ctx, eve.Add(25*time.Hour))
		require.NoError(t, err)
		require.Contains(t, due, broken)
	})
}
