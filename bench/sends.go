package main

import (
	"fmt"
	"io"
	"math"
	"time"
)

// What the platform publishes about sending. All are S: read in what others quote of
// its Bots FAQ ("My bot is hitting limits", "How can I message all of my bot's
// subscribers at once?") and of its Bot API reference (allow_paid_broadcast). The FAQ
// speaks of bulk notifications where it says 30; of answers to what people wrote it
// gives no figure for all chats together, and an answer of 429 decides.
const (
	freeSends  = 30.0   // messages a second to all chats, "about"
	chatSends  = 1.0    // messages a second in one chat; short bursts may pass
	groupSends = 20.0   // messages a minute in one group
	paidSends  = 1000.0 // messages a second with paid broadcasts
	paidPrice  = 0.1    // of the platform's stars, a message above the free 30 a second
	// To have paid broadcasts a bot needs 100 000 stars and 100 000 people a month by the
	// FAQ, 10 000 stars by the reference: the two differ.
)

// givenUp is after how long a reply is no longer tried: engine.Options.MaxAge.
const givenUp = 24 * time.Hour

// workingDay is how many hours of a day people measure in.
const workingDay = 10

// morning spreads a day's messages over the working day: the first hour has peak times
// the mean, the others share the rest evenly.
func morning(messages, peak float64) []float64 {
	hours := make([]float64, workingDay)
	hours[0] = messages / workingDay * peak
	for i := range hours[1:] {
		hours[1+i] = (messages - hours[0]) / (workingDay - 1)
	}
	return hours
}

// queue is what comes of messages that go out in order, so many a second at most.
type queue struct {
	After []float64     // messages that wait at the end of each hour
	Wait  time.Duration // the longest
	Empty time.Duration // from the day's beginning until nothing waits
}

// queued is the queue of messages that come evenly in each hour and go at perSecond.
// It is exact for a stream: with arrivals that clump within the hour it is longer.
func queued(hours []float64, perSecond float64) queue {
	q := queue{After: make([]float64, len(hours))}
	waiting, most, room := 0.0, 0.0, perSecond*3600
	for i, come := range hours {
		if waiting > 0 && waiting+come <= room { // so come < room
			q.Empty = hoursOf(float64(i) + waiting/(room-come))
		}
		waiting = max(0, waiting+come-room)
		q.After[i] = waiting
		most = max(most, waiting)
	}
	if waiting > 0 {
		q.Empty = hoursOf(float64(len(hours)) + waiting/room)
	}
	q.Wait = hoursOf(most / room)
	return q
}

func hoursOf(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// windowsADay is how many windows a day can be measured when each takes so many
// messages and their busiest hour has peak times the mean, without a queue in it.
func windowsADay(perSecond, messages, peak float64) float64 {
	return math.Floor(perSecond * 3600 * workingDay / peak / messages)
}

// answerTime is how long a person waits for an answer when so many are at work at once,
// each of whom reads, measures and types for think before the next message: N/X − Z, the
// response time law of closed queues (M: operational analysis). So long as the platform
// keeps up it is nothing.
func answerTime(people, perSecond float64, think time.Duration) time.Duration {
	return max(0, time.Duration(people/perSecond*float64(time.Second))-think)
}

// paid is what a day costs with paid broadcasts, in stars, when so many bots share its
// messages: all above the free ones of each.
func paid(hours []float64, bots float64) float64 {
	sum := 0.0
	for _, come := range hours {
		sum += max(0, min(come/bots, paidSends*3600)-freeSends*3600) * bots * paidPrice
	}
	return sum
}

// sends prints the model.
func sends(w io.Writer) {
	fmt.Fprintf(w, "\nWindows a day that one bot answers at %.0f messages a second, in %d hours:\n\n", freeSends, workingDay)
	fmt.Fprintln(w, "| messages a window | spread evenly | a morning hour of four times the mean, no queue in it |")
	fmt.Fprintln(w, "|---|---|---|")
	for _, n := range []float64{20, 30, 40} {
		fmt.Fprintf(w, "| %.0f | %.0f | %.0f |\n", n, windowsADay(freeSends, n, 1), windowsADay(freeSends, n, 4))
	}
	fmt.Fprintf(w, "\nPeople who each measure one window a day, 21 messages, the first of %d hours four times the mean:\n\n", workingDay)
	fmt.Fprintln(w, "| people | a second in the first hour | one bot: waiting after it | the longest wait | nothing waits after | bots for no queue | paid: bots | paid: stars a day |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|")
	for _, people := range []float64{10_000, 20_000, 50_000, 100_000, 1_000_000} {
		hours := morning(people*21, 4)
		q := queued(hours, freeSends)
		rate := hours[0] / 3600
		fmt.Fprintf(w, "| %.0f | %.0f | %.0f | %s | %s | %.0f | %.0f | %.0f |\n", people, rate, q.After[0], span(q.Wait), span(q.Empty),
			math.Ceil(rate/freeSends), math.Ceil(rate/paidSends), paid(hours, math.Ceil(rate/paidSends)))
	}
	fmt.Fprintf(w, "\nPeople at work at once who wait for each answer, and take 20 s for each message, at %.0f a second:\n\n", freeSends)
	fmt.Fprintln(w, "| people | wait for an answer |")
	fmt.Fprintln(w, "|---|---|")
	for _, people := range []float64{100, 600, 1000, 5000, 20_000} {
		fmt.Fprintf(w, "| %.0f | %s |\n", people, span(answerTime(people, freeSends, 20*time.Second)))
	}
	fmt.Fprintf(w, "\nIn a group: %.0f a minute, so %.0f people who take 20 s for each message. In one chat: %.0f a second.\n",
		groupSends, math.Floor(groupSends/3), chatSends)
}

// span is a time as one reads it; what is longer than a reply is kept is marked.
func span(d time.Duration) string {
	text := d.Round(time.Second).String()
	if d >= time.Hour {
		text = fmt.Sprintf("%.1f h", d.Hours())
	}
	if d > givenUp {
		text += " (given up after 24 h)"
	}
	return text
}
