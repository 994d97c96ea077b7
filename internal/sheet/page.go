package sheet

import (
	"sillbot/internal/phrase"
	"sillbot/internal/scene"
	"sillbot/internal/typeface"
	"time"
)

// Sizes of the page, in mm. Every printer can print inside the margins.
const (
	pageWidth  = 210.0
	pageHeight = 297.0
	left       = 15.0
	right      = pageWidth - 15
	top        = 12.0
	lowest     = pageHeight - 8 // of the foot
	footGap    = 2.6            // between the lines and the foot
	width      = right - left
)

func box(x, y, w, h float64) scene.Box { return scene.Box{X: x, Y: y, W: w, H: h} }

// Printer makes sheets in one reader's words.
type Printer struct {
	// Say gives the plain words, without mark-up, of a catalogue text. It is
	// called from the caller's goroutine only.
	Say func(phrase.Text) string
	// At is when the sheet is made. Days on the sheet are those of its zone.
	At time.Time
}

// layout is a sheet being laid out from the top down.
type layout struct {
	*scene.Scene // the page that is being laid out
	voice        scene.Voice
	pages        []*scene.Scene
	full         func(*scene.Scene) // takes each page when it is full, instead of pages; nil: none does
	begun        int                // pages
	y            float64
	head         func()    // draws the head of a page and moves y under it
	title        string    // what the document is called in a reader's window
	made         time.Time // in the reader's zone
	foots        foot
}

// foot is what ends every page: its words, broken into lines.
type foot struct {
	font   scene.Font
	advice []string
	height float64
}

// pagesWide is the room for the page's number.
const pagesWide = 44.0

// measured lays the foot out once.
func (l *layout) measured() *foot {
	if f := &l.foots; f.height == 0 {
		f.font, f.advice = scene.Squeezed(l.key("card.advice"), width-pagesWide-4, scene.Bold(8).Line(), scene.Fonts(scene.Bold, 8, 7)...)
		f.height = f.font.Height(f.advice) + scene.Regular(8).Line()
	}
	return &l.foots
}

func (l *layout) footTop() float64 { return lowest - l.measured().height }

// bottom is of the lines; the foot stands below.
func (l *layout) bottom() float64 { return l.footTop() - footGap }

func newLayout(p Printer) *layout {
	return &layout{voice: scene.NewVoice(p.Say), head: func() {}, made: p.At}
}

func (l *layout) zone() *time.Location { return l.made.Location() }

// newPage begins a page.
func (l *layout) newPage() {
	l.end()
	l.Scene = &scene.Scene{}
	l.begun++
	if l.full == nil {
		l.pages = append(l.pages, l.Scene)
	}
	l.y = top
	l.head()
}

// end hands the page over to who takes full ones.
func (l *layout) end() {
	if l.full != nil && l.Scene != nil {
		l.full(l.Scene)
	}
	l.Scene = nil
}

// room is what is left of the page.
func (l *layout) room() float64 { return l.bottom() - l.y }

// need begins a page when less than h is left.
func (l *layout) need(h float64) bool {
	if h <= l.room()+1e-6 {
		return false
	}
	l.newPage()
	return true
}

// level draws a level line, slant one between any two points.
func (l *layout) level(x, y, w, thick float64) { l.slant(x, y, x+w, y, thick) }

func (l *layout) slant(x0, y0, x1, y1, thick float64) {
	l.Line(scene.Point{X: x0, Y: y0}, scene.Point{X: x1, Y: y1}, thick)
}

// key is the words of a plain key, words those of a text.
func (l *layout) key(key string) string { return l.voice.Key(key) }

func (l *layout) words(t phrase.Text) string { return l.voice.Say(t) }

// clean puts words on one line, without anything that can't be drawn.
func clean(words string) string { return typeface.Line(words) }

// paragraph sets words over the width of the page, on as many pages as it
// takes.
func (l *layout) paragraph(words string, f scene.Font) {
	for _, line := range f.Wrap(words, width) {
		l.need(f.Line())
		l.Text(line, f, box(left, l.y, width, f.Line()), scene.Black)
		l.y += f.Line()
	}
}

// band is white words on black across the page: what forbids to make something.
// Nothing else on a sheet is white on black.
func (l *layout) band(words string, size float64) {
	f := scene.Bold(size)
	b := box(left+3, l.y, width-6, f.Height(f.Wrap(words, width-6))+2.4)
	l.Fill(box(left, l.y, width, b.H), scene.Black)
	l.Into(b, words, scene.Paper, f)
	l.y += b.H + 1
}

// heading begins a part of the sheet, with follows mm of what comes after it on
// the same page.
func (l *layout) heading(words string, follows float64) {
	f := scene.Bold(11)
	l.need(f.Height(f.Wrap(words, width)) + 1 + follows)
	l.paragraph(words, f)
	l.y += 1
}

// foot ends every page with its number and whose word counts.
func (l *layout) foot(name string) {
	l.title = name
	for i, p := range l.pages {
		l.Scene = p
		l.footOf(name, i, len(l.pages))
	}
}

// footOf is the foot of one page, by its index, of many.
func (l *layout) footOf(name string, i, pages int) {
	f, y := l.measured(), l.footTop()
	l.level(left, y-1, width, 0.2)
	count := l.words(phrase.Of("sheet.page").WithInt("page", i+1).WithInt("pages", pages))
	counted, lines := scene.Squeezed(count, pagesWide, f.height, scene.Fonts(scene.Regular, 8, 7)...)
	for n, line := range lines[:min(len(lines), int(f.height/counted.Line()))] {
		l.Ended(line, counted, box(right-pagesWide, y+float64(n)*counted.Line(), pagesWide, counted.Line()), scene.Black)
	}
	y += l.Lines(f.advice, f.font, box(left, y, width-pagesWide-4, f.height), scene.Black)
	// The name stands at the head of every page too, so its first line is enough.
	names := scene.Regular(8).Wrap(name, width-pagesWide-4)
	l.Lines(names[:min(1, len(names))], scene.Regular(8), box(left, y, width-pagesWide-4, f.height), scene.Black)
}
