// Package card draws the card of one opening: the window seen from outside,
// to scale, with its order size, every fixing and packer with its distance
// from the corner, the glass blocks, and the warnings in words. It is made for
// a phone at arm's length and reads in black and white.
//
// The legend is the card's own and is printed on it. Distances on the drawing
// are the plan's decimals rounded to whole millimetres; binary floating point
// only says where on the picture a mark goes.
package card

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/png"
	"strconv"
	"strings"
	"sync"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/typeface"
)

// Sizes of the card, in pixels. The height is what the card needs; the drawing
// gives way so that it stays under tallest.
const (
	cardWidth = 1080
	tallest   = 2160
	margin    = 28
	smallest  = 26 // no letter is smaller
	// mostWarnings is the height that the drawing leaves to the warnings.
	mostWarnings = 430
)

// ErrNoFrame is a plan without an order size: there is nothing to draw.
var ErrNoFrame = errors.New("card: the plan has no order size")

// Draw draws the card of p as a PNG in greys, 1080 pixels wide and as high as
// it has to be, up to 2160; more only for words of unusual length, and to show
// every warning of what must be done. say gives the plain words, without
// mark-up, of a catalogue text in the reader's language; it is called from this goroutine only. The
// same plan and words give the same bytes. The error is ErrNoFrame when p has
// no order size.
func Draw(p plan.Plan, say func(phrase.Text) string) ([]byte, error) {
	s, err := drawn(p, say)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	picture := s.img.SubImage(image.Rect(0, 0, cardWidth, s.y))
	if err := encoder.Encode(&out, picture); err != nil {
		return nil, fmt.Errorf("card: %w", err)
	}
	return out.Bytes(), nil
}

var encoder = png.Encoder{CompressionLevel: png.BestSpeed, BufferPool: new(buffers)}

// buffers keeps the encoder's buffers from one card to the next.
type buffers sync.Pool

func (b *buffers) Get() *png.EncoderBuffer {
	kept, _ := (*sync.Pool)(b).Get().(*png.EncoderBuffer)
	return kept
}

func (b *buffers) Put(buffer *png.EncoderBuffer) { (*sync.Pool)(b).Put(buffer) }

// sheet is a card being drawn from the top down.
type sheet struct {
	canvas
	words func(phrase.Text) string
	said  map[string]string // the words of plain keys, as they come again and again
	y     int               // first free row

	// What was placed, for the tests of the layout.
	labels  []label
	leaders []leader
	dropped int // places on a side that there was no room to name
}

// label is a text that was placed, or a small sign with a text in it.
type label struct {
	text string
	box  image.Rectangle
	mark *tag // the place on a side that it names, if any
}

// leader is a line from a tag to the frame.
type leader struct {
	points []point
	to     *tag
}

func drawn(p plan.Plan, say func(phrase.Text) string) (*sheet, error) {
	if !p.Order.Size.Width.IsPositive() || !p.Order.Size.Height.IsPositive() {
		return nil, ErrNoFrame
	}
	s := &sheet{canvas: newCanvas(cardWidth, tallest), words: say, said: map[string]string{}, y: margin}
	s.head(p)
	w := newWindow(s, p)
	legend := s.legendOf(w)
	warnings := warningsOf(p, s.say)
	foot := s.foot(p)
	w.draw(height(legend) + min(mostWarnings, warningsHeight(warnings)) + foot.height)
	s.drawLegend(legend)
	s.reserve(min(mostGrave, graveHeight(warnings, s.rest(len(warnings)))) + foot.height)
	s.drawWarnings(warnings, s.img.Rect.Max.Y-foot.height)
	foot.draw()
	return s, nil
}

// reserve makes the card taller where words are so long that they need more
// than the tallest card has: nothing is cut off at the foot.
func (s *sheet) reserve(more int) {
	if s.y+more <= s.img.Rect.Max.Y {
		return
	}
	taller := newCanvas(cardWidth, s.y+more)
	copy(taller.img.Pix, s.img.Pix)
	s.canvas = taller
}

// say is the words of a text on one line, without anything that can't be
// drawn.
func (s *sheet) say(t phrase.Text) string { return typeface.Line(s.words(t)) }

func (s *sheet) sayKey(key string) string {
	words, ok := s.said[key]
	if !ok {
		words = s.say(phrase.Of(key))
		s.said[key] = words
	}
	return words
}

// head is the name, the order size and the words "seen from outside".
func (s *sheet) head(p plan.Plan) {
	o := p.Opening
	if name := typeface.Line(o.Name); name != "" {
		lines := wrap(typeface.At(typeface.Bold, 44), name, cardWidth-2*margin)
		s.lines(shorten(lines, 2), typeface.At(typeface.Bold, 44), black)
	}
	var about []string
	if o.Room != "" {
		about = append(about, s.sayKey("card.room."+string(o.Room)))
	}
	if o.Material != "" {
		about = append(about, s.sayKey("card.material."+string(o.Material)))
	}
	s.paragraph(strings.Join(about, " · "), typeface.Regular, 30)
	s.y += 10
	s.paragraph(s.sayKey("card.order_size"), typeface.Bold, 32)
	size := s.say(phrase.Of("card.size").With("width", p.Order.Size.Width).With("height", p.Order.Size.Height))
	s.paragraph(size, typeface.Bold, largest(size, cardWidth-2*margin, 118, 104, 92, 76, 60, 44))
	if o.SillDepth.IsPositive() {
		s.paragraph(s.say(phrase.Of("card.sill_piece").With("depth", o.SillDepth)), typeface.Bold, 34)
	}
	s.y += 12
	s.band(s.sayKey("card.seen_from_outside"))
}

// band is white words on black across the card.
func (s *sheet) band(words string) {
	f := typeface.At(typeface.Bold, largest(words, cardWidth-2*margin, 46, 38, 32, smallest))
	lines := wrap(f, words, cardWidth-2*margin)
	s.fill(image.Rect(0, s.y, cardWidth, s.y+len(lines)*lineHeight(f)+14), black)
	s.y += 7
	for _, line := range lines {
		s.centred(line, f, image.Rect(0, s.y, cardWidth, s.y+lineHeight(f)), paper)
		s.y += lineHeight(f)
	}
	s.y += 7
}

// footer is the end of the card. Its height is known before it is drawn.
type footer struct {
	height int
	draw   func()
}

func (s *sheet) foot(p plan.Plan) footer {
	f := typeface.At(typeface.Regular, smallest)
	bold := typeface.At(typeface.Bold, 28)
	readings := wrap(f, s.say(readingsOf(p.Opening)), cardWidth-2*margin)
	when := wrap(f, s.placeAndDate(p.Opening), cardWidth-2*margin)
	advice := wrap(bold, s.sayKey("card.advice"), cardWidth-2*margin)
	height := (len(readings)+len(when))*lineHeight(f) + len(advice)*lineHeight(bold) + 30 + margin
	return footer{height, func() {
		s.reserve(height)
		s.y += 14
		s.dashes(point{margin, float64(s.y)}, point{cardWidth - margin, float64(s.y)}, 3, black)
		s.y += 10
		s.lines(readings, f, black)
		s.lines(when, f, black)
		s.lines(advice, bold, black)
		s.y += margin
	}}
}

func (s *sheet) placeAndDate(o plan.Opening) string {
	var parts []string
	if o.Nation != "" {
		parts = append(parts, s.sayKey("card.nation."+string(o.Nation)))
	}
	if o.Date != "" {
		parts = append(parts, s.say(phrase.Of("card.date").Saying("date", o.Date)))
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

// whole is a length as it stands on the drawing.
func whole(d decimal.Decimal) string { return d.Round(0).String() }

// stackWords is a stack of packers, such as 4+1.
func stackWords(stack []int) string {
	parts := make([]string, len(stack))
	for i, mm := range stack {
		parts[i] = strconv.Itoa(mm)
	}
	return strings.Join(parts, "+")
}

// sides is the order in which the sides are gone through.
var sides = [4]calc.Side{calc.Left, calc.Right, calc.Head, calc.Sill}
