package tell

import (
	"errors"
	"slices"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// Show is the state of the job for a chat in a chair, with all that waits for it;
// ok is false for a role that has no such view.
func (v View) Show(to job.Recipient) (r talk.Reply, ok bool) {
	var lines []phrase.Text
	switch to.Role {
	case job.Lead:
		if len(v.Job.CheckCopy().Openings) == 0 {
			return talk.Reply{Text: phrase.Of("job.check.none").Saying("ref", v.Job.Ref)}, true
		}
		r.Document = v.CheckPaper(to.Chat)
		lines, r.Buttons = v.checkLines([]phrase.Text{phrase.Of("job.check.title").Saying("ref", v.Job.Ref)}, to.Chat)
		lines, r.Buttons = v.openDifferences(lines, r.Buttons, to.Chat)
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

// Refused is why what was asked was not done to a window, with the figures as
// they are now where others were shown before, and what was typed is not lost.
func (v View) Refused(err error, a talk.Ask, to job.Recipient) talk.Reply {
	lines, e := []phrase.Text{Refusal(err)}, job.Event{Openings: []int{a.Opening}}
	var buttons [][]talk.Button
	reason := ""
	if refused, ok := errors.AsType[*job.Refusal](err); ok {
		reason = refused.Reason
	}
	switch reason {
	case "figure_moved", "figure_unknown", "which_figure", "sign_open":
		lines, buttons = v.differenceLines(lines, e, to)
	case "changed_since":
		lines, buttons = v.signLines(lines, e, to.Chat)
	case "superseded", "no_revision":
		if to.Role == job.Desk {
			buttons = v.confirmButtons(v.Job.OrderCopy())
		}
	case "which_question":
		lines = append(lines, v.whichQuestion(a)...)
	case "against", "stopped", "points_changed":
		if reason != "points_changed" {
			lines = []phrase.Text{phrase.Of("job.unsent")}
		}
		lines, buttons = v.unsent(lines)
	case "nothing_to_send":
		lines, buttons = v.unsent(lines)
	case "waits_for_lead": // which says already what waits
		lines, buttons = v.unsent(lines, "send")
	case "incomplete":
		if a.Do == "send" {
			lines, buttons = v.unsent([]phrase.Text{phrase.Of("job.unsent")})
		}
	}
	if len(lines) == 1 && buttons == nil {
		return talk.Reply{Text: lines[0]}
	}
	return talk.Reply{Text: phrase.Of("message").WithLines("lines", lines...), Buttons: buttons}
}

// unsent adds what holds each window back that is not with the desk, but for reasons
// that were said.
func (v View) unsent(lines []phrase.Text, said ...string) ([]phrase.Text, [][]talk.Button) {
	_, not := v.Job.Ready(calc.DefaultSettings())
	not = slices.DeleteFunc(not, func(n job.NotReady) bool { return slices.Contains(said, n.Why.Reason) })
	more, buttons := v.Unfit(not)
	return slices.Concat(lines, v.LeftOut(not), more), buttons
}

// Left says which windows something was not done to and why, those with the same
// reason together.
func Left(left []job.Left) []phrase.Text {
	if len(left) > 0 && left[0].Row != 0 {
		return leftRows(left)
	}
	type group struct {
		why   phrase.Text
		same  string
		named bool // the reason is one of this window
		ids   []int
	}
	var groups []group
	for _, l := range left {
		reason, named := "", false // of an error that is no refusal
		if refused, ok := errors.AsType[*job.Refusal](l.Why); ok {
			reason, named = refused.Reason+" "+refused.Words["state"], refused.Say["name"] != ""
		}
		i := slices.IndexFunc(groups, func(g group) bool { return g.same == reason })
		if i < 0 {
			i = len(groups)
			groups = append(groups, group{why: Refusal(l.Why), same: reason, named: named})
		}
		groups[i].ids = append(groups[i].ids, l.ID)
	}
	var lines []phrase.Text
	for _, g := range groups {
		if strings.HasPrefix(g.same, "no_opening") {
			lines = append(lines, phrase.Of("job.left.none").Saying("numbers", job.Numbers(g.ids)))
			continue
		}
		lines = append(lines, g.why)
		if len(g.ids) > 1 && g.named {
			lines = append(lines, phrase.Of("job.left.same").Saying("numbers", job.Numbers(g.ids[1:])))
		}
	}
	return lines
}

func leftRows(left []job.Left) []phrase.Text {
	rows := make([]Row, len(left))
	for i, l := range left {
		rows[i] = Row{l.Row, Refusal(l.Why)}
	}
	return Rows(rows)
}
