package sheet

import (
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
)

// customerLayout has a page a window.
func (p Printer) customerLayout(s job.CustomerSheet) *layout {
	o := &order{layout: newLayout(p), sheet: job.OrderSheet{Ref: s.Ref}}
	for _, w := range s.Windows {
		o.newPage()
		o.customerHead(s)
		o.customerPage(w, customerLine(w))
	}
	o.foot(o.words(phrase.Of("sheet.customer.name").Saying("ref", s.Ref)))
	return o.layout
}

// customerLine is a window as the line that it becomes.
func customerLine(w job.CustomerWindow) job.Line {
	return job.Line{
		Opening: w.Opening, Name: w.Name, Quantity: w.Quantity, Size: w.Size, Sill: w.Sill, SillPiece: w.SillPiece,
		Material: w.Material, Colour: w.Colour, Layout: w.Layout, MakeUp: w.MakeUp, Stated: w.Stated,
	}
}

// customerHead says which job it is.
func (o *order) customerHead(s job.CustomerSheet) {
	o.paragraph(o.key("sheet.customer.title"), scene.Bold(18))
	for _, words := range []string{o.reference(), clean(s.Label), clean(s.Address), o.day(o.made)} {
		if words != "" {
			o.paragraph(words, scene.Regular(10))
		}
	}
	o.y += 4
}

// customerPage draws a window and says what there is to see of it.
func (o *order) customerPage(w job.CustomerWindow, l job.Line) {
	o.paragraph(o.named(w.Name, w.Room)+o.times(w.Quantity), scene.Bold(15))
	o.y += 2
	pic := customerDrawing(o.voice, l, width*0.6, false)
	pic.Draw(o.Scene, scene.Point{X: left + width*0.2, Y: o.y})
	o.y += pic.Height + 5
	o.flow(o.customerRows(w, l, pic), column{left, 40, width}, func() {})
	o.y += 5
	o.paragraph(o.key("sheet.customer.accept"), scene.Bold(11))
	o.y += 14
	o.level(left, o.y, 86, 0.25)
	o.Under(box(left, o.y+0.5, 86, 5), o.key("sheet.customer.sign"), scene.Fonts(scene.Regular, 9, 7)...)
}

// Row is a row of facts: what it is about, and what is said of it.
type Row struct{ About, Said string }

// CustomerRows are what there is to see of a window besides its drawing, for a page that
// is no paper.
func (p Printer) CustomerRows(w job.CustomerWindow) []Row {
	o, l := &order{layout: newLayout(p)}, customerLine(w)
	var rows []Row
	for _, r := range o.customerRows(w, l, customerDrawing(o.voice, l, width, true)) {
		said := make([]string, len(r.parts))
		for i, part := range r.parts {
			said[i] = part.words
		}
		rows = append(rows, Row{r.label, strings.Join(said, " ")})
	}
	return rows
}

func customerDrawing(v scene.Voice, l job.Line, wide float64, screen bool) *scene.Order {
	return scene.NewOrder(v.Opening(l.Stated), scene.Made{Size: l.Size, Layout: l.Layout, Sill: l.Sill.IsPositive(), SillPiece: l.SillPiece, Screen: screen}, wide)
}

// CustomerDrawing is the drawing of a window for the customer's page, wide mm wide.
func (p Printer) CustomerDrawing(w job.CustomerWindow, wide float64) *scene.Order {
	return customerDrawing(scene.NewVoice(p.Say), customerLine(w), wide, true)
}

// customerRows say what there is to see of a window.
func (o *order) customerRows(w job.CustomerWindow, l job.Line, pic *scene.Order) []row {
	fact, strong := scene.Regular(11), scene.Bold(11)
	rows := []row{
		{label: o.key("sheet.customer.size"), parts: []part{{o.size(l), strong}}},
		{label: o.key("sheet.frame"), parts: []part{{o.customerFrame(l), strong}}},
		{label: o.key("sheet.sill"), parts: []part{{o.sillWords(l), fact}}},
	}
	rows = append(rows, o.layoutRows(l, pic)...)
	glass := o.key("sheet.customer.open")
	if l.MakeUp != "" {
		glass = clean(l.MakeUp)
	}
	rows = append(rows, row{label: o.key("sheet.glass"), parts: []part{{glass, strong}}})
	for _, stated := range l.Stated {
		rows = append(rows, row{label: o.key("name." + stated.Key), parts: []part{{o.words(job.StatedText(stated)), strong}}})
	}
	price := o.key("sheet.customer.no_price")
	if w.Price != nil {
		price = o.words(phrase.Of("sheet.customer.each").Saying("price", o.price(*w.Price)))
	}
	return append(rows, row{label: o.key("sheet.price"), parts: []part{{price, strong}}})
}

// customerFrame is the frame's material and colour, or that the colour is open.
func (o *order) customerFrame(l job.Line) string {
	words := o.frameWords(l)
	if uncoloured(l) {
		words += ", " + o.key("sheet.customer.no_colour")
	}
	return words
}

// times says how many windows alike there are, nothing for one.
func (o *order) times(quantity int) string {
	if quantity <= 1 {
		return ""
	}
	return ", " + o.words(phrase.Of("sheet.customer.times").WithInt("count", quantity))
}
