package tell

import (
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// List says how the job and each of its windows stand; others are further jobs
// of the chat. Buttons settle what the two measures differ in.
func (v View) List(others []string) (lines []phrase.Text, settle [][]talk.Button) {
	j := v.Job
	lines = append(lines, phrase.Of("job.title").Saying("ref", j.Ref).Saying("label", spaceBefore(j.Label)).Sub1("state", j.Stage().Text()))
	rows := j.List()
	if slices.ContainsFunc(rows, func(r job.Row) bool { return r.Told }) && j.Stage() == job.Confirmed {
		lines[0] = lines[0].Word("state", "job.state.told")
	}
	if j.Address != "" {
		lines = append(lines, phrase.Of("job.address").Saying("address", j.Address))
	}
	lines = append(lines, v.reach()...)
	if j.Contact != "" {
		lines = append(lines, phrase.Of("job.contact").Saying("contact", j.Contact))
	}
	if len(rows) == 0 {
		lines = append(lines, phrase.Of("job.empty"))
	}
	if len(rows) > PageSize {
		lines = append(lines, v.summary(rows), phrase.Of("job.list.how"))
		settle = v.pageButtons(0, len(rows))
	} else {
		var more []phrase.Text
		more, settle = v.rows(rows)
		lines = append(lines, more...)
	}
	var refs []phrase.Text
	for _, ref := range others {
		if ref != j.Ref {
			refs = append(refs, phrase.Of("job.ref").Saying("ref", ref))
		}
	}
	if len(refs) > 0 {
		lines = append(lines, phrase.Of("job.others").WithRow("refs", refs...))
	}
	return lines, settle[:min(len(settle), mostRows)]
}

// rows say how each of those windows stands, with buttons to settle what the two
// measures differ in.
func (v View) rows(rows []job.Row) (lines []phrase.Text, settle [][]talk.Button) {
	for _, row := range rows {
		lines = append(lines, v.row(row))
		lines = append(lines, partLines(row)...)
		if v.Job.Unread(row.ID) {
			lines = append(lines, phrase.Of("job.row.unread").WithInt("n", row.ID))
			continue
		}
		if o, ok := v.Job.Find(row.ID); ok && row.Told && o.OnlyTold() {
			lines = append(lines, v.told(*o.Supply.Told))
		}
		if under := v.Job.Under(row.ID); under != "" {
			lines = append(lines, phrase.Of("job.line.under").Saying("revision", under))
		}
		if row.Questions > 0 {
			lines = append(lines, v.openQuestions(row.ID)...)
		}
		lines = append(lines, v.rowAgainst(row, len(rows) <= mostSpelt)...)
		if row.State == job.Changed {
			lines = append(lines, v.toldAndNow(row.ID)...)
		}
		if row.State == job.Differing {
			var more [][]talk.Button
			lines, more = v.differenceLines(lines, job.Event{Openings: []int{row.ID}}, job.Recipient{Chat: v.Job.Owner.Chat, Role: job.Fitter})
			settle = append(settle, more...)
		}
	}
	return lines, settle
}

// partLines say where the pieces of a window stand that are not all alike.
func partLines(row job.Row) []phrase.Text {
	var parts []phrase.Text
	for _, p := range row.Parts() {
		parts = append(parts, phrase.Of("job.row.part").WithInt("count", p.Count).WithInt("of", row.Count).Sub1("state", p.State.Text()))
	}
	if parts == nil {
		return nil
	}
	if n := row.Replaced(); n > 0 {
		parts = append(parts, phrase.Of("job.row.part").WithInt("count", n).WithInt("of", row.Count).Sub1("state", job.Replaced.Text()))
	}
	return []phrase.Text{phrase.Of("job.row.parts").WithRow("parts", parts...)}
}

func (v View) row(row job.Row) phrase.Text {
	line := phrase.Of("job.row").WithInt("n", row.ID).Saying("name", row.Name).WithInt("alike", row.Count).Sub1("state", row.State.Text())
	if row.Told && row.State == job.Confirmed {
		line = line.Word("state", "job.state.told")
	}
	switch {
	case len(row.Lacks) == 0 && row.Signed != nil:
		line.Key = "job.row.signed"
		return line.Sub1("when", v.When(row.Signed.At)).Word("by", "role."+string(row.Signed.Role))
	case len(row.Lacks) == 0:
		return line
	}
	var lacks []phrase.Text
	for _, key := range row.Lacks {
		lacks = append(lacks, Name(key))
	}
	line.Key = "job.row.lacks"
	return line.WithRow("lacks", lacks...)
}

// mostSpelt is up to how many windows the list says what stands against each, and not
// only how much.
const mostSpelt = 5

// rowAgainst is what stands against a window of the list.
func (v View) rowAgainst(row job.Row, spelt bool) []phrase.Text {
	if row.Against <= 0 {
		return nil
	}
	head := phrase.Of("job.row.against").WithInt("n", row.ID).WithInt("points", row.Against)
	if !spelt {
		return []phrase.Text{head}
	}
	o, ok := v.Job.Find(row.ID)
	if !ok {
		return []phrase.Text{head}
	}
	return pointLines(job.WithoutItems(job.Open(o.Standing(calc.DefaultSettings()))))
}

// toldAndNow sets the size that the desk was sent beside today's, when they
// differ.
func (v View) toldAndNow(id int) []phrase.Text {
	o, _ := v.Job.Find(id)
	told, ok := o.Told()
	plan := o.Record().Plan
	now, err := calc.OrderSize(plan.OrderRequest(calc.DefaultSettings()))
	if !ok || err != nil || told.Size.Width.Equal(now.Size.Width) && told.Size.Height.Equal(now.Size.Height) {
		return nil
	}
	return []phrase.Text{phrase.Of("job.row.told").With("width", told.Size.Width).With("height", told.Size.Height).
		With("now_width", now.Size.Width).With("now_height", now.Size.Height)}
}

// StepButtons offer the next step of those windows. The paper is handed over
// when all are sealed.
func (v View) StepButtons(ids ...int) [][]talk.Button {
	var rows [][]talk.Button
	paper := false // once for the whole job
	for _, id := range ids {
		o, _ := v.Job.Find(id)
		parts := o.Parts()
		if parts == nil {
			parts = []job.Part{{State: o.State, Count: o.Count}}
		}
		for _, p := range parts {
			next := p.State.Waits()
			switch {
			case next == "", len(rows) >= mostRows:
			case next != job.DoHandOver:
				rows = append(rows, []talk.Button{v.Button("job.step."+string(next), o.Name, "step", id, string(next))})
			case v.Job.Stage() == job.Sealed && !paper:
				paper = true
				rows = append(rows, []talk.Button{v.Button("job.step."+string(next), "", "handover")})
			}
		}
	}
	return rows
}
