package tell

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// Page is page n of the windows of the job for a role, and which page that is; 0:
// there is none.
func (v View) Page(n int, role job.Role) (r talk.Reply, page int) {
	switch role {
	case job.Desk:
		return v.orderPage(n)
	case job.Lead:
		return v.checkPage(n)
	}
	rows := v.Job.List()
	if len(rows) == 0 {
		return talk.Reply{Text: phrase.Of("job.empty")}, 0
	}
	page, from, to := onPage(n, len(rows))
	lines := []phrase.Text{v.pageTitle(page, from, to, len(rows))}
	more, buttons := v.rows(rows[from:to])
	r.Text = phrase.Of("message").WithLines("lines", append(lines, more...)...)
	r.Buttons = append(v.pageButtons(page, len(rows)), buttons[:min(len(buttons), mostRows)]...)
	return r, page
}

// orderPage is page n of the lines of the order.
func (v View) orderPage(n int) (r talk.Reply, page int) {
	sheet := v.Job.OrderCopy()
	if len(sheet.Lines) == 0 {
		return talk.Reply{Text: phrase.Of("job.order.none").Saying("ref", sheet.Ref)}, 0
	}
	all := len(sheet.Lines)
	page, from, to := onPage(n, all)
	lines := []phrase.Text{v.pageTitle(page, from, to, all)}
	sheet.Lines = sheet.Lines[from:to]
	for _, l := range sheet.Lines {
		lines = append(lines, v.lineTexts(l, nil)[0])
	}
	r.Text = phrase.Of("message").WithLines("lines", lines...)
	r.Buttons = append(v.pageButtons(page, all), v.confirmButtons(sheet)...)
	return r, page
}

// checkPage is page n of the openings that the lead was asked to check. It holds no
// figure of the first measure.
func (v View) checkPage(n int) (r talk.Reply, page int) {
	list := v.Job.CheckCopy().Openings
	all := len(list)
	if all == 0 {
		return talk.Reply{Text: phrase.Of("job.page.none")}, 0
	}
	page, from, to := onPage(n, all)
	lines := []phrase.Text{v.pageTitle(page, from, to, all)}
	r.Buttons = v.pageButtons(page, all)
	for _, o := range list[from:to] {
		lines = append(lines, Where(o))
		if o.State == job.Checking {
			r.Buttons = append(r.Buttons, []talk.Button{v.Button("job.measure", o.Name, "measure", o.ID, o.Name)})
		}
	}
	r.Text = phrase.Of("message").WithLines("lines", lines...)
	return r, page
}

// Brief is how the job stands for a role, where that was shown before and is long;
// ok is false where it is short.
func (v View) Brief(role job.Role) (r talk.Reply, ok bool) {
	if role != job.Desk || len(v.Job.Order.On) <= mostLines {
		return r, false
	}
	lines, buttons := v.orderLines(nil)
	return talk.Reply{Text: phrase.Of("message").WithLines("lines", lines...), Buttons: buttons}, true
}
