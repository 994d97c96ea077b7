package tell

import (
	"strconv"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/talk"
)

// CheckPaper is the check sheet, with the two measures of what was measured
// twice.
func (v View) CheckPaper() *talk.Document {
	check := v.Job.CheckCopy()
	d := &talk.Document{Paper: talk.CheckPDF, Check: &check, Both: map[int]job.Comparison{}, At: v.Now}
	for _, o := range check.Openings {
		if c, ok := v.Job.Comparison(o.ID); ok {
			d.Both[o.ID] = c
		}
	}
	return d
}

// checkLines lists the openings that the lead is to measure. They hold no figure
// of the first measure.
func (v View) checkLines(lines []phrase.Text) ([]phrase.Text, [][]talk.Button) {
	sheet := v.Job.CheckCopy()
	if sheet.Address != "" {
		lines = append(lines, phrase.Of("job.address").Saying("address", sheet.Address))
	}
	var buttons [][]talk.Button
	for _, o := range sheet.Openings {
		lines = append(lines, Where(o))
		if o.State == job.Checking && len(buttons) < 20 {
			buttons = append(buttons, []talk.Button{
				v.button("job.measure", o.Name, "measure", o.ID, o.Name), v.button("job.look", o.Name, "look", o.ID),
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

// differenceLines set the two measures side by side, with buttons to settle each
// difference.
func (v View) differenceLines(lines []phrase.Text, e job.Event, role job.Role) ([]phrase.Text, [][]talk.Button) {
	var buttons [][]talk.Button
	for _, id := range e.Openings {
		c, ok := v.Job.Comparison(id)
		if !ok {
			continue
		}
		for _, d := range c.Apart() {
			lines = append(lines, differenceText(d, role))
			if d.Settled != nil || len(buttons) >= mostRows {
				continue
			}
			mine, theirs := figures(d, role)
			row := []talk.Button{
				v.button("job.mine", "", "settle", id, d.Reading, "mine", mine.String()),
				v.button("job.theirs", "", "settle", id, d.Reading, "theirs", theirs.String()),
				v.button("job.again", "", "settle", id, d.Reading, "again"),
			}
			for i := range row {
				row[i].Label = row[i].Label.Word("reading", readingKey(d.Reading))
			}
			row[0].Label = row[0].Label.With("mm", mine)
			row[1].Label = row[1].Label.With("mm", theirs)
			buttons = append(buttons, row)
		}
	}
	return lines, buttons
}

// figures are the two of a difference: of who is asked, and of the other.
func figures(d job.Difference, role job.Role) (mine, theirs decimal.Decimal) {
	if role == job.Lead {
		return d.Second, d.First
	}
	return d.First, d.Second
}

func differenceText(d job.Difference, role job.Role) phrase.Text {
	mine, theirs := figures(d, role)
	line := phrase.Of("job.difference")
	switch {
	case d.Settled != nil && d.Settled.Value != nil:
		line = phrase.Of("job.difference.settled").With("value", *d.Settled.Value)
	case d.Settled != nil:
		line = phrase.Of("job.difference.again")
	case d.Likelier == "":
	case (d.Likelier == job.First) == (role == job.Fitter):
		line = phrase.Of("job.difference.mine")
	default:
		line = phrase.Of("job.difference.theirs")
	}
	return line.Word("reading", readingKey(d.Reading)).With("mine", mine).With("theirs", theirs).With("apart", d.Apart).WithInt("chance", d.Chance)
}

// signLines show the figures and let the lead sign them.
func (v View) signLines(lines []phrase.Text, e job.Event) ([]phrase.Text, [][]talk.Button) {
	var buttons [][]talk.Button
	for _, id := range e.Openings {
		o, ok := v.Job.Figures(id)
		if !ok {
			continue
		}
		lines = append(lines, figureLines(o.Record().Plan)...)
		buttons = append(buttons, []talk.Button{v.button("job.sign", o.Name, "sign", id, o.Version)})
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

// openDifferences adds what is to be settled or signed.
func (v View) openDifferences(lines []phrase.Text, buttons [][]talk.Button) ([]phrase.Text, [][]talk.Button) {
	for _, o := range v.Job.Openings {
		e := job.Event{Openings: []int{o.ID}}
		var more [][]talk.Button
		switch o.State {
		case job.Differing:
			lines = append(lines, phrase.Of("job.check.open").WithInt("n", o.ID).Saying("name", o.Name))
			lines, more = v.differenceLines(lines, e, job.Lead)
		case job.Agreed, job.Checking: // no figures come while they are kept from the lead
			lines, more = v.signLines(lines, e)
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
