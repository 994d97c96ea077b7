package engine

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
	"sillbot/internal/session/sessiontest"
	"sillbot/internal/talk"
)

// newPhone moves a person from the account in hand to another.
func (r *reachTest) newPhone(from, to person, first int64) {
	r.t.Helper()
	r.says(from, from.id, "new phone")
	r.says(to, to.id, "/start "+r.token(first))
	r.presses(to, "l1:")
}

// wentTo are the accounts that replies went to, since before of them.
func (r *reachTest) wentTo(chat int64, before int) (accounts []int64) {
	for _, m := range r.post.sent(chat)[before:] {
		accounts = append(accounts, m.To)
	}
	return accounts
}

// TestANewPhoneTakesEverythingOver: what comes of the new account is put under the
// person's first number, as chat and as person of a group, and what goes out goes there,
// mail of chairs too; the account before can do nothing. Three accounts, and back.
func TestANewPhoneTakesEverythingOver(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		r.live = true
		old, desk, ref := r.withDesk()
		second, third := person{sessiontest.Chat(), old.name}, person{sessiontest.Chat(), old.name}
		group := -sessiontest.Chat()
		r.says(old, group, "job", "England today")
		r.newPhone(old, second, old.id)
		c, err := r.store.Load(ctx, session.Key{Chat: second.id})
		require.NoError(t, err)
		home, _ := dialog.Account(c.Data)
		require.Equal(t, old.id, home, "%s %v", c.Data, r.keys(second.id, 0))

		before := r.said(old.id)
		r.says(second, second.id, "label mill")
		r.says(desk, desk.id, "confirm A")
		j, _ := storedJob(t, r.engine, old.id, ref)
		require.Equal(t, "mill", j.Label)
		require.Equal(t, []int64{second.id, second.id}, r.wentTo(old.id, before), "the answer, and the desk's")
		require.Empty(t, r.refs(second.id))

		before = r.said(old.id)
		r.says(old, old.id, "label weir", "undo")
		require.Equal(t, []int64{old.id, old.id}, r.wentTo(old.id, before))
		require.Equal(t, 2, count1(r.keys(old.id, before), "phone.away"))

		before = r.said(group)
		r.says(old, group, "label weir")
		require.Equal(t, 1, count1(r.keys(group, before), "phone.away.group"))
		r.says(second, group, "label yard")
		g, _ := storedJob(t, r.engine, group, r.refs(group)[0])
		require.Equal(t, "yard", g.Label)

		r.newPhone(second, third, old.id)
		r.says(second, group, "label weir")
		r.says(second, second.id, "label weir")
		r.says(third, group, "label dam")
		r.says(third, third.id, "label lock")
		j, _ = storedJob(t, r.engine, old.id, ref)
		g, _ = storedJob(t, r.engine, group, r.refs(group)[0])
		require.Equal(t, []string{"lock", "dam"}, []string{j.Label, g.Label})

		r.newPhone(third, old, old.id)
		before = r.said(old.id)
		r.says(third, third.id, "label weir")
		r.says(old, old.id, "label home")
		j, _ = storedJob(t, r.engine, old.id, ref)
		require.Equal(t, "home", j.Label)
		require.Equal(t, []int64{third.id, old.id}, r.wentTo(old.id, before))
	})
}

// TestANewPhoneIsLetInWhereItsPersonIs: of a bot that is not open to all the code lets
// the new account do that one thing, and then it is its person's; the code alone opens
// nothing else, and works once.
func TestANewPhoneIsLetInWhereItsPersonIs(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		r.live = true
		old, second, other := person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Sid Marsh"}
		r.engine = New(r.store, r.post, Options{Rate: -1, Log: slog.New(slog.DiscardHandler), Crew: []int64{old.id}})
		r.says(old, old.id, "job", "new phone")
		code := r.token(old.id)
		r.says(second, second.id, "hello", "/start "+code, "hello", code+" yes", "label mill")
		require.Equal(t, 1, count1(r.keys(second.id, 0), "crew.closed"), "once an hour, and not by the code")
		j, _ := storedJob(t, r.engine, old.id, r.refs(old.id)[0])
		require.Equal(t, "mill", j.Label)
		p, err := r.store.Person(ctx, second.id)
		require.NoError(t, err)
		require.Equal(t, session.Stranger, p.As, "it is its person who is let in")
		r.says(other, other.id, "/start "+code, code+" yes")
		require.Equal(t, []string{"crew.closed"}, r.keys(other.id, 0))
	})
}

// TestAnAccountBeforeHoldsNothingUp: however much comes of it, the phone of now is
// answered at once.
func TestAnAccountBeforeHoldsNothingUp(t *testing.T) {
	_, url := sessiontest.Mini(t)
	r := newReachTest(t, url)
	r.live = true
	r.engine = New(r.store, r.post, Options{Rate: 0.001, Burst: 8, Log: slog.New(slog.DiscardHandler)})
	old, second := person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Wren Hollow"}
	r.says(old, old.id, "job")
	r.newPhone(old, second, old.id)
	for range 50 {
		r.says(old, old.id, "label weir")
	}
	r.says(second, second.id, "label mill")
	j, _ := storedJob(t, r.engine, old.id, r.refs(old.id)[0])
	require.Equal(t, "mill", j.Label)
	require.LessOrEqual(t, count1(r.keys(old.id, 0), "phone.away"), 11, "it is not told for ever")
}

// TestForgetTakesAllAccountsOfAPerson: the export names them, and afterwards no key does.
func TestForgetTakesAllAccountsOfAPerson(t *testing.T) {
	m, url := sessiontest.Mini(t)
	r := newReachTest(t, url)
	r.live = true
	r.mini = m
	old, second, third := person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Wren Hollow"}
	r.says(old, old.id, "job", "England today")
	r.newPhone(old, second, old.id)
	r.newPhone(second, third, old.id)
	held, err := r.store.Export(ctx, old.id, 0)
	require.NoError(t, err)
	raw, err := json.Marshal(held.Conversations)
	require.NoError(t, err)
	for _, account := range []int64{second.id, third.id} {
		require.Contains(t, string(raw), fmt.Sprint(account))
	}
	r.says(third, third.id, "forget")
	r.says(third, third.id, yesForget(t, r.store, session.Key{Chat: old.id}))
	for _, account := range []person{old, second, third} {
		require.NotContains(t, r.stored(), fmt.Sprint(account.id))
	}
	last := r.post.sent(old.id)
	require.Equal(t, third.id, last[len(last)-1].To)
	r.says(second, second.id, "job")
	require.Len(t, r.refs(second.id), 1, "it is somebody new")
}

// TestWhereAPhoneLedIsDeletedByHand: an account whose first number was deleted from
// outside begins anew.
func TestWhereAPhoneLedIsDeletedByHand(t *testing.T) {
	_, url := sessiontest.Mini(t)
	r := newReachTest(t, url)
	r.live = true
	old, second := person{sessiontest.Chat(), "Wren Hollow"}, person{sessiontest.Chat(), "Wren Hollow"}
	r.says(old, old.id, "job")
	r.newPhone(old, second, old.id)
	require.NoError(t, r.engine.Forget(ctx, old.id))
	r.says(second, second.id, "job")
	require.Len(t, r.refs(second.id), 1)
}

// TestAPersonWithANewPhoneIsKeptAsLongAsTheyAreWrittenTo: where an account leads lasts as
// long as what it leads to.
func TestAPersonWithANewPhoneIsKeptAsLongAsTheyAreWrittenTo(t *testing.T) {
	m, url := sessiontest.Mini(t)
	r := newReachTest(t, url)
	r.live = true
	old, desk, _ := r.withDesk()
	second := person{sessiontest.Chat(), old.name}
	r.newPhone(old, second, old.id)
	for range 3 {
		m.FastForward(60 * 24 * time.Hour)
		r.says(desk, desk.id, "query 1 which side?")
	}
	c, err := r.store.Load(ctx, session.Key{Chat: second.id})
	require.NoError(t, err)
	home, _ := dialog.Account(c.Data)
	require.Equal(t, old.id, home)
}

// TestTheOwnerMovesSomebodyWhosePhoneIsLost: a mate by their number in the list; the lost
// phone is told, and takes nothing back. Nobody else can make such a code.
func TestTheOwnerMovesSomebodyWhosePhoneIsLost(t *testing.T) {
	sessiontest.Each(t, func(t *testing.T, url string) {
		r := newReachTest(t, url)
		r.live = true
		boss, mate := person{sessiontest.Chat(), "Kit Barrow"}, person{sessiontest.Chat(), "Wren Hollow"}
		second := person{sessiontest.Chat(), "Wren Hollow"}
		r.engine = New(r.store, r.post, Options{Rate: -1, Log: slog.New(slog.DiscardHandler), Crew: []int64{boss.id}})
		r.says(boss, boss.id, "invite crew")
		r.says(mate, mate.id, "/start "+r.token(boss.id), "job", "label mill")
		p, err := r.store.Person(ctx, mate.id)
		require.NoError(t, err)
		number := fmt.Sprint("new phone for ", p.Number)

		before := r.said(mate.id)
		r.says(mate, mate.id, number)
		require.Equal(t, 1, count1(r.keys(mate.id, before), "crew.owners"))
		require.NoError(t, r.engine.turns.deliver(ctx, second.id, "forged", dialog.Mail{To: mate.id, Phone: &talk.Phone{Token: "0123456789abcdefghijkl"}}))
		r.says(boss, boss.id, number)
		require.Equal(t, 1, count1(r.keys(mate.id, before), "phone.for.told"))
		r.says(second, second.id, "/start "+r.token(boss.id))
		r.presses(second, "l1:")
		r.says(mate, mate.id, "not me", "label weir")
		r.says(second, second.id, "label yard")
		j, _ := storedJob(t, r.engine, mate.id, r.refs(mate.id)[0])
		require.Equal(t, "yard", j.Label)
		require.Equal(t, 1, count1(r.keys(mate.id, before), "phone.back.no"))

		// The letter of such a code from anybody else goes nowhere.
		done, err := r.engine.turns.carry(ctx, Message{Chat: second.id, Reply: dialog.Reply{Mail: &dialog.Mail{To: mate.id, Phone: &talk.Phone{Code: "x", Until: 1 << 40}}}}, "1.0")
		require.NoError(t, err)
		require.True(t, done)
		c, err := r.store.Load(ctx, session.Key{Chat: mate.id})
		require.NoError(t, err)
		require.NotContains(t, string(c.Data), `"c":"x"`)
	})
}
