package engine

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// TestAMoveIsOneHoweverItIsTold: what was typed in a group goes on under its other
// number, whoever tells of it first and how often. What was typed there before is
// not among it, which is said once.
func TestAMoveIsOneHoweverItIsTold(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		ana := person{sessiontest.Chat(), "Wren Hollow"}
		first, now := -sessiontest.Chat(), -sessiontest.Chat()-1e12
		r.says(ana, first, "job")
		ref := r.refs(first)[0]
		require.NoError(t, r.engine.Moved(ctx, first, now))
		require.NoError(t, r.engine.Moved(ctx, first, now))
		require.NoError(t, r.engine.Flush(ctx, first))
		require.NotContains(t, r.keys(first, 0), "moved", "nothing was typed there before")
		r.says(ana, now, "label mill")
		j, _ := storedJob(t, r.engine, first, ref)
		require.Equal(t, "mill", j.Label)
		for _, m := range r.post.sent(first)[1:] {
			require.Equal(t, now, m.To)
		}
		require.Empty(t, r.post.sent(now), "inside it has one number")

		other, late := -sessiontest.Chat(), -sessiontest.Chat()-1e12
		r.says(ana, other, "job")
		r.says(ana, late, "hello")
		for range 2 {
			require.NoError(t, r.engine.Moved(ctx, other, late))
		}
		require.NoError(t, r.engine.Flush(ctx, other))
		require.Equal(t, 1, count1(r.keys(other, 0), "moved"))
		r.says(ana, late, "label weir")
		j, _ = storedJob(t, r.engine, other, r.refs(other)[0])
		require.Equal(t, "weir", j.Label)
	})
}

// TestAPlatformThatSaysOnSendingThatAChatMovedIsBelieved, and not asked again.
func TestAPlatformThatSaysOnSendingThatAChatMovedIsBelieved(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		p := &movedPost{moved: map[int64]int64{}}
		e := newEngine(t, url, p, Options{})
		first, now := -sessiontest.Chat(), -sessiontest.Chat()-1e12
		p.moved[first] = now
		for id, text := range []string{"a", "b"} {
			u := typed(int64(id+1), first, text)
			u.Group, u.User = true, 7
			require.NoError(t, e.Take(ctx, u))
			require.NoError(t, e.Flush(ctx, first))
		}
		require.Equal(t, []string{"a", "b"}, p.words(first))
		require.Equal(t, 1, p.asked)
	})
}

// movedPost is a platform that has some chats under other numbers.
type movedPost struct {
	post
	moved map[int64]int64
	asked int
}

func (p *movedPost) Send(ctx context.Context, m Message) (Sent, error) {
	if to := p.moved[m.To]; to != 0 {
		p.asked++
		return Sent{}, &MovedError{To: to}
	}
	return p.post.Send(ctx, m)
}
