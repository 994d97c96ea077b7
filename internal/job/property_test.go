package job

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/opening"
)

// world is a job and what the test knows of it by itself.
type world struct {
	j        Job
	now      time.Time
	made     int            // openings ever made
	gone     int            // of these, deleted and not brought back
	messages map[string]int // event and chat → how often told
}

// any of the job's openings, or one that there is none of.
func (w *world) any(t *rapid.T) int {
	if len(w.j.Openings) == 0 || rapid.IntRange(0, 30).Draw(t, "wild") == 0 {
		return rapid.IntRange(-1, 50).Draw(t, "id")
	}
	return rapid.SampledFrom(w.j.Openings).Draw(t, "opening").ID
}

func (w *world) who(t *rapid.T) Who {
	return rapid.SampledFrom([]Who{fitter, lead, desk, {Chat: 2, Person: 11, Role: Lead}, {Chat: 9, Role: Lead}, {Chat: 9, Role: Fitter}}).Draw(t, "who")
}

func (w *world) record(t *rapid.T) Record {
	r := measured()
	k := rapid.IntRange(0, 2).Draw(t, "which")
	r.Plan.Widths[k] = mm(rapid.Int64Range(1195, 1215).Draw(t, "width"))
	r.Colour = rapid.SampledFrom([]string{"white", "grey"}).Draw(t, "colour")
	if rapid.IntRange(0, 9).Draw(t, "half") == 0 {
		r.Plan.Heights[0] = mm(0)
	}
	return r
}

// act does one thing at random, through the methods. The right person asks
// most of the time, so that a run gets somewhere.
func (w *world) act(t *rapid.T) (what string, j Job, events []Event, err error) {
	at, id := w.now, w.any(t)
	by := func(usual Who) Who {
		if rapid.IntRange(0, 12).Draw(t, "other") == 0 {
			return w.who(t)
		}
		return usual
	}
	j = w.j
	reading := rapid.SampledFrom([]string{"width.top", "width.middle", "width.bottom", "height.left", "diagonal.rising"}).Draw(t, "reading")
	revision := RevisionName(max(0, j.Order.Revision-rapid.SampledFrom([]int{0, 0, 0, 1}).Draw(t, "old")))
	o, _ := j.Find(id)
	what = rapid.SampledFrom([]string{
		"add", "store", "store", "describe", "copy", "rename", "count", "delete", "undo",
		"ask", "withdraw", "look", "read", "read", "settle", "settle", "reread", "sign", "sign",
		"send", "confirm", "confirm all", "told", "untell", "query", "answer", "answer one", "withdraw query", "promise", "reject", "hand over",
		"advance", "advance", "advance", "some", "break", "fault", "fault", "fault", "revoke", "address",
	}).Draw(t, "what")
	switch what {
	case "add":
		j, events, err = j.Add(by(fitter), at, fmt.Sprint("W", rapid.IntRange(0, 40).Draw(t, "name")))
	case "copy":
		j, events, err = j.Copy(by(fitter), at, id, fmt.Sprint("W", rapid.IntRange(0, 40).Draw(t, "name")))
	case "store":
		j, events, err = j.Store(by(fitter), at, id, w.record(t))
	case "describe":
		r := o.Record()
		r.Colour = rapid.SampledFrom([]string{"white", "grey"}).Draw(t, "colour")
		j, events, err = j.Store(by(fitter), at, id, r)
	case "rename":
		j, events, err = j.Rename(by(fitter), at, id, fmt.Sprint("W", rapid.IntRange(0, 40).Draw(t, "name")))
	case "count":
		j, events, err = j.SetCount(by(fitter), at, id, rapid.IntRange(0, 4).Draw(t, "count"))
	case "delete":
		j, events, err = j.Delete(by(fitter), at, id)
	case "undo":
		j, events, err = j.Undo(by(fitter), at)
	case "ask":
		j, events, err = j.AskCheck(by(fitter), at, id)
	case "withdraw":
		j, events, err = j.WithdrawCheck(by(fitter), at, id)
	case "look":
		j, events, err = j.Look(by(lead), at, id)
	case "read":
		r := w.record(t).Plan.Readings()
		if rapid.Bool().Draw(t, "same") {
			r = o.Record().Plan.Readings()
		}
		j, events, err = j.Read(by(lead), at, id, r)
	case "settle":
		pick := rapid.SampledFrom([]Pick{Mine, Theirs, Again}).Draw(t, "pick")
		j, events, err = j.Settle(by(rapid.SampledFrom([]Who{fitter, lead}).Draw(t, "settler")), at, id, reading, pick)
	case "reread":
		j, events, err = j.Reread(by(lead), at, id, reading, mm(rapid.Int64Range(0, 1215).Draw(t, "value")))
	case "sign":
		j, events, err = j.Sign(by(lead), at, id, o.Version+rapid.SampledFrom([]string{"", "", "", "0"}).Draw(t, "stale"))
	case "send":
		var anyway []int
		if rapid.Bool().Draw(t, "anyway") {
			anyway = []int{id}
		}
		j, events, err = j.Send(by(fitter), at, calc0, anyway...)
	case "confirm":
		j, events, err = j.Confirm(by(desk), at, revision, id)
	case "confirm all":
		j, events, err = j.ConfirmAll(by(desk), at, revision)
	case "query":
		j, events, err = j.Query(by(desk), at, id, "why?")
	case "answer":
		j, events, err = j.Answer(by(fitter), at, id, 0, "so")
	case "told":
		r := Reply{Heard: Heard{Way: ByPhone, By: rapid.SampledFrom([]string{"", "Anna"}).Draw(t, "name")}, Revision: revision}
		j, events, err = j.ConfirmTold(by(rapid.SampledFrom([]Who{fitter, lead}).Draw(t, "teller")), at, r, id)
	case "untell":
		j, events, err = j.Untell(by(fitter), at, id)
	case "answer one":
		j, events, err = j.Answer(by(fitter), at, id, rapid.IntRange(1, 3).Draw(t, "question"), "so")
	case "withdraw query":
		j, events, err = j.WithdrawQuery(by(desk), at, id, rapid.IntRange(0, 3).Draw(t, "question"))
	case "promise":
		j, events, err = j.Promise(by(desk), at, id, "2026-05-20", nil)
	case "reject":
		j, events, err = j.Reject(by(fitter), at, id, "bent")
	case "some":
		do := rapid.SampledFrom([]Action{DoDeliver, DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal, DoBack}).Draw(t, "step")
		j, events, err = j.AdvancePieces(by(fitter), at, id, do, rapid.IntRange(0, 3).Draw(t, "pieces"))
	case "break":
		j, events, err = j.Break(by(fitter), at, id, rapid.IntRange(0, 2).Draw(t, "pieces"), "bent", "remake")
	case "fault":
		j, events, err = j.Fault(by(fitter), at, id, rapid.IntRange(0, 2).Draw(t, "pieces"), "racked", "remake")
	case "hand over":
		j, events, err = j.HandOver(by(fitter), at)
	case "advance":
		onTheDay := []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal, DoBack, DoConfirm}
		do := rapid.SampledFrom(onTheDay).Draw(t, "step")
		if k := o.State.rank() - Confirmed.rank(); k >= 0 && k < len(onTheDay) && rapid.Bool().Draw(t, "next") {
			do = onTheDay[k]
		}
		j, events, err = j.Advance(by(fitter), at, id, do)
	case "revoke":
		if rapid.IntRange(0, 20).Draw(t, "really") > 0 {
			return "nothing", j, nil, nil
		}
		j, events, err = j.Revoke(by(fitter), at, rapid.SampledFrom([]string{leadToken, deskToken}).Draw(t, "token"))
	case "address":
		j, events, err = j.SetAddress(by(fitter), at, "1 Invented Row", rapid.Bool().Draw(t, "share"))
	}
	return what, j, events, err
}

// Random actions of three people and a stranger, on time and late, never lose
// an opening, never leave a signature on changed figures, never change what
// was confirmed, and tell nobody twice.
func TestAnyRunOfActionsKeepsThePromises(t *testing.T) {
	starts := startingPoints(t)
	confirmed := starts[6]
	// Few runs come to these by chance.
	starts = append(starts, must(t)(confirmed.Query(desk, noon, 1, "why?")), must0(recolour(t, confirmed, 1, "grey")), must(t)(confirmed.Break(fitter, noon, 1, 0, "bent", "again")))
	reached := map[State]bool{}
	rapid.Check(t, func(t *rapid.T) {
		start := rapid.SampledFrom(starts).Draw(t, "start")
		w := &world{j: start, now: noon, made: start.LastID, messages: map[string]int{}}
		for _, o := range w.j.Openings {
			reached[o.State] = true
		}
		for range rapid.IntRange(40, 80).Draw(t, "actions") {
			w.now = w.now.Add(time.Minute)
			before := w.j
			stored := asJSON(t, before)
			what, after, events, err := w.act(t)
			require.Equal(t, stored, asJSON(t, before), "%s changed the caller's job", what)
			if err != nil {
				r, ok := err.(*Refusal)
				require.True(t, ok, "%s: %v", what, err)
				require.NotEmpty(t, r.Reason)
				require.Empty(t, events)
				continue
			}
			if rapid.IntRange(0, 3).Draw(t, "branch") == 0 {
				kept := asJSON(t, after)
				other, _, _, _ := w.act(t)
				require.Equal(t, kept, asJSON(t, after), "%s on the same job changed what %s had made of it", other, what)
			}
			w.j = after
			w.count(what, before, after)
			w.keepsOpenings(t)
			w.movesByTheTable(t, before)
			w.keepsSignatures(t)
			w.keepsTheOrder(t, before)
			w.tellsOnce(t, events)
			w.keepsTheCheckBlind(t, events)
			for _, o := range after.Openings {
				reached[o.State] = true
			}
		}
		require.Equal(t, allOf(t, w.j), allOf(t, storedAndRead(t, w.j)))
	})
	for _, s := range States {
		require.True(t, reached[s], "no run came to %s, so nothing was tried there", s)
	}
}

// startingPoints are jobs of three openings that are in the middle of things,
// so that a run gets far.
func startingPoints(t *testing.T) []Job {
	asked := must(t)(begun(t, 3).AskCheck(fitter, noon))
	apart := must(t)(must(t)(asked.Read(lead, noon, 1, seconds())).Read(lead, noon, 2, seconds()))
	agreed := must(t)(apart.Settle(lead, noon, 1, "width.top", Mine))
	signed := must(t)(agreed.Sign(lead, noon, 1, version(agreed)))
	sent := must(t)(begun(t, 3).Send(fitter, noon, calc0))
	confirmed := must(t)(sent.ConfirmAll(desk, noon, "A"))
	onTheDay := confirmed
	for id, steps := range map[int][]Action{
		1: {DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal}, 2: {DoDeliver, DoTakeOut, DoFit}, 3: {DoDeliver},
	} {
		for _, do := range steps {
			onTheDay = must(t)(onTheDay.Advance(fitter, noon, id, do))
		}
	}
	// Few runs get as far as these states by chance.
	midday := confirmed
	for id, steps := range map[int][]Action{1: {DoDeliver, DoTakeOut}, 2: {DoDeliver, DoTakeOut, DoFit, DoGlaze}} {
		for _, do := range steps {
			midday = must(t)(midday.Advance(fitter, noon, id, do))
		}
	}
	last := onTheDay
	for id, steps := range map[int][]Action{2: {DoGlaze, DoSeal}, 3: {DoTakeOut, DoFit, DoGlaze, DoSeal}} {
		for _, do := range steps {
			last = must(t)(last.Advance(fitter, noon, id, do))
		}
	}
	handed := must(t)(last.HandOver(fitter, noon))
	return []Job{begun(t, 3), asked, apart, agreed, signed, sent, confirmed, midday, onTheDay, last, handed}
}

func (w *world) count(what string, before, after Job) {
	w.made += after.LastID - before.LastID
	switch what {
	case "delete":
		w.gone++
	case "undo":
		w.gone--
	}
}

func (w *world) keepsOpenings(t *rapid.T) {
	require.Len(t, w.j.Openings, w.made-w.gone)
	require.Len(t, w.j.Bin, w.gone)
	seen := map[int]bool{}
	for _, o := range w.j.Openings {
		seen[o.ID] = true
	}
	for _, b := range w.j.Bin {
		seen[b.Opening.ID] = true
	}
	require.Len(t, seen, w.made, "each is in the list or in the bin, once")
}

// movesByTheTable: whatever changed its state has a step for it.
func (w *world) movesByTheTable(t *rapid.T, before Job) {
	for _, o := range w.j.Openings {
		was, ok := before.Find(o.ID)
		if !ok || was.State == o.State {
			continue
		}
		found := false
		for _, row := range Steps {
			to := row.Leads[was.State]
			// A line that waits at the desk is asked about as long as a question is open.
			found = found || to == o.State || to == Ordered && o.State == Queried && o.questions > 0
		}
		// A check for which a measure was kept is compared as soon as it is asked for.
		found = found || o.Check != nil && len(o.Check.Leads) > 0 && DoAskCheck.row().Leads[was.State] == Checking
		// A measure after the signature may move what was settled, and agree then.
		found = found || was.State == Signed && o.State == Agreed
		require.True(t, found, "%s to %s", was.State, o.State)
		// A line that another one held, or let stand again, waits where it was.
		if len(was.Said.Entries) < len(o.Said.Entries) {
			require.Equal(t, w.now, o.Since, "%s to %s", was.State, o.State)
		}
	}
}

func (w *world) keepsSignatures(t *rapid.T) {
	for _, o := range w.j.Openings {
		if o.Signature != nil {
			require.Equal(t, o.Version, o.Signature.Told.Version, "opening %d in %s", o.ID, o.State)
			require.Equal(t, o.figures(), o.Signature.Told.Figures)
			require.False(t, o.State.withLead())
		}
		if o.State == Signed {
			require.NotNil(t, o.Signature)
		}
		if o.State == Differing || o.State == Agreed {
			require.Equal(t, o.State == Agreed, len(o.Check.open()) == 0)
		}
	}
}

// nameless are lines without their names: a name makes no other window, and one
// that stands again is told under the name that it has now.
func nameless(lines []Line) []Line {
	for i := range lines {
		lines[i].Name = ""
	}
	return lines
}

func (w *world) keepsTheOrder(t *rapid.T, before Job) {
	if before.Order.Revision == w.j.Order.Revision {
		require.Equal(t, asJSON(t, nameless(before.Lines())), asJSON(t, nameless(w.j.Lines())), "what was sent is frozen")
	} else {
		require.Equal(t, before.Order.Revision+1, w.j.Order.Revision)
		require.False(t, w.j.Order.Held)
		for _, o := range w.j.Openings {
			if was, ok := before.Find(o.ID); ok && o.State == Confirmed {
				require.NotZero(t, was.Supply.latest(), "the next revision confirms nothing")
			}
		}
	}
	for _, o := range w.j.Openings {
		sent, on := o.Told()
		if o.State.atDesk() || o.State.made() {
			require.True(t, on && w.j.onOrder(o.ID))
			line, err := o.line(calc0)
			require.NoError(t, err)
			sent.Name = line.Name // a name makes no other window
			require.Equal(t, stored(line.bare()), stored(sent.bare()), "the desk has what the record says")
			require.NotNil(t, sent.Against)
			require.Empty(t, Open(o.toldStanding(sent)), "a point went out that nobody took on")
			require.False(t, slices.ContainsFunc(sent.Against, Point.Stops), "a stop went out")
		}
		if o.State == Confirmed {
			require.False(t, w.j.Order.Held)
			require.Equal(t, confirmedAs(t, o), stored(sent.bare()), "what is confirmed is what somebody confirmed")
		}
	}
}

// confirmedAs is the line as it stood when it was confirmed last, under its name of now.
func confirmedAs(t require.TestingT, o Opening) string {
	var l Line
	of := 0
	o.Said.Standing(func(e *opening.Entry) {
		if e.Act == opening.Agree && e.Value == toldLine {
			of = e.Of
		}
	})
	o.Said.Standing(func(e *opening.Entry) {
		if e.Seq == of {
			require.NoError(t, json.Unmarshal([]byte(e.Told.Figures), &l))
		}
	})
	l.Name = o.Name
	return stored(l.bare())
}

func (w *world) tellsOnce(t *rapid.T, events []Event) {
	for _, e := range events {
		for _, r := range e.To {
			message := fmt.Sprint(e.Ref, e.Seq, " ", r.Chat)
			w.messages[message]++
			require.Equal(t, 1, w.messages[message], message)
		}
	}
}

// keepsTheCheckBlind: nothing that goes to the lead holds a figure of an
// opening that the lead is still to measure. All figures of the test are four
// digits that begin with 1.
func (w *world) keepsTheCheckBlind(t *rapid.T, events []Event) {
	blind := func(id int) bool {
		o, ok := w.j.Find(id)
		return ok && o.State == Checking && len(o.Check.Looked) == 0
	}
	for _, e := range events {
		told := slices.ContainsFunc(e.To, func(r Recipient) bool { return r.Role == Lead })
		if !told || !slices.ContainsFunc(e.Openings, blind) {
			continue
		}
		for name, n := range e.Figures {
			require.True(t, n.LessThan(mm(1000)), "%s %s", e.Kind, name)
		}
		require.Empty(t, e.Changes)
	}
	sheet := w.j.CheckCopy()
	for i := range sheet.Openings {
		sheet.Openings[i].Signed = nil // holds a year
	}
	raw, err := json.Marshal(sheet)
	require.NoError(t, err)
	require.NotRegexp(t, `1[0-2]\d\d`, string(raw))
	for _, o := range w.j.Openings {
		if blind(o.ID) {
			_, ok := w.j.Figures(lead.Chat, o.ID)
			require.False(t, ok)
		}
	}
}

// Any answer that comes twice, as a message may, is refused or without effect
// the second time: it never tells anybody again that the same was done.
func TestAnAnswerThatComesTwiceHasOneEffect(t *testing.T) {
	j := must(t)(begun(t, 1).AskCheck(fitter, noon))
	j = must(t)(j.Read(lead, noon, 1, seconds()))
	j = must(t)(j.Settle(lead, noon, 1, "width.top", Mine))
	refused(t, "settled_already")(j.Settle(lead, noon, 1, "width.top", Mine))
	seen := j.Openings[0].Version
	j = must(t)(j.Sign(lead, noon, 1, seen))
	refused(t, "sign")(j.Sign(lead, noon, 1, seen))
	j = must(t)(j.Send(fitter, noon, calc0, 1))
	j = must(t)(j.Confirm(desk, noon, "A", 1))
	refused(t, "confirm")(j.Confirm(desk, noon, "A", 1))
}
