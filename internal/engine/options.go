package engine

import (
	"cmp"
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"sillbot/internal/dialog"
)

// Options are the settings of a Engine. The zero value is a working one.
type Options struct {
	// Step is the conversation; nil: dialog.Step.
	Step func(dialog.State, dialog.Input) (dialog.State, []dialog.Reply)
	// Crew are the people who may use the bot, and let others in by a link;
	// empty: everybody may.
	Crew []int64
	// Home is the address that opens the bot with a token put after it; nil
	// or "": the platform has none.
	Home func() string
	// Page is the same for pages in a browser; "": there are none.
	Page string
	// Log gets what operators need; nil: slog.Default(). Nothing that a person
	// wrote goes there, and a chat only as a word that means nothing outside
	// this process.
	Log *slog.Logger
	// Metrics is where the counters are published; nil: nowhere.
	Metrics prometheus.Registerer

	// Senders is how many messages are being sent at once; 0: 64.
	Senders int
	// SendTimeout ends one try of a send; 0: 30 s.
	SendTimeout time.Duration
	// Lease is how long a chat's sending stays with this process after the
	// process has died; 0: 10 s.
	Lease time.Duration
	// Sweep is the time between looks for replies that nobody sends; 0: 5 s.
	Sweep time.Duration
	// MaxWait is the longest wait between two tries of a send, unless the
	// platform asks for a longer one; 0: 1 min.
	MaxWait time.Duration
	// MaxAge is when a reply that will not go out is given up; 0: 24 h.
	MaxAge time.Duration

	// SendsPerSecond is how many messages the platform takes of the whole bot. Then
	// replies are also kept to its limits for one chat; 0: no limit at all.
	SendsPerSecond float64

	// Remind is the time between looks for what people are to be reminded of; 0: 15 s.
	// Clock is what their days go by; nil: time.Now.
	Remind time.Duration
	Clock  func() time.Time

	// Burst is how many turns a chat may take at once, and Rate how many a
	// second after that. Faster ones are put off, and taken in order as the
	// rate allows. 0: 60, and 10 a second. Rate below 0: no limit.
	Burst int
	Rate  float64
	// Room is how many updates of one chat may be put off; 0: 1000.
	Room int
}

func (o Options) filled() Options {
	if o.Step == nil {
		o.Step = dialog.Step
	}
	o.Log = cmp.Or(o.Log, slog.Default())
	o.Senders = cmp.Or(o.Senders, 64)
	o.SendTimeout = cmp.Or(o.SendTimeout, 30*time.Second)
	o.Lease = cmp.Or(o.Lease, 10*time.Second)
	o.Sweep = cmp.Or(o.Sweep, 5*time.Second)
	o.MaxWait = cmp.Or(o.MaxWait, time.Minute)
	o.MaxAge = cmp.Or(o.MaxAge, 24*time.Hour)
	o.Remind = cmp.Or(o.Remind, 15*time.Second)
	if o.Clock == nil {
		o.Clock = time.Now
	}
	o.Burst = cmp.Or(o.Burst, 60)
	o.Rate = cmp.Or(o.Rate, 10)
	o.Room = cmp.Or(o.Room, 1000)
	return o
}
