package session

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"time"
)

// What a program can't read is never overwritten: whatever takes its place, its bytes
// go to the chat's list of what was set aside with the same script, with when and why.
// An entry is a record whose name is the place that it stood in and whose payload is
// "WHY REV BYTES": REV is the revision of what took the place, 0 for nothing. A letter
// that waits for a conversation to be readable again stands there too.

// The places of what was set aside.
const (
	placeConversation = "c" // of one person in a group c:USER
	placeJob          = "j:"
	placeReply        = "o"
	placePutOff       = "i"
	placeLetter       = "m"
)

// asideRoom is how many entries a chat may have; the oldest go. A job has at most
// 400 windows.
const (
	asideRoom    = 500
	asideRoomLua = "500"
)

// why is one word for what is wrong with a record.
func why(err error) string {
	if errors.Is(err, ErrNewer) {
		return "newer"
	}
	return "broken"
}

// asideHead is what stands before the bytes of an entry.
func asideHead(now time.Time, place string, err error, rev int64) []byte {
	return ladder(nil).sealNamed(now.UnixMilli(), place, fmt.Appendf(nil, "%s %d ", why(err), rev))
}

// asideLua is the part of the commit that sets aside, after all checks. Letters that
// waited for what is set aside now go to the updates put off, as if they came now.
const asideLua = `
local w, back = waits or '0', false
for i = last + 1, say, 2 do
	local raw, place = '', ARGV[i]
	if place == '` + placeConversation + `' then
		raw = redis.call('GET', conv)
	elseif place ~= '` + placeLetter + `' then
		raw = redis.call('HGET', jobs, place)
	end
	back = back or place ~= '` + placeLetter + `' and (place ~= '` + placeConversation + `' or user == '')
	if raw then redis.call('RPUSH', aside, ARGV[i + 1] .. raw) end
end
if last < say then
	redis.call('LTRIM', aside, -` + asideRoomLua + `, -1)
	redis.call('EXPIRE', aside, keep)
end
for _, e in ipairs(back and redis.call('LRANGE', aside, 0, -1) or {}) do
	local letter = string.match(e, '^%d+ %d+ ` + placeLetter + ` %S+ %d+ (.*)$')
	if letter then
		redis.call('LREM', aside, 1, e)
		redis.call('RPUSH', putoff, letter)
		w = '1'
	end
end
`

// entry is one thing that was set aside.
type entry struct {
	at    time.Time
	place string // see placeConversation
	why   string
	rev   int64 // of what took its place; 0: nothing did
	raw   []byte
	whole string // as it stands in the list
}

// asideEntry reads an entry; false for what none is.
func asideEntry(whole string) (entry, bool) {
	at, place, rest, err := ladder(nil).openNamed([]byte(whole))
	if err != nil {
		return entry{}, false
	}
	reason, rest, ok1 := bytes.Cut(rest, []byte{' '})
	number, raw, ok2 := bytes.Cut(rest, []byte{' '})
	rev, err := strconv.ParseInt(string(number), 10, 64)
	return entry{time.UnixMilli(at), place, string(reason), rev, raw, whole}, ok1 && ok2 && err == nil
}
