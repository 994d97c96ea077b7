package session

import (
	"strconv"
	"time"
)

// Ours is what a person's turn in a group makes of the group's own conversation, in the
// same commit. The turn is stale when that has changed since it was loaded.
type Ours struct {
	From Conversation
	Data []byte
}

// oursArgs are what the script takes of it: the key, and revision and record.
func (s *Store) oursArgs(chat int64, o *Ours, now time.Time) (keys []string, args []any) {
	if o == nil {
		return nil, nil
	}
	cared := int64(0) // the person's own turn cares for the seen marks
	if !o.From.cared.IsZero() {
		cared = o.From.cared.Unix()
	}
	return []string{Key{Chat: chat}.conversation()}, []any{o.From.Rev, s.states.sealNamed(revAfter(o.From.Rev, now), strconv.FormatInt(cared, 10), o.Data)}
}
