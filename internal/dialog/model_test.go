package dialog

import (
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// actsARun is how many acts are drawn after each beginning. Rapid's usual 100
// runs are 5 000 acts; -rapid.checks=2000 gives 100 000.
const actsARun = 50

// The readings of the fitter end in .3 and those of the lead's corrections in
// .7, so that one is known wherever it appears; no size to order by ends so.
const modelJob = `fitter> England today bare none white 1204.3 1202.3 1203.3
fitter> 1050.3 1052.3 1051.3 skip left brick bedroom first 900 4-20-4 no
fitter> job
fitter> name 1 scullery
fitter> copy 1 pantry
fitter> change top width 1206.3
fitter> ask check
lead> /start TOKEN
fitter> invite lead
other> /start TOKEN
desk> hello
stranger> hello
`

const (
	modelDiffers = modelJob + `lead> measure 1
lead> 1204 1202 1203 1041 1052 1051 skip
`
	modelDesk = modelJob + `lead! See pantry
lead> job
lead! Sign pantry
fitter> withdraw 1
fitter> send
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
	"settled":   modelDiffers + "lead! left height: mine, 1041\nfitter> edit 1\n",
	"signed":    modelDiffers + "lead! left height: mine, 1041\nlead> sign 1\n",
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
		"change vents", "change restrictors", "change diagonals",
		"F", "F", "F", "F F F", "F F F", "change top width F", "change left height F", "change middle height 1046.3",
		"left", "right", "fixed", "kitchen", "bathroom", "white", "timber", "coloured", "4-20-4", "6-16-6", "none", "150", "reeded", "Wales", "tomorrow", "2",
		"bare none white F F F 1052.3 1053.3 1054.3 skip fixed brick bedroom 900 first skip no",
		"yes", "no", "keep", "skip", "/skip", "back", "undo", "undo", "cancel", "new", "edit N", "edit N", "copy N hall", "copy N",
		"delete N", "restore", "crew plaster 15", "crew outer face 68", "crew here", "alike N 2", "shade N grey", "hardware N handle", "name N porch",
		"figure N left height 1046.3", "figure N top width F"),
	says("fitter", true, "ask check", "ask check N", "withdraw N", "withdraw N", "withdraw N", "send", "send", "answer N yes", "step N delivered", "step N out", "step N fitted",
		"summary", "step N glazed", "step N sealed", "step N wrong too wide", "step N back", "hand over", "summary", "summary", "card", "cards", "why", "list",
		"job", "label mill", "share names", "sheet", "help", "glance", "revoke lead", "invite lead", "invite desk"),
	says("lead", true, "measure N", "undo", "cancel", "summary", "sign N", "sign N", "job", "new", "back"),
	// What was settled of a reading falls when the lead measures another.
	says("lead", false, "1204 1202 1203 1050 1052 1051 skip", "1204 1202 1203 1041 1052 1051 skip", "1214 1202 1203 1050 1052 1051 skip",
		"keep", "figure N left height L", "figure N top width L"),
	says("other", true, "measure N", "sign N", "job", "cancel"),
	says("other", false, "1204 1202 1203 1041 1052 1051 skip", "keep"),
	says("desk", true, "confirm R", "confirm A", "confirm N R", "confirm N A", "query N which side?", "price N 310.50", "due N 12 January 2027", "job"),
	says("stranger", true, "job REF", "sign N", "confirm N R", "measure N", "price N 99", "/start TOKEN", "card", "edit N", "withdraw N", "delete N",
		"figure N top width L", "forget me yes", "England", "summary"),
)

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
	rapid.Check(t, func(t *rapid.T) {
		m := newModel(t, begins[rapid.SampledFrom(names).Draw(t, "begin")])
		for range actsARun {
			m.act()
		}
		m.wayHome()
	})
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
	opened bool              // a lead has seen figures of the fitter's
}

func newModel(t *rapid.T, from *town) *model {
	w := *from
	w.t, w.mute = t, true
	w.out.Reset()
	w.states, w.jobs, w.links, w.said = maps.Clone(w.states), maps.Clone(w.jobs), maps.Clone(w.links), maps.Clone(w.said)
	for chat := range w.said {
		w.said[chat] = slices.Clip(w.said[chat])
	}
	m := &model{town: &w, t: t, known: map[string]string{}, lines: map[string]string{}, signed: map[string]string{}, marks: map[int64]int{}}
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
	before, mine := m.job, m.states[fmt.Sprint(m.chat("fitter"))]
	if rapid.IntRange(0, 3).Draw(m.t, "press") == 0 && m.press(a.who) {
		a.text, a.asks = "a button", a.who == "desk" || a.who == "stranger"
	} else {
		if a.who == "stranger" && m.openLink() {
			a.text = strings.ReplaceAll(a.text, "/start TOKEN", "/start")
		}
		a.text = m.fill(a.text)
		m.t.Logf("%s> %s", a.who, a.text)
		m.person(a.who, "", ">", a.text)
	}
	stored := m.jobs[m.key]
	m.job = m.load(stored)
	m.kept(stored)
	m.read(a.who)
	m.grown(before)
	m.windows()
	m.atHand()
	m.heard(a.who)
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

// kept: what is stored reads as what it was, and the head alone lists the
// windows as the whole job does.
func (m *model) kept(stored job.Stored) {
	again, err := m.job.Encode()
	require.NoError(m.t, err)
	require.Equal(m.t, string(stored.Head), string(again.Head), "the head of the job")
	require.Equal(m.t, stored.Parts, again.Parts, "the windows of the job")
	head := m.load(job.Stored{Head: stored.Head})
	require.Equal(m.t, m.job.List(), head.List(), "the rows of the head")
}

// read: the conversation reads as what it was.
func (m *model) read(who string) {
	raw := jsonOf(m.t, m.states[fmt.Sprint(m.chat(who))])
	var read State
	require.NoError(m.t, json.Unmarshal([]byte(raw), &read))
	require.Equal(m.t, raw, jsonOf(m.t, read), "the state of %s", who)
}

// all are the windows of a job, the deleted ones among them, by number.
func all(j job.Job) map[int]job.Opening {
	list := map[int]job.Opening{}
	for _, o := range j.All() {
		list[o.ID] = o
	}
	for _, b := range j.Bin {
		list[b.Opening.ID] = b.Opening
	}
	return list
}

// grown: a window keeps its number, and a record loses nothing that was said.
func (m *model) grown(before job.Job) {
	now, old := all(m.job), all(before)
	require.GreaterOrEqual(m.t, m.job.LastID, before.LastID)
	require.LessOrEqual(m.t, len(now), m.job.LastID)
	for id, was := range old {
		o, ok := now[id]
		require.True(m.t, ok, "window %d is gone", id)
		require.GreaterOrEqual(m.t, len(o.Said.Entries), len(was.Said.Entries), "the record of window %d lost entries", id)
		require.Equal(m.t, was.Said.Entries, o.Said.Entries[:len(was.Said.Entries)], "the record of window %d was changed", id)
	}
	for id := range now {
		if _, had := old[id]; !had {
			require.Greater(m.t, id, before.LastID, "number %d was used again", id)
		}
	}
}

// lineOf is the order line of a window by what is known of it today, as JSON;
// "" when no plan can be made.
func lineOf(o job.Opening) string {
	l, err := job.NewLine(job.Line{Opening: o.ID, Name: o.Name, Quantity: o.Count}, o.Record(), calc.DefaultSettings())
	if err != nil {
		return ""
	}
	raw, err := json.Marshal(l)
	if err != nil {
		return ""
	}
	return string(raw)
}

// nameless is a line without the name of the window, which nobody signs.
func nameless(line string) string {
	var l job.Line
	if json.Unmarshal([]byte(line), &l) != nil {
		return ""
	}
	l.Name = ""
	raw, _ := json.Marshal(l)
	return string(raw)
}

// windows: the line of today, what the desk was told and what the lead signed
// are one, or the state says that they are not.
func (m *model) windows() {
	for _, o := range m.job.All() {
		line := m.line(o)
		version := fmt.Sprint(o.ID, " ", o.Version)
		if had, ok := m.lines[version]; ok {
			require.Equal(m.t, had, nameless(line), "two lines of window %d have one version", o.ID)
		}
		m.lines[version] = nameless(line)
		switch o.State {
		case job.Survey, job.Checking, job.Differing, job.Agreed, job.Signed, job.Changed:
		default:
			told, ok := o.Told()
			require.True(m.t, ok, "window %d is %s and the desk was told nothing", o.ID, o.State)
			raw, err := json.Marshal(told)
			require.NoError(m.t, err)
			require.Equal(m.t, line, string(raw), "window %d is %s: the line of today, and as it was told", o.ID, o.State)
		}
		m.signature(o, line)
		m.opened = m.opened || o.Check != nil && (o.Check.Seen != nil || o.Check.By != nil || o.Check.Known)
	}
	for _, l := range m.job.OrderCopy().Lines {
		if l.State == job.Confirmed {
			require.False(m.t, m.job.Order.Held, "line %d is confirmed on an order that no longer stands", l.Opening)
		}
	}
}

// line is lineOf, which follows from the record alone.
func (m *model) line(o job.Opening) string {
	key := fmt.Sprint(o.ID, " ", o.Said.LastSeq())
	if _, ok := m.known[key]; !ok {
		m.known[key] = lineOf(o)
	}
	return m.known[key]
}

func (m *model) signature(o job.Opening, line string) {
	if o.State == job.Signed {
		require.NotNil(m.t, o.Signature, "window %d is signed by nobody", o.ID)
	}
	if o.Signature == nil {
		return
	}
	order, err := calc.OrderSize(o.Record().Plan.OrderRequest(calc.DefaultSettings()))
	require.NoError(m.t, err)
	require.JSONEq(m.t, o.Signature.Told.Figures, jsonOf(m.t, order.Size), "the size of window %d is another than was signed", o.ID)
	agreed := o.Said.LastAct(opening.Agree, "shown")
	require.NotNil(m.t, agreed)
	key := fmt.Sprint(o.ID, " ", agreed.Seq)
	if had, ok := m.signed[key]; ok {
		require.Equal(m.t, had, nameless(line), "the line of window %d is another than was signed", o.ID)
	}
	m.signed[key] = nameless(line)
}

// atHand: the card that the fitter can ask for is of the window as the job has
// it, and a window that was begun is in the job.
func (m *model) atHand() {
	chat := m.chat("fitter")
	s := m.states[fmt.Sprint(chat)]
	j := m.job
	s.Job = &j
	if s.Ref != j.Ref || s.Second != nil {
		return
	}
	if s.started() {
		require.NotZero(m.t, s.Editing, "what was typed is in no window")
	}
	_, replies := Step(s, Input{Kind: Typed, Text: "card", Now: m.now, Chat: chat, User: chat, Name: "fitter", Lang: "en"})
	require.NotEmpty(m.t, replies)
	o, ok := j.Find(s.Editing)
	for _, r := range replies {
		if r.Picture == nil {
			continue
		}
		require.True(m.t, ok, "a card of no window")
		want := o.Record().Plan
		want.Name, want.Count = o.Name, r.Picture.Opening.Count // it is drawn once, however many are alike
		require.Equal(m.t, jsonOf(m.t, want), jsonOf(m.t, r.Picture.Opening), "the card, and the window in the job")
	}
}

func jsonOf(t tester, v any) string {
	raw, err := json.Marshal(v)
	require.NoError(t, err)
	return string(raw)
}

func encoded(t tester, j job.Job) job.Stored {
	s, err := j.Encode()
	require.NoError(t, err)
	return s
}

var (
	aReading = regexp.MustCompile(`\b\d{3,4}\.[37]\b`)
	aFirst   = regexp.MustCompile(`\b\d{3,4}\.3\b`)
)

// heard: somebody who acts is answered, and nobody hears or holds what their
// chair may not.
func (m *model) heard(who string) {
	for chat, said := range m.said {
		name := m.names[chat]
		fresh := said[min(m.marks[chat], len(said)):]
		if name == who {
			m.answered(chat, fresh)
		}
		if name == "fitter" {
			continue
		}
		for _, r := range fresh {
			m.mayHear(name, r)
		}
	}
	for _, name := range []string{"desk", "stranger"} {
		require.NotRegexp(m.t, aReading, jsonOf(m.t, m.states[fmt.Sprint(m.chat(name))].Seats), name)
	}
}

func (m *model) answered(chat int64, fresh []Reply) {
	require.NotEmpty(m.t, fresh, "no answer")
	for _, r := range fresh {
		require.NotEmpty(m.t, strings.TrimSpace(words().Plain("en", r.Text)), "an answer without a word")
	}
}

func (m *model) mayHear(name string, r Reply) {
	text := words().Plain("en", r.Text)
	require.NotRegexp(m.t, `\[[a-z]+[a-z0-9.\-_]*\.[a-z0-9.\-_]+\]|<no value>`, text)
	if r.Document != nil {
		text += jsonOf(m.t, r.Document)
	}
	if r.Picture != nil {
		text += jsonOf(m.t, r.Picture)
	}
	for _, row := range r.Buttons {
		for _, b := range row {
			require.LessOrEqual(m.t, len(b.Data), talk.MostData)
			text += " " + words().Plain("en", b.Label) + " " + b.Data
		}
	}
	switch name {
	case "desk":
		require.NotRegexp(m.t, aReading, text, "the desk sees a reading")
	case "stranger":
		require.NotRegexp(m.t, aReading, text, "a stranger sees a reading")
		require.NotRegexp(m.t, `scullery|pantry`, text, "a stranger sees a window")
	default:
		if !m.opened {
			require.NotRegexp(m.t, aFirst, text, "%s sees a first figure", name)
		}
	}
}

// echoed: a length that the fitter was told is taken stands in the record at
// hand.
func (m *model) echoed() {
	chat := m.chat("fitter")
	s := m.states[fmt.Sprint(chat)]
	s.Job = &m.job
	if s.Ref != m.job.Ref {
		return
	}
	echoes := map[string]decimal.Decimal{}
	for _, r := range m.said[chat][m.marks[chat]:] {
		for _, line := range r.Text.Lines["lines"] {
			if value := line.Sub["value"]; line.Key == "echo" && value.Key == "length" {
				echoes[jsonOf(m.t, line.Sub["name"])] = value.Num["mm"]
			}
		}
	}
	if len(echoes) == 0 {
		return
	}
	known := s.known()
	for f := range opening.Fields {
		if mm, ok := echoes[jsonOf(m.t, tell.Name(f.Key))]; ok {
			require.Equal(m.t, mm.String(), known.Value(f.Key), "%s was taken", f.Key)
		}
	}
}

// same: an act that asks, sends, signs or confirms leaves every answer as it was.
func (m *model) same(before job.Job) {
	now := all(m.job)
	require.Equal(m.t, ids(before), ids(m.job), "the windows of the job")
	for id, was := range all(before) {
		o := now[id]
		a, b := was.Known(), o.Known()
		keys := slices.DeleteFunc(a.Differ(&b), func(key opening.Key) bool { return key == "due" || key == "price" })
		require.Empty(m.t, keys, "answers of window %d were changed", id)
	}
}

func ids(j job.Job) []int {
	var list []int
	for _, o := range j.Openings {
		list = append(list, o.ID)
	}
	return list
}

// undone: undo changes no other answers than those of the one act that it takes
// back, and none that somebody else was told of.
func (m *model) undone(before job.Job, s State) {
	for id, o := range all(m.job) {
		was, ok := all(before)[id]
		if !ok || len(o.Said.Entries) == len(was.Said.Entries) {
			continue
		}
		a, b := was.Known(), o.Known()
		for _, e := range o.Said.Entries[len(was.Said.Entries):] {
			if e.Act != opening.TakeBack {
				continue
			}
			require.Equal(m.t, s.Editing, id, "undo took back what was said of another window")
			var own []opening.Key
			for _, old := range was.Said.Entries {
				switch {
				case old.Turn == e.Of:
					own = append(own, old.Key)
					require.NotEqual(m.t, opening.Settled, old.How, "undo took back what was settled")
				case old.Turn > e.Of:
					require.NotContains(m.t, []opening.Act{opening.Tell, opening.Agree}, old.Act, "undo took back what was told")
				}
			}
			require.Subset(m.t, append(own, "-"), append(a.Differ(&b), "-"), "undo of window %d", id)
		}
	}
}

// wayHome: from wherever the acts led, the job can be brought to its end.
func (m *model) wayHome() {
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
		case o.State == job.Queried:
			do("fitter", "answer %d yes", o.ID)
		}
		if o, _ = m.job.Find(o.ID); len(o.Lacks()) > 0 || lineOf(o) == "" {
			do("fitter", "delete %d", o.ID)
		}
	}
	if len(m.job.Openings) == 0 {
		return
	}
	do("fitter", "send")
	for _, o := range m.job.All() {
		if o.State == job.Ordered {
			do("desk", "confirm %d %s", o.ID, job.RevisionName(m.job.Order.Revision))
		}
		for _, step := range []string{"delivered", "out", "fitted", "glazed", "sealed"} {
			do("fitter", "step %d %s", o.ID, step)
		}
	}
	do("fitter", "hand over")
	for _, o := range m.job.All() {
		require.Equal(m.t, job.Handed, o.State, "window %d has no way to its end", o.ID)
	}
}
