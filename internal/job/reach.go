package job

import (
	"slices"
	"time"
)

// Unreached notes that nothing reaches a chat that has a chair, since at. first is
// false when that was known already.
func (j Job) Unreached(chat int64, at time.Time) (Job, bool) {
	return j.atChair(chat, func(s *Share) bool {
		first := s.Lost.IsZero()
		if first {
			s.Lost = moment(at)
		}
		return first
	})
}

// Reached notes that a chat that has a chair can be reached; back is whether it
// could not be before.
func (j Job) Reached(chat int64) (_ Job, back bool) {
	return j.atChair(chat, func(s *Share) bool {
		was := !s.Lost.IsZero()
		s.Lost = time.Time{}
		return was
	})
}

// Arrived notes which revision of the order reached a chat.
func (j Job) Arrived(chat int64, revision int) Job {
	j, _ = j.atChair(chat, func(s *Share) bool {
		newer := revision > s.Got
		s.Got = max(s.Got, revision)
		return newer
	})
	return j
}

// Had is the revision of the order that reached a chat last; 0: none did.
func (j Job) Had(chat int64) int {
	had := 0
	for _, s := range j.Shares {
		if s.UsedBy == chat && !s.Revoked {
			had = max(had, s.Got)
		}
	}
	return had
}

// atChair changes the share of a chat that has a chair. The job is another one
// only if change says that something changed.
func (j Job) atChair(chat int64, change func(*Share) bool) (Job, bool) {
	i := slices.IndexFunc(j.Shares, func(s Share) bool { return s.UsedBy == chat && chat != 0 && !s.Revoked })
	if i < 0 {
		return j, false
	}
	s := j.Shares[i]
	if !change(&s) {
		return j, false
	}
	j.Shares = slices.Clone(j.Shares)
	j.Shares[i] = s
	return j, true
}

// OrderReach says how far the order has come to the desk that has it.
type OrderReach string

// The reaches, as far as is known.
const (
	NobodyThere  OrderReach = "nobody" // no desk has opened a link
	NoReceipt    OrderReach = "sent"
	WithDesk     OrderReach = "delivered"
	NotDelivered OrderReach = "undelivered"
)

// OrderReach is how far the revision has come, and when it was sent; "" where
// nothing was sent, or the desk has answered on every line.
func (j Job) OrderReach() (OrderReach, time.Time) {
	waits := func(o Opening) bool { return o.State == Ordered || o.State == Changed }
	if len(j.Order.Sent) == 0 || !slices.ContainsFunc(j.Openings, waits) {
		return "", time.Time{}
	}
	sent := j.Order.Sent[len(j.Order.Sent)-1].By.At
	reach := NobodyThere
	for _, s := range j.Shares {
		switch {
		case s.Role != Desk || s.UsedBy == 0 || s.Revoked:
		case s.Got == j.Order.Revision:
			return WithDesk, sent
		case !s.Lost.IsZero():
			reach = NotDelivered
		case reach == NobodyThere:
			reach = NoReceipt
		}
	}
	return reach, sent
}
