package session

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/redis/go-redis/v9"
)

// Pages in a browser have a chat each. What a browser shows to be let in is kept as a
// hash, so that whoever reads the keys can't get in; so are the links that were opened.
// A page's chat has a list of what was said to it of late, and as long as that list is
// there the page can be reached. All of it goes when nobody opened the page for PageLasts.

// PageLasts is how long a page stays open after it was last looked at.
const PageLasts = 14 * 24 * time.Hour

// Page is a page in a browser: its chat, and the job that it shows, by reference.
type Page struct {
	Chat int64
	Ref  string
}

// MostPages is how many pages one browser can have open.
const MostPages = 200

// pageLines is how many of the last messages to a page are kept.
const pageLines = 30

// openedFor is how long it is known that a link was opened: longer than one leads.
const openedFor = 31 * 24 * time.Hour

func browserKey(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return "sb:web:" + base64.RawURLEncoding.EncodeToString(sum[:])
}

// moved is the last place of a browser's pages that it has under another secret now, and
// movedFor how long the old secret still shows them: an answer on the way to the browser
// may get lost.
const (
	moved    = "moved"
	movedFor = 10 * time.Minute
)

// OpenPage binds a link to the page of a chat, once: opened is false when it was before,
// and nothing is written then. The page comes under secret, which nobody had before, after
// those that are open under the secret was, "" for none: who knows that one sees these for
// movedFor and never what is opened from now on. place is the page's number, from 1.
// Errors: Redis'; where opened is true then, the link may be used up.
func (s *Store) OpenPage(ctx context.Context, token, was, secret string, page Page) (place int, opened bool, err error) {
	pages, err := s.rdb.LRange(ctx, browserKey(was), 0, -1).Result()
	if err != nil {
		return 0, false, failedIn("open page", err)
	}
	if n := len(pages); n > 0 && pages[n-1] == moved {
		pages = pages[:n-1]
	}
	pages = append(pages, fmt.Sprint(page.Chat, " ", page.Ref))
	list, said := browserKey(secret), key("w", page.Chat)
	for _, do := range []func(redis.Pipeliner){ // one place after the other: a cluster has them apart
		func(p redis.Pipeliner) { p.RPush(ctx, list, pages); p.Expire(ctx, list, PageLasts) },
		func(p redis.Pipeliner) { p.RPush(ctx, said, ""); p.Expire(ctx, said, PageLasts) },
	} {
		if _, err := s.rdb.TxPipelined(ctx, func(p redis.Pipeliner) error { do(p); return nil }); err != nil {
			return 0, false, failedIn("open page", err)
		}
	}
	opened, err = s.rdb.SetNX(ctx, "sb:page:"+linkHash(token), page.Chat, openedFor).Result()
	if err != nil {
		return 0, true, failedIn("open page", err)
	}
	if !opened {
		return 0, false, failedIn("open page", errors.Join(s.rdb.Del(ctx, list).Err(), s.rdb.Del(ctx, said).Err()))
	}
	if err := s.move(ctx, browserKey(was)); err != nil {
		return 0, true, failedIn("open page", err)
	}
	return len(pages), true, s.Acknowledged(ctx)
}

// move marks a browser's pages, if there are any, as under another secret now.
func (s *Store) move(ctx context.Context, list string) error {
	_, err := s.rdb.TxPipelined(ctx, func(p redis.Pipeliner) error {
		p.RPushX(ctx, list, moved)
		p.Expire(ctx, list, movedFor)
		return nil
	})
	return err
}

// PageOf is the chat of the page that a link was opened for, 0 for none.
func (s *Store) PageOf(ctx context.Context, token string) (int64, error) {
	data, err := found("page of", s.rdb.Get(ctx, "sb:page:"+linkHash(token)))
	chat, _ := strconv.ParseInt(string(data), 10, 64) // 0 for none
	return chat, err
}

// Pages are those that a browser has open, by their places; without a chat where one was
// closed. They stay open from now on for PageLasts, unless they moved.
func (s *Store) Pages(ctx context.Context, secret string) ([]Page, error) {
	list := browserKey(secret)
	found, err := s.rdb.LRange(ctx, list, 0, MostPages).Result()
	if err != nil || len(found) == 0 {
		return nil, failedIn("pages", err)
	}
	if n := len(found); found[n-1] == moved {
		found = found[:n-1]
	} else if err := s.rdb.Expire(ctx, list, PageLasts).Err(); err != nil {
		return nil, failedIn("pages", err)
	}
	pages := make([]Page, len(found))
	for i, entry := range found {
		number, ref, _ := strings.Cut(entry, " ")
		chat, _ := strconv.ParseInt(number, 10, 64) // 0 for what is none
		pages[i] = Page{chat, ref}
	}
	return pages, nil
}

// ClosePage takes the page at a place, from 1, from a browser, and what was said to it.
func (s *Store) ClosePage(ctx context.Context, secret string, place int, chat int64) error {
	if err := s.rdb.LSet(ctx, browserKey(secret), int64(place-1), 0).Err(); err != nil {
		return fmt.Errorf("close page: %w", err)
	}
	return failedIn("close page", s.rdb.Del(ctx, key("w", chat)).Err())
}

// ToPage keeps a reply for the page of a chat; there is false when nobody has that page
// open any more, and it is not kept.
func (s *Store) ToPage(ctx context.Context, chat int64, reply []byte) (there bool, err error) {
	said, now := key("w", chat), s.now()
	n, err := s.rdb.RPushX(ctx, said, s.replies.seal(now.UnixMilli(), reply)).Result()
	if err != nil || n == 0 {
		return false, failedIn("to page", err)
	}
	return true, failedIn("to page", s.rdb.LTrim(ctx, said, -pageLines, -1).Err())
}

// PageLine is a reply that a page shows.
type PageLine struct {
	At   time.Time
	Data []byte
}

// PageSays are the last replies to a page, the oldest first, which stay for PageLasts
// from now on. What can't be read is left out.
func (s *Store) PageSays(ctx context.Context, chat int64) ([]PageLine, error) {
	list, err := s.rdb.LRange(ctx, key("w", chat), 0, -1).Result()
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	var lines []PageLine
	for _, raw := range list {
		if ms, data, err := s.replies.open([]byte(raw)); err == nil {
			lines = append(lines, PageLine{time.UnixMilli(ms), data})
		}
	}
	return lines, failedIn("page", s.rdb.Expire(ctx, key("w", chat), PageLasts).Err())
}

// What of a job can change is in the numbers before its parts' payloads.
var stampScript = redis.NewScript(`
local all = redis.call('HGETALL', KEYS[1])
local heads = {}
for i = 1, #all, 2 do
	if all[i] == ARGV[1] or string.sub(all[i], 1, #ARGV[1] + 1) == ARGV[1] .. '/' then
		heads[#heads + 1] = all[i] .. ' ' .. string.sub(all[i + 1], 1, 40)
	end
end
table.sort(heads)
return redis.sha1hex(table.concat(heads, '\n'))
`)

// Stamp is another one as soon as anything of a job has changed, or something was said to
// the page of a chat.
type Stamp struct{ Job, Said string }

func (s Stamp) String() string { return s.Job + s.Said }

// Stamp is that of a job of a chat, and of a page.
func (s *Store) Stamp(ctx context.Context, page, owner int64, ref string) (Stamp, error) {
	job, err := stampScript.Run(ctx, s.rdb, []string{key("j", owner)}, ref).Text()
	if err != nil {
		return Stamp{}, fmt.Errorf("stamp: %w", err)
	}
	last, err := found("stamp", s.rdb.LIndex(ctx, key("w", page), -1))
	sum := sha256.Sum256(last)
	return Stamp{job[:16], base64.RawURLEncoding.EncodeToString(sum[:9])}, err
}
