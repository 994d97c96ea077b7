package dialog

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// What TestModel demands after each act.

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
		require.Equal(m.t, m.withoutDropped(was.Said.Entries, o.Said.Entries), o.Said.Entries[:len(was.Said.Entries)], "the record of window %d was changed", id)
	}
	for id := range now {
		if _, had := old[id]; !had {
			require.Greater(m.t, id, before.LastID, "number %d was used again", id)
		}
	}
}

// withoutDropped are the entries without the photos that are deleted since.
func (m *model) withoutDropped(was, now []opening.Entry) []opening.Entry {
	was = slices.Clone(was)
	for i := range was {
		if was[i].Act == opening.Pictured && i < len(now) && now[i].Value == "" {
			was[i].Value, was[i].Typed = "", ""
		}
	}
	return was
}

// lineOf is the order line of a window by what is known of it today, as JSON;
// "" when no plan can be made.
func lineOf(o job.Opening) string {
	l, err := job.NewLine(job.Line{Opening: o.ID, Name: o.Name, Quantity: o.Count}, o.Record(), calc.DefaultSettings())
	if err != nil {
		return ""
	}
	l.Holds = nil // it went out because they were taken on, see fit
	raw, err := json.Marshal(l)
	if err != nil {
		return ""
	}
	return string(raw)
}

// fit: what went to the desk has nothing against it but what somebody took on, and no
// stop.
func (m *model) fit(o job.Opening, told job.Line) {
	require.NotNil(m.t, told.Against, "window %d went out without a look at what stands against it", o.ID)
	on := map[string]bool{}
	for _, p := range told.Against {
		require.False(m.t, p.Stops(), "window %d went out with a stop: %s", o.ID, p.About)
		on[p.About] = true
	}
	for _, s := range o.Standing(calc.DefaultSettings()) {
		require.True(m.t, on[s.About], "window %d went out with %s, which stands against it", o.ID, s.About)
	}
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
			m.fit(o, told)
			told.Against, told.Holds = nil, nil
			raw, err := json.Marshal(told)
			require.NoError(m.t, err)
			require.Equal(m.t, nameless(line), nameless(string(raw)), "window %d is %s: the line of today, and as it was told", o.ID, o.State)
		}
		m.signature(o, line)
		for _, name := range []string{"lead", "other"} {
			m.opened[name] = m.opened[name] || m.job.Sees(m.chat(name), o.ID)
		}
	}
	for _, l := range m.job.OrderCopy().Lines {
		for _, p := range l.Against {
			require.NotNil(m.t, p.By, "line %d went out and nobody took on %s", l.Opening, p.About)
		}
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
		require.Contains(m.t, r.Picture.Job, j.Ref, "the card says of which job it is")
		require.Equal(m.t, o.Record().MakeUp, r.Picture.Glass)
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

var aReading = regexp.MustCompile(`\b\d{3,4}\.[37]\b`)

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
	if s := m.states[fmt.Sprint(chat)].Shot; len(fresh) == 0 && s != nil && s.Just {
		require.NotEmpty(m.t, s.Album, "no answer to a photo")
		return // a further one of an album
	}
	require.NotEmpty(m.t, fresh, "no answer")
	for _, r := range fresh {
		if r.Picture == nil { // the card stands between words
			require.NotEmpty(m.t, strings.TrimSpace(words().Plain("en", r.Text)), "an answer without a word")
		}
	}
}

func (m *model) mayHear(name string, r Reply) {
	text := words().Plain("en", r.Text)
	require.NotRegexp(m.t, `\[[a-z]+[a-z0-9.\-_]*\.[a-z0-9.\-_]+\]|<no value>`, text)
	if r.Document != nil {
		text += jsonOf(m.t, r.Document)
	}
	for _, shot := range r.Shots {
		own := strings.HasPrefix(shot.File, "x") && r.Of == nil // sent there, before there was a chair
		require.True(m.t, own || m.job.SharePhotos && r.Protected && name != "stranger", "%s sees a photo that is not shared, or may pass it on", name)
		text += jsonOf(m.t, shot)
	}
	if r.Picture != nil {
		text += jsonOf(m.t, r.Picture) + jsonOf(m.t, r.More)
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
		if !m.opened[name] {
			require.NotRegexp(m.t, aReading, text, "%s sees a figure of somebody else's", name)
		}
	}
}

// receipts: the desk has what the job says it has, and who is out of reach is known
// to the job once something was for them.
func (m *model) receipts() {
	for _, s := range m.job.Shares {
		if s.UsedBy == 0 || s.Revoked {
			continue
		}
		got := func(r Reply) bool { return r.Of != nil && r.Of.Order >= s.Got }
		require.True(m.t, s.Got == 0 || slices.ContainsFunc(m.said[s.UsedBy], got), "a receipt for an order that %s was never shown", s.Role)
		missed := m.states[fmt.Sprint(s.UsedBy)].Missed
		of := func(l Letter) bool { return l.Ref == m.job.Ref && l.From == m.job.Owner.Chat }
		require.Equal(m.t, missed != nil && slices.ContainsFunc(missed.From, of), !s.Lost.IsZero(), "%s missed something of the job, and the job knows", s.Role)
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

// ownMeasures: as long as a check lasts, nobody's measure is changed by an act of
// somebody else's.
func (m *model) ownMeasures(before job.Job, who string) {
	for id, was := range all(before) {
		now := all(m.job)[id]
		if was.Check == nil || now.Check == nil || was.Check.Asked != now.Check.Asked || len(now.Check.Leads) == 0 {
			continue
		}
		for _, old := range was.Check.Leads {
			i := slices.IndexFunc(now.Check.Leads, func(l job.Measure) bool { return l.By.Person == old.By.Person })
			require.GreaterOrEqual(m.t, i, 0, "a measure of window %d is gone", id)
			if old.By.Person != m.chat(who) {
				require.Equal(m.t, jsonOf(m.t, old), jsonOf(m.t, now.Check.Leads[i]), "a measure of window %d was changed by %s", id, who)
			}
		}
	}
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
			var own []opening.Key
			for _, old := range was.Said.Entries {
				if old.Turn == e.Of && old.By == e.By && old.Act == opening.Set && s.Editing != id && opening.Find(old.Key) != nil { // what is said of the day may be of any window
					require.Equal(m.t, opening.ForAll, old.How, "undo took back what was said of another window")
				}
				switch {
				case old.Turn == e.Of && old.By == e.By:
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
