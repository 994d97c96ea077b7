package reading

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// A Wednesday.
var today = time.Date(2026, time.November, 25, 15, 4, 5, 0, time.UTC)

func TestDate(t *testing.T) {
	for _, c := range []struct{ text, day string }{
		{"today", "2026-11-25"}, {"Tomorrow", "2026-11-26"}, {"tomorrow.", "2026-11-26"}, {"yesterday", "2026-11-24"},
		{"in 3 weeks", "2026-12-16"}, {"in three weeks", "2026-12-16"}, {"3 weeks", "2026-12-16"},
		{"in 3 weeks' time", "2026-12-16"}, {"in a week", "2026-12-02"}, {"in 10 days time", "2026-12-05"},
		{"a week today", "2026-12-02"}, {"a week on friday", "2026-12-04"}, {"friday week", "2026-12-04"}, {"two weeks on monday", "2026-12-14"},
		{"in a fortnight", "2026-12-09"}, {"in 2 months", "2027-01-25"}, {"two weeks", "2026-12-09"},
		{"monday", "2026-11-30"}, {"next monday", "2026-11-30"}, {"Mon", "2026-11-30"}, {"friday", "2026-11-27"},
		{"this friday", "2026-11-27"}, {"next wednesday", "2026-12-02"}, {"this wednesday", "2026-11-25"},
		{"27 March", "2027-03-27"}, {"27th March", "2027-03-27"}, {"27th of March", "2027-03-27"}, {"27 mar", "2027-03-27"},
		{"March 27", "2027-03-27"}, {"March 27th, 2027", "2027-03-27"}, {"27 March 2027", "2027-03-27"},
		{"27 Mar 27", "2027-03-27"}, {"27-Mar-2027", "2027-03-27"}, {"27 Mar '27", "2027-03-27"},
		{"27/3/2027", "2027-03-27"}, {"27/03/27", "2027-03-27"}, {"27.3.27", "2027-03-27"}, {"27-3-2027", "2027-03-27"},
		{"2027-03-27", "2027-03-27"}, {"2027/3/27", "2027-03-27"}, {"27/3", "2027-03-27"},
		{"3/4/2027", "2027-04-03"}, // day first
		{"25 November", "2026-11-25"}, {"Saturday 27 March", "2027-03-27"}, {"Sat, 27.3.27", "2027-03-27"},
		{"29 February", "2028-02-29"}, {"29/2/2028", "2028-02-29"}, {"25/11/2028", "2028-11-25"}, {"25/11/2016", "2016-11-25"},
	} {
		got, err := Date(c.text, today)
		require.NoError(t, err, c.text)
		require.Equal(t, c.day, got.Format(time.DateOnly), c.text)
		require.Equal(t, time.UTC, got.Location())
	}
}

func TestNextDateLeavesTheRest(t *testing.T) {
	for _, c := range []struct{ text, day, rest string }{
		{"27 March 1204 1202", "2027-03-27", "1204 1202"},
		{"27/3/2027, England", "2027-03-27", "England"},
		{"monday 2 lights", "2026-11-30", "2 lights"},
		{"tomorrow please", "2026-11-26", "please"},
		{"in 2 weeks or so", "2026-12-09", "or so"},
	} {
		got, rest, err := NextDate(c.text, today)
		require.NoError(t, err, c.text)
		require.Equal(t, c.day, got.Format(time.DateOnly), c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
	_, err := Date("tomorrow please", today)
	require.ErrorIs(t, err, ErrNoDate, "Date wants nothing after the date")
}

func TestDateRefuses(t *testing.T) {
	for _, c := range []struct {
		text   string
		kind   error
		others string
	}{
		{"", ErrNoDate, ""}, {"soon", ErrNoDate, ""}, {"1204", ErrNoDate, ""}, {"1204 1202 1203", ErrNoDate, ""}, {"3", ErrNoDate, ""},
		{"next week", ErrNoDate, ""}, {"in", ErrNoDate, ""}, {"in many weeks", ErrNoDate, ""}, {"in 4096 weeks", ErrNoDate, ""},
		{"２７/３/２０２７", ErrOtherDigits, ""}, {"120.4", ErrNoDate, ""}, {"27/45", ErrNoDate, ""}, {"27 marching", ErrNoDate, ""},
		{"31/2/2027", ErrImpossibleDate, ""}, {"30 February", ErrImpossibleDate, ""}, {"29/2/2027", ErrImpossibleDate, ""},
		{"2027-13-01", ErrImpossibleDate, ""}, {"0/3/2027", ErrImpossibleDate, ""}, {"32 March 2027", ErrImpossibleDate, ""},
		{"45/45/2027", ErrImpossibleDate, ""},
		{"3/27/2027", ErrAmbiguousDate, "2027-03-27"},
		{"wednesday", ErrAmbiguousDate, "2026-11-25 2026-12-02"},
		{"next friday", ErrAmbiguousDate, "2026-11-27 2026-12-04"},
		{"20 November", ErrAmbiguousDate, "2027-11-20 2026-11-20"},
		{"Monday 27 March 2027", ErrAmbiguousDate, "2027-03-27"},
		{"26/11/2028", ErrOutOfRange, ""}, {"1/1/2040", ErrOutOfRange, ""}, {"24/11/2016", ErrOutOfRange, ""}, {"in 999 weeks", ErrOutOfRange, ""},
		{strings.Repeat("z", 4096), ErrNoDate, ""}, {strings.Repeat("1/", 2048), ErrNoDate, ""},
	} {
		got, rest, err := NextDate(c.text, today)
		require.ErrorIs(t, err, c.kind, "%.40s", c.text)
		require.Equal(t, c.text, rest)
		require.True(t, got.IsZero())
		var de *DateError
		require.ErrorAs(t, err, &de)
		var others []string
		for _, o := range de.Others {
			others = append(others, o.Format(time.DateOnly))
		}
		require.Equal(t, c.others, strings.Join(others, " "), c.text)
	}
}

// The calendar of the standard library is the reference here.
func TestEveryWayOfWritingADayIsThatDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(-3650, 730).Draw(t, "off"))
		layout := rapid.SampledFrom([]string{
			"2/1/2006", "02/01/06", "2.1.06", "2006-01-02", "2 January 2006", "2 Jan 06", "January 2, 2006", "Monday 2 January 2006", "Mon 02.01.2006",
		}).Draw(t, "layout")
		text := day.Format(layout)
		got, rest, err := NextDate(text+" 1204", today)
		require.NoError(t, err, text)
		require.True(t, got.Equal(day), "%s gave %s", text, got)
		require.Equal(t, "1204", rest)
	})
}

func TestWeekdaysComeWithinAWeek(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		now := today.AddDate(0, 0, rapid.IntRange(0, 400).Draw(t, "today"))
		name := time.Weekday(rapid.IntRange(0, 6).Draw(t, "day"))
		got, err := Date(name.String(), now)
		if now.Weekday() == name {
			require.ErrorIs(t, err, ErrAmbiguousDate)
			return
		}
		require.NoError(t, err)
		require.Equal(t, name, got.Weekday())
		require.True(t, got.After(now))
		require.True(t, got.Before(now.AddDate(0, 0, 7)))
	})
}

func TestDateTakesMoreWays(t *testing.T) {
	for _, c := range []struct{ text, day, rest string }{
		{"27/3/2027- ok", "2027-03-27", "- ok"}, {"27/3/ ok", "2027-03-27", "/ ok"}, {"27/3/", "2027-03-27", "/"},
		{"in two fortnights", "2026-12-23", ""}, {"in zero days", "2026-11-25", ""}, {"in 3 weeks timely", "2026-12-16", "timely"},
		{"in a month", "2026-12-25", ""}, {"monday march 1", "2027-03-01", ""}, {"Monday 1 March", "2027-03-01", ""},
		{"monday ", "2026-11-30", ""}, {"monday. ", "2026-11-30", ""}, {"monday 1204 1202", "2026-11-30", "1204 1202"},
		{"27 March 2400 1202", "2027-03-27", "2400 1202"}, {"27 March 1899", "2027-03-27", "1899"},
		{"27 March 02027", "2027-03-27", "02027"}, {"monday 27/3/120", "2026-11-30", "27/3/120"}, {"monday 2027-03", "2026-11-30", "2027-03"},
		{"monday 27/45", "2026-11-30", "27/45"}, {"monday march 120", "2026-11-30", "march 120"},
	} {
		got, rest, err := NextDate(c.text, today)
		require.NoError(t, err, c.text)
		require.Equal(t, c.day, got.Format(time.DateOnly), c.text)
		require.Equal(t, c.rest, rest, c.text)
	}
}

func TestDateRefusesMoreWays(t *testing.T) {
	for _, c := range []struct {
		text   string
		kind   error
		others string
	}{
		{"27/3/2027x", ErrNoDate, ""}, {"27/3/2027/4", ErrNoDate, ""}, {"27/3/120", ErrNoDate, ""}, {"27/3/12040", ErrNoDate, ""},
		{"27/3.27", ErrNoDate, ""}, {"2027-03", ErrNoDate, ""}, {"120 March", ErrNoDate, ""}, {"1204 March", ErrNoDate, ""},
		{"27 March2027", ErrNoDate, ""}, {"27 March 2027pm", ErrNoDate, ""}, {"tomorrow2", ErrNoDate, ""}, {"zero weeks", ErrNoDate, ""},
		{"march", ErrNoDate, ""}, {"march 120", ErrNoDate, ""}, {"march 2027", ErrNoDate, ""}, {"monday30/11", ErrNoDate, ""},
		{"next thing", ErrNoDate, ""},
		{"march 32", ErrImpossibleDate, ""}, {"monday 30 February", ErrImpossibleDate, ""}, {"4/31", ErrImpossibleDate, ""},
		{"0/3", ErrImpossibleDate, ""}, {"3/0", ErrImpossibleDate, ""}, {"13/13", ErrImpossibleDate, ""},
		{"3/31", ErrAmbiguousDate, "2027-03-31"}, {"Tuesday March 1", ErrAmbiguousDate, "2027-03-01"},
		{"27 March 1900", ErrOutOfRange, ""}, {"27 March 2199", ErrOutOfRange, ""},
	} {
		_, rest, err := NextDate(c.text, today)
		require.ErrorIs(t, err, c.kind, c.text)
		require.Equal(t, c.text, rest)
		var de *DateError
		require.ErrorAs(t, err, &de)
		var others []string
		for _, o := range de.Others {
			others = append(others, o.Format(time.DateOnly))
		}
		require.Equal(t, c.others, strings.Join(others, " "), c.text)
	}
}

// Next is taken only where the coming one and the one of next week are the
// same, and not for the day after tomorrow.
func TestNextWeekdays(t *testing.T) {
	sunday, monday := today.AddDate(0, 0, 4), today.AddDate(0, 0, 5)
	for _, c := range []struct {
		now       time.Time
		text, day string // "": asked about
	}{
		{sunday, "next monday", ""}, {sunday, "next tuesday", ""}, {sunday, "next wednesday", "2026-12-02"},
		{sunday, "next sunday", "2026-12-06"}, {monday, "next friday", ""}, {monday, "next sunday", ""},
		{today, "next thursday", ""}, {today, "next sunday", ""}, {today, "next tuesday", "2026-12-01"},
	} {
		got, err := Date(c.text, c.now)
		if c.day == "" {
			require.ErrorIs(t, err, ErrAmbiguousDate, "%s on %s", c.text, c.now.Weekday())
			continue
		}
		require.NoError(t, err, "%s on %s", c.text, c.now.Weekday())
		require.Equal(t, c.day, got.Format(time.DateOnly))
	}
}

// A leap day lies up to four years ahead, which is further than is taken.
func TestALeapDayIsFoundFourYearsAhead(t *testing.T) {
	_, err := Date("29 February", time.Date(2024, 6, 1, 0, 0, 0, 0, time.UTC))
	require.ErrorIs(t, err, ErrOutOfRange)
	got, err := Date("in a month", time.Date(2028, 1, 31, 9, 0, 0, 0, time.UTC))
	require.NoError(t, err)
	require.Equal(t, "2028-02-29", got.Format(time.DateOnly))
}
