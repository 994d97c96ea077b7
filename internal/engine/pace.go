package engine

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// What the platform says of sending (its Bots FAQ, "My bot is hitting limits", S: read in
// what its support quotes of it): about one message a second in a chat, where short bursts
// may pass; no more than 20 a minute in a group; no more than 30 a second or so to all.
// How long a burst may be it does not say: those here are common practice, no source.
const (
	chatRate  = 1.0
	chatBurst = 5
	// In no minute go more than burst and rate together: 19, and one more for a reply that
	// takes two messages.
	groupRate  = 15.0 / 60
	groupBurst = 4
	botBurst   = 6 // of the bot's rate
)

// Times of the bot's own rate, common practice, no source.
const (
	// Two chats far below their own limits that are refused within so long were refused
	// for the bot's sake. One alone says nothing of the others: it may be the chat's.
	refusedAtOnce = 2 * time.Second
	// After the whole bot was refused it goes half as fast, and so much later a tenth of
	// the whole faster again. So several replicas find their shares.
	raiseAfter = 10 * time.Second
)

// pace says when the platform takes the next message. It has a bucket of tokens for the
// bot and for each chat that was written to of late: a full one is forgotten, so their
// number is bounded by what is sent in half a minute. Guarded by mu.
type pace struct {
	m    *metrics
	full rate.Limit // of the bot; 0: nothing is held up

	mu     sync.Mutex
	bot    *rate.Limiter
	chats  map[int64]*rate.Limiter
	purge  int       // clean up when there are so many
	until  time.Time // nothing is sent before
	raised time.Time // when the bot's rate was changed last
	// The last chat far below its own limit that was refused.
	refused   int64
	refusedAt time.Time
}

func newPace(perSecond float64, m *metrics) *pace {
	m.rate.Set(perSecond)
	return &pace{m: m, full: rate.Limit(perSecond), chats: map[int64]*rate.Limiter{},
		bot: rate.NewLimiter(rate.Limit(perSecond), max(1, int(perSecond/botBurst)))}
}

func (p *pace) off() bool { return p.full == 0 }

// of is the bucket of a chat. It needs p.mu.
func (p *pace) of(chat int64) *rate.Limiter {
	l := p.chats[chat]
	if l == nil {
		p.clean()
		if l = rate.NewLimiter(chatRate, chatBurst); chat < 0 {
			l = rate.NewLimiter(groupRate, groupBurst)
		}
		p.chats[chat] = l
	}
	return l
}

// clean needs p.mu.
func (p *pace) clean() {
	if len(p.chats) < p.purge {
		return
	}
	now := time.Now()
	maps.DeleteFunc(p.chats, func(_ int64, l *rate.Limiter) bool { return l.TokensAt(now) >= float64(l.Burst()) })
	p.purge = max(1024, 2*len(p.chats))
}

// chatWait is how long until a chat takes n messages more. One that takes more than a
// full bucket waits for that.
func (p *pace) chatWait(chat int64, n int) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.of(chat)
	return until(l, float64(min(n, l.Burst())))
}

func until(l *rate.Limiter, tokens float64) time.Duration {
	missing := tokens - l.Tokens()
	if missing <= 1e-9 {
		return 0
	}
	return time.Duration(missing/float64(l.Limit())*float64(time.Second)) + time.Microsecond
}

// take takes a token of the bot's, or says how long until there is one.
func (p *pace) take() time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := time.Now()
	if wait := p.until.Sub(now); wait > 0 {
		return wait
	}
	if p.bot.Limit() < p.full && now.Sub(p.raised) > raiseAfter {
		p.setRate(min(p.full, p.bot.Limit()+p.full/10))
	}
	wait := until(p.bot, 1)
	if wait == 0 {
		spend(p.bot, 1)
	}
	return wait
}

// setRate needs p.mu.
func (p *pace) setRate(r rate.Limit) {
	p.bot.SetLimit(r)
	p.raised = time.Now()
	p.m.rate.Set(float64(r))
}

// spend takes tokens, whether or not they are there.
func spend(l *rate.Limiter, n int) {
	for range n {
		l.Reserve()
	}
}

// sent counts messages to a chat: n of them, of which the bot's bucket has given so many
// already.
func (p *pace) sent(chat int64, n, given int) {
	if p.off() {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	spend(p.of(chat), n)
	spend(p.bot, n-given)
}

// limited takes notice of a 429 for a chat. The chat waits by itself; if it must be for
// the bot's sake, all wait.
func (p *pace) limited(chat int64, after time.Duration) (all bool) {
	if p.off() {
		return false
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	now, l := time.Now(), p.of(chat)
	low := l.Tokens() >= float64(l.Burst())/2
	spend(l, l.Burst()) // it knew more than we do of what was sent
	if !low || now.Before(p.until) {
		return false
	}
	all = p.refused != 0 && p.refused != chat && now.Sub(p.refusedAt) < refusedAtOnce
	p.refused, p.refusedAt = chat, now
	if all {
		p.refused, p.until = 0, now.Add(after)
		p.setRate(max(1, p.bot.Limit()/2))
		p.raised = p.until
		p.m.pauses.Inc()
	}
	return all
}

// sends is how many messages a reply takes at least. In a group each of an album is taken
// to count (M).
func sends(m Message) int { return 1 + len(m.Reply.Shots) + len(m.Reply.More) }

// Who waits for a token of the bot's stands in one of two lines: answers in private chats
// go first, and one place in so many goes to what is for groups or comes from another
// chat. In each who has waited longest goes first, whatever was refused meanwhile.
const secondsTurn = 4

// line is the chats that wait for a token of the bot's. Guarded by queue.mu.
type line struct {
	ranks [2][]inRank
	turn  int
	timer *time.Timer
}

type inRank struct {
	chat  int64
	since time.Time
}

func (l *line) len() int { return len(l.ranks[0]) + len(l.ranks[1]) }

// put adds a chat that has waited since then.
func (l *line) put(chat int64, second bool, since time.Time) {
	rank := &l.ranks[0]
	if second {
		rank = &l.ranks[1]
	}
	at, _ := slices.BinarySearchFunc(*rank, since, func(other inRank, t time.Time) int {
		return cmp.Or(other.since.Compare(t), -1) // behind those of the same time
	})
	*rank = slices.Insert(*rank, at, inRank{chat, since})
}

// next takes out the chat whose turn it is. There is one.
func (l *line) next() (chat int64) {
	rank := &l.ranks[0]
	l.turn++
	if len(*rank) == 0 || l.turn%secondsTurn == 0 && len(l.ranks[1]) > 0 {
		rank = &l.ranks[1]
	}
	chat = (*rank)[0].chat
	*rank = (*rank)[1:]
	return chat
}

type countKey struct{}

// Counts says that one message of a reply is about to be sent or changed. A Sender calls
// it with the context of its Send, right before each such call, so that a reply of
// several messages counts for all of them.
func Counts(ctx context.Context) {
	if count, ok := ctx.Value(countKey{}).(func()); ok {
		count()
	}
}
