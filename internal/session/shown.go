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

// shownLua notes what is shown now, ARGV[6], at the head of a list of lines, and gives
// those that stood before: in a private chat the last alone, which is all that anybody
// asks about there. Most notes cost two calls: what is no longer among the last few is
// cut off at every third message, and passed over by whoever reads.
// The list lasts as long as a conversation from when it was last cut.
const shownLua = `
local before
if ARGV[6] ~= '' then
	local line, most, last = ARGV[6], tonumber(ARGV[7]), 0
	local number = string.match(line, '^%d+ ')
	if tonumber(chat) < 0 then last = -1 end
	before = redis.call('LRANGE', shown, 0, last)
	if before[1] and string.sub(before[1], 1, #number) == number then
		redis.call('LSET', shown, 0, line)
	else
		for i = 2, #before do
			if string.sub(before[i], 1, #number) == number then redis.call('LREM', shown, 1, before[i]) end
		end
		local n = redis.call('LPUSH', shown, line)
		if n > most + 2 then redis.call('LTRIM', shown, 0, most - 1) end
		if n == 1 or n > most + 2 then redis.call('EXPIRE', shown, ARGV[8]) end
	end
end
`

// line is how it is stored: the number, whose it is, what it was about.
func (s Shown) line() string {
	if s.Msg <= 0 || strings.ContainsRune(s.Data, '\n') {
		return ""
	}
	return fmt.Sprintf("%d %d %s", s.Msg, s.User, s.Data)
}

// shownOf reads lines, the newest first, each message once. What can't be read is left
// out: nothing depends on it.
func shownOf(lines []string, most int) []Shown {
	var all []Shown
	for _, text := range lines {
		f := strings.SplitN(text, " ", 3)
		if len(f) < 3 {
			continue
		}
		msg, err := strconv.ParseInt(f[0], 10, 64)
		user, odd := strconv.ParseInt(f[1], 10, 64)
		again := slices.ContainsFunc(all, func(s Shown) bool { return s.Msg == msg })
		if err == nil && odd == nil && msg > 0 && !again && len(all) < most {
			all = append(all, Shown{msg, user, f[2]})
		}
	}
	return all
}

// Shown are the last messages of a chat that were noted, the newest first.
func (s *Store) Shown(ctx context.Context, chat int64) ([]Shown, error) {
	list, err := s.rdb.LRange(ctx, key("v", chat), 0, -1).Result()
	return shownOf(list, mostShown(chat)), failedIn("shown", err)
}

// shownTo is what was shown to a person of a group; 0: everything.
func shownTo(list []string, chat, user int64) []Shown {
	return slices.DeleteFunc(shownOf(list, mostShown(chat)), func(s Shown) bool { return user != 0 && s.User != user })
}
