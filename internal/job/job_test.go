package job

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

var (
	noon   = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)
	fitter = Who{Chat: 1, Person: 11, Name: "Fay Fitter", Role: Fitter}
	lead   = Who{Chat: 2, Person: 12, Name: "Lou Lead", Role: Lead}
	desk   = Who{Chat: 3, Person: 13, Name: "Dee Desk", Role: Desk}
)

const (
	leadToken = "lead-lead-lead-lead-lead"
	deskToken = "desk-desk-desk-desk-desk"
)

var calc0 = calc.DefaultSettings()

func mm(n int64) decimal.Decimal { return decimal.NewFromInt(n) }

// Add is an opening begun and looked at, of which nothing was said.
func (j Job) Add(who Who, at time.Time, name string) (Job, []Event, error) {
	j, err := j.Begin(who, at, name, opening.Record{})
	if err != nil {
		return Job{}, nil, err
	}
	return j.Review(who, at, j.LastID)
}

// measured is a complete record of an invented window, 1200 by 1000.
func measured() Record {
	floor, outside, level := mm(900), mm(1100), mm(0)
	return Record{
		Plan: plan.Opening{
			Nation: safety.England, Date: "2026-06-01", Finish: calc.Bare, Material: calc.PVCUWhite,
			Widths:  [3]decimal.Decimal{mm(1204), mm(1202), mm(1203)},
			Heights: [3]decimal.Decimal{mm(1006), mm(1005), mm(1007)},
			Rising:  mm(1568), Falling: mm(1568), SillFall: &level,
			Layout: calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}, {Column: 1, Hinge: calc.FixedLight}}},
			Room:   safety.Living, AboveFloor: &floor, AboveOutside: &outside, Over: safety.OverArch, Panes: []decimal.Decimal{mm(4), mm(4)},
		},
		Colour: "white", MakeUp: "4-20-4",
	}
}

// begun is a job with three chairs taken and n openings measured.
func begun(t testing.TB, n int) Job {
	t.Helper()
	j := New(NewReference([]byte{1, 2, 3, 4, 5, 6, 7, 8}), fitter, noon, DefaultSettings())
	j = must(t)(j.Grant(fitter, noon, leadToken, Lead, noon.Add(time.Hour)))
	j = must(t)(j.Grant(fitter, noon, deskToken, Desk, noon.Add(time.Hour)))
	j = must(t)(j.Use(lead, noon, leadToken))
	j = must(t)(j.Use(desk, noon, deskToken))
	for k := range n {
		j = must(t)(j.Add(fitter, noon, fmt.Sprintf("Window %d", k+1)))
		j = must(t)(j.Store(fitter, noon, k+1, measured()))
	}
	return j
}

func must(t testing.TB) func(Job, []Event, error) Job {
	return func(j Job, _ []Event, err error) Job {
		t.Helper()
		require.NoError(t, err)
		return j
	}
}

// told is the job and its one event.
func told(t testing.TB, want EventKind) func(Job, []Event, error) (Job, Event) {
	return func(j Job, events []Event, err error) (Job, Event) {
		t.Helper()
		require.NoError(t, err)
		require.Len(t, events, 1)
		require.Equal(t, want, events[0].Kind)
		return j, events[0]
	}
}

func refused(t testing.TB, reason string) func(Job, []Event, error) *Refusal {
	return func(j Job, events []Event, err error) *Refusal {
		t.Helper()
		var r *Refusal
		require.ErrorAs(t, err, &r)
		require.Equal(t, reason, r.Reason)
		require.Empty(t, events)
		require.Zero(t, j.Version, "no job comes with a refusal")
		return r
	}
}

func chatsOf(e Event) []int64 {
	var out []int64
	for _, r := range e.To {
		out = append(out, r.Chat)
	}
	return out
}

func stateOf(t testing.TB, j Job, id int) State {
	t.Helper()
	o, ok := j.Find(id)
	require.True(t, ok)
	return o.State
}

func asJSON(t require.TestingT, v any) string {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return string(b)
}

func TestListSaysWhatEachLacks(t *testing.T) {
	j := begun(t, 1)
	j = must(t)(j.Add(fitter, noon, "Bath"))
	half := measured()
	half.Plan.Nation, half.Plan.Room, half.Plan.Heights[1] = "", "", decimal.Zero
	half.Plan.Layout.Lights[1].Hinge = ""
	j = must(t)(j.Add(fitter, noon, "Stairs"))
	j = must(t)(j.Store(fitter, noon, 3, half))
	rows := j.List()
	require.Len(t, rows, 3)
	require.Empty(t, rows[0].Lacks)
	require.Equal(t, []string{
		"nation", "date", "finish", "sill", "material", "width.top", "width.middle", "width.bottom",
		"height.left", "height.middle", "height.right", "diagonal.rising", "layout", "over", "room", "floor", "storey", "glass", "vents",
	}, rows[1].Lacks, "all that the survey still asks")
	require.Equal(t, []string{"nation", "height.middle", "light.2", "room"}, rows[2].Lacks)
}

func TestCopyKeepsTheRecordAndSaysThatTheReadingsAreCopied(t *testing.T) {
	j := begun(t, 1)
	j, e := told(t, OpeningCopied)(j.Copy(fitter, noon, 1, "Next door"))
	require.Equal(t, []int{2}, e.Openings)
	o, _ := j.Find(2)
	require.Equal(t, "Next door", o.Record().Plan.Name)
	require.Equal(t, "white", o.Record().Colour)
	require.Equal(t, Survey, o.State)
	source, _ := j.Find(1)
	require.Equal(t, source.Measured, o.Measured, "whoever measured can't sign a copy of it either")
	require.True(t, j.List()[1].Copied)

	r := measured()
	r.Colour = "grey"
	j = must(t)(j.Store(fitter, noon, 2, r))
	require.True(t, j.List()[1].Copied, "another colour is no other reading")
	r.Plan.Widths[0] = mm(1210)
	j = must(t)(j.Store(fitter, noon, 2, r))
	require.False(t, j.List()[1].Copied)
	first, _ := j.Find(1)
	require.Equal(t, "1204", first.Record().Plan.Widths[0].String(), "the source stays as it was")
}

func TestAFrameThatTurnsWhiteLosesItsColour(t *testing.T) {
	j := begun(t, 1)
	r := measured()
	r.Plan.Material, r.Colour = calc.PVCUColour, "anthracite"
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.Equal(t, "anthracite", j.Openings[0].Record().Colour)
	r.Plan.Material = calc.PVCUWhite
	j = must(t)(j.Store(fitter, noon, 1, r))
	require.Empty(t, j.Openings[0].Record().Colour)
}

func TestCopyOfAnUnmeasuredOpeningHasNoCopiedReadings(t *testing.T) {
	j := must(t)(begun(t, 0).Add(fitter, noon, "A"))
	j = must(t)(j.Copy(fitter, noon, 1, "B"))
	require.False(t, j.List()[1].Copied)
}

func TestNamesAreCleanedUniqueAndShort(t *testing.T) {
	j := must(t)(begun(t, 0).Add(fitter, noon, "  Bay \u202e\n left "))
	require.Equal(t, "Bay left", j.List()[0].Name)
	refused(t, "name_taken")(j.Add(fitter, noon, "bay LEFT"))
	refused(t, "name_empty")(j.Add(fitter, noon, " \u200f\x00 "))
	refused(t, "too_long")(j.Add(fitter, noon, strings.Repeat("x", longestName+1)))
	refused(t, "name_taken")(must(t)(j.Add(fitter, noon, "Door")).Rename(fitter, noon, 2, "Bay left"))
	j, _ = told(t, OpeningChanged)(j.Rename(fitter, noon, 1, "BAY LEFT"))
	require.Equal(t, "BAY LEFT", j.List()[0].Name, "a name may change its own case")
}

func TestDeleteAndUndo(t *testing.T) {
	j := begun(t, 3)
	j = must(t)(j.Delete(fitter, noon, 2))
	j = must(t)(j.Delete(fitter, noon, 1))
	require.Len(t, j.Openings, 1)
	j = must(t)(j.Add(fitter, noon, "Fourth"))
	require.Equal(t, 4, j.Openings[1].ID, "a number is never used again")
	j = must(t)(j.Undo(fitter, noon))
	j, e := told(t, OpeningRestored)(j.Undo(fitter, noon))
	require.Equal(t, []int{2}, e.Openings)
	require.Equal(t, []int{1, 2, 3, 4}, ids(j), "each is back in its place")
	refused(t, "nothing_to_undo")(j.Undo(fitter, noon))
}

func ids(j Job) []int {
	var out []int
	for _, o := range j.Openings {
		out = append(out, o.ID)
	}
	return out
}

func TestLimits(t *testing.T) {
	j := begun(t, 1)
	refused(t, "count")(j.SetCount(fitter, noon, 1, 0))
	refused(t, "count")(j.SetCount(fitter, noon, 1, MostAlike+1))
	j = must(t)(j.SetCount(fitter, noon, 1, MostAlike))
	require.Equal(t, MostAlike, j.List()[0].Count)
	for k := len(j.Openings); k < MostOpenings; k++ {
		j = must(t)(j.Add(fitter, noon, fmt.Sprint("W", k)))
	}
	refused(t, "too_many")(j.Add(fitter, noon, "one more"))
}

func TestOnlyTheOwnersChatWrites(t *testing.T) {
	j := begun(t, 1)
	stranger := fitter
	stranger.Chat = 99
	refused(t, "not_yours")(j.Add(stranger, noon, "x"))
	refused(t, "not_yours")(j.Delete(stranger, noon, 1))
	refused(t, "not_your_part")(j.Add(lead, noon, "x"))
	refused(t, "not_your_part")(j.Delete(desk, noon, 1))
	outsider := Who{Chat: 99, Role: Desk}
	refused(t, "not_yours")(j.Query(outsider, noon, 1, "why?"))
	mate := Who{Chat: fitter.Chat, Person: 77, Role: Fitter}
	must(t)(j.Add(mate, noon, "x")) // a group's chat may hold a job
}

func TestAddressIsToldToThoseWhoMaySeeIt(t *testing.T) {
	j := begun(t, 0)
	j, e := told(t, Addressed)(j.SetAddress(fitter, noon, "1 Invented Row", false))
	require.Equal(t, []int64{1}, chatsOf(e))
	require.NotContains(t, asJSON(t, e), "Invented")
	j, e = told(t, AddressShared)(j.SetAddress(fitter, noon, "1 Invented Row", true))
	require.Equal(t, []int64{1, 2, 3}, chatsOf(e))
	_, events, err := j.SetAddress(fitter, noon, "1 Invented Row", true)
	require.NoError(t, err)
	require.Empty(t, events, "nothing new, nothing to tell")
	_, e = told(t, AddressHidden)(j.SetAddress(fitter, noon, "1 Invented Row", false))
	require.Equal(t, []int64{1, 2, 3}, chatsOf(e))
}

func TestShares(t *testing.T) {
	const token = "third-third-third-third-third"
	other := Who{Chat: 8, Name: "Olly Other"}
	j := begun(t, 0)
	j, e := told(t, ShareGranted)(j.Grant(fitter, noon, token, Lead, noon.Add(time.Hour)))
	require.Equal(t, []int64{1}, chatsOf(e))
	require.NotContains(t, asJSON(t, e), token, "a token is in no message of ours")

	refused(t, "share_unknown")(j.Use(other, noon, "nothing"))
	refused(t, "share_own")(j.Use(fitter, noon, token))
	refused(t, "share_expired")(j.Use(other, noon.Add(time.Hour+time.Second), token))
	refused(t, "share_token")(j.Grant(fitter, noon, token, Desk, noon.Add(time.Hour)))
	refused(t, "share_token")(j.Grant(fitter, noon, "short", Desk, noon.Add(time.Hour)))
	refused(t, "share_role")(j.Grant(fitter, noon, token+"x", Fitter, noon.Add(time.Hour)))
	refused(t, "share_expired")(j.Grant(fitter, noon, token+"x", Desk, noon))
	refused(t, "not_your_part")(j.Grant(lead, noon, token+"x", Desk, noon.Add(time.Hour)))

	j, e = told(t, ShareUsed)(j.Use(other, noon, token))
	require.Equal(t, []int64{1, 8}, chatsOf(e))
	require.Equal(t, Lead, e.By)
	again, events, err := j.Use(other, noon.Add(100*time.Hour), token)
	require.NoError(t, err, "who has it keeps it")
	require.Empty(t, events)
	require.JSONEq(t, asJSON(t, j), asJSON(t, again))
	refused(t, "share_taken")(j.Use(Who{Chat: 9}, noon, token))

	j, e = told(t, ShareRevoked)(j.Revoke(fitter, noon, token))
	require.Equal(t, []int64{1, 8}, chatsOf(e))
	refused(t, "share_revoked")(j.Use(other, noon, token))
	other.Role = Lead
	refused(t, "not_yours")(j.Sign(other, noon, 1, ""))
	_, e = told(t, Labelled)(must(t)(j.SetAddress(fitter, noon, "1 Invented Row", true)).SetLabel(fitter, noon, "Row"))
	require.Equal(t, []int64{1, 2, 3}, chatsOf(e), "who lost the share is told no more")
}

func TestAChatInTwoChairsIsToldOnce(t *testing.T) {
	const token = "third-third-third-third-third"
	j := begun(t, 0)
	j = must(t)(j.Grant(fitter, noon, token, Desk, noon.Add(time.Hour)))
	j = must(t)(j.Use(lead, noon, token))
	_, e := told(t, AddressShared)(j.SetAddress(fitter, noon, "x", true))
	require.Equal(t, []Recipient{{1, Fitter}, {2, Lead}, {3, Desk}}, e.To)
}
