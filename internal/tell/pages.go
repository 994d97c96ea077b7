package tell

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// A list of more windows than fit a screen comes as a summary, and window by
// window in pages on request.

// PageSize is how many windows a page has: at a few lines each they stay under the
// 4096 characters that the platform takes in a message.
const PageSize = 12

// Pages is how many pages so many windows take.
func Pages(windows int) int { return (windows + PageSize - 1) / PageSize }

// onPage are the places of a list that page n shows, n from 1; the last page where
// there is no such.
func onPage(n, windows int) (page, from, to int) {
	page = max(1, min(n, Pages(windows)))
	return page, (page - 1) * PageSize, min(page*PageSize, windows)
}

// summary says how many windows stand where.
func (v View) summary(rows []job.Row) phrase.Text {
	count := map[string]int{}
	for _, row := range rows {
		count[standing(row)]++
	}
	var parts []phrase.Text
	for _, what := range standings {
		if count[what] > 0 {
			parts = append(parts, phrase.Of("job.part."+what).WithInt("count", count[what]))
		}
	}
	return phrase.Of("job.summary").WithInt("count", len(rows)).WithRow("parts", parts...)
}

// standings is where a window may stand, as a summary counts them: what asks for
// somebody first.
var standings = []string{
	"against", "measuring", "differs", "queried", "changed", "check", "agreed", "fit", "ordered", "confirmed", "here", "handed",
}

// standing is where a window stands in a summary.
func standing(row job.Row) string {
	switch {
	case row.State == job.Survey && len(row.Lacks) > 0:
		return "measuring"
	case row.State == job.Survey && row.Copied:
		return "against"
	case row.State == job.Survey, row.State == job.Signed:
		return "fit"
	case row.State == job.Handed:
		return "handed"
	case slices.Index(job.States, row.State) >= slices.Index(job.States, job.Delivered):
		return "here"
	}
	return string(row.State)
}

// pageButtons turn a page: the one before and the one after, as far as there are.
func (v View) pageButtons(page, windows int) [][]talk.Button {
	var row []talk.Button
	for _, n := range []int{page - 1, page + 1} {
		if n < 1 || n > Pages(windows) || page == 0 && n != 1 {
			continue
		}
		_, from, to := onPage(n, windows)
		b := v.Button("job.page", "", "page", n)
		b.Label = b.Label.WithInt("from", from+1).WithInt("to", to).WithInt("of", windows)
		row = append(row, b)
	}
	if row == nil {
		return nil
	}
	return [][]talk.Button{row}
}

func (v View) pageTitle(page, from, to, windows int) phrase.Text {
	return phrase.Of("job.page").Saying("ref", v.Job.Ref).WithInt("page", page).WithInt("pages", Pages(windows)).
		WithInt("from", from+1).WithInt("to", to).WithInt("of", windows)
}

// longOrder is an order of many lines: how they stand, and the pages on request.
func (v View) longOrder(lines []phrase.Text, sheet job.OrderSheet) ([]phrase.Text, [][]talk.Button) {
	rows := make([]job.Row, len(sheet.Lines))
	for i, l := range sheet.Lines {
		rows[i] = job.Row{ID: l.Opening, State: l.State}
	}
	lines = append(lines, v.summary(rows), phrase.Of("job.order.long"))
	buttons := v.pageButtons(0, len(rows))
	if !sheet.Held && slices.ContainsFunc(rows, func(r job.Row) bool { return r.State == job.Ordered }) {
		buttons = append(buttons, []talk.Button{v.Button("job.confirmall", "", "confirmall", sheet.Revision)})
	}
	return lines, buttons
}
