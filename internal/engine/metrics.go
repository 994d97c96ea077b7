package engine

import (
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"
)

// metrics are the figures of an engine. None of them names a chat.
type metrics struct {
	turns     *prometheus.CounterVec
	retries   prometheus.Counter
	turnTime  prometheus.Histogram
	outbox    prometheus.Histogram
	waited    prometheus.Histogram
	sends     *prometheus.CounterVec
	held      *prometheus.CounterVec
	pauses    prometheus.Counter
	rate      prometheus.Gauge
	takenOver prometheus.Counter
	waiting   prometheus.Gauge
	oldest    prometheus.Gauge
	reminders *prometheus.CounterVec
}

func newMetrics(r prometheus.Registerer) *metrics {
	to := promauto.With(r) // registers nothing where r is nil
	return &metrics{
		turns: to.NewCounterVec(prometheus.CounterOpts{
			Name: "sillbot_turns_total",
			Help: "Updates by what became of them: committed, duplicate, put_off, refused, panic, unreadable, dead, closed (of who may not use the bot), failed, unacknowledged (it stands, but too few replicas of Redis have it yet; it is offered again).",
		}, []string{"result"}),
		retries: to.NewCounter(prometheus.CounterOpts{
			Name: "sillbot_commit_retries_total",
			Help: "Turns begun again because the conversation had changed.",
		}),
		turnTime: to.NewHistogram(prometheus.HistogramOpts{
			Name:    "sillbot_turn_seconds",
			Help:    "Time from an update's arrival to its commit.",
			Buckets: prometheus.ExponentialBuckets(0.00025, 2, 16),
		}),
		outbox: to.NewHistogram(prometheus.HistogramOpts{
			Name:    "sillbot_outbox_length",
			Help:    "Replies that wait for a chat, after a turn that said something.",
			Buckets: []float64{1, 2, 4, 8, 16, 32, 64, 128, 256, 512},
		}),
		waited: to.NewHistogram(prometheus.HistogramOpts{
			Name:    "sillbot_outbox_wait_seconds",
			Help:    "Time from a reply's commit until it was sent.",
			Buckets: prometheus.ExponentialBuckets(0.001, 4, 12),
		}),
		sends: to.NewCounterVec(prometheus.CounterOpts{
			Name: "sillbot_sends_total",
			Help: "Tries to send by result: sent; limited (the platform asked to wait); again (failed, and may have arrived all the same); dropped; expired.",
		}, []string{"result"}),
		held: to.NewCounterVec(prometheus.CounterOpts{
			Name: "sillbot_sends_held_total",
			Help: "Replies held until the platform takes them, by whose limit: chat (a private one), group, bot.",
		}, []string{"of"}),
		pauses: to.NewCounter(prometheus.CounterOpts{
			Name: "sillbot_send_pauses_total",
			Help: "Times that the platform refused the whole bot, and all waited.",
		}),
		rate: to.NewGauge(prometheus.GaugeOpts{
			Name: "sillbot_send_rate",
			Help: "Messages a second that this process allows itself; 0: any number.",
		}),
		takenOver: to.NewCounter(prometheus.CounterOpts{
			Name: "sillbot_outbox_taken_over_total",
			Help: "Replies whose first process is gone. Each may be a second copy.",
		}),
		reminders: to.NewCounterVec(prometheus.CounterOpts{
			Name: "sillbot_reminders_total",
			Help: "Looks for what a chat is to be reminded of, by result: said; nothing (there was nothing to say to it now); failed (tried again).",
		}, []string{"result"}),
		waiting: to.NewGauge(prometheus.GaugeOpts{
			Name: "sillbot_outbox_chats",
			Help: "Chats with something waiting, at the last sweep.",
		}),
		oldest: to.NewGauge(prometheus.GaugeOpts{
			Name: "sillbot_outbox_oldest_seconds",
			Help: "Age of what has waited longest, at the last sweep.",
		}),
	}
}

// lineOf publishes how many chats wait for what the platform takes of the bot.
func (*metrics) lineOf(r prometheus.Registerer, chats func() int) {
	promauto.With(r).NewGaugeFunc(prometheus.GaugeOpts{
		Name: "sillbot_send_line",
		Help: "Chats that wait until the platform takes more of the whole bot.",
	}, func() float64 { return float64(chats()) })
}
