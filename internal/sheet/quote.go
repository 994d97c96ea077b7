package sheet

import (
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
)

// Quote is the quotation as PDF. The error is ErrNoLines or ErrNoTime when there is
// nothing that can be printed.
func (p Printer) Quote(s job.QuoteSheet) ([]byte, error) {
	switch {
	case p.At.IsZero():
		return nil, ErrNoTime
	case len(s.Lines) == 0:
		return nil, ErrNoLines
	}
	return p.pdf(p.quoteLayout(s))
}

func (p Printer) quoteLayout(s job.QuoteSheet) *layout {
	o := &order{layout: newLayout(p), sheet: job.OrderSheet{Ref: s.Ref}}
	o.newPage()
	o.paragraph(o.key("sheet.quote.title"), scene.Bold(18))
	for _, words := range []string{o.reference(), clean(s.Label), clean(s.Address), o.day(o.made)} {
		if words != "" {
			o.paragraph(words, scene.Regular(10))
		}
	}
	o.y += 5
	t := table{columns: []tableColumn{
		{title: "sheet.quote.what", width: 84}, {title: "sheet.quote.quantity", width: 22, ended: true}, {title: "sheet.quote.each", width: 24, ended: true},
		{title: "sheet.quote.net", width: 24, ended: true}, {title: "sheet.quote.gross", width: width - 154, ended: true},
	}}
	for _, l := range s.Lines {
		what := o.words(phrase.Of("sheet.quote.line."+string(l.What)).Saying("name", clean(l.Name)))
		t.rows = append(t.rows, []string{what, o.voice.Number(l.Quantity), o.price(l.Each), o.price(l.Sum.Net), o.price(l.Sum.Gross)})
	}
	o.table(t)
	o.y += 3
	for i, line := range s.Sums() {
		f := scene.Regular(10)
		if i == 0 {
			f = scene.Bold(11)
		}
		o.paragraph(clean(o.words(line)), f)
		o.y += 1
	}
	o.y += 4
	o.paragraph(o.key("sheet.quote.mind"), scene.Regular(9))
	o.need(50)
	o.y += 16
	o.signLines("sheet.quote.sign.firm", "sheet.quote.sign.customer")
	o.foot(o.words(phrase.Of("sheet.quote.name").Saying("ref", s.Ref)))
	return o.layout
}
