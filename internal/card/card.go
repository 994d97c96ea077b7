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

// Draw draws the card of p as a PNG in greys, 1080 pixels wide and as high as
// it has to be, up to 2160; more only for words of unusual length, and to show
// every warning of what must be done. say gives the plain words, without
// mark-up, of a catalogue text in the reader's language; it is called from this
// goroutine only. The same plan and words give the same bytes. The error is
// ErrNoFrame when p has no order size.
func Draw(p plan.Plan, say func(phrase.Text) string) ([]byte, error) {
	c, err := drawn(p, say)
	if err != nil {
		return nil, err
	}
	return scene.PNG(&c.Scene, cardWidth, c.y)
}

func drawn(p plan.Plan, say func(phrase.Text) string) (*card, error) {
	if !p.Order.Size.Width.IsPositive() || !p.Order.Size.Height.IsPositive() {
		return nil, ErrNoFrame
	}
	c := &card{Voice: scene.NewVoice(say), y: margin}
	c.head(p)
	drawing := scene.NewFitting(&c.Scene, c.Voice, p, scene.Box{X: margin, Y: c.y, W: width})
	key := drawing.Key()
	warnings := warningsOf(p, c.Voice)
	foot := c.foot(p)
	c.y = drawing.Draw(tallest-key.Height()-gap-min(mostWarnings, warningsHeight(warnings))-height(foot)) + gap
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

// head is the name, the order size and the words "seen from outside".
func (c *card) head(p plan.Plan) {
	o := p.Opening
	if name := typeface.Line(o.Name); name != "" {
		c.lines(shorten(bold(4.4).Wrap(name, width), 2), bold(4.4))
	}
	var about []string
	if o.Room != "" {
		about = append(about, c.Key("card.room."+string(o.Room)))
	}
	if o.Material != "" {
		about = append(about, c.Key("card.material."+string(o.Material)))
	}
	c.paragraph(strings.Join(about, " · "), regular(3))
	c.y += 1
	c.paragraph(c.Key("card.order_size"), bold(3.2))
	size := c.Say(phrase.Of("card.size").With("width", p.Order.Size.Width).With("height", p.Order.Size.Height))
	c.paragraph(size, scene.Largest(size, width, scene.Fonts(bold, 11.8, 10.4, 9.2, 7.6, 6, 4.4)...))
	if o.SillDepth.IsPositive() {
		c.paragraph(c.Say(phrase.Of("card.sill_piece").With("depth", o.SillDepth)), bold(3.4))
	}
	c.y += 1.2
	c.band(c.Key("card.seen_from_outside"))
}

// band is white words on black across the card.
func (c *card) band(words string) {
	f := scene.Largest(words, width, scene.Fonts(bold, 4.6, 3.8, 3.2, smallest)...)
	b := scene.Box{X: margin, Y: c.y, W: width, H: f.Height(f.Wrap(words, width)) + 1.4}
	c.Fill(scene.Box{Y: b.Y, W: cardWidth, H: b.H}, scene.Black)
	c.Into(b, words, scene.Paper, f)
	c.y += b.H
}

// foot is the end of the card: the readings, place and date, whose word counts.
func (c *card) foot(p plan.Plan) []part {
	return []part{
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
		parts = append(parts, c.Say(phrase.Of("card.date").Saying("date", o.Date)))
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
