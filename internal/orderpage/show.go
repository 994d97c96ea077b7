package orderpage

import (
	"encoding/json"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"time"

	"sillbot/internal/day"
	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
	"sillbot/internal/sheet"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// zone is that of a page's readers, as of whoever did not say another one.
const zone = "Europe/London"

// drawn is how wide a drawing is on paper, mm.
const drawn = 70.0

// reader is a page that is being written for somebody.
type reader struct {
	lang string
	now  time.Time
	say  func(phrase.Text) string
	engine.Sight
	view tell.View
}

func (p *Pages) reader(r *http.Request, s engine.Sight) reader {
	tag, ok := p.words.Known(s.Lang)
	if !ok {
		if tag, ok = p.words.Known(lang(r)); !ok {
			tag = fallback
		}
	}
	now := time.Now()
	if in, err := time.LoadLocation(zone); err == nil {
		now = now.In(in)
	}
	return reader{tag, now, func(t phrase.Text) string { return p.say(tag, t) }, s, tell.View{Job: &s.Job, Now: now, Zone: zone}}
}

func (d reader) key(key string) string { return d.say(phrase.Of(key)) }

func (d reader) each(texts []phrase.Text) (lines []string) {
	for _, t := range texts {
		lines = append(lines, d.say(t))
	}
	return lines
}

// show writes a page as it is now.
func (p *Pages) show(w http.ResponseWriter, r *http.Request, b browser, place int) error {
	d, v, err := p.view(r, b, place)
	if err != nil {
		return err
	}
	p.remember(w, b)
	p.answer(w, http.StatusOK, "shown", sheetOf{Lang: d.lang, Title: v.Heading, Order: v})
	return nil
}

// view is a page as it is now, and for whom it is written.
func (p *Pages) view(r *http.Request, b browser, place int) (reader, *view, error) {
	s, err := p.engine.See(r.Context(), b.pages[place-1].Chat)
	if errors.Is(err, engine.ErrLost) { // nothing of it is kept, nor offered again
		return reader{}, nil, errors.Join(err, p.store.ClosePage(r.Context(), b.secret, place, b.pages[place-1].Chat))
	}
	if err != nil {
		return reader{}, nil, err
	}
	d := p.reader(r, s)
	v := d.page()
	v.At, v.CSRF, v.Once, v.Stamp = p.at(place), b.csrf(), newSecret()[:16], s.Stamp.String()
	for i, other := range b.pages {
		if i != place-1 && other.Chat != 0 {
			v.Others = append(v.Others, link{p.at(i + 1), d.say(phrase.Of("page.other").Saying("ref", other.Ref))})
		}
	}
	return d, v, nil
}

// page is the page of the chair that it is for.
func (d reader) page() *view {
	v := &view{
		SaidTitle: d.key("page.said"), OthersTitle: d.key("page.others"), PapersTitle: d.key("page.papers"),
		Follows: d.key("page.follows"), Reload: d.key("page.reload"),
		Words: map[string]string{"new": d.key("page.new"), "show": d.key("page.new.show"), "lost": d.key("page.lost")},
		Close: &form{Do: "close", Fold: d.key("page.close"), What: d.key("page.close.what"), Button: d.key("page.close.button")},
	}
	d.said(v)
	if d.Role == job.Customer {
		d.customer(v)
	} else {
		d.desk(v)
	}
	return v
}

// mostSaid is how many messages a page shows.
const mostSaid = 6

// said are the last messages to the page, the newest first.
func (d reader) said(v *view) {
	for _, l := range slices.Backward(d.Said) {
		var r talk.Reply
		if json.Unmarshal(l.Data, &r) != nil || len(v.Said) == mostSaid || opens(r) {
			continue
		}
		words := d.say(first(r.Text))
		if v.Said == nil && d.now.Sub(l.At) < newsFor {
			v.News = words
		}
		v.Said = append(v.Said, said{d.say(d.view.When(l.At)), words})
	}
}

// newsFor is how long the last message stands at the top of the page.
const newsFor = 20 * time.Second

// opens says whether a reply is only about the opening of the page, or the order as it
// stands on the page anyway.
func opens(r talk.Reply) bool {
	switch first(r.Text).Key {
	case "job.joining", "page.customer.in", "job.event.share_used", "job.order.title", "job.order.none":
		return true
	}
	return false
}

// first is what a message says first: what comes after stands on the page.
func first(t phrase.Text) phrase.Text {
	if lines := t.Lines["lines"]; t.Key == "message" && len(lines) > 0 {
		return lines[0]
	}
	return t
}

// desk is the order.
func (d reader) desk(v *view) {
	o := d.Job.OrderCopy()
	if o.Revision == "" {
		v.Heading = d.say(phrase.Of("page.order").Saying("ref", o.Ref))
		v.Notices = []string{d.key("page.none.yet")}
		return
	}
	v.Heading = d.say(phrase.Of("page.order.revision").Saying("ref", o.Ref).Saying("revision", o.Revision))
	v.Notices = []string{d.key("page.seen")}
	if o.Held {
		v.Notices = append([]string{d.say(phrase.Of("page.held").Saying("revision", o.Revision))}, v.Notices...)
	}
	if o.Address != "" {
		v.Notices = append(v.Notices, d.say(phrase.Of("job.address").Saying("address", o.Address)))
	}
	if o.Contact != "" {
		v.Notices = append(v.Notices, d.say(phrase.Of("job.contact").Saying("contact", o.Contact)))
	}
	if o.Replaces != "" {
		v.Changed = d.say(phrase.Of("page.changes").Saying("before", o.Replaces))
		for _, c := range o.Changes {
			v.Changes = append(v.Changes, d.say(c.Text()))
		}
	}
	v.Open = d.each(tell.LeftOpen(o.Lines))
	waiting := 0
	for _, l := range o.Lines {
		one := d.orderLine(o, l)
		if l.State == job.Ordered && !o.Held {
			waiting++
		}
		v.Lines = append(v.Lines, one)
	}
	if waiting > 0 {
		v.All = &form{Do: "confirmall", What: d.key("page.confirm.what"), Values: []value{{"revision", o.Revision}},
			Button: d.say(phrase.Of("page.confirm.all").WithInt("count", waiting).Saying("revision", o.Revision))}
	}
	for _, paper := range []talk.Paper{talk.OrderPDF, talk.OrderCSV, talk.OrderJSON} {
		v.Papers = append(v.Papers, link{string(paper), d.key("page.paper." + string(paper))})
	}
}

func (d reader) orderLine(o job.OrderSheet, l job.SheetLine) line {
	texts := d.each(d.view.OrderLine(l))
	pic := sheet.Printer{Say: d.say}.LineDrawing(l, drawn)
	one := line{N: l.Opening, Heading: texts[0], Facts: texts[1:], Drawing: d.drawing(pic, l.Name)}
	if l.Confirmed != nil {
		one.Done = d.say(phrase.Of("page.confirmed").Sub1("when", d.view.When(l.Confirmed.At)))
	}
	atDesk := l.State == job.Ordered || l.State == job.Queried || l.State == job.Confirmed
	if !atDesk {
		return one
	}
	n := func(key string) string { return d.say(phrase.Of(key).WithInt("n", l.Opening)) }
	revision := []value{{"revision", o.Revision}}
	if !o.Held && l.Confirmed == nil {
		one.Forms = append(one.Forms, form{Do: "confirm", Line: l.Opening, Button: n("page.confirm.line"), Values: revision})
	}
	for _, q := range l.Notes {
		if q.Open {
			one.Forms = append(one.Forms, form{Do: "withdrawquery", Line: l.Opening, Values: []value{{"question", strconv.Itoa(q.Question)}},
				Button: d.say(phrase.Of("page.withdraw").Saying("words", q.Words))})
		}
	}
	price := ""
	if l.Price != nil {
		price = l.Price.StringFixed(2)
	}
	if questions(l) < job.MostQuestions {
		one = one.with(form{Do: "query", Line: l.Opening, Fold: n("page.ask"), Button: d.key("page.ask.send"), Values: revision,
			Fields: []field{{Name: "words", Label: d.key("page.ask.words"), Kind: "words", Required: true}}})
	} else {
		one.Facts = append(one.Facts, d.say(phrase.Of("job.refused.questions_open").Saying("name", l.Name).WithInt("most", job.MostQuestions)))
	}
	return one.with(
		form{Do: "promise", Line: l.Opening, Fold: n("page.promise"), Button: d.key("page.promise.send"), Fields: []field{
			{Name: "price", Label: d.key("page.price"), Kind: "money", Value: price},
			{Name: "due", Label: d.key("page.day"), Kind: "day", Value: l.Due},
		}})
}

// questions is how many of a line wait for an answer.
func questions(l job.SheetLine) (n int) {
	for _, q := range l.Notes {
		if q.Open {
			n++
		}
	}
	return n
}

func (l line) with(forms ...form) line {
	l.Forms = append(l.Forms, forms...)
	return l
}

// drawing is a window as a picture in the page. Its words are escaped where they are set.
func (d reader) drawing(pic *scene.Order, name string) template.HTML {
	var s scene.Scene
	pic.Draw(&s, scene.Point{})
	return template.HTML(scene.SVG(&s, drawn, pic.Height, d.say(phrase.Of("page.drawing").Saying("name", name))))
}

// customer is what is ordered for the customer, and how it comes.
func (d reader) customer(v *view) {
	v.Heading = d.say(phrase.Of("page.customer").Saying("ref", d.Job.Ref))
	v.Notices = []string{d.key("page.customer.intro"), d.key("page.seen")}
	if d.Job.ShareAddress && d.Job.Address != "" {
		v.Notices = append(v.Notices, d.say(phrase.Of("job.address").Saying("address", d.Job.Address)))
	}
	name := field{Name: "words", Label: d.key("page.customer.name"), Kind: "text", Required: true}
	var all []value
	for _, o := range d.Job.All() {
		shown, stands, err := d.Job.PageWindow(o.ID)
		if err != nil {
			continue // it was never shown to them
		}
		one := line{N: o.ID, Heading: shown.Name}
		if !stands {
			one.Facts = []string{d.key("page.customer.changing")}
			v.Lines = append(v.Lines, one)
			continue
		}
		print := sheet.Printer{Say: d.say, At: d.now}
		one.Drawing, one.Rows = d.drawing(print.CustomerDrawing(shown, drawn), shown.Name), print.CustomerRows(shown)
		one.Rows = append(one.Rows, d.comes(o)...)
		seen := value{"seen", strconv.Itoa(o.ID) + "=" + shown.Version()}
		if agreed := d.Job.Agreed(o.ID); agreed != nil {
			one.Done = d.say(phrase.Of("page.customer.agreed").Saying("who", agreed.Name).Sub1("day", tell.StoredDay(agreed.Day)))
		} else {
			all = append(all, seen)
			one.Forms = []form{{Do: "agree", Line: o.ID, Values: []value{seen}, Fields: []field{name}, Button: d.say(phrase.Of("page.customer.agree").Saying("name", shown.Name))}}
		}
		v.Lines = append(v.Lines, one)
	}
	if len(all) > 1 {
		v.All = &form{Do: "agree", Values: all, Fields: []field{name}, What: d.key("page.customer.all.what"),
			Button: d.say(phrase.Of("page.customer.all").WithInt("count", len(all)))}
	}
	if len(v.Lines) == 0 {
		v.Notices = []string{d.key("page.customer.none")}
	} else if len(d.shown()) > 0 {
		v.Papers = append(v.Papers, link{string(talk.CustomerPDF), d.key("page.paper." + string(talk.CustomerPDF))})
	}
	if len(d.handed()) > 0 {
		v.Papers = append(v.Papers, link{string(talk.FilePDF), d.key("page.paper." + string(talk.FilePDF))})
	}
}

// comes says how far a window is, and when it comes.
func (d reader) comes(o job.Opening) []sheet.Row {
	step := "page.step.survey"
	switch o.State {
	case job.Ordered, job.Queried:
		step = "page.step.ordered"
	case job.Confirmed:
		step = "page.step.confirmed"
	case job.Delivered, job.Out:
		step = "page.step.delivered"
	case job.Fitted, job.Glazed, job.Sealed:
		step = "page.step.fitted"
	case job.Handed:
		step = "page.step.handed"
	}
	rows := []sheet.Row{{About: d.key("page.step"), Said: d.key(step)}}
	if o.Supply.Due != "" && (o.State == job.Ordered || o.State == job.Queried || o.State == job.Confirmed) {
		rows = append(rows, sheet.Row{About: d.key("page.comes"), Said: d.say(tell.StoredDay(o.Supply.Due))})
	}
	return rows
}

// shown are the windows that stand as the customer was shown them, handed those that were
// handed over.
func (d reader) shown() (list []job.CustomerWindow) {
	for _, o := range d.Job.All() {
		if w, stands, err := d.Job.PageWindow(o.ID); err == nil && stands {
			list = append(list, w)
		}
	}
	return list
}

func (d reader) handed() (ids []int) {
	for _, o := range d.Job.All() {
		if o.State == job.Handed {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// paper sends a paper as the chair of the page may have it.
func (p *Pages) paper(w http.ResponseWriter, r *http.Request, chat int64, name string) error {
	s, err := p.engine.See(r.Context(), chat)
	if err != nil {
		return err
	}
	doc := p.reader(r, s).document(talk.Paper(name))
	if doc == nil {
		return engine.ErrNoPage
	}
	d := p.reader(r, s)
	file, data, err := p.papers(r.Context(), d.lang, chat, *doc)
	if err != nil {
		return errors.New("a paper can't be made")
	}
	p.served.WithLabelValues("shown").Inc()
	kind := map[talk.Paper]string{talk.OrderCSV: "text/csv; charset=utf-8", talk.OrderJSON: "application/json"}[doc.Paper]
	if kind == "" {
		kind = "application/pdf"
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+s.Job.Ref+"-"+file+`"`)
	_, _ = w.Write(data)
	return nil
}

// document is what a paper is made of; nil: there is none of that kind for this chair.
func (d reader) document(paper talk.Paper) *dialog.Document {
	switch {
	case d.Role == job.Desk && (paper == talk.OrderPDF || paper == talk.OrderCSV || paper == talk.OrderJSON) && d.Job.Order.Revision > 0:
		return &dialog.Document{Paper: paper, Order: new(d.Job.OrderCopy()), At: d.now}
	case d.Role == job.Customer && paper == talk.CustomerPDF && len(d.shown()) > 0:
		c := job.CustomerSheet{Ref: d.Job.Ref, Windows: d.shown()}
		if d.Job.ShareAddress {
			c.Label, c.Address = d.Job.Label, d.Job.Address
		}
		return &dialog.Document{Paper: paper, Customer: &c, At: d.now}
	case d.Role == job.Customer && paper == talk.FilePDF && len(d.handed()) > 0:
		f := day.File(d.Job, d.handed()...)
		if !d.Job.ShareAddress {
			f.Label, f.Address = "", ""
		}
		return &dialog.Document{Paper: paper, File: &f, At: d.now}
	}
	return nil
}
