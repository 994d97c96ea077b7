package dialog

import (
	"flag"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/job"
)

// actsARun is how many acts are drawn after each beginning. Rapid's usual 100
// runs are 5 000 acts; -rapid.checks=2000 gives 100 000.
const actsARun = 50

// The readings of the fitter end in .3 and those of the lead's corrections in
// .7, so that one is known wherever it appears; no size to order by ends so.
const modelJob = `fitter> England today bare none white 1204.3 1202.3 1203.3
fitter> 1050.3 1052.3 1051.3 skip level left brick bedroom first 900 4-20-4 no
fitter> job
fitter> name 1 scullery
fitter> copy 1 pantry
fitter> 1206.3 1202.3 1203.3 1050.3 1052.3 1051.3 skip level
fitter> ask check
lead> /start TOKEN
fitter> invite lead
other> /start TOKEN
desk> hello
stranger> hello
`

const (
	modelDiffers = modelJob + `lead> measure 1
lead> 1204 1202 1203 1046 1052 1051 skip level
`
	modelDesk = modelJob + `lead! See pantry
lead> job
lead! Sign pantry
fitter> withdraw 1
fitter> send all anyway
desk> /start TOKEN
`
	modelConfirmed = modelDesk + `desk> confirm A
`
)

// modelBegins are the states that the acts begin in: from an empty chat random
// acts sign and order nothing.
var modelBegins = map[string]string{
	"checked":   modelJob,
	"differs":   modelDiffers,
	"settled":   modelDiffers + "lead! left height: mine, 1046\nfitter> edit 1\n",
	"signed":    modelDiffers + "lead! left height: mine, 1046\nlead> sign 1\n",
	"desk":      modelDesk,
	"confirmed": modelConfirmed,
	"delivered": modelConfirmed + "fitter> step 1 delivered\n",
}

// act is something that a person types. N stands for the number of a window, F
// for a figure of the fitter's, L for one of the lead's, R for a revision. Asks
// change no answer of the fitter's.
type modelAct struct {
	who, text string
	asks      bool
}

var modelActs = slices.Concat(
	says("fitter", false, "change widths", "change heights", "change top width", "change left height", "change room", "change layout",
		"change light 1", "change material", "change glass", "change sill", "change obscure glass", "change nation", "change day of the work",
		"change vents", "change restrictors", "change diagonals", "no lintel", "engineer says ok: it holds, J Doe, structural engineer, today",
		"F", "F", "F", "F F F", "F F F", "change top width F", "change left height F", "change middle height 1046.3",
		"order items", "open in", "key locking", "handle 1050", "none", "the desk decides the rest", "window N opens out", "handle N middle", "no trickle vents", "glazed",
		"left", "right", "fixed", "kitchen", "bathroom", "white", "timber", "coloured", "4-20-4", "6-16-6", "none", "150", "reeded", "Wales", "tomorrow", "2",
		"bare none white F F F 1052.3 1053.3 1054.3 skip level fixed brick bedroom 900 first skip no",
		"yes", "no", "keep", "skip", "/skip", "back", "undo", "undo", "cancel", "new", "edit N", "edit N", "copy N hall", "copy N",
		"same as last but timber", "same as N but left", "next one same", "same readings", "F is right",
		"delete N", "delete 1-2 yes", "restore", "crew plaster 15", "crew outer face 68", "crew here", "alike N 2", "shade N grey", "hardware N handle", "name N porch", "fault N racked", "broken N", "fault 1 at N cracked",
		"figure N left height 1046.3", "figure N top width F"),
	says("fitter", true, answered, "ask check", "ask check N", "withdraw N", "withdraw N", "withdraw N", "withdraw all yes", "step all delivered", "step 1-2 out", "send", "send", "send N anyway", "send all anyway", "against N", "confirmed N by phone, Anna, order 4711, 12 January 2027", "confirmed by mail", "not confirmed N", "answer N yes", "answer N.1 yes", "answer N.2 yes", "step N delivered", "step N out", "step N fitted",
		"summary", "step N glazed", "step N sealed", "step N wrong too wide", "delivered 1 of 2 at N", "out 1 at N", "step N back", "hand over", "summary", "summary", "card", "cards", "why", "list",
		"job", "label mill", "share names", "sheet", "help", "glance", "revoke lead", "invite lead", "invite desk"),
	// A photo, with a caption or in an album; the names of files are used again, as an album's are.
	says("fitter", false, "$f1", "$f2@g rotten at the bottom", "$f3@g", "$f4@h F F F", "$f5@h", "$doc:f6 fixed", "$f7 fault N scratched", "all ok", "photo for N", "delete photo 1 of N", "delete photos 2, 3 of N"),
	says("fitter", true, "snag N scratched bead", "snag N.1 done", "snags", "hand over anyway", "last look N", "file", "file N", "certificate N: 4711, today",
		"quote", "paid 400", "not paid 400", "crew rate 38", "crew hours 6", "customer price N 450", "stores", "stores why"),
	says("desk", true, "snag N scratched bead", "file N", "quote", "paid 400", "stores"), says("lead", true, "snags", "file", "quote"), says("stranger", true, "file N", "quote"),
	says("fitter", true, "photos", "photos N", "share photos", "share photos"),
	says("lead", true, "photos N", "photos", "$x1 1204"), says("other", true, "photos N"), says("desk", true, "photos N", "photos", "$x2"), says("stranger", true, "photos N", "delete photo 1 of N"),
	says("lead", true, answered, "confirmed N in person", "not confirmed N", "measure N", "undo", "cancel", "summary", "sign N", "sign N", "sign all", "job", "new", "back"),
	// What was settled of a reading falls when the lead measures another.
	says("lead", false, "1204 1202 1203 1050 1052 1051 skip level", "1204 1202 1203 1046 1052 1051 skip level", "1214 1202 1203 1050 1052 1051 skip level",
		"keep", "figure N left height L", "figure N top width L"),
	says("other", true, "measure N", "measure N", "sign N", "job", "cancel"),
	says("other", false, "1204 1202 1203 1046 1052 1051 skip level", "1204 1202 1203 1050 1052 1051 skip level", "1204 1212 1203 1050 1052 1051 skip level",
		"keep", "figure N left height L"),
	says("desk", true, answered, answered, "confirm R", "confirm A", "confirm N R", "confirm 1-2 R", "confirm N A", "query N which side?", "query N which side?", "withdraw question N", "withdraw question N.1", "price N 310.50", "due N 12 January 2027", "job"),
	says("stranger", true, answered, "job REF", "sign N", "confirm N R", "measure N", "price N 99", "/start TOKEN", "card", "edit N", "withdraw N", "delete N",
		"figure N top width L", "forget me yes", "England", "summary"),
)

// answered is an answer file of two rows, one with a question. A space sets the places
// apart.
const answered = `ref,revision,window,confirm,price,day,order number,words\n REF,R,N,yes,310.50,2027-01-12,4711,\n REF,R,2,,295,,,which side?`

func says(who string, asks bool, texts ...string) []modelAct {
	var list []modelAct
	for _, text := range texts {
		list = append(list, modelAct{who, text, asks})
	}
	return list
}

// TestModel lets a fitter, two leads, a desk and a stranger act at random on a
// job, and demands after each act what must hold of all that is kept and said.
func TestModel(t *testing.T) {
	begins := map[string]*town{}
	for name, script := range modelBegins {
		w := newTown(t)
		w.play(script)
		begins[name] = w
	}
	names := slices.Sorted(maps.Keys(begins))
	if raced {
		fewerRuns(t)
	}
	rapid.Check(t, func(t *rapid.T) {
		m := newModel(t, begins[rapid.SampledFrom(names).Draw(t, "begin")])
		for range actsARun {
			m.act()
		}
		m.wayHome()
	})
}

// fewerRuns are for the race detector: a step has no goroutines, and .ci/run lets the
// same people act 100 000 times without it. A number that was asked for stays.
func fewerRuns(t *testing.T) {
	checks := flag.Lookup("rapid.checks")
	if checks.Value.String() == checks.DefValue {
		require.NoError(t, checks.Value.Set("20"))
		t.Cleanup(func() { _ = checks.Value.Set(checks.DefValue) })
	}
}

// model is a town and what was seen of its job before the last act.
type model struct {
	*town
	t      *rapid.T
	key    string // of the job in town.jobs
	job    job.Job
	known  map[string]string // window and length of its record → its order line
	lines  map[string]string // window and version → its order line
	signed map[string]string // window and entry of the signature → the line that was signed
	marks  map[int64]int     // how many of the replies of a chat were looked at
	opened map[string]bool   // the leads who have seen figures of somebody else's
}

func newModel(t *rapid.T, from *town) *model {
	w := *from
	w.t, w.mute = t, true
	w.out.Reset()
	w.states, w.jobs, w.links, w.said = maps.Clone(w.states), maps.Clone(w.jobs), maps.Clone(w.links), maps.Clone(w.said)
	for chat := range w.said {
		w.said[chat] = slices.Clip(w.said[chat])
	}
	m := &model{town: &w, t: t, known: map[string]string{}, lines: map[string]string{}, signed: map[string]string{}, marks: map[int64]int{}, opened: map[string]bool{}}
	for key := range w.jobs {
		m.key = key
	}
	m.job = m.load(w.jobs[m.key])
	for chat := range w.said {
		m.marks[chat] = len(w.said[chat])
	}
	m.windows()
	return m
}

func (m *model) load(s job.Stored) job.Job {
	j, err := s.Decode()
	require.NoError(m.t, err)
	return j
}

// act draws one act, does it and looks at what came of it.
func (m *model) act() {
	a := rapid.SampledFrom(modelActs).Draw(m.t, "act")
	m.outage(a.who)
	before, mine := m.job, m.states[fmt.Sprint(m.chat("fitter"))]
	if rapid.IntRange(0, 3).Draw(m.t, "press") == 0 && m.press(a.who) {
		a.text, a.asks = "a button", a.who == "desk" || a.who == "stranger"
	} else {
		if a.who == "stranger" && m.openLink() {
			a.text = strings.ReplaceAll(a.text, "/start TOKEN", "/start")
		}
		a.text = m.fill(a.text)
		m.t.Logf("%s> %s", a.who, a.text)
		how := ">"
		if after, photo := strings.CutPrefix(a.text, "$"); photo {
			how, a.text = "$", after
		}
		if strings.HasPrefix(a.text, "ref,") {
			how = "="
		}
		m.person(a.who, "", how, a.text)
	}
	stored := m.jobs[m.key]
	m.job = m.load(stored)
	m.kept(stored)
	m.read(a.who)
	m.grown(before)
	m.windows()
	m.atHand()
	m.heard(a.who)
	m.ownMeasures(before, a.who)
	m.receipts()
	m.echoed()
	if a.asks {
		m.same(before)
	}
	if a.who == "stranger" {
		require.Equal(m.t, encoded(m.t, before), encoded(m.t, m.job), "a stranger changed the job")
	}
	if a.text == "undo" && a.who == "fitter" {
		m.undone(before, mine)
	}
	for chat := range m.said {
		m.marks[chat] = len(m.said[chat])
	}
}

// outage cuts chats off and joins them up again; who is about to act can be reached.
func (m *model) outage(who string) {
	m.blocked = slices.DeleteFunc(slices.Clone(m.blocked), func(chat int64) bool { return chat == m.chat(who) })
	if rapid.IntRange(0, 9).Draw(m.t, "outage") > 0 {
		return
	}
	other := rapid.SampledFrom([]string{"fitter", "lead", "other", "desk"}).Draw(m.t, "away")
	if other != who {
		m.t.Logf("%s can't be reached", other)
		m.blocked = append(m.blocked, m.chat(other))
	}
}

// press presses a button that was shown to a person at any time, mostly a new
// one, or for the stranger one that was shown to anybody.
func (m *model) press(who string) bool {
	chat := m.chat(who)
	from := m.said[chat]
	if who == "stranger" {
		from = m.said[m.chat(rapid.SampledFrom([]string{"fitter", "lead", "desk"}).Draw(m.t, "whose"))]
	}
	if rapid.Bool().Draw(m.t, "new") {
		from = from[max(0, len(from)-4):]
	}
	var all []Button
	for _, r := range from {
		for _, row := range r.Buttons {
			all = append(all, row...)
		}
	}
	if len(all) == 0 {
		return false
	}
	b := rapid.SampledFrom(all).Draw(m.t, "button")
	m.t.Logf("%s! %s (%s)", who, words().Plain("en", b.Label), b.Data)
	m.step(chat, Input{Kind: Pressed, Text: b.Data, Now: m.now, User: chat, Name: who})
	return true
}

// openLink: the last link was used by nobody, so that it admits anybody.
func (m *model) openLink() bool {
	return slices.ContainsFunc(m.job.Shares, func(s job.Share) bool { return s.Token == m.last && s.UsedBy == 0 })
}

var modelPlace = regexp.MustCompile(`\b(N|F|L|R|REF)\b`)

func (m *model) fill(text string) string {
	return modelPlace.ReplaceAllStringFunc(text, func(place string) string {
		switch place {
		case "N":
			most := rapid.SampledFrom([]int{2, m.job.LastID + 1}).Draw(m.t, "most")
			return fmt.Sprint(rapid.IntRange(1, most).Draw(m.t, "window"))
		case "F":
			return fmt.Sprint(rapid.IntRange(1198, 1208).Draw(m.t, "figure"), ".3")
		case "L":
			return fmt.Sprint(rapid.IntRange(1198, 1208).Draw(m.t, "figure"), ".7")
		case "R":
			return job.RevisionName(m.job.Order.Revision)
		}
		return m.job.Ref
	})
}

// wayHome: from wherever the acts led, the job can be brought to its end.
func (m *model) wayHome() {
	m.blocked = nil
	do := func(who, text string, args ...any) {
		text = fmt.Sprintf(text, args...)
		m.t.Logf("%s> %s", who, text)
		m.person(who, "", ">", text)
		m.job = m.load(m.jobs[m.key])
	}
	do("fitter", "new")
	if m.job.Chair(m.chat("desk")) == "" {
		do("fitter", "invite desk")
		do("desk", "/start TOKEN")
	}
	for _, o := range m.job.All() {
		switch {
		case o.State == job.Checking, o.State == job.Differing, o.State == job.Agreed:
			do("fitter", "withdraw %d", o.ID)
		}
		for _, q := range o.Supply.Open() {
			do("fitter", "answer %d.%d yes", o.ID, q.Question)
		}
		o, _ = m.job.Find(o.ID)
		stopped := slices.ContainsFunc(o.Against(calc.DefaultSettings()), job.Point.Stops)
		if len(o.Lacks()) > 0 || lineOf(o) == "" || stopped && o.State != job.Ordered {
			do("fitter", "delete %d", o.ID)
		}
	}
	if len(m.job.Openings) == 0 {
		return
	}
	do("fitter", "send all anyway")
	for _, o := range m.job.All() {
		if o.State == job.Queried { // asked about, changed since, and sent again
			for _, q := range o.Supply.Open() {
				do("fitter", "answer %d.%d yes", o.ID, q.Question)
			}
			o, _ = m.job.Find(o.ID)
		}
		if o.State == job.Ordered {
			do("desk", "confirm %d %s", o.ID, job.RevisionName(m.job.Order.Revision))
		}
		for _, step := range []string{"delivered", "out", "fitted", "glazed", "sealed"} {
			do("fitter", "step %d %s", o.ID, step)
		}
	}
	do("fitter", "hand over anyway")
	for _, o := range m.job.All() {
		require.Contains(m.t, []job.State{job.Handed, job.Replaced}, o.State, "window %d has no way to its end", o.ID)
	}
}
