package telegramtest

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"golang.org/x/time/rate"
)

// Limits are how many messages the platform takes; 0: any number. What it says of them
// (its Bots FAQ, "My bot is hitting limits", quoted by others): 20 a minute in a group,
// about one a second in a chat, 30 a second or so in all. How it counts it does not say.
// Here a group has a window of a minute that slides, in which each of an album counts, and
// the others a bucket.
type Limits struct {
	Group int     // messages a minute in one group
	Chat  float64 // messages a second in a private chat, a burst of ten above it
	Bot   float64 // messages a second in all, a burst of as many above it
}

const chatBurst = 10

// limits counts what was sent. Guarded by Server.mu.
type limits struct {
	groups  map[int64][]time.Time
	chats   map[int64]*rate.Limiter
	bot     *rate.Limiter
	refused int
}

// Limit sets the limits.
func (s *Server) Limit(l Limits) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.Limits = l
}

// limit is a refusal of a call that comes too soon; nil: it may pass, and is counted.
func (s *Server) limit(method string, p params) *problem {
	s.mu.Lock()
	defer s.mu.Unlock()
	l := &s.limits
	chat, err := p.int("chat_id", 0)
	if s.Limits == (Limits{}) || err != nil || method == "sendchataction" ||
		!strings.HasPrefix(method, "send") && !strings.HasPrefix(method, "edit") {
		return nil
	}
	if l.chats == nil {
		l.chats, l.groups = map[int64]*rate.Limiter{}, map[int64][]time.Time{}
		l.bot = rate.NewLimiter(rate.Limit(s.Limits.Bot), int(s.Limits.Bot))
	}
	now, n := s.Clock(), 1
	if method == "sendmediagroup" {
		n = strings.Count(p.values["media"], `"media":`)
	}
	wait := l.chatWait(s.Limits, chat, now, n)
	if missing := 1 - l.bot.TokensAt(now); s.Limits.Bot > 0 && missing > 0 {
		wait = max(wait, time.Duration(missing/s.Limits.Bot*float64(time.Second)))
	}
	if wait > 0 {
		l.refused++
		after := int(math.Ceil(wait.Seconds()))
		return &problem{code: http.StatusTooManyRequests, retryAfter: after, text: fmt.Sprintf("Too Many Requests: retry after %d", after)}
	}
	l.bot.ReserveN(now, 1)
	if chat < 0 {
		l.groups[chat] = append(l.groups[chat], slices.Repeat([]time.Time{now}, n)...)
	} else {
		l.chats[chat].ReserveN(now, 1)
	}
	return nil
}

func (l *limits) chatWait(most Limits, chat int64, now time.Time, n int) time.Duration {
	if chat < 0 {
		if times := l.groups[chat]; most.Group > 0 && len(times)+n > most.Group {
			return times[len(times)+n-most.Group-1].Add(time.Minute).Sub(now)
		}
		return 0
	}
	if l.chats[chat] == nil {
		l.chats[chat] = rate.NewLimiter(rate.Limit(most.Chat), chatBurst)
	}
	if missing := 1 - l.chats[chat].TokensAt(now); most.Chat > 0 && missing > 0 {
		return time.Duration(missing / most.Chat * float64(time.Second))
	}
	return 0
}

// Refused is how many calls came too soon for Limits.
func (s *Server) Refused() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.limits.refused
}
