package tell

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// Show is how the job stands for a chair, with all that waits for it; ok is
// false for a role that has none.
func (v View) Show(role job.Role) (r talk.Reply, ok bool) {
	var lines []phrase.Text
	switch role {
	case job.Lead:
		r.Document = v.CheckPaper()
		lines, r.Buttons = v.checkLines([]phrase.Text{phrase.Of("job.check.title").Saying("ref", v.Job.Ref)})
		lines, r.Buttons = v.openDifferences(lines, r.Buttons)
	case job.Desk:
		order := v.Job.OrderCopy()
		if order.Revision != "" {
			r.Document = &talk.Document{Paper: talk.OrderPDF, Order: &order, At: v.Now}
		}
		lines, r.Buttons = v.orderLines(nil)
	default:
		return r, false
	}
	r.Text = phrase.Of("message").WithLines("lines", lines...)
	return r, true
}
