package tell

import (
	"strconv"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// openQuestions are the questions about a window that wait for an answer, each
// with how to answer it.
func (v View) openQuestions(id int) []phrase.Text {
	o, _ := v.Job.Find(id)
	var lines []phrase.Text
	open := o.Supply.Open()
	for _, q := range open {
		lines = append(lines, phrase.Of("job.row.question").Word("by", "role."+string(q.By.Role)).Saying("words", q.Words).
			Saying("n", called(id, q.Question, len(open))))
	}
	return lines
}

// howToAnswer says how the question that an event tells of is answered.
func (v View) howToAnswer(e job.Event) []phrase.Text {
	o, ok := v.Job.Find(e.Openings[0])
	if !ok {
		return nil
	}
	n := called(o.ID, int(e.Figures["question"].IntPart()), len(o.Supply.Open()))
	return []phrase.Text{phrase.Of("job.question.how").Saying("n", n)}
}

// called is the number that a question is answered by: of its line, and its own
// where several are open.
func called(id, question, open int) string {
	if open == 1 {
		return strconv.Itoa(id)
	}
	return strconv.Itoa(id) + "." + strconv.Itoa(question)
}

// whichQuestion says for each open question how what was typed is typed for it.
func (v View) whichQuestion(a talk.Ask) []phrase.Text {
	o, _ := v.Job.Find(a.Opening)
	var lines []phrase.Text
	for _, q := range o.Supply.Open() {
		n := called(a.Opening, q.Question, 0)
		lines = append(lines, phrase.Of("job.question").Saying("n", n).Saying("words", q.Words))
		if a.Do == "answer" {
			lines = append(lines, phrase.Of("job.question.answer").Saying("n", n).Saying("words", a.Words))
		} else {
			lines = append(lines, phrase.Of("job.question.withdraw").Saying("n", n))
		}
	}
	return lines
}

// noteText is a sentence about a line, and whether a question is still open.
func noteText(l job.SheetLine, n job.Note) phrase.Text {
	text := phrase.Of("job.line.note")
	switch {
	case n.Told:
		text = phrase.Of("job.line.note.told")
	case n.Open:
		text = phrase.Of("job.line.question").Saying("n", called(l.Opening, n.Question, 0))
	case n.Withdrawn:
		text = phrase.Of("job.line.withdrawn")
	}
	return text.Word("by", "role."+string(n.By.Role)).Saying("words", n.Words)
}
