package dialog

import (
	"encoding/base64"
	"errors"
	"hash/fnv"
	"slices"
	"strings"

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
	a := t.answers()
	if !a.CanOrder() || !t.before.CanOrder() || t.doubted {
		t.sayOrder()
		return
	}
	order, err := t.orderOf(a)
	old, gone := t.orderOf(t.before)
	if err != nil || gone != nil {
		t.sayOrder()
		return
	}
	levelled := a.Has("sill.fall") && !t.before.Has("sill.fall")
	if levelled && t.Change == "" && t.Asking == "" && order.Size.Width.Equal(old.Size.Width) && order.Size.Height.Equal(old.Size.Height) && len(order.Warnings) <= len(old.Warnings) {
		return // the level was asked for, and changed nothing
	}
	t.say(plan.NewOrderLines(order, a.Number("sill"), &old)...)
}

// sayMoved says the order size where it is another than before.
func (t *turn) sayMoved() {
	a := t.answers()
	old, err := t.orderOf(t.before)
	now, gone := t.orderOf(a)
	if err != nil || gone != nil || !t.before.CanOrder() || !a.CanOrder() || now.Size.Width.Equal(old.Size.Width) && now.Size.Height.Equal(old.Size.Height) {
		return
	}
	t.say(plan.NewOrderLines(now, a.Number("sill"), &old)...)
}

// sayOrder says the order size with the sum and its reasons.
func (t *turn) sayOrder() {
	a := t.answers()
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

// summarise ends the survey with the card, the plan and the warnings. Warnings
// that were said of this window before are repeated only in a whole summary.
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
	if len(t.lines) > 0 {
		t.replies = append(t.replies, t.message())
	}
	t.replies = append(t.replies, t.picture(p))
	t.say(p.Lines()...)
	t.sayFaces(p.Layout)
	t.replies = append(t.replies, t.message())
	t.say(t.warnings(p, whole)...)
	t.buttons = t.doneButtons()
	t.replies = append(t.replies, t.message())
}

// warnings are the lines to say, and notes them as said. The first line is the
// title, then comes one a finding, and the last one is the caution that always
// stands; so does what must be done.
func (t *turn) warnings(p plan.Plan, whole bool) []phrase.Text {
	lines := p.WarningLines()
	all, caution := lines[1:len(lines)-1], lines[len(lines)-1]
	said := []phrase.Text{lines[0]}
	marks := make([]string, len(all))
	gone := slices.Clone(t.Told)
	for i, line := range all {
		marks[i] = markOf(line)
		at := slices.Index(gone, marks[i])
		if at >= 0 {
			gone = slices.Delete(gone, at, at+1)
		}
		if s := p.Findings[i].Severity; at < 0 || s == safety.Stop || s == safety.Must {
			said = append(said, line)
		}
	}
	again := t.Told != nil && !whole
	t.Told = marks
	if !again {
		return lines
	}
	if len(gone) > 0 {
		said = append(said, phrase.Of("warnings.gone").WithInt("count", len(gone)))
	}
	return append(said, phrase.Of("warnings.rest"), caution)
}

// markOf is a short hash of a line.
func markOf(line phrase.Text) string {
	h := fnv.New32a()
	line.Digest(h)
	return base64.RawStdEncoding.EncodeToString(h.Sum(nil))
}

func (t *turn) picture(p plan.Plan) Reply {
	caption := phrase.Of("card.caption").With("width", p.Order.Size.Width).With("height", p.Order.Size.Height)
	picture := Picture{Opening: p.Opening}
	if o, ok := t.window(); ok {
		picture = t.pictureOf(o, p)
	}
	return Reply{Text: caption, Lang: t.lang(), Picture: &picture, Open: t.open()}
}

// pictureOf is the card of a window of the job.
func (t *turn) pictureOf(o job.Opening, p plan.Plan) Picture {
	p.Opening.Name = o.Name
	return Picture{Opening: p.Opening, Job: strings.TrimSuffix(t.Job.Ref+", "+t.Job.Label, ", "), Glass: o.Record().MakeUp}
}

// sayFaces names the face widths behind the glass sizes that are examples and
// not the crew's own.
func (t *turn) sayFaces(l calc.Layout) {
	opens := slices.ContainsFunc(l.Lights, func(light calc.Light) bool { return light.Hinge != calc.FixedLight })
	used := map[string]bool{"outer": true, "rebate": true, "sash": opens, "mullion": len(l.Lights) > 1}
	a := t.answers()
	var examples []phrase.Text
	for f := range opening.Fields {
		if name := strings.TrimPrefix(f.Key, opening.CrewPrefix); f.Is(opening.Example) && used[name] && !a.Has(f.Key) {
			examples = append(examples, phrase.Of("settings.face").Word("name", "setting."+name).With("mm", number(usualSetting(f))))
		}
	}
	if len(examples) > 0 {
		t.say(phrase.Of("settings.faces").WithRow("faces", examples...))
	}
}

// summary shows what is known: the whole plan when the survey is complete,
// else the answers so far.
func summary(t *turn) {
	if t.done() {
		t.quiet = true
		t.summarise(true)
		return
	}
	a := t.answers()
	lines := []phrase.Text{phrase.Of("sofar.title")}
	for f := range opening.Fields {
		if q := (*question)(f); a.Has(q.Key) && f.Scope != opening.CrewWide {
			lines = append(lines, phrase.Of("echo").Sub1("name", tell.Name(q.Key)).Sub1("value", q.stored(a.Value(q.Key))))
		}
	}
	t.say(lines...)
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

// why says which readings and which rules gave the figures.
func why(t *turn) {
	a := t.answers()
	if !a.CanOrder() {
		t.say(phrase.Of("why.notyet"))
		return
	}
	if q := t.next(a); q != nil && (q.Key == "sill.fall" || q.Key == "lean") {
		t.say(phrase.Of("reason." + q.Key)) // what the size does not explain
	}
	t.sayOrder()
	if !t.done() {
		return
	}
	p, err := plan.Make(a.Opening(), calc.DefaultSettings())
	if err != nil {
		t.say(refusal(err))
		return
	}
	t.say(p.ReasonLines()...)
	t.buttons = t.doneButtons()
}
