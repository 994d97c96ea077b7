package dialog

import (
	"cmp"
	"encoding/base64"
	"errors"
	"hash/fnv"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/tell"
)

// sayNewOrder says the order size as soon as the answers allow it, and later
// what a further answer has changed of it.
func (t *turn) sayNewOrder() {
	a, before := t.taken(), t.takenBefore()
	if !a.CanOrder() || !before.CanOrder() || t.doubted {
		t.sayOrder()
		return
	}
	order, err := t.orderOf(a)
	old, gone := t.orderOf(before)
	if err != nil || gone != nil {
		t.sayOrder()
		return
	}
	levelled := a.Has("sill.fall") && !before.Has("sill.fall")
	if levelled && t.Change == "" && t.Asking == "" && order.Size.Width.Equal(old.Size.Width) && order.Size.Height.Equal(old.Size.Height) && len(order.Warnings) <= len(old.Warnings) {
		return // the level was asked for, and changed nothing
	}
	t.say(plan.NewOrderLines(order, a.Number("sill"), &old)...)
}

// sayMoved says the order size where it is another than before.
func (t *turn) sayMoved() {
	a, before := t.taken(), t.takenBefore()
	old, err := t.orderOf(before)
	now, gone := t.orderOf(a)
	if err != nil || gone != nil || !before.CanOrder() || !a.CanOrder() || now.Size.Width.Equal(old.Size.Width) && now.Size.Height.Equal(old.Size.Height) {
		return
	}
	t.say(plan.NewOrderLines(now, a.Number("sill"), &old)...)
}

// sayOrder says the order size with the sum and its reasons.
func (t *turn) sayOrder() {
	a := t.taken()
	if !a.CanOrder() {
		return
	}
	order, err := t.orderOf(a)
	if err != nil {
		t.say(refusal(err))
		return
	}
	t.say(plan.OrderLines(order, a.Number("sill"))...)
}

// takenBefore is what counted as answered when the turn began.
func (t *turn) takenBefore() *opening.Known {
	if t.Same {
		return t.before
	}
	return t.before.Own()
}

// orderOf is the order by what is known. That nobody levelled the sill is said once
// it was asked.
func (t *turn) orderOf(a *opening.Known) (calc.Order, error) {
	order, err := t.order(a)
	if !a.Has("sill.fall") {
		order.Warnings = slices.DeleteFunc(slices.Clone(order.Warnings), func(r calc.Reason) bool { return r.Rule == "sill_fall_unknown" })
	}
	return order, err
}

// refusal is why no answer can be given, and what to do.
func refusal(err error) phrase.Text {
	var refused *calc.RefusalError
	if errors.As(err, &refused) {
		return plan.RefusalText(refused)
	}
	return phrase.Of("error.internal")
}

// summarise ends the survey with the card and the answer on one screen. After a change
// it says what changed alone, unless the whole was asked for.
func (t *turn) summarise(whole bool) {
	p, err := plan.Make(t.answers().Opening(), calc.DefaultSettings())
	if err != nil {
		t.say(refusal(err))
		t.buttons = t.changeButtons()
		t.replies = append(t.replies, t.message())
		return
	}
	t.review()
	t.buttons = nil
	before, again := t.told()
	t.ToldAt = t.said().LastSeq()
	card := t.picture(p)
	if !again && t.inPlace && t.under != 0 && len(t.replies) == 0 {
		t.sayScreen(p, whole) // where the last question stood, and the card under it
		t.replies = append(t.replies, card)
		return
	}
	drawn := !again || whole || onCard(before) != onCard(answerOf(p, t.answers()))
	if len(t.lines) > 0 {
		if drawn { // the size stands in the first message, before the card is drawn
			t.say(card.Text)
			card.Text = phrase.Text{}
		}
		t.replies = append(t.replies, t.message())
	}
	if drawn {
		t.replies = append(t.replies, card)
	}
	if again && !whole {
		t.sayChanged(before, p)
		return
	}
	t.sayScreen(p, whole)
}

// sayScreen says the whole answer, with the rules and the stores folded under it.
func (t *turn) sayScreen(p plan.Plan, whole bool) {
	once := t.once(p)
	said := func(f safety.Finding) bool { return !whole && once(f) }
	for _, row := range p.Screen(makeUpOf(t.answers()), said) {
		if row.Text.Key != "screen.unmeasured.none" || len(t.stillCopied()) == 0 {
			t.say(row.Text)
		}
	}
	t.say(t.stillCopied()...)
	t.say(t.openDoubts()...)
	faces := t.sayOfJob(p, once)
	t.say(phrase.Of("screen.caution"))
	offer := t.offerItems()
	t.buttons = append(offer, t.doneButtons()...)
	r := t.message()
	r.Folded = slices.Concat(p.Folded(said), faces, p.Why("stores"))
	t.replies = append(t.replies, r)
}

// makeUpOf is the glass as it was said, "" where it is not known.
func makeUpOf(k *opening.Known) string {
	if v := k.Value("glass"); v != skipped {
		return v
	}
	return ""
}

// asTold is an answer as it was said: its rows, and the plan behind them.
type asTold struct {
	plan plan.Plan
	rows []plan.Row
}

// told is the answer that was said last of the window at hand; ok is false when none
// was.
func (t *turn) told() (was asTold, ok bool) {
	entries := t.said().Entries
	n := 0
	for n < len(entries) && entries[n].Seq <= t.ToldAt {
		n++
	}
	k := opening.Record{Entries: entries[:n]}.Known()
	if n == 0 || !k.CanOrder() {
		return asTold{}, false
	}
	p, err := plan.Make(k.Opening(), calc.DefaultSettings())
	return answerOf(p, &k), err == nil
}

// answerOf is the whole answer, with what was said of the job and the room before.
func answerOf(p plan.Plan, k *opening.Known) asTold {
	return asTold{p, p.Screen(makeUpOf(k), func(safety.Finding) bool { return false })}
}

// sayChanged says what is another than it was, and sends the card if it is.
func (t *turn) sayChanged(was asTold, p plan.Plan) {
	now := answerOf(p, t.answers())
	for _, row := range now.rows {
		if row.Part == plan.StopPart {
			t.say(row.Text) // whenever a size is looked at
		}
	}
	changed := plan.Changed(was.rows, now.rows)
	if len(changed) > 0 {
		t.say(phrase.Of("screen.changed"))
		t.say(changed...)
	} else {
		t.say(phrase.Of("screen.same"))
	}
	t.say(t.stillCopied()...)
	t.say(t.openDoubts()...)
	once := t.once(p)
	faces := t.sayOfJob(p, once)
	t.say(phrase.Of("warnings.rest"))
	t.buttons = t.doneButtons()
	r := t.message()
	r.Folded = append(p.Folded(func(f safety.Finding) bool { return once(f) || was.says(f) }), faces...)
	t.replies = append(t.replies, r)
}

// says reports whether a rule said the same before.
func (a asTold) says(f safety.Finding) bool {
	return slices.ContainsFunc(a.plan.Findings, func(old safety.Finding) bool {
		return plan.FindingText(old).Same(plan.FindingText(f))
	})
}

// onCard tells what is on one card from what is on another.
func onCard(a asTold) string {
	h := fnv.New64a()
	for _, row := range a.rows {
		if row.Part != plan.RiskPart && row.Part != plan.UnmeasuredPart {
			row.Text.Digest(h)
		}
	}
	for _, f := range a.plan.Findings {
		plan.FindingText(f).Digest(h)
	}
	o := a.plan.Opening
	foot := phrase.Of(string(o.Nation)).Saying("date", o.Date).Saying("room", string(o.Room)).
		WithNumbers("readings", slices.Concat(o.Widths[:], o.Heights[:], []decimal.Decimal{o.Rising, o.Falling}))
	foot.Digest(h)
	return string(h.Sum(nil))
}

// once says of the findings that hold for the whole job or a room whether they were
// said in this job before, and notes that they are said now. Without a job it is
// since the last new window.
func (t *turn) once(p plan.Plan) (said func(safety.Finding) bool) {
	if t.ToldOf != "" && t.ToldOf != t.Ref {
		t.Told = nil
	}
	t.ToldOf = t.Ref
	before := slices.Clone(t.Told)
	place := cmp.Or(p.Opening.RoomName, string(p.Opening.Room))
	mark := func(f safety.Finding) string {
		text := plan.FindingText(f)
		if f.Scope == safety.OfRoom {
			text = text.Saying("in", place)
		}
		return markOf(text)
	}
	for _, f := range p.Findings {
		if f.Scope != safety.OfWindow && !f.CardOnly && !slices.Contains(t.Told, mark(f)) {
			t.Told = append(t.Told[:len(t.Told):len(t.Told)], mark(f))
		}
	}
	return func(f safety.Finding) bool {
		return f.Scope != safety.OfWindow && slices.Contains(before, mark(f))
	}
}

// sayOfJob names what holds for the whole job and was not said before; its full words
// are folded, and why says them. It gives those about example faces.
func (t *turn) sayOfJob(p plan.Plan, said func(safety.Finding) bool) (faces []phrase.Text) {
	about := map[string]bool{}
	for _, f := range p.OfJob() {
		about[plan.JobName(f)] = about[plan.JobName(f)] || !said(f)
	}
	if text := t.faces(p.Layout); text.Key != "" && !slices.Contains(t.Told, facesMark) {
		t.Told = append(t.Told[:len(t.Told):len(t.Told)], facesMark)
		faces, about["faces"] = append(faces, text), true
	}
	var names []phrase.Text
	for _, name := range plan.JobNames {
		if about[name] {
			names = append(names, phrase.Of("job.once."+name))
		}
	}
	if len(names) > 0 {
		t.say(phrase.Of("screen.job").WithRow("names", names...))
	}
	return faces
}

// facesMark stands among the marks of what was said once.
const facesMark = "faces"

// markOf is a short hash of a line.
func markOf(line phrase.Text) string {
	h := fnv.New32a()
	line.Digest(h)
	return base64.RawStdEncoding.EncodeToString(h.Sum(nil))
}

func (t *turn) picture(p plan.Plan) Reply {
	caption := phrase.Of("card.caption").With("width", p.Order.Size.Width).With("height", p.Order.Size.Height)
	picture := Picture{Opening: p.Opening, Glass: makeUpOf(t.answers())}
	if o, ok := t.window(); ok {
		picture = t.pictureOf(o, p)
	}
	return Reply{Text: caption, Lang: t.lang(), Picture: &picture, Open: t.open()}
}

// pictureOf is the card of a window of the job.
func (t *turn) pictureOf(o job.Opening, p plan.Plan) Picture {
	p.Opening.Name = o.Name
	return Picture{Opening: p.Opening, Window: o.ID, Job: strings.TrimSuffix(t.Job.Ref+", "+t.Job.Label, ", "), Glass: o.Record().MakeUp}
}

// faces names the face widths behind the glass sizes that are examples and not the
// crew's own; it says nothing when there are none.
func (t *turn) faces(l calc.Layout) phrase.Text {
	opens := slices.ContainsFunc(l.Lights, func(light calc.Light) bool { return light.Hinge != calc.FixedLight })
	used := map[string]bool{"outer": true, "rebate": true, "sash": opens, "mullion": len(l.Lights) > 1}
	a := t.answers()
	var examples []phrase.Text
	for f := range opening.Fields {
		if name := strings.TrimPrefix(f.Key, opening.CrewPrefix); f.Is(opening.Example) && used[name] && !a.Has(f.Key) {
			examples = append(examples, phrase.Of("settings.face").Word("name", "setting."+name).With("mm", number(usualSetting(f))))
		}
	}
	if len(examples) == 0 {
		return phrase.Text{}
	}
	return phrase.Of("settings.faces").WithRow("faces", examples...)
}

// summary shows what is known: the whole plan when the survey is complete,
// else the answers so far.
func summary(t *turn) {
	if t.done() {
		t.quiet = true
		t.summarise(true)
		return
	}
	a := t.taken()
	lines := []phrase.Text{phrase.Of("sofar.title")}
	for f := range opening.Fields {
		if q := (*question)(f); a.Has(q.Key) && f.Scope != opening.CrewWide {
			lines = append(lines, phrase.Of("echo").Sub1("name", tell.Name(q.Key)).Sub1("value", q.stored(a.Value(q.Key))))
		}
	}
	t.say(append(append(lines, t.stillCopied()...), t.openDoubts()...)...)
	if a.CanOrder() {
		t.sayOrder()
	}
}

// card sends the card again, or says what is still missing.
func card(t *turn) {
	if !t.done() {
		t.say(phrase.Of("card.notyet"))
		return
	}
	p, err := plan.Make(t.answers().Opening(), calc.DefaultSettings())
	if err != nil {
		t.say(refusal(err))
		return
	}
	t.replies = append(t.replies, t.picture(p))
	t.quiet = true
}
