package job

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The clocks change on 29 March and 25 October 2026, both Sundays (GOV.UK, "When do the
// clocks change?"): a day of 23 or 25 hours is one day.
func TestRemindersGoByTheCalendar(t *testing.T) {
	london, err := time.LoadLocation("Europe/London")
	require.NoError(t, err)
	at := func(text string) time.Time {
		v, err := time.ParseInLocation("2006-01-02 15:04", text, london)
		require.NoError(t, err)
		return v
	}
	for _, test := range []struct {
		from, to       string
		days, weekdays int
	}{
		{"2026-03-27 23:50", "2026-03-30 00:10", 3, 1},
		{"2026-03-28 23:50", "2026-03-29 03:00", 1, 0},
		{"2026-10-24 00:10", "2026-10-26 23:50", 2, 1},
		{"2026-10-25 00:10", "2026-10-25 23:50", 0, 0},
		{"2026-11-20 09:00", "2026-11-25 09:00", 5, 3}, // a Friday to the Wednesday after
		{"2026-11-21 09:00", "2026-11-23 09:00", 2, 1},
	} {
		require.Equal(t, test.days, daysBetween(at(test.from), at(test.to)), "%v", test)
		require.Equal(t, test.weekdays, weekdaysBetween(at(test.from), at(test.to)), "%v", test)
	}
	require.Equal(t, at("2026-03-28 00:00"), dayBefore(at("2026-03-30 00:00")), "a Sunday is passed over")
	require.Equal(t, at("2026-10-23 00:00"), dayBefore(at("2026-10-24 00:00")))
}

func TestRemindersOfAJob(t *testing.T) {
	utc := time.UTC
	at := func(day int, hour int) time.Time { return time.Date(2026, time.November, day, hour, 0, 0, 0, utc) }
	sent := Sending{Revision: 1, By: Stamp{At: at(18, 15)}} // a Wednesday
	j := Job{Ref: "ACDFGH", Order: Order{Revision: 1, On: []int{1, 2, 3}, Sent: []Sending{sent}}, Openings: []Opening{
		{ID: 1, State: Ordered, taken: Ordered, Since: at(18, 15)},
		{ID: 2, State: Confirmed, taken: Confirmed, Supply: Supply{Due: "2026-11-26"}},
		{ID: 3, State: Ordered, taken: Queried, questions: 1, Supply: Supply{Notes: []Note{{Open: true, Question: 1, By: Stamp{At: at(19, 16)}}}}},
		{ID: 4, State: Checking, taken: Checking, Check: &Check{Asked: Stamp{At: at(20, 9)}}},
		{ID: 5, State: Delivered, taken: Delivered, Supply: Supply{Due: "2026-11-26"}},
		{ID: 6, State: Survey, taken: Survey},
	}}
	for _, test := range []struct {
		name string
		now  time.Time
		list []Reminder
		next time.Time
	}{
		{"the day of sending", at(18, 16), nil, at(19, 0)},
		{"the day after a question", at(20, 8), []Reminder{{AskedByDesk, []int{3}, "2026-11-19"}}, at(21, 0)},
		{"two days after the lead was asked", at(22, 12), []Reminder{{AskedByDesk, []int{3}, "2026-11-19"}, {ToCheck, []int{4}, "2026-11-20"}}, at(23, 0)},
		{"three working days after sending", at(23, 8), []Reminder{
			{AskedByDesk, []int{3}, "2026-11-19"}, {ToCheck, []int{4}, "2026-11-20"}, {Unconfirmed, []int{1}, "2026-11-18"},
		}, at(24, 0)},
		{"the day before the delivery", at(25, 8), []Reminder{
			{DeliveryNear, []int{2}, "2026-11-26"},
			{AskedByDesk, []int{3}, "2026-11-19"}, {ToCheck, []int{4}, "2026-11-20"}, {Unconfirmed, []int{1}, "2026-11-18"},
		}, at(26, 0)},
		{"nobody wants it any more", at(18, 8).AddDate(0, 0, 32), nil, time.Time{}},
	} {
		list, next := j.Reminders(test.now)
		require.Equal(t, test.list, list, test.name)
		require.Equal(t, test.next, next, test.name)
		list = slices.DeleteFunc(list, func(r Reminder) bool { return r.What != DeliveryNear })
		require.ElementsMatch(t, list, j.ComesNext(test.now), test.name)
	}
	_, next := Job{Openings: j.Openings[1:2]}.Reminders(at(18, 16))
	require.Equal(t, at(25, 0), next, "nothing is looked at before there is anything to say")
	require.Equal(t, []Role{Fitter, Lead}, ToCheck.Whose())
	require.Equal(t, []Role{Fitter, Desk}, Unconfirmed.Whose())
	require.Equal(t, []Role{Fitter}, DeliveryNear.Whose())
}

// The day to look again is that of whatever comes first, wherever it stands in the list:
// the day before the delivery, or tomorrow where something waits. 30 November 2026 is a
// Monday, and nobody is reminded on a Sunday.
func TestTheNextLookIsAtWhatComesFirst(t *testing.T) {
	day := func(day int) time.Time { return time.Date(2026, time.November, day, 0, 0, 0, 0, time.UTC) }
	late := Opening{ID: 1, State: Confirmed, taken: Confirmed, Supply: Supply{Due: "2026-11-30"}}
	soon := Opening{ID: 2, State: Confirmed, taken: Confirmed, Supply: Supply{Due: "2026-11-26"}}
	waits := Opening{ID: 3, State: Checking, taken: Checking, Check: &Check{Asked: Stamp{At: day(18)}}}
	for _, c := range []struct {
		list []Opening
		next time.Time
	}{
		{[]Opening{late}, day(28)}, {[]Opening{late, soon}, day(25)}, {[]Opening{soon, late}, day(25)},
		{[]Opening{late, soon, waits}, day(19)}, {[]Opening{waits, soon, late}, day(19)},
	} {
		list, next := Job{Openings: c.list}.Reminders(day(18).Add(9 * time.Hour))
		require.Empty(t, list)
		require.Equal(t, c.next, next, "%d windows", len(c.list))
	}
}
