// Package card makes the card of one opening: the order size, the drawing that
// the fitter works by, what its signs stand for, and the warnings in words. It
// is made for a phone at arm's length and reads in black and white. Package
// scene draws it.
package card

import (
	"errors"
	"strings"

	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/scene"
	"sillbot/internal/typeface"
)

// ErrNoFrame is a plan without an order size: there is nothing to draw.
var ErrNoFrame = errors.New("card: the plan has no order size")

// Of is what stands on a card besides the plan.
type Of struct {
	Job   string // the job's reference and name
	Glass string // the make-up of the glass as it was said, such as 4-20-4
}

// Draw draws the card of p as a PNG in greys, 1080 pixels wide and as high as
// it has to be, up to 2360; more only for words of unusual length, and to show
// every warning of what must be done. say gives the plain words, without
// mark-up, of a catalogue text in the reader's language; it is called from this
// goroutine only. The same plan and words give the same bytes. The error is
// ErrNoFrame when p has no order size.
func Draw(p plan.Plan, of Of, say func(phrase.Text) string) ([]byte, error) {
	c, err := drawn(p, of, say)
	if err != nil {
		return nil, err
	}
	return scene.PNG(&c.Scene, cardWidth, c.y)
}

func drawn(p plan.Plan, of Of, say func(phrase.Text) string) (*card, error) {
	if !p.Order.Size.Width.IsPositive() || !p.Order.Size.Height.IsPositive() {
		return nil, ErrNoFrame
	}
	c := &card{Voice: scene.NewVoice(say), y: margin}
	c.head(p, of)
	drawing := scene.NewFitting(&c.Scene, c.Voice, p, scene.Box{X: margin, Y: c.y, W: width})
	key := drawing.Key()
	warnings, foot := warningsOf(p, c.Voice), c.foot(p)
	under := key.Height() + gap + min(mostWarnings, warningsHeight(warnings)) + height(foot)
	c.y = drawing.Draw(tallest-under) + gap
	c.dropped = drawing.Dropped
	key.Draw(scene.Point{X: margin, Y: c.y})
	c.y += key.Height()
	grave := min(mostGrave, graveHeight(warnings, c.rest(len(warnings))))
	c.drawWarnings(warnings, max(tallest-height(foot), c.y+grave))
	c.rule()
	for _, part := range foot {
		c.lines(part.lines, part.font)
	}
	c.y += margin
	return c, nil
}

// head is of which job and window the card is, what forbids to make it, the
// order size, and what it is made of.
func (c *card) head(p plan.Plan, of Of) {
	o := p.Opening
	if job := typeface.Line(of.Job); job != "" {
		c.lines(shorten(regular(3).Wrap(c.Say(phrase.Of("sheet.job").Saying("ref", job)), width), 1), regular(3))
	}
	if name := typeface.Line(o.Name); name != "" {
		c.lines(shorten(bold(4.8).Wrap(name, width), 2), bold(4.8))
	}
	var about []string
	if o.Room != "" {
		about = append(about, c.Key("card.room."+string(o.Room)))
	}
	if o.Material != "" {
		about = append(about, c.Key("card.material."+string(o.Material)))
	}
	c.paragraph(strings.Join(about, " · "), regular(3.2))
	c.stops(p)
	c.cleared(p)
	c.y += 1
	c.paragraph(c.Key("card.order_size"), bold(3.2))
	size := c.sizeWords("card.size", p)
	c.paragraph(size, scene.Largest(size, width, scene.Fonts(bold, 11.8, 10.4, 9.2, 7.6, 6, 4.4)...))
	if o.SillDepth.IsPositive() {
		over := c.sizeWords("card.sill_piece", p)
		c.paragraph(over, scene.Largest(over, width, scene.Fonts(bold, 4.2, 3.8, 3.4, 3)...))
	}
	c.paragraph(strings.Join(c.madeOf(p, of), " · "), regular(3.2))
	c.y += 1.6
}

// sizeWords are the order size, and the same with the sill piece under it.
func (c *card) sizeWords(key string, p plan.Plan) string {
	size := p.Order.Size
	return c.Say(phrase.Of(key).With("width", size.Width).With("height", size.Height).
		With("over", size.Height.Add(p.Order.SillPiece)).With("depth", p.Opening.SillDepth))
}

// stops are white words on black: what forbids to make the window. Nothing else
// on a card is white on black.
func (c *card) stops(p plan.Plan) {
	holds := p.Holds()
	if len(holds) == 0 {
		return
	}
	c.y += 1
	loud, said := bold(6), bold(3.2)
	title := loud.Wrap(c.Key("card.stop"), width)
	var lines []string
	for _, h := range holds {
		words := c.Say(h.Text)
		if h.Finding != nil {
			words = c.Finding(*h.Finding)
		}
		lines = append(lines, said.Wrap(words, width)...)
	}
	b := scene.Box{X: 0, Y: c.y, W: cardWidth, H: loud.Height(title) + said.Height(lines) + 2}
	c.Fill(b, scene.Black)
	b.X, b.W, b.Y = margin, width, b.Y+0.6
	b.Y += c.Lines(title, loud, b, scene.Paper)
	c.Lines(lines, said, b, scene.Paper)
	c.y += b.H + 1
}

// cleared is what a qualified person said of the stops.
func (c *card) cleared(p plan.Plan) {
	f := bold(3.2)
	var lines []string
	for _, found := range p.Findings {
		if scene.Lifts(found) {
			lines = append(lines, f.Wrap(c.Finding(found), width-3)...)
		}
	}
	if len(lines) == 0 {
		return
	}
	b := scene.Box{X: margin, Y: c.y + 0.6, W: width, H: f.Height(lines) + 1.6}
	c.Frame(b, 0.4, scene.Black)
	c.Lines(lines, f, scene.Box{X: b.X + 1.5, Y: b.Y + 0.7, W: b.W - 3, H: b.H}, scene.Black)
	c.y = b.Bottom() + 1
}

// madeOf are the glass and the vents, as far as they are known.
func (c *card) madeOf(p plan.Plan, of Of) []string {
	var out []string
	switch glass := typeface.Line(of.Glass); {
	case glass != "":
		out = append(out, c.Say(phrase.Of("card.glass").Sub1("glass", plan.GlassText(glass))))
	case len(p.Opening.Panes) > 0:
		out = append(out, c.Say(phrase.Of("card.panes").WithNumbers("panes", p.Opening.Panes)))
	}
	if area := p.Opening.VentAreaNew; area.IsPositive() {
		return append(out, c.Say(phrase.Of("card.vents").With("area", area)))
	}
	return out
}

// foot is the end of the card: what holds for the whole job, what was looked at
// and needs nothing, the readings, place and date, whose word counts.
func (c *card) foot(p plan.Plan) []part {
	musts, rest := ofTheJob(p, c.Voice)
	return []part{
		wrapped(musts, bold(2.9)),
		wrapped(rest, regular(2.9)),
		wrapped(ticks(p, c.Voice), regular(2.9)),
		wrapped(c.Say(readingsOf(p.Opening)), regular(smallest)),
		wrapped(c.placeAndDate(p.Opening), regular(smallest)),
		wrapped(c.Key("card.advice"), bold(2.8)),
	}
}

// height is of the parts with the rule over them.
func height(parts []part) float64 {
	h := 3 + margin
	for _, p := range parts {
		h += p.font.Height(p.lines)
	}
	return h
}

func (c *card) placeAndDate(o plan.Opening) string {
	var parts []string
	if o.Nation != "" {
		parts = append(parts, c.Key("card.nation."+string(o.Nation)))
	}
	if o.Date != "" {
		parts = append(parts, c.Say(phrase.Of("card.date").Saying("date", c.DayAs(o.Date))))
	}
	return strings.Join(parts, " · ")
}

// readingsOf is what the tape said, so that the desk can compare.
func readingsOf(o plan.Opening) phrase.Text {
	key := "card.readings"
	if o.Rising.IsPositive() {
		key = "card.readings_diagonals"
	}
	return phrase.Of(key).
		With("top", o.Widths[0]).With("middle", o.Widths[1]).With("bottom", o.Widths[2]).
		With("left", o.Heights[0]).With("centre", o.Heights[1]).With("right", o.Heights[2]).
		With("rising", o.Rising).With("falling", o.Falling)
}
