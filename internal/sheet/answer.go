package sheet

import (
	"strconv"

	"sillbot/internal/job"
)

// answerColumns are the last ones: which window a row is of, and what the supplier
// fills in and sends back, see ReadAnswers.
var answerColumns = []string{"window", "confirm", "price", "day", "order number", "words"}

// answerCells are those of a line, with nothing filled in. A plan from a file is of
// no job and has no window.
func (o *order) answerCells(l job.Line) []string {
	cells := make([]string, len(answerColumns))
	if o.sheet.Ref != "" {
		cells[0] = strconv.Itoa(l.Opening)
	}
	return cells
}
