package reading

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"
)

// Kinds of a DateError, for errors.Is. A date too far from today is
// ErrOutOfRange.
var (
	ErrNoDate         = errors.New("no date at the front")
	ErrImpossibleDate = errors.New("no such day in the calendar")
	ErrAmbiguousDate  = errors.New("more than one day may be meant")
)

// DateError is a date that can't be taken as it stands.
type DateError struct {
	Kind   error
	Date   time.Time   // with ErrOutOfRange, the day that was named
	Others []time.Time // with ErrAmbiguousDate, the days to ask about
}

func (e *DateError) Error() string { return e.Kind.Error() }

// Unwrap gives the kind.
func (e *DateError) Unwrap() error { return e.Kind }

// Date takes a text that is one date and nothing more. See NextDate.
func Date(text string, today time.Time) (time.Time, error) {
	d, rest, err := NextDate(text, today)
	if err != nil {
		return time.Time{}, err
	}
	if rest != "" {
		return time.Time{}, &DateError{Kind: ErrNoDate}
	}
	return d, nil
}

// NextDate takes one date from the front of text: today, tomorrow, in 3
// weeks, monday, next monday, 27 March, March 27, 27 March 2027, 27/3/2027,
// 27.3.27, 2027-03-27. Figures are day first. It gives UTC midnight, and what
// follows the date without the spaces and commas between.
//
// A weekday is the coming one; next is only taken where both ways of saying
// it agree. A day and month without a year is the coming one too. Where
// another day may well be meant, and where the month would have to stand
// first, the error is a *DateError of ErrAmbiguousDate with the days to ask
// about; other kinds are ErrNoDate, ErrImpossibleDate, and ErrOutOfRange for
// more than two years ahead or ten years back. On an error rest is text,
// unchanged.
func NextDate(text string, today time.Time) (time.Time, string, error) {
	y, m, d := today.Date()
	now := time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	s := skipBefore(text)
	date, n, err := dateAt(s, now)
	if err == nil && startsWordOrDigit(s[n:]) {
		err = &DateError{Kind: ErrNoDate}
	}
	if err == nil && (date.After(now.AddDate(2, 0, 0)) || date.Before(now.AddDate(-10, 0, 0))) {
		err = &DateError{Kind: ErrOutOfRange, Date: date}
	}
	if err != nil {
		return time.Time{}, text, err
	}
	return date, skipAfter(s[n:]), nil
}

// startsWordOrDigit reports whether s continues where a date should have ended.
func startsWordOrDigit(s string) bool {
	if len(s) > 1 && strings.IndexByte("/.-", s[0]) >= 0 && isDigit(s[1]) {
		return true
	}
	return s != "" && (isDigit(s[0]) || wordAt(s) != "")
}

func dateAt(s string, now time.Time) (time.Time, int, error) {
	if digitsAt(s) > 0 {
		return numbered(s, now)
	}
	first := wordAt(s)
	if first == "" || len(first) > len("yesterday") {
		return time.Time{}, 0, noDate(s)
	}
	low := strings.ToLower(first)
	switch low {
	case "today", "now":
		return now, len(first), nil
	case "tomorrow", "tmrw", "tomorow":
		return now.AddDate(0, 0, 1), len(first), nil
	case "yesterday":
		return now.AddDate(0, 0, -1), len(first), nil
	case "in":
		return ahead(s, len(first), now)
	case "next", "this":
		return named(s, low, now)
	}
	if day, ok := weekday(low); ok {
		return onWeekday(s, len(first), day, now)
	}
	if month, ok := monthOf(low); ok {
		return monthFirst(s, len(first), month, now)
	}
	if n, _, err := Count(s); err == nil && n > 0 || low == "a" {
		return ahead(s, 0, now)
	}
	return time.Time{}, 0, noDate(s)
}

func noDate(s string) error {
	if r, _ := utf8.DecodeRuneInString(s); r >= utf8.RuneSelf {
		if err := noNumber(s); errors.Is(err, ErrOtherDigits) {
			return fmt.Errorf("%w: %w", &DateError{Kind: ErrNoDate}, ErrOtherDigits)
		}
	}
	return &DateError{Kind: ErrNoDate}
}

// ahead takes "in 3 weeks", from the number on, which begins at i.
func ahead(s string, i int, now time.Time) (time.Time, int, error) {
	none := func() (time.Time, int, error) { return time.Time{}, 0, &DateError{Kind: ErrNoDate} }
	j := i + len(s[i:]) - len(skipSpace(s[i:]))
	var n int
	if d := digitsAt(s[j:]); d > 0 {
		if d > 3 {
			return none()
		}
		n, j = int(number(s[j:j+d], "").IntPart()), j+d
	} else {
		w := wordAt(s[j:])
		low := strings.ToLower(w)
		if len(w) > len("twelve") {
			return none()
		}
		if n = slices.Index(countWords, low); low == "a" || low == "an" {
			n = 1
		}
		if n < 0 {
			return none()
		}
		j += len(w)
	}
	j += len(s[j:]) - len(skipSpace(s[j:]))
	w := wordAt(s[j:])
	if len(w) > len("fortnights") {
		return none()
	}
	j += len(w)
	if w2 := skipSpace(strings.TrimLeft(s[j:], "'’")); strings.HasPrefix(w2, "time") && !startsWordOrDigit(w2[len("time"):]) {
		j = len(s) - len(w2) + len("time")
	}
	switch strings.TrimSuffix(strings.ToLower(w), "s") {
	case "day":
		return now.AddDate(0, 0, n), j, nil
	case "week", "wk":
		after := skipSpace(s[j:])
		if strings.HasPrefix(after, "today") {
			j = len(s) - len(after) + len("today") // a week today
		}
		if on := skipSpace(strings.TrimPrefix(after, "on ")); on != "" {
			w := wordAt(on[:min(len(on), len("wednesday"))])
			if day, ok := weekday(strings.ToLower(w)); ok { // a week on friday
				return comingDay(day, now).AddDate(0, 0, 7*n), len(s) - len(on) + len(w), nil
			}
		}
		return now.AddDate(0, 0, 7*n), j, nil
	case "fortnight":
		return now.AddDate(0, 0, 14*n), j, nil
	case "month":
		return addMonths(now, n), j, nil
	}
	return none()
}

// addMonths stays within the month: a month after 31 January is the last of
// February.
func addMonths(day time.Time, n int) time.Time {
	first := time.Date(day.Year(), day.Month()+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(day.Day(), last)-1)
}

// named takes "next monday" and "this friday".
func named(s, first string, now time.Time) (time.Time, int, error) {
	i := len(first)
	i += len(s[i:]) - len(skipSpace(s[i:]))
	w := wordAt(s[i:])
	if len(w) > len("wednesday") {
		return time.Time{}, 0, &DateError{Kind: ErrNoDate}
	}
	day, ok := weekday(strings.ToLower(w))
	if !ok {
		return time.Time{}, 0, &DateError{Kind: ErrNoDate}
	}
	coming := comingDay(day, now)
	off := int(coming.Sub(now).Hours() / 24)
	thisWeek := weekIndex(day) > weekIndex(now.Weekday())
	// The coming one and the one of next week are the same day only when this
	// week's has passed, and even then few say next for the day after tomorrow.
	if first == "next" && (thisWeek || off <= 2) {
		return time.Time{}, 0, &DateError{Kind: ErrAmbiguousDate, Others: []time.Time{coming, coming.AddDate(0, 0, 7)}}
	}
	if first == "this" && off == 7 {
		coming = now
	}
	return coming, i + len(w), nil
}

// weekIndex counts from Monday.
func weekIndex(d time.Weekday) int { return (int(d) + 6) % 7 }

// comingDay is the first such day after now.
func comingDay(d time.Weekday, now time.Time) time.Time {
	return now.AddDate(0, 0, (int(d)-int(now.Weekday())+6)%7+1)
}

// onWeekday takes a weekday, alone or in front of a date that must agree.
func onWeekday(s string, i int, day time.Weekday, now time.Time) (time.Time, int, error) {
	j := len(s) - len(strings.TrimLeft(s[i:], " ,.\t"))
	if j < len(s) && j > i {
		_, isMonth := monthOf(strings.ToLower(wordAt(s[j:min(len(s), j+10)])))
		if isDigit(s[j]) || isMonth {
			date, n, err := dateAt(s[j:], now)
			switch {
			case errors.Is(err, ErrNoDate): // "monday 2 lights"
			case err != nil:
				return time.Time{}, 0, err
			case date.Weekday() != day:
				return time.Time{}, 0, &DateError{Kind: ErrAmbiguousDate, Others: []time.Time{date}}
			default:
				return date, j + n, nil
			}
		}
	}
	coming := comingDay(day, now)
	if w := wordAt(s[min(j, len(s)):min(len(s), j+len("weeks"))]); strings.EqualFold(w, "week") && now.Weekday() != day { // friday week
		return coming.AddDate(0, 0, 7), j + len(w), nil
	}
	if now.Weekday() == day {
		return time.Time{}, 0, &DateError{Kind: ErrAmbiguousDate, Others: []time.Time{now, coming}}
	}
	return coming, i, nil
}

// numbered takes a date that begins with a digit.
func numbered(s string, now time.Time) (time.Time, int, error) {
	none := func() (time.Time, int, error) { return time.Time{}, 0, &DateError{Kind: ErrNoDate} }
	d := digitsAt(s)
	if d != 4 && d > 2 {
		return none()
	}
	a := int(number(s[:d], "").IntPart())
	if sep := s[d:]; sep != "" && strings.IndexByte("/.-", sep[0]) >= 0 && digitsAt(sep[1:]) > 0 {
		return figures(s, now)
	}
	if d == 4 {
		return none()
	}
	i := d
	if w := strings.ToLower(wordAt(s[i:min(len(s), i+3)])); slices.Contains([]string{"st", "nd", "rd", "th"}, w) {
		i += 2
	}
	j := i + len(s[i:]) - len(strings.TrimLeft(s[i:], " \t-./"))
	w := wordAt(s[j:])
	if strings.EqualFold(w, "of") {
		j += len(w)
		j += len(s[j:]) - len(skipSpace(s[j:]))
		w = wordAt(s[j:])
	}
	if len(w) > len("september") {
		return none()
	}
	month, ok := monthOf(strings.ToLower(w))
	if !ok {
		if i == d { // 3 weeks
			return ahead(s, 0, now)
		}
		return none()
	}
	j += len(w)
	year, j := yearAt(s, j)
	date, err := onDay(year, month, a, now)
	return date, j, err
}

// monthFirst takes March 27 and March 27, 2027.
func monthFirst(s string, i int, month time.Month, now time.Time) (time.Time, int, error) {
	j := i + len(s[i:]) - len(strings.TrimLeft(s[i:], " \t-."))
	d := digitsAt(s[j:])
	if d == 0 || d > 2 {
		return time.Time{}, 0, &DateError{Kind: ErrNoDate}
	}
	day := int(number(s[j:j+d], "").IntPart())
	j += d
	if w := strings.ToLower(wordAt(s[j:min(len(s), j+3)])); slices.Contains([]string{"st", "nd", "rd", "th"}, w) {
		j += 2
	}
	year, j := yearAt(s, j)
	date, err := onDay(year, month, day, now)
	return date, j, err
}

// yearAt takes a year after a month in words: four digits, or two that are
// the end of the word. 0 and i without one.
func yearAt(s string, i int) (year, end int) {
	j := i + len(s[i:]) - len(strings.TrimLeft(s[i:], " \t,-./'’"))
	d := digitsAt(s[j:])
	if j == i || d != 4 && d != 2 {
		return 0, i
	}
	year = int(number(s[j:j+d], "").IntPart())
	if d == 2 {
		year += 2000
	} else if year < 1900 || year > 2199 {
		return 0, i // 27 March 1204 is a date and a reading
	}
	return year, j + d
}

// figures takes 27/3/2027, 27.3.27, 27/3 and 2027-03-27.
func figures(s string, now time.Time) (time.Time, int, error) {
	var parts []int
	var first int
	sep := byte(0)
	i := 0
	for {
		d := digitsAt(s[i:])
		if d == 0 || d > 4 || d == 3 {
			return time.Time{}, 0, &DateError{Kind: ErrNoDate}
		}
		if len(parts) == 0 {
			first = d
		}
		n := int(number(s[i:i+d], "").IntPart())
		if len(parts) == 2 && first != 4 && d <= 2 {
			n += 2000
		}
		parts = append(parts, n)
		i += d
		if len(parts) == 3 || i+1 >= len(s) || !isDigit(s[i+1]) || strings.IndexByte("/.-", s[i]) < 0 || sep != 0 && s[i] != sep {
			break
		}
		sep = s[i]
		i++
	}
	switch {
	case len(parts) == 3 && first == 4:
		date, err := onDay(parts[0], time.Month(parts[1]), parts[2], now)
		return date, i, err
	case first == 4:
		return time.Time{}, 0, &DateError{Kind: ErrNoDate}
	}
	year := 0
	if len(parts) == 3 {
		year = parts[2]
	}
	if len(parts) == 2 && parts[1] > 31 {
		return time.Time{}, 0, &DateError{Kind: ErrNoDate}
	}
	date, err := onDay(year, time.Month(parts[1]), parts[0], now)
	if errors.Is(err, ErrImpossibleDate) {
		// 3/27/2027 only makes sense with the month first.
		if other, e := onDay(year, time.Month(parts[0]), parts[1], now); e == nil {
			err = &DateError{Kind: ErrAmbiguousDate, Others: []time.Time{other}}
		}
	}
	return date, i, err
}

// onDay is a day of the calendar. Without a year, 0, it is the coming one,
// unless it was within the last month.
func onDay(year int, month time.Month, day int, now time.Time) (time.Time, error) {
	if year != 0 {
		if date := time.Date(year, month, day, 0, 0, 0, 0, time.UTC); date.Day() == day && date.Month() == month {
			return date, nil
		}
		return time.Time{}, &DateError{Kind: ErrImpossibleDate}
	}
	// Four years include a 29 February, except around a century that is out of
	// range.
	var last time.Time
	for y := now.Year() - 1; y <= now.Year()+4; y++ {
		date, err := onDay(y, month, day, now)
		if err != nil {
			continue
		}
		if date.Before(now) {
			last = date
			continue
		}
		if !last.Before(now.AddDate(0, -1, 0)) {
			return time.Time{}, &DateError{Kind: ErrAmbiguousDate, Others: []time.Time{date, last}}
		}
		return date, nil
	}
	return time.Time{}, &DateError{Kind: ErrImpossibleDate}
}

func weekday(low string) (time.Weekday, bool) {
	return short(low, 7, func(i int) string { return time.Weekday(i).String() }, func(i int) time.Weekday { return time.Weekday(i) })
}

func monthOf(low string) (time.Month, bool) {
	return short(low, 12, func(i int) string { return time.Month(i + 1).String() }, func(i int) time.Month { return time.Month(i + 1) })
}

// short finds the name that begins with what was typed, three letters or
// more.
func short[T any](low string, n int, name func(int) string, is func(int) T) (T, bool) {
	var none T
	if len(low) < 3 {
		return none, false
	}
	for i := range n {
		if strings.HasPrefix(strings.ToLower(name(i)), low) {
			return is(i), true
		}
	}
	return none, false
}
