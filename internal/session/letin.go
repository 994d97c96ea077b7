package session

import (
	"context"

	"github.com/redis/go-redis/v9"
)

// A link of the version of before is in another slot than the people. It is kept for
// the first who comes by it, and deleted when they are in, so that a fault
// between does not shut them out.
var claimLinkScript = redis.NewScript(`
local data = redis.call('GET', KEYS[1])
if not data or data == '' then return '' end
local has = string.match(data, '\n(%-?%d+)$')
if not has then redis.call('APPEND', KEYS[1], '\n' .. ARGV[1]) end
if has and has ~= ARGV[1] then return '' end
return data
`)

// LetIn lets a person in by a crew link: they are in, the link is used up and the
// trail says so, or nothing has changed and in is false. The maker of the link must be
// as they were read. change is as for ChangePerson.
func (s *Store) LetIn(ctx context.Context, token string, maker Person, id int64, change func(*Person) (bool, *Trace)) (p Person, in bool, err error) {
	data, err := found("let in", s.rdb.Get(ctx, crewLinkKey(token)))
	if err != nil {
		return p, false, err
	}
	if len(data) > 0 {
		return s.changePerson(ctx, id, &cameBy{crewLinkKey(token), string(data), maker}, change)
	}
	claimed, err := claimLinkScript.Run(ctx, s.rdb, []string{linkKey(token)}, id).Text()
	if err != nil || claimed == "" {
		return p, false, failedIn("let in", err)
	}
	if p, in, err = s.changePerson(ctx, id, nil, change); err != nil {
		return p, false, err
	}
	return p, in, s.DropLink(ctx, token)
}
