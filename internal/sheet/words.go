package sheet

import (
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// order is an order sheet being laid out.
type order struct {
	*layout
	sheet job.OrderSheet
	holds []phrase.Text // why the line at hand must not be made, of a plan
	all   []ofAll       // what holds for the house
	open  []ofAll       // what is not known, or left to the desk
	// shares are the vents that rooms ask for.
	shares []share
	sum    total
}

// day is a day in words, in the reader's zone.
func (o *order) day(t time.Time) string { return o.voice.Day(t.In(o.zone())) }

// by is who did something and when.
func (l *layout) by(s job.Stamp) string {
	t := phrase.Of("sheet.by")
	if s.Name != "" {
		t = phrase.Of("sheet.by_name").Saying("name", s.Name)
	}
	return l.words(t.Word("role", "sheet.role."+string(s.Role)).Sub1("day", phrase.Day(s.At.In(l.zone()))))
}

// byWords is by, and nothing for nobody.
func (o *order) byWords(s *job.Stamp) string {
	if s == nil {
		return ""
	}
	return o.by(*s)
}

func (o *order) size(l job.Line) string {
	return o.words(phrase.Of("card.size").With("width", l.Size.Width).With("height", l.Size.Height))
}

// frameWords are the material and the colour.
func (o *order) frameWords(l job.Line) string {
	words := ""
	if l.Material != "" {
		words = o.key("card.material." + string(l.Material))
	}
	// White PVC-U needs no word that says it is white.
	if colour := clean(l.Colour); colour != "" && !strings.HasPrefix(strings.ToLower(words), strings.ToLower(colour)+" ") {
		words = strings.TrimPrefix(words+", "+colour, ", ")
	}
	return words
}

// stateWords are how far the line has come.
func (o *order) stateWords(l job.SheetLine) string {
	switch {
	case len(o.holds) > 0:
		return o.key("sheet.state.hold")
	case l.State == "":
		return o.key("sheet.state.none")
	}
	if l.State == job.Confirmed && l.Confirmed == nil && l.Told != nil {
		return o.key("sheet.state.told")
	}
	return o.key("sheet.state." + stateKey(l.State))
}

// stateKey is what a desk has to tell apart of the states.
func stateKey(s job.State) string {
	switch s {
	case job.Ordered, job.Queried, job.Confirmed, job.Deleted, job.Changed:
		return string(s)
	case job.Delivered, job.Out, job.Fitted, job.Glazed, job.Sealed, job.Handed, job.Replaced:
		return "delivered"
	}
	return string(job.Changed)
}

// price is an amount in pounds and pence, as it is written everywhere.
func (l *layout) price(d decimal.Decimal) string {
	if !d.Equal(d.Round(2)) {
		return "£" + l.voice.Number(d)
	}
	return "£" + strings.Replace(d.StringFixed(2), ".", l.key("number.comma"), 1)
}

// priceWords are the price of one window, and of all of a line that has several.
func (o *order) priceWords(l job.SheetLine) string {
	if l.Quantity < 2 {
		return o.price(*l.Price)
	}
	return o.words(phrase.Of("sheet.price.several").Saying("each", o.price(*l.Price)).Saying("sum", o.price(sumOf(l))).WithInt("count", l.Quantity))
}

// daySaid is a stored day as a text.
func (o *order) daySaid(day string) phrase.Text {
	return phrase.Of("job.words").Saying("words", o.voice.DayAs(day))
}
