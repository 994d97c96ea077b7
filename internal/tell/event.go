package tell

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// mostChanges is how many differences between two revisions a message says; the
// sheet says all.
const mostChanges = 20

// Event is an event in words, with the buttons and the paper for who is told.
func (v View) Event(e job.Event, to job.Recipient) talk.Reply {
	role := to.Role
	text := e.Text()
	if e.Due != "" {
		text = text.Sub1("due", StoredDay(e.Due))
	}
	if price, ok := text.Num["price"]; ok {
		text = text.Saying("price", "£"+price.StringFixed(2))
	}
	lines := []phrase.Text{text}
	if e.Kind == job.OrderConfirmed && role == job.Fitter {
		lines = append(lines, phrase.Of("job.step."+string(job.DoDeliver)))
	}
	for _, change := range e.Changes[:min(len(e.Changes), mostChanges)] {
		lines = append(lines, phrase.Of("job.change.line").Sub1("change", change.Text()))
	}
	if left := len(e.Changes) - mostChanges; left > 0 {
		lines = append(lines, phrase.Of("job.change.more").WithInt("count", left))
	}
	if lapsed := e.Say["lapsed"]; lapsed != "" {
		lines = append(lines, phrase.Of("job.lapsed").Saying("names", lapsed))
	}
	var buttons [][]talk.Button
	switch e.Kind {
	case job.CheckAsked:
		if role == job.Lead {
			lines, buttons = v.checkLines(lines, to.Chat)
		}
	case job.ReadingsDiffer, job.ReadingSettled, job.ReadingAgain:
		lines, buttons = v.differenceLines(lines, e, to)
	case job.ReadingsAgree, job.AllSettled, job.FiguresOpened:
		if role == job.Lead {
			lines, buttons = v.signLines(lines, e, to.Chat)
		}
	case job.MeasuredBeside:
		lines, buttons = v.besideLines(lines, e)
	case job.MeasureKept:
		lines = append(lines, keptLines(e, role)...)
	case job.OrderConfirmed:
		if role == job.Fitter {
			buttons = v.StepButtons(v.everyOpening()...)
		}
	case job.LinesTold, job.LinesPromised, job.WordsKept:
		lines, buttons = v.toldLines(lines, e, role)
	case job.LineQueried:
		if role == job.Fitter {
			lines = append(lines, v.howToAnswer(e)...)
		}
	case job.OrderStands:
		if role == job.Desk {
			buttons = v.confirmButtons(v.Job.OrderCopy())
		}
	case job.OrderSent, job.OrderRevised, job.QueryAnswered:
		if role == job.Desk {
			lines, buttons = v.orderLines(lines)
		}
	}
	lines = append(lines, v.photosOf(e, role)...)
	return talk.Reply{Text: phrase.Of("message").WithLines("lines", lines...), Buttons: buttons, Document: v.enclosed(e, to)}
}

// besideLines offer a lead who has not measured to do it, or to look.
func (v View) besideLines(lines []phrase.Text, e job.Event) ([]phrase.Text, [][]talk.Button) {
	name := e.Say["name"]
	return lines, [][]talk.Button{{
		v.Button("job.measure", name, "measure", e.Openings[0], name), v.Button("job.look", name, "look", e.Openings[0]),
	}}
}

// keptLines say what becomes of readings that nobody waited for.
func keptLines(e job.Event, role job.Role) []phrase.Text {
	deleted := e.Words["state"] == "job.state."+string(job.Deleted)
	if role != job.Fitter {
		return nil
	}
	var lines []phrase.Text
	if apart := e.Figures["count"]; apart.IsPositive() {
		lines = append(lines, phrase.Of("job.kept.apart").With("count", apart))
	}
	if deleted {
		return append(lines, phrase.Of("job.kept.deleted"))
	}
	return append(lines, phrase.Of("job.kept.ask").With("n", e.Figures["n"]))
}

func (v View) everyOpening() []int {
	ids := make([]int, len(v.Job.Openings))
	for i, o := range v.Job.Openings {
		ids[i] = o.ID
	}
	return ids
}

// enclosed is the paper that goes with an event, nil for none.
func (v View) enclosed(e job.Event, to job.Recipient) *talk.Document {
	role := to.Role
	switch {
	case role == job.Desk && (e.Kind == job.OrderSent || e.Kind == job.OrderRevised):
		return &talk.Document{Paper: talk.OrderPDF, Order: new(v.Job.OrderCopy()), At: v.Now}
	case role == job.Lead && e.Kind == job.CheckAsked:
		return v.CheckPaper(to.Chat)
	}
	return nil
}

// toldLines say what an event has recorded of several lines, and to who recorded
// what they were told what was not said, once.
func (v View) toldLines(lines []phrase.Text, e job.Event, role job.Role) ([]phrase.Text, [][]talk.Button) {
	if e.Kind == job.WordsKept {
		return append(lines, v.supplierWords(e)...), nil
	}
	lines = append(lines, v.perLine(e, role)...)
	o, ok := v.Job.Find(e.Openings[0])
	if !ok || o.Supply.Told == nil || e.Kind != job.LinesTold {
		return lines, nil
	}
	c, first := *o.Supply.Told, e.Figures["first"].IsPositive()
	missing := c.Heard.Missing(o.Supply.Due)
	if c.Heard.Way == job.ByFile { // nobody said it
		missing = slices.DeleteFunc(missing, func(name string) bool { return name == "by" })
	}
	if role == e.By && len(missing) > 0 && first {
		var names []phrase.Text
		for _, name := range missing {
			names = append(names, phrase.Of("told.missing."+name))
		}
		lines = append(lines, phrase.Of("told.missing").WithRow("names", names...).Saying("lines", e.Say["lines"]))
	}
	if role == job.Fitter && e.Figures["open"].IsZero() && first {
		return append(lines, phrase.Of("job.step."+string(job.DoDeliver))), v.StepButtons(v.everyOpening()...)
	}
	return lines, nil
}
