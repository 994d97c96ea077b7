package engine

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
)

// left is the platform's word that somebody blocked the bot; back that they let it write
// again.
func (r *reachTest) left(p person) Update {
	u := r.update(p, p.id, "")
	u.Input.Kind, u.Input.Lost = dialog.Undelivered, &dialog.Lost{Why: dialog.Left}
	return u
}

func (r *reachTest) back(p person) Update {
	u := r.update(p, p.id, "")
	u.Input.Kind = dialog.Returned
	return u
}

// TestWhoBlocksIsNoticedAtOnce: the fitter is told before anything more is sent, once,
// however often the platform says so; what waits for the desk is given up, and comes as
// it stands when the desk lets the bot write again.
func TestWhoBlocksIsNoticedAtOnce(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		fitter, desk, ref := r.withDesk()
		before, seen := r.said(fitter.id), r.said(desk.id)
		r.reach(desk.id, gone)
		u := r.left(desk)
		r.take(u)
		r.take(u)
		r.take(r.left(desk))
		require.Equal(t, 1, count1(r.keys(fitter.id, before), "reach.lost.left"))
		require.NotContains(t, r.keys(fitter.id, before), "reach.last", "nothing was lost by it")
		require.Equal(t, seen, r.said(desk.id), "nothing is sent to who left")

		r.says(fitter, fitter.id, "name 1 bath", "send")
		require.True(t, empty(t, r.store, desk.id), "nothing waits for ever")
		r.reach(desk.id, nil)
		before = r.said(fitter.id)
		r.take(r.back(desk))
		require.Equal(t, 1, count1(r.keys(desk.id, seen), "job.order.title"))
		require.Equal(t, 1, count1(r.keys(fitter.id, before), "reach.back"))
		j, _ := storedJob(t, r.engine, fitter.id, ref)
		require.Equal(t, j.Order.Revision, j.Had(desk.id))
	})
}

// TestTheChairsAreToldOfAnOwnerWhoLeaves, of every job, also of a group's, under whichever
// of its numbers.
func TestTheChairsAreToldOfAnOwnerWhoLeaves(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		for _, group := range []bool{false, true} {
			r := newReachTest(t, url)
			fitter, desk, lead := person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Lou Fallow"}, person{sessiontest.Chat(), "Sam Ridge"}
			chat, now := fitter.id, fitter.id
			if group {
				chat, now = -sessiontest.Chat(), -sessiontest.Chat()
			}
			r.says(fitter, chat, "job", "invite desk")
			r.says(desk, desk.id, "/start "+r.token(chat))
			r.says(fitter, chat, "job new", "invite lead")
			r.says(lead, lead.id, "/start "+r.token(chat))
			u := r.left(fitter)
			if group {
				require.NoError(t, r.engine.Moved(ctx, chat, now))
				u.Chat, u.User = now, 0
			}
			r.take(u)
			r.take(u)
			require.Equal(t, 1, count1(r.keys(desk.id, 0), "reach.lost.left"))
			require.Equal(t, 1, count1(r.keys(lead.id, 0), "reach.lost.left"))
			r.says(fitter, chat, "job")
			require.Equal(t, 1, count1(r.keys(desk.id, 0), "reach.back.fitter"))
			require.Equal(t, 1, count1(r.keys(lead.id, 0), "reach.back.fitter"))
			require.NotContains(t, r.keys(chat, 0), "missed.told", "nothing was lost")
		}
	})
}

// TestNothingIsKeptOfAStrangerWhoLeaves, or of an account that the person uses no more.
func TestNothingIsKeptOfAStrangerWhoLeaves(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		stranger := person{sessiontest.Chat(), "Nobody"}
		r.take(r.left(stranger))
		r.take(r.back(stranger))
		u := r.left(stranger)
		u.Chat, u.User = -stranger.id, 0
		r.take(u)
		for _, chat := range []int64{stranger.id, -stranger.id} {
			has, err := r.store.Has(ctx, chat, chat)
			require.NoError(t, err)
			require.False(t, has)
		}
		c, err := r.store.Load(ctx, session.Key{Chat: stranger.id})
		require.NoError(t, err)
		require.Nil(t, c.Data)
	})
}

// TestAnAccountOfBeforeThatLeavesTellsNobody: the person goes on in another one.
func TestAnAccountOfBeforeThatLeavesTellsNobody(t *testing.T) {
	s := dialog.State{Version: 2, Seats: []dialog.Seat{{Ref: "Q3ATR7", Role: "desk", Owner: 5}}}
	_, told := dialog.Step(s, dialog.Input{Kind: dialog.Undelivered, Lost: &dialog.Lost{Why: dialog.Left}, Now: time.Unix(0, 0)})
	require.Len(t, told, 1)
	_, told = dialog.Step(s, dialog.Input{Kind: dialog.Undelivered, Lost: &dialog.Lost{Why: dialog.Left}, Now: time.Unix(0, 0), Elsewhere: true})
	require.Empty(t, told)
}
