package dialog

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
	"sillbot/internal/talk"
)

// moment is a time by the clock of a zone.
func moment(t *testing.T, zone, text string) time.Time {
	t.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", text, State{Zone: zone}.clock())
	require.NoError(t, err)
	return at
}

// The clocks of London change on 29 March and 25 October 2026, both Sundays (GOV.UK, "When
// do the clocks change?"), those of New York on 8 March and 1 November 2026 (National
// Institute of Standards and Technology, "Daylight Saving Time Rules"; from memory).
func TestRemindersComeInTheMorning(t *testing.T) {
	for _, test := range []struct{ zone, now, next, utc string }{
		{"", "2026-03-27 08:00", "2026-03-28 08:00", "2026-03-28 08:00"},
		{"", "2026-03-28 08:00", "2026-03-30 08:00", "2026-03-30 07:00"},
		{"", "2026-03-29 00:30", "2026-03-30 08:00", "2026-03-30 07:00"},
		{"", "2026-10-24 07:59", "2026-10-24 08:00", "2026-10-24 07:00"},
		{"", "2026-10-24 20:00", "2026-10-26 08:00", "2026-10-26 08:00"},
		{"America/New_York", "2026-03-07 09:00", "2026-03-09 08:00", "2026-03-09 12:00"},
		{"America/New_York", "2026-10-31 09:00", "2026-11-02 08:00", "2026-11-02 13:00"},
		{"Asia/Kolkata", "2026-11-25 23:00", "2026-11-26 08:00", "2026-11-26 02:30"},
	} {
		next := nextMorning(moment(t, test.zone, test.now))
		require.Equal(t, moment(t, test.zone, test.next), next, "%v", test)
		require.Equal(t, test.utc, next.UTC().Format("2006-01-02 15:04"), "%v", test)
	}
	for text, want := range map[string]bool{
		"2026-03-30 06:59": true, "2026-03-30 07:00": false, "2026-03-30 19:59": false, "2026-03-30 20:00": true,
		"2026-03-29 12:00": true, "2026-10-25 12:00": true, "2026-10-26 12:00": false,
	} {
		require.Equal(t, want, asleep(moment(t, "", text)), text)
	}
}

// A turn says to look at its chat no later than there may be anything to say, and at once
// where the last hour's turns could not know it.
func TestWhenATurnSaysToLook(t *testing.T) {
	noon := moment(t, "", "2026-11-25 12:00")
	morrow := moment(t, "", "2026-11-26 08:00")
	none, own := State{}, State{Own: []string{"ACDFGH"}}
	abroad := own
	abroad.Zone = "America/New_York"
	owed := State{Seats: []Seat{{Ref: "ACDFGH", Role: job.Desk, Owner: 1, Owed: []job.Reminder{{What: job.Unconfirmed, Openings: []int{1}}}}}}
	told := owed
	told.Reminders = &reminders{Day: "2026-11-25"}
	in, mail := Input{Kind: Typed, Now: noon}, Input{Kind: Mailed, Now: noon, Mail: &Mail{Remind: []job.Reminder{{}}}}
	late := mail
	late.Now = moment(t, "", "2026-11-25 19:50")
	early := mail
	early.Now = moment(t, "", "2026-11-25 08:00")
	night, dawn := in, in
	night.Now, dawn.Now = moment(t, "", "2026-11-25 20:00"), moment(t, "", "2026-11-25 07:30")
	comes := func(due string) State {
		s := own
		s.Job = &job.Job{Ref: "ACDFGH", Openings: []job.Opening{{ID: 1, State: job.Confirmed, Supply: job.Supply{Due: due}}}}
		return s
	}
	for name, test := range map[string]struct {
		was, now State
		in       Input
		at       time.Time
		must     bool
		before   *job.Job
	}{
		"nothing of the chat's own":        {none, none, in, time.Time{}, false, nil},
		"a job is begun":                   {none, own, in, morrow, true, nil},
		"goes on":                          {own, own, in, morrow, false, nil},
		"goes on in a group":               {own, own, Input{Kind: Typed, Now: noon, Group: true}, morrow, true, nil},
		"another clock":                    {own, abroad, in, moment(t, "America/New_York", "2026-11-25 08:00"), true, nil},
		"an owner reminds a chair":         {State{}, owed, mail, noon.Add(gather), true, nil},
		"in the morning, with the others":  {State{}, owed, early, moment(t, "", "2026-11-25 08:15"), true, nil},
		"a chair was reminded today":       {State{}, told, mail, morrow, true, nil},
		"too late for today":               {State{}, owed, late, morrow, true, nil},
		"and is typed in by the chair now": {owed, owed, in, noon.Add(gather), false, nil},
		"a delivery of tomorrow":           {own, comes("2026-11-26"), in, noon.Add(gather), true, comes("2026-12-01").Job},
		"of tomorrow still":                {own, comes("2026-11-26"), in, morrow, false, comes("2026-11-26").Job},
		"of tomorrow, in a job that came":  {own, comes("2026-11-26"), in, noon.Add(gather), true, nil},
		"of the day after":                 {own, comes("2026-11-27"), in, morrow, false, comes("2026-11-26").Job},
		"of tomorrow, in the evening":      {own, comes("2026-11-26"), late, late.Now, true, nil},
		"of tomorrow, at night":            {own, comes("2026-11-26"), night, morrow, false, nil},
		"of tomorrow, before breakfast":    {own, comes("2026-11-26"), dawn, moment(t, "", "2026-11-25 08:00"), false, nil},
	} {
		at, must := Look(test.was, test.now, test.before, test.in)
		require.Equal(t, test.at.UTC(), at.UTC(), name)
		require.Equal(t, test.must, must, name)
	}
}

// After a look the next one is when there may be something to say, and none where nothing waits.
func TestWhenToLookAgain(t *testing.T) {
	at := func(text string) time.Time { return moment(t, "", text) }
	due := job.Job{Ref: "ACDFGH", Openings: []job.Opening{{ID: 1, State: job.Confirmed, Supply: job.Supply{Due: "2026-12-07"}}}}
	for _, test := range []struct {
		now  string
		s    State
		jobs []job.Job
		next time.Time
	}{
		{"2026-11-25 08:00", State{}, nil, time.Time{}},
		{"2026-11-25 08:00", State{}, []job.Job{due}, at("2026-12-05 08:00")}, // the Saturday before a Monday
		{"2026-11-25 03:00", State{}, nil, at("2026-11-25 08:00")},
		{"2026-11-25 21:00", State{}, nil, at("2026-11-26 08:00")},
		{"2026-11-25 08:00", State{Seats: []Seat{{Ref: "BCDFGH", Role: job.Lead}}}, nil, at("2026-11-25 08:15")},
		{"2026-11-25 08:15", State{Seats: []Seat{{Ref: "BCDFGH", Role: job.Lead}}}, nil, time.Time{}},
	} {
		next, must := Look(test.s, test.s, nil, Input{Kind: Due, Now: at(test.now), Jobs: test.jobs})
		require.Equal(t, test.next.UTC(), next.UTC(), "%v", test)
		require.True(t, must)
	}
}

// Two looks say what there is once, whichever of them is committed first: the second is made
// again of what the first has left.
func TestTwoLooksSayItOnce(t *testing.T) {
	now := moment(t, "", "2026-12-05 08:00")
	j := job.Job{Ref: "ACDFGH", Shares: []job.Share{{Role: job.Lead, UsedBy: 2}}, Openings: []job.Opening{
		{ID: 1, State: job.Confirmed, Supply: job.Supply{Due: "2026-12-07"}},
		{ID: 2, State: job.Checking, Check: &job.Check{Asked: job.Stamp{At: now.AddDate(0, 0, -3)}}},
	}}
	in := Input{Kind: Due, Now: now, Chat: 1, Jobs: []job.Job{j}}
	s := State{Version: schema, Own: []string{j.Ref}}
	first, said := Step(s, in)
	require.Len(t, said, 2)
	require.Equal(t, []job.Reminder{{What: job.ToCheck, Openings: []int{2}, Day: "2026-12-02"}}, said[1].Mail.Remind)
	second, again := Step(first, in)
	require.Empty(t, again)
	require.Equal(t, first, second)
	in.Now = now.Add(14 * time.Hour)
	_, again = Step(s, in)
	require.Empty(t, again, "at night")
	in.Now, s.Missed = now, &Missed{Count: 1}
	_, said = Step(s, in)
	require.Len(t, said, 1, "who blocked the bot is told nothing, and the lead is")
	require.NotNil(t, said[0].Mail)
	s.Missed = nil
	in.Jobs[0].Handing = &job.Handing{}
	_, said = Step(s, in)
	require.Empty(t, said, "it is another's now")
}

// Whoever has a chair does not hear of what was done between the owner's letter and the
// look, nor of what was switched off.
func TestWhatIsOwedIsLookedAtOnceMore(t *testing.T) {
	now := moment(t, "", "2026-11-25 12:00")
	list := []job.Reminder{{What: job.ToCheck, Openings: []int{1, 2}, Day: "2026-11-23"}}
	s := State{Version: schema, Seats: []Seat{{Ref: "ACDFGH", Role: job.Lead, Owner: 1, Owed: list, Points: []job.OpenPoint{{What: job.ToCheck, Openings: []int{2}}}}}}
	look := func(s State) (State, []Reply) { return Step(s, Input{Kind: Due, Now: now, Chat: 2}) }
	next, said := look(s)
	require.Len(t, said, 1)
	require.Contains(t, words().Plain("en", said[0].Text), "window 2.")
	require.Nil(t, next.Seats[0].Owed)
	s.Reminders = &reminders{Off: []job.Matter{job.ToCheck}}
	_, said = look(s)
	require.Empty(t, said)
	s.Reminders, s.Seats[0].Done = nil, true
	_, said = look(s)
	require.Empty(t, said, "the job is over")
	s.Seats[0].Done = false
	asked, _ := Step(s, Input{Kind: Pressed, Now: now, Chat: 2, User: 2, Text: talk.JobPress + ":ACDFGH:show"})
	_, said = look(asked)
	require.Empty(t, said, "they are at it")
}

// The second reminder of a day is of the delivery that was named since, and of nothing that
// is owed at a chair: that waits for the next morning.
func TestWhatIsOwedWaitsForTheNextMorning(t *testing.T) {
	owed := []job.Reminder{{What: job.Unconfirmed, Openings: []int{1}}}
	s := State{Version: schema, Conv: 1, Seats: []Seat{{Ref: "BCDFGH", Role: job.Desk, Owner: 5, Owed: owed}}}
	own := job.Job{Ref: "ACDFGH", Openings: []job.Opening{{ID: 1, State: job.Confirmed, Supply: job.Supply{Due: "2026-11-26"}}}}
	in := Input{Kind: Due, Now: moment(t, "", "2026-11-25 12:00"), Chat: 7, Jobs: []job.Job{own}}
	_, both := Step(s, in)
	require.Len(t, both, 1)
	require.Len(t, both[0].Text.Lines["lines"], 4, "the first of a day has both")

	s.Reminders = &reminders{Day: "2026-11-25", Asked: "2026-11-25"}
	next, late := Step(s, in)
	require.Len(t, late, 1)
	require.Equal(t, both[0].Text.Lines["lines"][:2], late[0].Text.Lines["lines"])
	require.Equal(t, owed, next.Seats[0].Owed)
}
