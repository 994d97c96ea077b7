package job

import (
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// Whatever is refused on the way is said, and nothing of it is done: no job comes with a
// refusal.
func TestWhatIsRefusedIsSaidAndNotDone(t *testing.T) {
	long := strings.Repeat("é", longestWords+1)
	minus := mm(-1)
	half := must(t)(begun(t, 1).Add(fitter, noon, "Half done"))
	shown := shownAndAgreed(t, 1)
	ordered := sent(t, 2)
	confirmed := must(t)(ordered.ConfirmAll(desk, noon, "A"))
	full := confirmed
	for range mostNotes {
		full = must(t)(full.Reject(fitter, noon, 1, "bent"))
		full = must(t)(full.Confirm(desk, noon, "A", 1))
	}
	two := must(t)(must(t)(checking(t).Look(lead, noon, 1)).Describe(fitter, noon, 1, opening.Entry{Act: opening.Clear, Key: "room"}))
	check := must(t)(begun(t, 2).AskCheck(fitter, noon))
	type result = func() (Job, []Event, error)
	page := func(j Job, who Who, ids ...int) result {
		return func() (Job, []Event, error) {
			j, _, err := j.CustomerPage(who, noon, ids...)
			return j, nil, err
		}
	}
	for name, c := range map[string]struct {
		do   result
		want string
	}{
		"page of no window":     {page(shown, fitter, 1, 9), "no_opening"},
		"page of a half window": {page(half, fitter, 2), "incomplete"},
		"page by the desk":      {page(shown, desk, 1), "not_your_part"},
		"page of an arch":       {page(must(t)(begun(t, 1).Store(fitter, noon, 1, impossibleRecord())), fitter, 1), "no_plan"},
		"agreed by nobody":      {func() (Job, []Event, error) { return shown.CustomerAgrees(fitter, noon, " ", "2026-05-04", 1) }, "no_words"},
		"agreed by a long name": {func() (Job, []Event, error) { return shown.CustomerAgrees(fitter, noon, long, "2026-05-04", 1) }, "too_long"},
		"agreed on no day":      {func() (Job, []Event, error) { return shown.CustomerAgrees(fitter, noon, "Mrs Hill", "May", 1) }, "no_day"},
		"agreed to no window": {func() (Job, []Event, error) {
			return shown.CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-04", 1, 9)
		}, "no_opening"},
		"withdrawn by the lead":      {func() (Job, []Event, error) { return shown.CustomerWithdraws(lead, noon, 1) }, "not_your_part"},
		"withdrawn of no window":     {func() (Job, []Event, error) { return shown.CustomerWithdraws(fitter, noon, 9) }, "no_opening"},
		"withdrawn of a half window": {func() (Job, []Event, error) { return half.CustomerWithdraws(fitter, noon, 2) }, "customer_none"},
		"quote by the desk":          {func() (Job, []Event, error) { return shown.Quote(desk, noon, mm(400), 1) }, "not_your_part"},
		"quote below nothing":        {func() (Job, []Event, error) { return shown.Quote(fitter, noon, minus, 1) }, "price_negative"},
		"quote of no window":         {func() (Job, []Event, error) { return shown.Quote(fitter, noon, mm(400), 9) }, "no_opening"},

		// Who may not promise hears that, and not what is wrong with the promise.
		"promised by the fitter": {func() (Job, []Event, error) { return ordered.Promise(fitter, noon, 1, "", nil) }, "not_your_part"},
		"promised of no window":  {func() (Job, []Event, error) { return ordered.Promise(desk, noon, 9, "", &minus) }, "no_opening"},

		"told of nothing open":    {func() (Job, []Event, error) { return confirmed.ConfirmTold(fitter, noon, Reply{}) }, "nothing_to_confirm"},
		"told a price below zero": {func() (Job, []Event, error) { return ordered.ConfirmTold(fitter, noon, Reply{Price: &minus}) }, "price_negative"},
		"told in long words":      {func() (Job, []Event, error) { return ordered.ConfirmTold(fitter, noon, Reply{Heard: Heard{By: long}}) }, "too_long"},
		"told a long number": {func() (Job, []Event, error) {
			return ordered.ConfirmTold(fitter, noon, Reply{Heard: Heard{Order: long}})
		}, "too_long"},
		"told on no day":           {func() (Job, []Event, error) { return ordered.ConfirmTold(fitter, noon, Reply{Due: "June"}) }, "no_day"},
		"untold by the desk":       {func() (Job, []Event, error) { return ordered.Untell(desk, noon, 1) }, "not_your_part"},
		"untold of no line":        {func() (Job, []Event, error) { return ordered.Untell(fitter, noon, 9) }, "no_line"},
		"promised below zero":      {func() (Job, []Event, error) { return ordered.Promise(desk, noon, 1, "", &minus) }, "price_negative"},
		"promised nothing":         {func() (Job, []Event, error) { return ordered.Promise(desk, noon, 1, "", nil) }, "nothing_promised"},
		"sent without a window":    {func() (Job, []Event, error) { return ordered.Send(fitter, noon, calc0, 9) }, "no_opening"},
		"sent a half window":       {func() (Job, []Event, error) { return half.Send(fitter, noon, calc0, 2) }, "incomplete"},
		"confirmed no line":        {func() (Job, []Event, error) { return ordered.Confirm(desk, noon, "A", 9) }, "no_opening"},
		"confirmed twice":          {func() (Job, []Event, error) { return confirmed.Confirm(desk, noon, "A", 1) }, "confirm"},
		"a question without words": {func() (Job, []Event, error) { return ordered.Query(desk, noon, 1, " ") }, "no_words"},
		"a question too long":      {func() (Job, []Event, error) { return ordered.Query(desk, noon, 1, long) }, "too_long"},
		"an answer to no line":     {func() (Job, []Event, error) { return ordered.Answer(fitter, noon, 9, 0, "so") }, "no_opening"},
		"withdrawn, not asked":     {func() (Job, []Event, error) { return ordered.WithdrawQuery(desk, noon, 1, 0) }, "withdraw_query"},

		"a fault by the desk":     {func() (Job, []Event, error) { return confirmed.Fault(desk, noon, 1, 0, "bent", "again") }, "not_your_part"},
		"a fault too long":        {func() (Job, []Event, error) { return confirmed.Break(fitter, noon, 1, 0, long, "again") }, "too_long"},
		"a fault of no frame":     {func() (Job, []Event, error) { return ordered.Break(fitter, noon, 1, 0, "bent", "again") }, "break"},
		"a fault at its notes":    {func() (Job, []Event, error) { return full.Break(fitter, noon, 1, 0, "bent", "again") }, "too_many"},
		"a remake of a long name": {func() (Job, []Event, error) { return confirmed.Break(fitter, noon, 1, 0, "bent", long) }, "too_long"},
		"a step of no window":     {func() (Job, []Event, error) { return confirmed.Advance(fitter, noon, 9, DoDeliver) }, "no_opening"},
		"a step twice": {func() (Job, []Event, error) {
			return must(t)(confirmed.Advance(fitter, noon, 1, DoDeliver)).Advance(fitter, noon, 1, DoDeliver)
		}, "already"},
		"handed over before": {func() (Job, []Event, error) { return confirmed.HandOver(fitter, noon, 1) }, "hand_over"},

		"signed while it lacks a room": {func() (Job, []Event, error) { return two.Sign(lead, noon, 1, version(two)) }, "incomplete"},
		"signed what is no window":     {func() (Job, []Event, error) { return check.Sign(lead, noon, 9, "") }, "no_opening"},
		"signed unseen":                {func() (Job, []Event, error) { return check.SignShown(lead, noon, 1) }, "look_first"},
		"looked into no window":        {func() (Job, []Event, error) { return check.Look(lead, noon, 9) }, "no_opening"},
		"read of no window":            {func() (Job, []Event, error) { return check.Read(lead, noon, 9, seconds()) }, "no_opening"},
		"checked no window":            {func() (Job, []Event, error) { return check.AskCheck(fitter, noon, 9) }, "no_opening"},
		"checked twice":                {func() (Job, []Event, error) { return check.AskCheck(fitter, noon, 1) }, "ask_check"},
		"settled what is one":          {func() (Job, []Event, error) { return check.Settle(lead, noon, 1, "width.top", Mine) }, "settle"},
		"colour too long":              {func() (Job, []Event, error) { return ordered.SetColour(fitter, noon, 1, long) }, "too_long"},
		"copied no window":             {func() (Job, []Event, error) { return ordered.Copy(fitter, noon, 9, "Bath") }, "no_opening"},
		"copied to a name that is":     {func() (Job, []Event, error) { return ordered.Copy(fitter, noon, 1, "Window 2") }, "name_taken"},
		"renamed without a name":       {func() (Job, []Event, error) { return ordered.Rename(fitter, noon, 1, " ") }, "name_empty"},
		"counted no window":            {func() (Job, []Event, error) { return ordered.SetCount(fitter, noon, 9, 2) }, "no_opening"},

		"contact by the desk": {func() (Job, []Event, error) { return ordered.SetContact(desk, noon, "Jo", true) }, "not_your_part"},
		"contact too long":    {func() (Job, []Event, error) { return ordered.SetContact(fitter, noon, long, true) }, "too_long"},
		"a share that is past": {func() (Job, []Event, error) {
			return ordered.Grant(fitter, noon, strings.Repeat("y", leastToken), Desk, noon.Add(-time.Second))
		}, "share_expired"},
		"rules by a stranger": {func() (Job, []Event, error) { return withRules(ordered, 0).NewRules(desk, noon) }, "not_your_part"},
		"customer page unshown": {func() (Job, []Event, error) {
			return begun(t, 1).CustomerAgrees(fitter, noon, "Mrs Hill", "2026-05-04", 1)
		}, "customer_first"},
	} {
		t.Run(name, func(t *testing.T) { refused(t, c.want)(c.do()) })
	}
}

func withRules(j Job, rules int) Job {
	j.Rules = rules
	return j
}

// impossibleRecord is complete, and no frame can be made of it.
func impossibleRecord() Record {
	r := measured()
	r.Plan.Widths = [3]decimal.Decimal{mm(1204), mm(1202), mm(203)}
	return r
}

// Who may read the order and ask about it: a desk, of what was sent, of the revision
// that it reads.
func TestWhoMayReadAndAskAboutTheOrder(t *testing.T) {
	j, before := sent(t, 2), begun(t, 1)
	require.NoError(t, j.MayRead(desk))
	require.Equal(t, "not_your_part", reasonOf(t, j.MayRead(lead)))
	require.Equal(t, "not_sent", reasonOf(t, before.MayRead(desk)))
	require.NoError(t, j.MayQuery(desk, 1, ""))
	require.NoError(t, j.MayQuery(desk, 1, "a"))
	require.Equal(t, "no_revision", reasonOf(t, j.MayQuery(desk, 1, "B")))
	require.Equal(t, "not_your_part", reasonOf(t, j.MayQuery(fitter, 1, "A")))
	require.Equal(t, "no_opening", reasonOf(t, j.MayQuery(desk, 9, "A")))
	require.Equal(t, "query", reasonOf(t, before.MayQuery(desk, 1, "")))
	changed := must(t)(recolour(t, j, 1, "grey"))
	require.Equal(t, "held", reasonOf(t, changed.MayQuery(desk, 2, "A")))
	require.NoError(t, changed.MayQuery(desk, 2, ""))
	require.Equal(t, "query", reasonOf(t, changed.MayQuery(desk, 1, "")))
	delivered := must(t)(must(t)(j.ConfirmAll(desk, noon, "A")).Advance(fitter, noon, 1, DoDeliver))
	require.Equal(t, "query", reasonOf(t, delivered.MayQuery(desk, 1, "A")))
	require.NoError(t, delivered.MayQuery(desk, 2, "A"))
}

// Who takes the delivery is told to the desk only where the fitter says so.
func TestWhoTakesTheDeliveryIsToldToTheDeskOnlyWhenShared(t *testing.T) {
	at := func(j Job) string { return j.OrderCopy().Contact }
	j, e := told(t, ContactNoted)(sent(t, 1).SetContact(fitter, noon, " Jo at  the yard ", false))
	require.Equal(t, []int64{1}, chatsOf(e))
	require.Equal(t, "Jo at the yard", j.Contact)
	require.Empty(t, at(j))
	require.NotContains(t, asJSON(t, e), "yard")
	shared, e := told(t, ContactShared)(j.SetContact(fitter, noon, "Jo at the yard", true))
	require.Equal(t, []int64{1, 3}, chatsOf(e))
	require.Equal(t, "Jo at the yard", at(shared))
	same, events, err := shared.SetContact(fitter, noon, "Jo at the yard", true)
	require.NoError(t, err)
	require.Empty(t, events)
	require.Equal(t, asJSON(t, shared), asJSON(t, same))
	other, _ := told(t, ContactShared)(shared.SetContact(fitter, noon, "Mo", true))
	require.Equal(t, "Mo", at(other))
	hidden, e := told(t, ContactHidden)(shared.SetContact(fitter, noon, "Jo at the yard", false))
	require.Equal(t, []int64{1, 3}, chatsOf(e))
	require.Empty(t, at(hidden))
	require.Equal(t, "Jo at the yard", at(must(t)(hidden.SetShareNames(fitter, noon, true))), "names are shared")
	_, _ = told(t, ContactNoted)(hidden.SetContact(fitter, noon, "", false))
}
