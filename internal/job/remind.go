package job

import (
	"slices"
	"time"

	"sillbot/internal/opening"
)

// DeliveryNear is that a frame comes on the next day on which anybody is reminded. It
// is nothing that is open, and so not among Matters.
const DeliveryNear Matter = "delivery"

// Reminded lists what people are reminded of, the most urgent first.
var Reminded = []Matter{DeliveryNear, AskedByDesk, ToCheck, Unconfirmed}

// How long each thing waits before anybody is reminded of it, and until when: after that
// nobody seems to want the job. Common practice, no source.
const (
	uncheckedDays   = 2 // days by the calendar that the lead has not signed
	unansweredDays  = 1 // that a question of the desk was not answered
	unconfirmedDays = 3 // from Monday to Friday that the desk has not confirmed
	staleDays       = 28
)

// Reminder is one thing that somebody is to be reminded of, and the openings it is of.
type Reminder struct {
	What     Matter `json:"w"`
	Openings []int  `json:"o"`
	Day      string `json:"d"` // of the delivery, else since when it waits; 2006-01-02
}

// Whose are the chairs that are reminded of a matter: who can do something about it.
func (m Matter) Whose() []Role {
	switch m {
	case ToCheck:
		return []Role{Fitter, Lead}
	case Unconfirmed:
		return []Role{Fitter, Desk}
	}
	return []Role{Fitter}
}

// Quiet says that nobody is reminded on that day: it is a Sunday.
func Quiet(day time.Time) bool { return day.Weekday() == time.Sunday }

// Reminders are what is to be thought of in the job now, a time on the reader's clock,
// with what waits for longest first among those of one matter. next is the day on which
// to look again, as long as nothing changes; zero: there is nothing to wait for.
func (j Job) Reminders(now time.Time) (list []Reminder, next time.Time) {
	tomorrow := dayOf(now).AddDate(0, 0, 1)
	look := func(day time.Time) {
		if next.IsZero() || day.Before(next) {
			next = day
		}
	}
	for _, row := range j.List() {
		switch on := row.thinkOn(now); {
		case on.Equal(dayOf(now)):
			list = remind(list, DeliveryNear, row.Due, row.ID)
		case on.After(now):
			look(on)
		}
		what, since := j.waits(row, now)
		passed := daysBetween(since, now)
		if what == "" || passed > staleDays {
			continue
		}
		look(tomorrow)
		if what == Unconfirmed {
			passed = weekdaysBetween(since, now)
		}
		if passed >= ripe[what] {
			list = remind(list, what, since.Format(opening.DateForm), row.ID)
		}
	}
	slices.SortStableFunc(list, func(a, b Reminder) int {
		return slices.Index(Reminded, a.What) - slices.Index(Reminded, b.What)
	})
	return list, next
}

// ComesNext are the deliveries among Reminders. No window is looked into.
func (j Job) ComesNext(now time.Time) (list []Reminder) {
	for _, row := range j.List() {
		if row.thinkOn(now).Equal(dayOf(now)) {
			list = remind(list, DeliveryNear, row.Due, row.ID)
		}
	}
	return list
}

// thinkOn is the day on which people are reminded of a frame that comes, on the clock of
// now; zero: none comes.
func (r Row) thinkOn(now time.Time) time.Time {
	due, err := time.ParseInLocation(opening.DateForm, r.Due, now.Location())
	if err != nil || r.State.made() {
		return time.Time{}
	}
	return dayBefore(due)
}

var ripe = map[Matter]int{ToCheck: uncheckedDays, AskedByDesk: unansweredDays, Unconfirmed: unconfirmedDays}

// remind adds an opening to what is of the same matter, and of the same day if it comes
// on that day. What waits says since when the first of it does.
func remind(list []Reminder, what Matter, day string, id int) []Reminder {
	i := slices.IndexFunc(list, func(r Reminder) bool {
		return r.What == what && (what != DeliveryNear || r.Day == day)
	})
	if i < 0 {
		return append(list, Reminder{what, []int{id}, day})
	}
	list[i].Openings = append(list[i].Openings, id)
	list[i].Day = min(list[i].Day, day)
	return list
}

// waits is what somebody has to do about a window, and since when, on the clock of now;
// "": nothing.
func (j Job) waits(row Row, now time.Time) (Matter, time.Time) {
	sent := time.Time{}
	if n := len(j.Order.Sent); n > 0 {
		sent = j.Order.Sent[n-1].By.At
	}
	waitsForDesk := row.State == Ordered && row.Questions == 0 && !j.Order.Held
	if waitsForDesk && weekdaysBetween(sent.In(now.Location()), now) < unconfirmedDays {
		return Unconfirmed, sent.In(now.Location()) // not ripe, however it came there: need not be looked into
	}
	if row.Questions == 0 && !row.State.withLead() && !waitsForDesk || row.State.made() {
		return "", now
	}
	o, ok := j.Find(row.ID)
	if !ok {
		return "", now // not loaded yet, or it can't be read
	}
	what, since := Unconfirmed, o.Since
	switch open := o.Supply.Open(); {
	case len(open) > 0:
		what, since = AskedByDesk, open[0].By.At
	case o.State.withLead() && o.Check != nil:
		what, since = ToCheck, o.Check.Asked.At
	case !waitsForDesk:
		return "", now
	case sent.After(since):
		since = sent
	}
	return what, since.In(now.Location())
}

// dayBefore is the last day before another on which people are reminded.
func dayBefore(day time.Time) time.Time {
	day = day.AddDate(0, 0, -1)
	if Quiet(day) {
		return day.AddDate(0, 0, -1)
	}
	return day
}

// dayOf is the beginning of a day, where the clock is.
func dayOf(at time.Time) time.Time {
	return time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, at.Location())
}

// daysBetween is how many days by the calendar lie between two moments; days have 23 to
// 25 hours.
func daysBetween(from, to time.Time) int {
	utc := func(at time.Time) time.Time { return time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, time.UTC) }
	return int(utc(to).Sub(utc(from)) / (24 * time.Hour))
}

// weekdaysBetween counts the days from Monday to Friday after one day up to another.
// Public holidays are not known.
func weekdaysBetween(from, to time.Time) int {
	n, days := 0, daysBetween(from, to)
	for i := range min(days, staleDays) {
		switch from.AddDate(0, 0, i+1).Weekday() {
		case time.Saturday, time.Sunday:
		default:
			n++
		}
	}
	return n
}
