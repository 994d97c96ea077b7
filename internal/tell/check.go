package tell

import (
	"slices"
	"strconv"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/talk"
)

// CheckPaper is the check sheet for a chat, with the measures of what was measured
// again, as far as they may reach that chat.
func (v View) CheckPaper(chat int64) *talk.Document {
	check := v.Job.CheckCopy()
	d := &talk.Document{Paper: talk.CheckPDF, Check: &check, Both: map[int]job.Comparison{}, At: v.Now}
	for _, o := range check.Openings {
		if c, ok := v.Job.Comparison(chat, o.ID); ok {
			d.Both[o.ID] = c
		}
	}
	return d
}

// checkLines lists the openings that the lead is to measure. They hold no figure
// of the first measure.
func (v View) checkLines(lines []phrase.Text, chat int64) ([]phrase.Text, [][]talk.Button) {
	sheet := v.Job.CheckCopy()
	if sheet.Address != "" {
		lines = append(lines, phrase.Of("job.address").Saying("address", sheet.Address))
	}
	var buttons [][]talk.Button
	list := sheet.Openings
	if all := len(list); all > PageSize { // the others by a button
		lines = append(lines, v.pageTitle(1, 0, PageSize, all))
		list, buttons = list[:PageSize], v.pageButtons(1, all)
	}
	for _, o := range list {
		lines = append(lines, Where(o))
		asked := o.State == job.Checking || o.State == job.Differing || o.State == job.Agreed
		if asked && len(buttons) < 20 && (o.State == job.Checking || !v.Job.Sees(chat, o.ID)) {
			buttons = append(buttons, []talk.Button{
				v.Button("job.measure", o.Name, "measure", o.ID, o.Name), v.Button("job.look", o.Name, "look", o.ID),
			})
		}
	}
	return lines, buttons
}

// Where says of an opening that is to be measured again where heights start.
func Where(o job.CheckOpening) phrase.Text {
	finish := phrase.Of("button.finish." + string(o.Finish))
	if o.Finish == "" { // the fitter is about to say another
		finish = phrase.Of("echo").Word("name", "name.finish").Word("value", "sheet.not_known")
	}
	return phrase.Of("job.check.line").WithInt("n", o.ID).Saying("name", o.Name).
		Sub1("finish", finish).Word("from", "job.check.from."+strconv.FormatBool(o.NewSill)).Sub1("state", o.State.Text())
}

// differenceLines set the measures side by side, with buttons to settle each
// difference.
func (v View) differenceLines(lines []phrase.Text, e job.Event, to job.Recipient) ([]phrase.Text, [][]talk.Button) {
	var buttons [][]talk.Button
	for _, id := range e.Openings {
		c, ok := v.Job.Comparison(to.Chat, id)
		if !ok {
			continue
		}
		r := reader{c, to.Role}
		for i, m := range c.Leads {
			switch {
			case m.Blind:
			case i+1 == c.Own:
				lines = append(lines, phrase.Of("job.not_blind.own"))
			default:
				lines = append(lines, phrase.Of("job.not_blind").Sub1("whose", r.whose(i+1)))
			}
		}
		for _, d := range c.Apart() {
			lines = append(lines, r.difference(d))
			if d.Settled == nil && len(buttons) < mostRows {
				buttons = append(buttons, v.settleButtons(id, r, d))
			}
		}
	}
	return lines, buttons
}

// settleButtons settle one difference. Between two they say mine and theirs, among
// more whose.
func (v View) settleButtons(id int, r reader, d job.Difference) []talk.Button {
	var row []talk.Button
	if mine, theirs, ok := r.pair(d); ok {
		row = []talk.Button{
			v.Button("job.mine", "", "settle", id, d.Reading, string(job.Mine), mine.String()),
			v.Button("job.theirs", "", "settle", id, d.Reading, string(job.Theirs), theirs.String()),
		}
		row[0].Label = row[0].Label.With("mm", mine)
		row[1].Label = row[1].Label.With("mm", theirs)
	} else {
		for _, value := range values(d) {
			b := v.Button("job.value", "", "settle", id, d.Reading, string(job.Figure), value.String())
			b.Label = b.Label.With("mm", value)
			row = append(row, b)
		}
	}
	row = append(row, v.Button("job.again", "", "settle", id, d.Reading, string(job.Again)))
	for i := range row {
		row[i].Label = row[i].Label.Word("reading", readingKey(d.Reading))
	}
	return row
}

// values are those that were measured, each once.
func values(d job.Difference) []decimal.Decimal {
	var list []decimal.Decimal
	for _, v := range d.All() {
		if v != nil && !slices.ContainsFunc(list, v.Equal) {
			list = append(list, *v)
		}
	}
	return list
}

// reader is somebody who reads a comparison.
type reader struct {
	job.Comparison
	role job.Role
}

// pair are the reader's own value of a difference and the only other one; ok is
// false when there are more measures, or the reader took none.
func (r reader) pair(d job.Difference) (mine, theirs decimal.Decimal, ok bool) {
	if len(d.All()) != 2 || r.Own < 0 {
		return mine, theirs, false
	}
	mine, okMine := d.At(r.Own)
	theirs, okTheirs := d.At(1 - r.Own)
	return mine, theirs, okMine && okTheirs
}

// whose says whose measure one is, to the reader.
func (r reader) whose(place int) phrase.Text {
	switch {
	case place == r.Own:
		return phrase.Of("job.whose.mine")
	case place == 0:
		return phrase.Of("job.whose.fitter")
	case place > len(r.Leads):
		return phrase.Of("job.whose.lead")
	}
	if name := r.Leads[place-1].By.Name; name != "" {
		return phrase.Of("job.words").Saying("words", name)
	}
	if len(r.Leads) == 1 {
		return phrase.Of("job.whose.lead")
	}
	return phrase.Of("job.whose.lead.n").WithInt("n", place)
}

// difference is one reading in all measures, and how it was settled.
func (r reader) difference(d job.Difference) phrase.Text {
	line := phrase.Of(r.differenceKey(d)).Word("reading", readingKey(d.Reading)).With("apart", d.Apart).WithInt("chance", d.Chance)
	if d.Settled != nil && d.Settled.Value != nil {
		line = line.With("value", *d.Settled.Value).Sub1("by", r.who(*d.Settled))
	} else if likelier, known := d.At(d.Likelier.Place()); known {
		line = line.With("value", likelier)
	}
	if mine, theirs, ok := r.pair(d); ok {
		return line.With("mine", mine).With("theirs", theirs)
	}
	var list []phrase.Text
	for place, v := range d.All() {
		if v != nil {
			list = append(list, phrase.Of("job.whose.value").Sub1("whose", r.whose(place)).With("mm", *v))
		}
	}
	return line.WithRow("values", list...)
}

// differenceKey is the sentence for a difference: between two that are mine and
// theirs, or among more.
func (r reader) differenceKey(d job.Difference) string {
	_, _, two := r.pair(d)
	known := d.Likelier.Place() >= 0
	switch {
	case d.Settled != nil && d.Settled.Value != nil && two:
		return "job.difference.settled"
	case d.Settled != nil && d.Settled.Value != nil:
		return "job.differences.settled"
	case d.Settled != nil && two:
		return "job.difference.again"
	case d.Settled != nil:
		return "job.differences.again"
	case known && !two:
		return "job.differences.likelier"
	case !two:
		return "job.differences"
	case !known:
		return "job.difference"
	case d.Likelier.Place() == r.Own:
		return "job.difference.mine"
	}
	return "job.difference.theirs"
}

// who says who settled a difference, to the reader.
func (r reader) who(s job.Settlement) phrase.Text {
	switch {
	case s.Place >= 0 && s.Place == r.Own:
		return phrase.Of("job.whose.you")
	case s.Place > 0:
		return r.whose(s.Place)
	case s.By.Name != "":
		return phrase.Of("job.words").Saying("words", s.By.Name)
	}
	return phrase.Of("role." + string(s.By.Role))
}

// signLines show the figures and let the lead sign them.
func (v View) signLines(lines []phrase.Text, e job.Event, chat int64) ([]phrase.Text, [][]talk.Button) {
	var buttons [][]talk.Button
	for _, id := range e.Openings {
		o, ok := v.Job.Figures(chat, id)
		if !ok {
			continue
		}
		if o.State == job.Differing {
			var more [][]talk.Button
			lines, more = v.differenceLines(lines, job.Event{Openings: []int{id}}, job.Recipient{Chat: chat, Role: job.Lead})
			buttons = append(buttons, more...)
			continue
		}
		lines = append(lines, figureLines(o.Record().Plan)...)
		if standing := o.Standing(calc.DefaultSettings()); len(standing) > 0 {
			lines = append(append(lines, phrase.Of("job.figures.against")), v.standingLines(standing)...)
		}
		buttons = append(buttons, []talk.Button{v.Button("job.sign", o.Name, "sign", id, o.Version)})
	}
	return lines, buttons
}

// readingKey is the catalogue's name of a reading.
func readingKey(name string) string {
	if name == "sill.fall" {
		return "reading.sill_fall"
	}
	return "reading." + name
}

// figureLines are the readings that are signed, and the order size that they
// give.
func figureLines(o plan.Opening) []phrase.Text {
	lines := []phrase.Text{
		phrase.Of("job.figures.widths").WithNumbers("values", o.Widths[:]),
		phrase.Of("job.figures.heights").WithNumbers("values", o.Heights[:]),
	}
	if o.Rising.IsPositive() {
		lines = append(lines, phrase.Of("job.figures.diagonals").With("rising", o.Rising).With("falling", o.Falling))
	}
	if o.SillFall != nil {
		lines = append(lines, fallText(*o.SillFall))
	}
	if order, err := calc.OrderSize(o.OrderRequest(calc.DefaultSettings())); err == nil {
		lines = append(lines, phrase.Of("order.size").With("width", order.Size.Width).With("height", order.Size.Height))
	}
	return lines
}

// openDifferences adds what is to be settled or signed by the lead of a chat.
func (v View) openDifferences(lines []phrase.Text, buttons [][]talk.Button, chat int64) ([]phrase.Text, [][]talk.Button) {
	for _, o := range v.Job.Openings {
		e := job.Event{Openings: []int{o.ID}}
		var more [][]talk.Button
		switch o.State {
		case job.Differing:
			if v.Job.Sees(chat, o.ID) {
				lines = append(lines, phrase.Of("job.check.open").WithInt("n", o.ID).Saying("name", o.Name))
				lines, more = v.differenceLines(lines, e, job.Recipient{Chat: chat, Role: job.Lead})
			}
		case job.Agreed, job.Checking: // no figures come while they are kept from the lead
			lines, more = v.signLines(lines, e, chat)
		}
		buttons = append(buttons, more...)
	}
	if len(buttons) > mostRows {
		buttons = buttons[:mostRows]
	}
	return lines, buttons
}

// fallText says which end of the sill is lower, and by how much.
func fallText(fall decimal.Decimal) phrase.Text {
	switch {
	case fall.IsZero():
		return phrase.Of("job.figures.level")
	case fall.IsNegative():
		return phrase.Of("job.figures.fall").Sub1("fall", phrase.Of("fall.left").With("mm", fall.Neg()))
	}
	return phrase.Of("job.figures.fall").Sub1("fall", phrase.Of("fall.right").With("mm", fall))
}
