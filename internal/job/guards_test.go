package job

import (
	"fmt"
	"sillbot/internal/opening"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

// reasonOf is why something was refused, "" when it was not.
func reasonOf(t testing.TB, err error) string {
	if err == nil {
		return ""
	}
	var r *Refusal
	require.ErrorAs(t, err, &r)
	return r.Reason
}

// Whoever has not the chair is told so before anything else, also where there
// would be nothing to do.
func TestEveryWayInAsksForTheChair(t *testing.T) {
	price := mm(400)
	only := func(_ Job, _ []Event, err error) error { return err }
	ways := map[string]struct {
		roles []Role
		do    func(j Job, who Who) error
	}{
		"label":   {byFitter, func(j Job, w Who) error { return only(j.SetLabel(w, noon, "Mill")) }},
		"address": {byFitter, func(j Job, w Who) error { return only(j.SetAddress(w, noon, "1 Invented Row", true)) }},
		"names":   {byFitter, func(j Job, w Who) error { return only(j.SetShareNames(w, noon, true)) }},
		"photos":  {byFitter, func(j Job, w Who) error { return only(j.SetSharePhotos(w, noon, true)) }},
		"keep a photo": {byFitter, func(j Job, w Who) error {
			_, err := j.KeepPhotos(w, noon, 1, opening.Photo{File: "f"})
			return err
		}},
		"delete a photo": {byFitter, func(j Job, w Who) error {
			_, _, err := j.DropPhotos(w, noon, 1, 1)
			return err
		}},
		"add":      {byFitter, func(j Job, w Who) error { return only(j.Add(w, noon, "Attic")) }},
		"copy":     {byFitter, func(j Job, w Who) error { return only(j.Copy(w, noon, 1, "Attic")) }},
		"rename":   {byFitter, func(j Job, w Who) error { return only(j.Rename(w, noon, 1, "Attic")) }},
		"colour":   {byFitter, func(j Job, w Who) error { return only(j.SetColour(w, noon, 1, "red")) }},
		"hardware": {byFitter, func(j Job, w Who) error { return only(j.AddHardware(w, noon, 1, "bolt")) }},
		"review":   {byFitter, func(j Job, w Who) error { return only(j.Review(w, noon, 1)) }},
		"begin": {byFitter, func(j Job, w Who) error {
			_, err := j.Begin(w, noon, "Attic", opening.Record{})
			return err
		}},
		"say": {byFitter, func(j Job, w Who) error {
			_, err := j.Say(w, noon, 1)
			return err
		}},
		"take back": {byFitter, func(j Job, w Who) error {
			_, _, err := j.TakeBack(w, noon, 1)
			return err
		}},
		"count":    {byFitter, func(j Job, w Who) error { return only(j.SetCount(w, noon, 1, 3)) }},
		"store":    {byFitter, func(j Job, w Who) error { return only(j.Store(w, noon, 1, measured())) }},
		"delete":   {byFitter, func(j Job, w Who) error { return only(j.Delete(w, noon, 1)) }},
		"undo":     {byFitter, func(j Job, w Who) error { return only(j.Undo(w, noon)) }},
		"check":    {byFitter, func(j Job, w Who) error { return only(j.AskCheck(w, noon)) }},
		"withdraw": {byFitter, func(j Job, w Who) error { return only(j.WithdrawCheck(w, noon, 1)) }},
		"look":     {byLead, func(j Job, w Who) error { return only(j.Look(w, noon, 1)) }},
		"read":     {byLead, func(j Job, w Who) error { return only(j.Read(w, noon, 1, seconds())) }},
		"settle":   {byEither, func(j Job, w Who) error { return only(j.Settle(w, noon, 1, "width.top", Mine)) }},
		"reread":   {byEither, func(j Job, w Who) error { return only(j.Reread(w, noon, 1, "width.top", mm(1200))) }},
		"sign":     {byLead, func(j Job, w Who) error { return only(j.Sign(w, noon, 1, "")) }},
		"shown": {byLead, func(j Job, w Who) error {
			_, err := j.Shown(w, noon, 1, "")
			return err
		}},
		"send":        {byFitter, func(j Job, w Who) error { return only(j.Send(w, noon, calc0)) }},
		"confirm":     {byDesk, func(j Job, w Who) error { return only(j.Confirm(w, noon, "A", 1)) }},
		"confirm all": {byDesk, func(j Job, w Who) error { return only(j.ConfirmAll(w, noon, "A")) }},
		"query":       {byDesk, func(j Job, w Who) error { return only(j.Query(w, noon, 1, "why?")) }},
		"answer":      {byFitter, func(j Job, w Who) error { return only(j.Answer(w, noon, 1, 0, "so")) }},
		"reject":      {byFitter, func(j Job, w Who) error { return only(j.Reject(w, noon, 1, "bent")) }},
		"promise":     {byDesk, func(j Job, w Who) error { return only(j.Promise(w, noon, 1, "", &price)) }},
		"advance":     {byFitter, func(j Job, w Who) error { return only(j.Advance(w, noon, 1, DoDeliver)) }},
		"hand over":   {byFitter, func(j Job, w Who) error { return only(j.HandOver(w, noon)) }},
		"grant": {byFitter, func(j Job, w Who) error {
			return only(j.Grant(w, noon, strings.Repeat("x", leastToken), Desk, noon.Add(time.Hour)))
		}},
		"revoke": {byFitter, func(j Job, w Who) error { return only(j.Revoke(w, noon, "no such")) }},
	}
	chairs := map[Role]Who{Fitter: fitter, Lead: lead, Desk: desk}
	for name, way := range ways {
		for _, j := range []Job{begun(t, 1), sent(t, 1)} {
			for role, who := range chairs {
				claimed := false
				for _, r := range way.roles {
					claimed = claimed || r == role
				}
				if !claimed {
					require.Equal(t, "not_your_part", reasonOf(t, way.do(j, who)), "%s by the %s", name, role)
					continue
				}
				who.Chat = 99
				require.Equal(t, "not_yours", reasonOf(t, way.do(j, who)), "%s by a stranger who says %s", name, role)
				for other, holder := range chairs {
					if other != role {
						who.Chat = holder.Chat
						require.Equal(t, "not_yours", reasonOf(t, way.do(j, who)), "%s from the chat of the %s", name, other)
					}
				}
			}
		}
	}
}

func TestWordsAreKeptShortAndOnOneLine(t *testing.T) {
	long := func(n int) string { return strings.Repeat("é", n) }
	j := begun(t, 1)
	must(t)(j.SetLabel(fitter, noon, long(longestLabel)))
	refused(t, "too_long")(j.SetLabel(fitter, noon, long(longestLabel+1)))
	must(t)(j.SetAddress(fitter, noon, long(longestWords), false))
	refused(t, "too_long")(j.SetAddress(fitter, noon, long(longestWords+1), false))
	must(t)(j.SetColour(fitter, noon, 1, long(longestName)))
	refused(t, "too_long")(j.SetColour(fitter, noon, 1, long(longestName+1)))
	refused(t, "too_long")(j.AddHardware(fitter, noon, 1, long(longestLabel+1)))
	for n := range mostHardware {
		j = must(t)(j.AddHardware(fitter, noon, 1, fmt.Sprintf("%02d%s", n, long(longestLabel-2))))
	}
	refused(t, "too_many")(j.AddHardware(fitter, noon, 1, "one more"))
	require.Len(t, j.Openings[0].Record().Hardware, mostHardware)
	require.Empty(t, must(t)(j.AddHardware(fitter, noon, 1, "")).Openings[0].Record().Hardware)
	for typed, want := range map[string]string{
		"a\nb": "a b", "a\u00a0 b": "a b", "a\xffb": "ab", "a\u200db": "a\u200db", "a\u202eb\x07": "ab",
	} {
		got, err := words(typed, 10)
		require.NoError(t, err)
		require.Equal(t, want, got, "%q", typed)
	}
}

func TestWhatIsSoAlreadyTellsNobody(t *testing.T) {
	j := begun(t, 1)
	j, e := told(t, NamesShared)(j.SetShareNames(fitter, noon, true))
	require.Equal(t, Fitter, e.By)
	same, events, err := j.SetShareNames(fitter, noon, true)
	require.NoError(t, err)
	require.Empty(t, events)
	require.True(t, same.ShareNames)
	_, _ = told(t, NamesHidden)(j.SetShareNames(fitter, noon, false))

	j = must(t)(j.SetCount(fitter, noon, 1, 3))
	_, events, err = j.SetCount(fitter, noon, 1, 3)
	require.NoError(t, err)
	require.Empty(t, events)
	j = must(t)(j.SetCount(fitter, noon, 1, 1))
	require.Equal(t, 1, j.Openings[0].Count)
}

func TestTheBinHasAnEnd(t *testing.T) {
	j := begun(t, 0)
	for k := range mostBinned + 1 {
		j = must(t)(j.Add(fitter, noon, fmt.Sprint("W", k)))
		j = must(t)(j.Delete(fitter, noon, k+1))
		require.True(t, j.JustDeleted())
	}
	require.Len(t, j.Bin, mostBinned)
	require.Equal(t, 2, j.Bin[0].Opening.ID, "the oldest is gone")
	require.Equal(t, mostBinned+1, j.Bin[mostBinned-1].Opening.ID)
	j = must(t)(j.SetLabel(fitter, noon, "Mill"))
	require.False(t, j.JustDeleted())
	require.False(t, begun(t, 1).JustDeleted())
}

func TestDeletingTellsWhomItConcerns(t *testing.T) {
	_, e := told(t, CheckedDeleted)(must(t)(begun(t, 1).AskCheck(fitter, noon)).Delete(fitter, noon, 1))
	require.Equal(t, []int64{1, 2}, chatsOf(e))

	// What was never with the desk holds nothing, and what is held is not held again.
	j := must(t)(sent(t, 2).Add(fitter, noon, "New"))
	j, _ = told(t, OpeningDeleted)(j.Delete(fitter, noon, 3))
	require.False(t, j.Order.Held)
	j, _ = told(t, LineDeleted)(j.Delete(fitter, noon, 1))
	_, _ = told(t, OpeningDeleted)(j.Delete(fitter, noon, 2))
}

func TestUndoFindsTheListAsItIsNow(t *testing.T) {
	j := must(t)(begun(t, 1).AskCheck(fitter, noon))
	j = must(t)(j.Delete(fitter, noon, 1))
	_, e := told(t, CheckedRestored)(j.Undo(fitter, noon))
	require.Equal(t, []int64{1, 2}, chatsOf(e))
	refused(t, "name_taken")(must(t)(j.Add(fitter, noon, "window 1")).Undo(fitter, noon))

	for k := len(j.Openings); k < MostOpenings; k++ {
		j = must(t)(j.Add(fitter, noon, fmt.Sprint("W", k)))
	}
	refused(t, "too_many")(j.Undo(fitter, noon))
}

func TestSharesOnTheirLimits(t *testing.T) {
	later := noon.Add(time.Hour)
	token := func(n int) string { return fmt.Sprintf("%0*d", leastToken, n) }
	j := begun(t, 0)
	refused(t, "share_token")(j.Grant(fitter, noon, leadToken, Lead, later))
	refused(t, "share_token")(j.Grant(fitter, noon, strings.Repeat("x", leastToken-1), Lead, later))
	for n := len(j.Shares); n < mostShares; n++ {
		j = must(t)(j.Grant(fitter, noon, token(n), Desk, later))
	}
	refused(t, "too_many")(j.Grant(fitter, noon, token(99), Desk, later))
	_, e := told(t, AddressShared)(j.SetAddress(fitter, noon, "1 Invented Row", true))
	require.Equal(t, []int64{1, 2, 3}, chatsOf(e), "a link that nobody used leads nowhere")

	refused(t, "share_unknown")(j.Revoke(fitter, noon, "no such"))
	j = must(t)(j.Revoke(fitter, noon, leadToken))
	_, events, err := j.Revoke(fitter, noon, leadToken)
	require.NoError(t, err)
	require.Empty(t, events)
	require.Equal(t, Desk, j.Chair(desk.Chat))
	require.Empty(t, j.Chair(lead.Chat), "revoked")
	require.Empty(t, j.Chair(99))
}

func TestOnlyStepsOfTheDayAreTakenByThemselves(t *testing.T) {
	j := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	for _, do := range []Action{DoSign, DoDescribe, DoHandOver, DoReject, DoSupersede, "nonsense"} {
		refused(t, "no_step")(j.Advance(fitter, noon, 1, do))
	}
	j, _ = told(t, StepTaken)(j.Advance(fitter, noon, 1, DoDeliver))
	j = must(t)(j.Advance(fitter, noon, 1, DoTakeOut))
	_, e := told(t, StepBack)(j.Advance(fitter, noon, 1, DoBack))
	require.Equal(t, "job.state.delivered", e.Words["state"])
	require.False(t, DoReject.Reaches(Ordered), "no step of the day")
	require.False(t, DoBack.Reaches(Delivered))
}

// A change of a line that the desk has asked about holds the order as any
// other, and the lines that were not confirmed stay as they were.
func TestAHeldOrderIsHeldOnce(t *testing.T) {
	j := must(t)(sent(t, 3).Query(desk, noon, 1, "which handle?"))
	later := noon.Add(time.Hour)
	r := j.Openings[0].Record()
	r.Colour = "grey"
	j, _ = told(t, OrderHeld)(j.Store(fitter, later, 1, r))
	require.Equal(t, noon, j.Openings[1].Since, "it was ordered and is")
	r = j.Openings[1].Record()
	r.Plan.Widths[0] = mm(1210)
	_, _ = told(t, OpeningChanged)(j.Store(fitter, later, 2, r))
	_, _ = told(t, OpeningChanged)(recolour(t, j, 3, "grey"))
}

// Signed windows are not asked about again unless they are named.
func TestWhatIsSignedIsNotCheckedAgainByItself(t *testing.T) {
	j := must(t)(must(t)(begun(t, 1).AskCheck(fitter, noon)).Look(lead, noon, 1))
	j = must(t)(j.Sign(lead, noon, 1, version(j)))
	c := j.CheckCopy()
	require.Len(t, c.Openings, 1)
	require.Equal(t, Lead, c.Openings[0].Signed.Role)
	j = must(t)(j.Send(fitter, noon, calc0))
	refused(t, "nothing_to_check")(j.AskCheck(fitter, noon))
	require.Len(t, j.CheckCopy().Openings, 1, "the lead keeps what the lead signed")
	j, _ = told(t, LineRenamed)(j.Rename(fitter, noon, 1, "Attic"))
	require.Equal(t, Ordered, stateOf(t, j, 1), "a name makes no other window")
	refused(t, "nothing_to_check")(j.AskCheck(fitter, noon))

	// Named, it is checked, and not blind: the lead has seen it.
	j = must(t)(j.AskCheck(fitter, noon, 1))
	j = must(t)(j.Read(lead, noon, 1, measured().Plan.Readings()))
	require.False(t, j.Openings[0].Check.Leads[0].Blind)
	_, ok := j.Figures(lead.Chat, 1)
	require.True(t, ok, "who measured may see the figures")
}

// Who has seen figures of an opening measures it blind no more, whatever became
// of the check since.
func TestALeadWhoHasSeenFiguresIsBlindNoMore(t *testing.T) {
	blind := func(j Job) bool {
		j = must(t)(j.AskCheck(fitter, noon, 1))
		_, ok := j.Figures(lead.Chat, 1)
		require.False(t, ok, "the new check is looked into by itself")
		return must(t)(j.Read(lead, noon, 1, measured().Plan.Readings())).Openings[0].Check.Leads[0].Blind
	}
	require.True(t, blind(must(t)(checking(t).WithdrawCheck(fitter, noon, 1))), "nothing was seen")
	looked := must(t)(checking(t).Look(lead, noon, 1))
	require.False(t, blind(must(t)(looked.WithdrawCheck(fitter, noon, 1))))
	read := must(t)(checking(t).Read(lead, noon, 1, seconds()))
	again := must(t)(read.WithdrawCheck(fitter, noon, 1))
	require.False(t, blind(again))
	again = must(t)(must(t)(again.AskCheck(fitter, noon, 1)).WithdrawCheck(fitter, noon, 1))
	require.False(t, blind(again), "once seen, always seen")

	signed := must(t)(looked.Sign(lead, noon, 1, version(looked)))
	signed = must(t)(signed.Send(fitter, noon, calc0))
	r := measured()
	r.Plan.Widths[1] = mm(1199)
	require.False(t, blind(must(t)(signed.Store(fitter, noon, 1, r))), "the other figures are known")
}

// Where a chat says nothing of who the person is, nobody is taken for the other.
func TestTwoWithoutANumberAreNotOnePerson(t *testing.T) {
	nobody, other := fitter, lead
	nobody.Person, other.Person = 0, 0
	j := must(t)(begun(t, 0).Add(nobody, noon, "Bay"))
	j = must(t)(j.Store(nobody, noon, 1, measured()))
	j = must(t)(j.AskCheck(nobody, noon))
	must(t)(j.Read(other, noon, 1, measured().Plan.Readings()))
}

func TestEachSideMayTakeTheOthersReading(t *testing.T) {
	apart := must(t)(checking(t).Read(lead, noon, 1, seconds()))
	for _, c := range []struct {
		who  Who
		pick Pick
		want string
	}{{fitter, Mine, "1204"}, {fitter, Theirs, "1214"}, {lead, Mine, "1214"}, {lead, Theirs, "1204"}} {
		_, e := told(t, AllSettled)(apart.Settle(c.who, noon, 1, "width.top", c.pick))
		require.Equal(t, c.want, e.Figures["value"].String(), "%s takes %s", c.who.Role, c.pick)
	}
}

// A sill may fall either way, or not at all.
func TestASillFallIsReadAgain(t *testing.T) {
	j := begun(t, 1)
	r, falls := measured(), [2]decimal.Decimal{mm(6), mm(-6)}
	r.Plan.SillFall, r.Plan.Rising, r.Plan.Falling = &falls[0], mm(1574), mm(1562)
	j = must(t)(j.Store(fitter, noon, 1, r))
	j = must(t)(j.AskCheck(fitter, noon))
	second := r.Plan.Readings()
	second.SillFall = &falls[1]
	j = must(t)(j.Read(lead, noon, 1, second))
	j = must(t)(j.Settle(fitter, noon, 1, "sill.fall", Again))
	j, e := told(t, AllSettled)(j.Reread(lead, noon, 1, "sill.fall", mm(-2)))
	require.Equal(t, "reading.sill_fall", e.Words["reading"])
	require.Equal(t, "-2", j.Openings[0].Record().Plan.SillFall.String())

	// The fitter takes it back: the comparison has none of it any more.
	r = j.Openings[0].Record()
	r.Plan.SillFall = nil
	j = must(t)(j.Store(fitter, noon, 1, r))
	c, ok := j.Comparison(fitter.Chat, 1)
	require.True(t, ok)
	require.Equal(t, []string{"sill.fall"}, c.NotCompared)
}

func TestNotesHaveAnEnd(t *testing.T) {
	j := sent(t, 1)
	for range mostNotes {
		j = must(t)(j.Query(desk, noon, 1, "and?"))
		j = must(t)(j.WithdrawQuery(desk, noon, 1, 0))
	}
	refused(t, "too_many")(j.Query(desk, noon, 1, "and?"))
}

func TestARejectedFrameHasNoDayAnyMore(t *testing.T) {
	j := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	j = must(t)(j.Promise(desk, noon, 1, "2026-05-20", nil))
	asked := must(t)(j.Query(desk, noon, 1, "which handle?"))
	require.Equal(t, "2026-05-20", asked.Openings[0].Supply.Due, "a question takes no promise back")
	j = must(t)(j.Reject(fitter, noon, 1, "bent"))
	require.Empty(t, j.Openings[0].Supply.Due)
}

func TestPromisesOfAPrice(t *testing.T) {
	nothing, price := mm(0), mm(400)
	j := sent(t, 1)
	j, e := told(t, LinePromised)(j.Promise(desk, noon, 1, "", &nothing))
	require.Equal(t, "job.event.promised.price", e.Text().Key)
	j = must(t)(j.Promise(desk, noon, 1, "", &price))
	j = must(t)(recolour(t, j, 1, "grey"))
	j, e = told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.Equal(t, "Window 1", e.Say["lapsed"])
	require.Nil(t, j.Openings[0].Supply.Price, "it was for another window")
	j = must(t)(recolour(t, j, 1, "brown"))
	_, e = told(t, OrderRevised)(j.Send(fitter, noon, calc0))
	require.NotContains(t, e.Say, "lapsed")
}

func TestNothingIsConfirmedBeforeItIsSent(t *testing.T) {
	refused(t, "not_sent")(begun(t, 1).Confirm(desk, noon, "A", 1))
	refused(t, "not_sent")(begun(t, 1).ConfirmAll(desk, noon, ""))
}

// What the desk has stays what it was sent, whatever the crew's settings are
// now.
func TestSettingsDoNotMoveWhatTheDeskHas(t *testing.T) {
	j := begun(t, 1)
	r := measured()
	r.Plan.Finish = calc.Plaster
	j = must(t)(j.Store(fitter, noon, 1, r))
	j = must(t)(j.Send(fitter, noon, calc0))
	thick := calc0
	thick.PlasterThickness = mm(20)
	lines, not := j.Ready(thick)
	require.Empty(t, not)
	require.Equal(t, asJSON(t, j.Lines()), asJSON(t, lines))
}

func TestALineOfFixedLightsNeedsNoHandle(t *testing.T) {
	r := measured()
	r.Plan.Layout = calc.Layout{Lights: []calc.Light{{Hinge: calc.FixedLight}}}
	l, err := NewLine(Line{Opening: 1, Name: "Bay", Quantity: 1}, r, calc0)
	require.NoError(t, err)
	require.Empty(t, l.Hardware)
	first := safety.Finding{Rule: "one", Severity: safety.Must, Figures: map[string]decimal.Decimal{"class": mm(3)}}
	second := first
	second.Rule = "two"
	_, why, _ := Line{Safety: []safety.Finding{first, second}}.SafetyClass(0)
	require.Equal(t, "one", why.Rule, "the first that asks for it")
}

// Who measured and who checked stands on a line for as long as it is what was
// sent.
func TestTheDeskSeesWhoMeasuredWhatItHas(t *testing.T) {
	j := must(t)(must(t)(begun(t, 1).AskCheck(fitter, noon)).Look(lead, noon, 1))
	j = must(t)(j.Sign(lead, noon, 1, version(j)))
	j = must(t)(j.Send(fitter, noon, calc0))
	seen := func(j Job) bool {
		l := j.OrderCopy().Lines[0]
		require.Equal(t, l.Measured != nil, l.Checked != nil)
		return l.Measured != nil
	}
	require.True(t, seen(j))
	require.True(t, seen(must(t)(j.Query(desk, noon, 1, "why?"))))
	require.False(t, seen(must(t)(recolour(t, j, 1, "grey"))))
	j = must(t)(j.ConfirmAll(desk, noon, "A"))
	require.True(t, seen(j))
	j = must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	require.True(t, seen(j))
	require.NotNil(t, j.OrderCopy().Lines[0].Confirmed)
	require.Nil(t, (*Stamp)(nil).shown(true))
}

func TestGlanceNamesTheJobWhenTheAddressIsShared(t *testing.T) {
	j := must(t)(begun(t, 1).SetLabel(fitter, noon, "Invented Row"))
	j = must(t)(j.SetAddress(fitter, noon, "1 Invented Row", true))
	require.Equal(t, "Invented Row", j.Glance("2026-05-20").Label)
}
