package job

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// say is something the fitter says of the first opening, of which nobody is
// told yet.
func say(t testing.TB, j Job, entries ...opening.Entry) Job {
	t.Helper()
	j, err := j.Say(fitter, noon, 1, entries...)
	require.NoError(t, err)
	return j
}

func value(key opening.Key, v string) opening.Entry {
	return opening.Entry{Act: opening.Set, Key: key, Value: v}
}

func entriesOf(j Job) []opening.Entry { return j.Openings[0].Said.Entries }

func knownOf(j Job, key opening.Key) string {
	k := j.Openings[0].Known()
	return k.Value(key)
}

// What is known already is not written again, and what is new is written by
// itself.
func TestOnlyNewsIsWritten(t *testing.T) {
	j := begun(t, 1)
	before := len(entriesOf(j))
	for _, e := range []opening.Entry{
		value("width.top", "1204"), value("material", "pvcu-white"), {Act: opening.Clear, Key: "wind.speed"}, {Act: opening.Clear, Key: "price"},
	} {
		require.Len(t, entriesOf(say(t, j, e)), before, "%v", e)
	}
	again, events, err := j.Describe(fitter, noon, 1, value("width.top", "1204"))
	require.NoError(t, err)
	require.Empty(t, events)
	require.Len(t, entriesOf(again), before)

	for _, e := range []opening.Entry{
		value("width.top", "1205"), value("colour", "grey"), {Act: opening.Clear, Key: "colour"}, {Act: opening.Sure, Key: "width.top"},
	} {
		got := entriesOf(say(t, j, e))
		require.Len(t, got, before+1, "%v", e)
		require.Equal(t, e.Key, got[before].Key)
	}
	// Measured where it was assumed, it is known otherwise, and the colour stays.
	assumed := value("material", "pvcu-white")
	assumed.How = opening.Assumed
	got := say(t, j, assumed)
	require.Len(t, entriesOf(got), before+1)
	require.Equal(t, "white", knownOf(got, "colour"))
	require.Len(t, entriesOf(say(t, got, value("material", "pvcu-white"))), before+2)
}

// The colour is of the frame that turned white, and of no other change.
func TestTheColourFallsWithTheFrameOnly(t *testing.T) {
	j := say(t, begun(t, 1), value("material", "timber"))
	require.Equal(t, "white", knownOf(j, "colour"))
	j = say(t, j, value("room", "bathroom"))
	require.Equal(t, "white", knownOf(j, "colour"))
	j = say(t, j, value("material", "pvcu-white"))
	require.Empty(t, knownOf(j, "colour"))
	n := len(entriesOf(j))
	require.Len(t, entriesOf(say(t, j, value("material", "timber"))), n+1)
	j = say(t, j, value("material", "timber"))
	require.Len(t, entriesOf(say(t, j, value("material", "pvcu-white"))), n+2, "there is no colour that could fall")
}

// A reading that was settled otherwise falls with what the fitter says of it
// then.
func TestWhatWasSettledFallsWithANewReading(t *testing.T) {
	settled := must(t)(must(t)(checking(t).Read(lead, noon, 1, seconds())).Settle(fitter, noon, 1, "width.top", Theirs))
	require.Equal(t, "1214", knownOf(settled, "width.top"))
	j := say(t, settled, value("width.top", "1203"))
	require.Equal(t, "1203", knownOf(j, "width.top"))
	require.Equal(t, Differing, stateOf(t, j, 1), "it is 11 from the lead's again")
	j = say(t, settled, opening.Entry{Act: opening.Clear, Key: "width.top"})
	require.Empty(t, knownOf(j, "width.top"))
	j = say(t, settled, opening.Entry{Act: opening.Sure, Key: "width.top"})
	require.Equal(t, "1214", knownOf(j, "width.top"), "to be sure of it takes nothing away")
}

func TestWhatWasSaidIsTakenBack(t *testing.T) {
	j := say(t, begun(t, 1), value("colour", "grey"))
	j, keys, err := j.TakeBack(fitter, noon, 1)
	require.NoError(t, err)
	require.Equal(t, []opening.Key{"colour"}, keys)
	require.Equal(t, "white", knownOf(j, "colour"))
	_, _, err = j.TakeBack(fitter, noon, 9)
	require.Equal(t, "no_opening", reasonOf(t, err))
	nobody := fitter
	nobody.Person = 77
	_, _, err = j.TakeBack(nobody, noon, 1)
	require.ErrorIs(t, err, opening.ErrNothing, "one's own only")
}

// Nobody is told of a window before it is looked at as a whole.
func TestBeginTellsNobodyUntilItIsLookedAt(t *testing.T) {
	j, err := begun(t, 0).Begin(fitter, noon, "Bay", opening.Record{})
	require.NoError(t, err)
	j = say(t, j, value("width.top", "1204"))
	j, e := told(t, OpeningAdded)(j.Review(fitter, noon, 1))
	require.Equal(t, []int{1}, e.Openings)
	_, events, err := j.Review(fitter, noon, 1)
	require.NoError(t, err)
	require.Empty(t, events)
}

// What was said counts before it is looked at: the figures are closed, the
// signature is void, and the way goes on from there.
func TestWhatWasSaidCountsAtOnce(t *testing.T) {
	signed := must(t)(must(t)(checking(t).Look(lead, noon, 1)).Sign(lead, noon, 1, version(checking(t))))
	j := say(t, signed, value("width.top", "1210"))
	require.Equal(t, Checking, stateOf(t, j, 1))
	require.Nil(t, j.Openings[0].Signature)
	_, open := j.Figures(lead.Chat, 1)
	require.False(t, open)
	require.Equal(t, Survey, stateOf(t, must(t)(j.WithdrawCheck(fitter, noon, 1)), 1))
	j, _ = told(t, SignatureVoid)(j.Review(fitter, noon, 1))
	require.Equal(t, Checking, stateOf(t, j, 1))

	apart := must(t)(checking(t).Read(lead, noon, 1, seconds()))
	agreed := say(t, apart, value("width.top", "1214"))
	require.Equal(t, Agreed, stateOf(t, agreed, 1))
	require.Equal(t, Signed, stateOf(t, must(t)(agreed.Sign(lead, noon, 1, version(agreed))), 1))
	again := say(t, agreed, value("width.top", "1204"))
	require.Equal(t, Differing, stateOf(t, again, 1))
	require.Equal(t, Agreed, stateOf(t, must(t)(again.Settle(lead, noon, 1, "width.top", Mine)), 1))
}

// Going back to the reading from before it was settled is a change as any other:
// the lead who signed what was settled is told.
func TestGoingBackBehindWhatWasSettledIsTold(t *testing.T) {
	for _, c := range []struct {
		who  Who
		pick Pick
	}{{lead, Mine}, {fitter, Theirs}} {
		j := must(t)(must(t)(checking(t).Read(lead, noon, 1, seconds())).Settle(c.who, noon, 1, "width.top", c.pick))
		j = must(t)(j.Sign(lead, noon, 1, version(j)))
		later := noon.Add(time.Hour)
		j, e := told(t, SignatureVoid)(j.Describe(fitter, later, 1, value("width.top", "1204")))
		require.Equal(t, []int64{1, 2}, chatsOf(e))
		require.Equal(t, later, j.Openings[0].Since)
		require.Equal(t, Checking, stateOf(t, j, 1))
	}
}

func TestTheFirstLookCounts(t *testing.T) {
	j := must(t)(checking(t).Look(lead, noon, 1))
	j = must(t)(j.Look(lead, noon.Add(time.Hour), 1))
	require.Equal(t, noon, j.Openings[0].Check.Looked[0].At)

	// The first try was blind, the second is not.
	j = must(t)(checking(t).Read(lead, noon, 1, seconds()))
	require.True(t, j.Openings[0].Check.Leads[0].Blind)
	j = must(t)(j.Read(lead, noon, 1, seconds()))
	require.False(t, j.Openings[0].Check.Leads[0].Blind)
}

// A measure after the desk had the line ends the check: the figures are closed
// again.
func TestAMeasureAtTheDeskEndsTheCheck(t *testing.T) {
	signed := must(t)(must(t)(checking(t).Look(lead, noon, 1)).Sign(lead, noon, 1, version(checking(t))))
	sent := must(t)(signed.Send(fitter, noon, calc0))
	renamed := must(t)(sent.Rename(fitter, noon, 1, "Attic"))
	require.Equal(t, Ordered, stateOf(t, renamed, 1))
	_, open := renamed.Figures(lead.Chat, 1)
	require.True(t, open, "a name is no figure")
	for _, j := range []Job{sent, renamed} {
		j, _, err := j.Describe(fitter, noon, 1, value("width.top", "1210"))
		require.NoError(t, err)
		_, open := j.Figures(lead.Chat, 1)
		require.False(t, open)
		require.Nil(t, j.Openings[0].Signature)
	}
}

// Who measured is who gave the last reading of those that count.
func TestWhoMeasuredIsWhoGaveTheLastReading(t *testing.T) {
	mate := fitter
	mate.Person, mate.Name = 77, "Mo Mate"
	j, err := begun(t, 1).Say(mate, noon.Add(time.Minute), 1, value("height.left", "1008"))
	require.NoError(t, err)
	require.EqualValues(t, 77, j.Openings[0].Measured.Person)
	require.Equal(t, "Mo Mate", j.Openings[0].Measured.Name)
	j = say(t, j, value("width.top", "1205"))
	require.EqualValues(t, fitter.Person, j.Openings[0].Measured.Person)
	j, err = j.Say(mate, noon, 1, value("diagonal.rising", opening.Skipped), value("colour", "grey"))
	require.NoError(t, err)
	require.EqualValues(t, fitter.Person, j.Openings[0].Measured.Person, "passing over is no measuring")

	// What was settled by taking the lead's reading is not measured again here.
	j = must(t)(must(t)(checking(t).Read(lead, noon, 1, seconds())).Settle(lead, noon, 1, "width.top", Mine))
	require.EqualValues(t, fitter.Person, j.Openings[0].Measured.Person)
}

func TestPeopleKeepTheNamesTheyGave(t *testing.T) {
	name := func(who Who) string {
		j, err := begun(t, 1).Say(who, noon, 1, value("colour", "grey"))
		require.NoError(t, err)
		return j.People[who.Person]
	}
	who := fitter
	require.Equal(t, "Fay Fitter", name(who))
	who.Name = ""
	require.Equal(t, "Fay Fitter", name(who), "a message without a name takes none away")
	who.Name = strings.Repeat("x", longestLabel+1)
	require.Equal(t, "Fay Fitter", name(who), "nor does one that is too long")
	who.Name = "Fay F."
	require.Equal(t, "Fay F.", name(who))
}

// toldBy is the job as if what was told had been by other rules and figures.
func toldBy(j Job, rules int, version, figures string) Job {
	o := j.Openings[0]
	entries := append([]opening.Entry{}, o.Said.Entries...)
	for i, e := range entries {
		if e.Told == nil {
			continue
		}
		other := *e.Told
		other.Rules = rules
		if version != "same" {
			other.Version = version
		}
		if figures != "same" {
			other.Figures = figures
		}
		entries[i].Told = &other
	}
	o.Said.Entries = entries
	j.Openings = append([]Opening{}, j.Openings...)
	j.put(0, o)
	return j
}

// What was told by older rules stands as long as these give the same. Nothing
// that was told is another by an upgrade.
func TestWhatOlderRulesTold(t *testing.T) {
	signed := must(t)(must(t)(checking(t).Look(lead, noon, 1)).Sign(lead, noon, 1, version(checking(t))))
	ordered := sent(t, 1)
	old := plan.Rules - 1
	for _, c := range []struct {
		rules            int
		version, figures string
		stands           bool
	}{
		{plan.Rules, "same", "same", true},
		{plan.Rules, "same", `{"another":1}`, true}, // the version says it
		{plan.Rules, "another", "same", false},
		{old, "same", "same", true},
		{old, "same", `{"another":1}`, false},
	} {
		s := toldBy(signed, c.rules, c.version, c.figures)
		require.Equal(t, c.stands, stateOf(t, s, 1) == Signed, "signed: %v", c)
		require.Equal(t, c.stands, s.Openings[0].Signature != nil, "signed: %v", c)
		o := toldBy(ordered, c.rules, c.version, c.figures)
		require.Equal(t, c.stands, stateOf(t, o, 1) == Ordered, "ordered: %v", c)
		require.Equal(t, c.stands, !o.Order.Held, "ordered: %v", c)
	}
	// A signature of a time when no version was kept stands by its figures.
	require.Equal(t, Signed, stateOf(t, toldBy(signed, old, "", "same"), 1))
	require.Equal(t, Checking, stateOf(t, toldBy(signed, old, "", "another"), 1))
	survey := measured()
	require.Equal(t, `{"width":"1192","height":"995"}`, Opening{record: &survey}.figures(), "1202 × 1005 less 5 a side")
	require.Empty(t, Opening{}.figures())
}

// Rows that other rules made may say what no longer holds, so that all windows
// are asked for.
func TestRowsOfOtherRulesAreNotTrusted(t *testing.T) {
	stored, err := must(t)(sent(t, 2).Delete(fitter, noon, 2)).Encode()
	require.NoError(t, err)
	head := strings.Replace(string(stored.Head), fmt.Sprintf(`"rules":%d`, plan.Rules), `"rules":0`, 1)
	require.NotEqual(t, string(stored.Head), head)
	all := func(s Stored) bool {
		j, err := s.Decode()
		require.NoError(t, err)
		_, all := j.Missing()
		return all
	}
	require.False(t, all(stored))
	require.False(t, all(Stored{Head: stored.Head}))
	require.True(t, all(Stored{Head: []byte(head)}))
	require.False(t, all(Stored{Head: []byte(head), Parts: stored.Parts}))

	j, err := Stored{Head: stored.Head}.Decode()
	require.NoError(t, err)
	again, err := j.Encode()
	require.NoError(t, err)
	require.Empty(t, again.Parts, "neither the list nor the bin was loaded")
}

// What the desk agrees to is the line as it was told.
func TestConfirmingNamesWhatWasTold(t *testing.T) {
	j := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	o := j.Openings[0]
	tell, agree := o.Said.LastAct(opening.Tell, toldLine), o.Said.LastAct(opening.Agree, toldLine)
	require.Equal(t, tell.Seq, agree.Of)
	line, ok := o.Told()
	require.True(t, ok)
	require.Equal(t, "1192", line.Size.Width.String())
	_, ok = begun(t, 1).Openings[0].Told()
	require.False(t, ok)
}

// Jobs of the first schema, in the forms that their states and checks had.
func TestOlderJobsKeepWhoDidWhat(t *testing.T) {
	old := func(opening string) Opening {
		j, err := Stored{Head: []byte(`{"v":1,"ref":"PDYMNW","owner":{"chat":1,"person":1,"name":"fay","role":"fitter"},"began":"2026-05-04T12:00:00Z","settings":{"tolerance":"3"},"last_id":3,"openings":[` + opening + `]}`)}.Decode()
		require.NoError(t, err)
		return j.Openings[0]
	}
	plain := `"record":{"plan":{"nation":"england","finish":"bare","material":"timber","widths":["1204","1202","1203"],"heights":["1006","1005","1007"]}},"since":"2026-05-04T12:00:00Z"`
	o := old(`{"id":3,"name":"bay","count":1,"state":"survey",` + plain + `}`)
	require.Equal(t, 1, o.Count)
	require.Zero(t, o.CopiedFrom)
	require.EqualValues(t, 1, o.Measured.Person)
	k := o.Known()
	require.False(t, k.Has("count"), "one is the usual")

	o = old(`{"id":3,"name":"bay","count":4,"copied_from":2,"state":"survey","measured":{"role":"fitter","name":"mo","person":7,"at":"2026-05-04T11:00:00Z"},` + plain + `}`)
	require.Equal(t, 4, o.Count)
	require.Equal(t, 2, o.CopiedFrom)
	require.EqualValues(t, 7, o.Measured.Person)
	require.Equal(t, "mo", o.Measured.Name)

	asked := `"check":{"asked":{"role":"fitter","person":1,"at":"2026-05-04T12:00:00Z"}`
	seen := `,"seen":{"role":"lead","person":2,"at":"2026-05-04T12:30:00Z"}`
	o = old(`{"id":3,"name":"bay","count":1,"state":"check",` + asked + `},` + plain + `}`)
	require.Empty(t, o.Check.Known)
	require.Empty(t, o.Check.Looked)
	o = old(`{"id":3,"name":"bay","count":1,"state":"check",` + asked + `,"known":true},` + plain + `}`)
	require.NotEmpty(t, o.Check.Known)
	require.Empty(t, o.Check.Looked)
	o = old(`{"id":3,"name":"bay","count":1,"state":"check",` + asked + seen + `},` + plain + `}`)
	require.Empty(t, o.Check.Known)
	require.EqualValues(t, 2, o.Check.Looked[0].Person)
}

// A signature that was told to be void is not told so again, also where the
// figures came back to what was signed in between.
func TestAVoidSignatureIsToldOnce(t *testing.T) {
	signed := must(t)(must(t)(checking(t).Look(lead, noon, 1)).Sign(lead, noon, 1, version(checking(t))))
	change := func(j Job, want EventKind, width string) Job {
		j, _ = told(t, want)(j.Describe(fitter, noon, 1, value("width.top", width)))
		return j
	}
	j := change(signed, SignatureVoid, "1210")
	j = change(j, OpeningChanged, "1204")
	require.Nil(t, j.Openings[0].Signature, "it is signed again by the lead or not at all")
	change(j, OpeningChanged, "1211")

	asked := must(t)(must(t)(signed.Send(fitter, noon, calc0)).ConfirmAll(desk, noon, "A"))
	asked, events, err := asked.AskCheck(fitter, noon, 1)
	require.NoError(t, err)
	require.Len(t, events, 2)
	change(asked, OpeningChanged, "1211")
}

// What was settled and compared is of the readings; the colour is no news of
// them.
func TestAColourIsNoNewsOfTheReadings(t *testing.T) {
	j := must(t)(checking(t).Read(lead, noon, 1, seconds()))
	_, _ = told(t, OpeningChanged)(recolour(t, j, 1, "grey"))
	agreed := must(t)(j.Settle(lead, noon, 1, "width.top", Mine))
	_, _ = told(t, OpeningChanged)(recolour(t, agreed, 1, "grey"))
}

func TestTheSameFiguresAreShownOnce(t *testing.T) {
	j := must(t)(checking(t).Look(lead, noon, 1))
	shown, err := j.Shown(lead, noon, 1, version(j))
	require.NoError(t, err)
	require.Len(t, entriesOf(shown), len(entriesOf(j))+1)
	again, err := shown.Shown(lead, noon, 1, version(j))
	require.NoError(t, err)
	require.Len(t, entriesOf(again), len(entriesOf(shown)))
}

// What no signature covers and no line has moves nothing: how the frame is
// fixed is the fitter's own.
func TestWhatIsOfTheFitterAloneMovesNothing(t *testing.T) {
	signed := must(t)(must(t)(checking(t).Look(lead, noon, 1)).Sign(lead, noon, 1, version(checking(t))))
	j, _ := told(t, OpeningChanged)(signed.Describe(fitter, noon, 1, value("pattern", "lighter")))
	require.Equal(t, Signed, stateOf(t, j, 1))
	require.NotNil(t, j.Openings[0].Signature)
	confirmed := must(t)(sent(t, 1).ConfirmAll(desk, noon, "A"))
	j, _ = told(t, OpeningChanged)(confirmed.Describe(fitter, noon, 1, value("pattern", "lighter")))
	require.Equal(t, Confirmed, stateOf(t, j, 1))
	require.False(t, j.Order.Held)
}
