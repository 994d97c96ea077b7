package tell

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// told is what somebody was told of a confirmation.
func (v View) told(c job.Confirmation) phrase.Text { return c.Text(phrase.Day(c.By.At.In(v.clock()))) }

// mostGroups is how many groups of lines that were promised alike a message says.
const mostGroups = 12

// perLine is what holds of the lines of an event, with those together that were told
// and promised alike, and their numbers where not all were.
func (v View) perLine(e job.Event, role job.Role) []phrase.Text {
	type group struct {
		same string
		ids  []int
		said []phrase.Text
	}
	var groups []group
	for _, id := range e.Openings {
		o, ok := v.Job.Find(id)
		if !ok {
			continue
		}
		same, said := v.promisedOf(o, e, role)
		i := slices.IndexFunc(groups, func(g group) bool { return g.same == same })
		if i < 0 {
			i, groups = len(groups), append(groups, group{same: same, said: said})
		}
		groups[i].ids = append(groups[i].ids, id)
	}
	var lines []phrase.Text
	for _, g := range groups[:min(len(groups), mostGroups)] {
		if len(groups) > 1 && len(g.said) > 0 {
			lines = append(lines, phrase.Of("told.lines").WithInt("count", len(g.ids)).Saying("lines", job.Numbers(g.ids)))
		}
		lines = append(lines, g.said...)
	}
	if left := len(groups) - mostGroups; left > 0 {
		lines = append(lines, phrase.Of("told.more"))
	}
	return lines
}

// promisedOf is what holds of one line, as words and as what is alike in others.
func (v View) promisedOf(o job.Opening, e job.Event, role job.Role) (same string, said []phrase.Text) {
	if told := o.Supply.Told; told != nil && e.Kind == job.LinesTold {
		c := *told
		if role == job.Desk && !v.Job.ShareNames {
			c.Heard.By = ""
		}
		same = string(c.Heard.Way) + "\n" + c.Heard.By + "\n" + c.Heard.Order + "\n" + string(c.By.Role)
		said = append(said, v.told(c))
	}
	if o.Supply.Due != "" {
		said = append(said, phrase.Of("job.line.due").Sub1("day", StoredDay(o.Supply.Due)))
	}
	same += "\n" + o.Supply.Due + "\n"
	if o.Supply.Price != nil {
		same += o.Supply.Price.String()
		said = append(said, phrase.Of("job.line.price").Saying("price", o.Supply.Price.StringFixed(2)))
	}
	return same, said
}

// mostSaid is how many of a supplier's sentences are said back.
const mostSaid = 10

// supplierWords are what the supplier said of lines in an answer file, the last of
// each, and what to do.
func (v View) supplierWords(e job.Event) []phrase.Text {
	var lines []phrase.Text
	for i, id := range e.Openings {
		if i == mostSaid {
			lines = append(lines, phrase.Of("answers.words_more").WithInt("count", len(e.Openings)-i))
			break
		}
		o, _ := v.Job.Find(id)
		for k := len(o.Supply.Notes) - 1; k >= 0; k-- {
			if n := o.Supply.Notes[k]; n.Told {
				lines = append(lines, phrase.Of("answers.words").WithInt("n", id).Saying("words", n.Words))
				break
			}
		}
	}
	return append(lines, phrase.Of("answers.words_do").WithInt("n", e.Openings[0]))
}
