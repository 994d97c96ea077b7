package session

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Shown is a message that the bot has put into a chat, and what it was about. The last
// few of a chat are kept, so that an answer to one of them finds its question and the
// buttons of the one before can be taken off.
type Shown struct {
	Msg  int64  `json:"message"`        // the platform's number; 0: none
	User int64  `json:"user,omitempty"` // of a group, whose question it is; 0: everybody's
	Data string `json:"about"`          // one line
}

// How many are kept: in a group each person has a question of their own.
const (
	shownAlone = 4
	shownGroup = 16
)

func mostShown(chat int64) int {
	if chat < 0 {
		return shownGroup
	}
	return shownAlone
}

// line is how it is stored: the number, whose it is, what it was about.
func (s Shown) line() string {
	if s.Msg <= 0 || strings.ContainsRune(s.Data, '\n') {
		return ""
	}
	return fmt.Sprintf("%d %d %s", s.Msg, s.User, s.Data)
}

// shownOf reads a list of lines. What can't be read is left out: nothing depends on it.
func shownOf(list string) []Shown {
	var all []Shown
	for line := range strings.SplitSeq(list, "\n") {
		f := strings.SplitN(line, " ", 3)
		if len(f) < 3 {
			continue
		}
		msg, err := strconv.ParseInt(f[0], 10, 64)
		user, odd := strconv.ParseInt(f[1], 10, 64)
		if err == nil && odd == nil && msg > 0 {
			all = append(all, Shown{msg, user, f[2]})
		}
	}
	return all
}

// Shown are the last messages of a chat that were noted, the newest first.
func (s *Store) Shown(ctx context.Context, chat int64) ([]Shown, error) {
	list, err := found("shown", s.rdb.Get(ctx, key("v", chat)))
	return shownOf(string(list)), err
}

// shownTo is what was shown to a person of a group; 0: everything.
func shownTo(list string, user int64) []Shown {
	return slices.DeleteFunc(shownOf(list), func(s Shown) bool { return user != 0 && s.User != user })
}
