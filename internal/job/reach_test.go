package job

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// How far the order has come to the desk: the fitter sees whether it arrived, or who
// is to be called.
func TestTheFitterSeesHowFarTheOrderCame(t *testing.T) {
	reach := func(j Job) OrderReach {
		got, at := j.OrderReach()
		require.Equal(t, got == "", at.IsZero())
		return got
	}
	later := noon.Add(time.Hour)
	j := begun(t, 2)
	require.Empty(t, reach(j), "nothing was sent")
	j = must(t)(j.Send(fitter, later, calc0))
	require.Equal(t, NoReceipt, reach(j))
	_, at := j.OrderReach()
	require.Equal(t, later, at)

	lost, first := j.Unreached(desk.Chat, noon)
	require.True(t, first)
	require.Equal(t, NotDelivered, reach(lost))
	again, first := lost.Unreached(desk.Chat, later)
	require.False(t, first, "that was known")
	require.Equal(t, noon, again.Shares[1].Lost)
	back, was := lost.Reached(desk.Chat)
	require.True(t, was)
	require.Equal(t, NoReceipt, reach(back))
	_, was = back.Reached(desk.Chat)
	require.False(t, was)
	require.True(t, j.Shares[1].Lost.IsZero(), "the job before is as it was")

	arrived := lost.Arrived(desk.Chat, 1)
	require.Equal(t, WithDesk, reach(arrived), "it is there, whatever was lost since")
	require.Equal(t, 1, arrived.Had(desk.Chat))
	require.Equal(t, 1, arrived.Arrived(desk.Chat, 0).Had(desk.Chat))
	require.Zero(t, arrived.Had(lead.Chat))
	require.Zero(t, arrived.Had(0))

	// What the desk has answered is no more under way; what was changed since is.
	confirmed := must(t)(arrived.Confirm(desk, noon, "A", 1))
	require.Equal(t, WithDesk, reach(confirmed))
	confirmed = must(t)(confirmed.ConfirmAll(desk, noon, "A"))
	require.Empty(t, reach(confirmed))
	require.Equal(t, WithDesk, reach(must(t)(recolour(t, confirmed, 1, "grey"))))
	asked := must(t)(must(t)(arrived.Query(desk, noon, 1, "which?")).Query(desk, noon, 2, "and this?"))
	require.Empty(t, reach(asked))

	// The next revision has yet to come, also where a first one did.
	revised := must(t)(must(t)(recolour(t, arrived, 1, "grey")).Send(fitter, later, calc0))
	require.Equal(t, NotDelivered, reach(revised))
	require.Equal(t, 1, revised.Had(desk.Chat))
}

func TestAnOrderForADeskThatIsNotThere(t *testing.T) {
	const token = "third-third-third-third-third"
	reach := func(j Job) OrderReach {
		got, _ := j.OrderReach()
		return got
	}
	j := New(NewReference([]byte{1, 2, 3, 4, 5, 6, 7, 8}), fitter, noon, DefaultSettings())
	j = must(t)(j.Add(fitter, noon, "Bay"))
	j = must(t)(j.Store(fitter, noon, 1, measured()))
	j = must(t)(j.Grant(fitter, noon, leadToken, Lead, noon.Add(time.Hour)))
	j = must(t)(j.Use(lead, noon, leadToken))
	j = must(t)(j.Send(fitter, noon, calc0))
	require.Equal(t, NobodyThere, reach(j), "a lead is no desk")
	j, _ = j.Unreached(lead.Chat, noon)
	require.Equal(t, NobodyThere, reach(j))
	j = must(t)(j.Grant(fitter, noon, deskToken, Desk, noon.Add(time.Hour)))
	require.Equal(t, NobodyThere, reach(j), "nobody used the link")
	_, known := j.Unreached(0, noon)
	require.False(t, known, "an unused link is no chat")
	_, known = j.Unreached(99, noon)
	require.False(t, known)

	j = must(t)(j.Use(desk, noon, deskToken))
	require.Equal(t, NoReceipt, reach(j))
	there := j.Arrived(desk.Chat, 1)
	require.Equal(t, WithDesk, reach(there))
	gone := must(t)(there.Revoke(fitter, noon, deskToken))
	require.Equal(t, NobodyThere, reach(gone), "a link that was taken back")
	require.Zero(t, gone.Had(desk.Chat))
	_, known = gone.Unreached(desk.Chat, noon)
	require.False(t, known)

	// One of two desks can't be reached, and of neither is known that it has the order.
	second := Who{Chat: 8, Person: 18, Role: Desk}
	j = must(t)(must(t)(j.Grant(fitter, noon, token, Desk, noon.Add(time.Hour))).Use(second, noon, token))
	require.Equal(t, NoReceipt, reach(j))
	lost, _ := j.Unreached(desk.Chat, noon)
	require.Equal(t, NotDelivered, reach(lost))
	require.Equal(t, WithDesk, reach(lost.Arrived(second.Chat, 1)), "one of them has it")
}
