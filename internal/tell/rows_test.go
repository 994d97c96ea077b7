package tell

import (
	"fmt"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// Rows with the same reason are named together, in the order of the first; of very many
// reasons the message says how many more there are.
func TestRowsWithTheSameReason(t *testing.T) {
	day, price := phrase.Of("answers.day").Saying("given", "soon"), phrase.Of("answers.price").Saying("given", "soon")
	lines := Rows([]Row{{2, day}, {3, price}, {4, day}, {5, day}})
	require.Len(t, lines, 2)
	require.Equal(t, "2, 4-5", lines[0].Say["rows"])
	require.Equal(t, "3", lines[1].Say["rows"])

	var many []Row
	for i := range mostReasons + 3 {
		many = append(many, Row{i + 2, day.Saying("given", fmt.Sprint("day ", i))})
	}
	lines = Rows(many)
	require.Len(t, lines, mostReasons+1)
	require.Equal(t, "answers.left_more", lines[mostReasons].Key)
	require.Equal(t, "3", lines[mostReasons].Num["count"].String())
}

// Lines that were promised alike are said once; of very many the rest is on the papers.
func TestLinesPromisedAlike(t *testing.T) {
	told := func(id int, price int64) job.Opening {
		p := decimal.NewFromInt(price)
		return job.Opening{ID: id, Supply: job.Supply{Due: "2026-12-03", Price: &p}}
	}
	v := View{Job: &job.Job{}, Now: time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)}
	e := job.Event{Kind: job.LinesPromised}
	for id := 1; id <= 4; id++ {
		v.Job.Openings, e.Openings = append(v.Job.Openings, told(id, 300+int64(id/4))), append(e.Openings, id)
	}
	lines := v.perLine(e, job.Fitter)
	require.Len(t, lines, 6)
	require.Equal(t, "1-3", lines[0].Say["lines"])
	require.Equal(t, "300.00", lines[2].Say["price"])
	require.Equal(t, "4", lines[3].Say["lines"])

	for id := 5; id <= mostGroups+5; id++ {
		v.Job.Openings, e.Openings = append(v.Job.Openings, told(id, 300+int64(id))), append(e.Openings, id)
	}
	lines = v.perLine(e, job.Fitter)
	require.Len(t, lines, 3*mostGroups+1)
	require.Equal(t, "told.more", lines[3*mostGroups].Key)
}
