package scene

import (
	"bytes"
	"math"
	"strconv"
	"unicode"

	"sillbot/internal/typeface"
)

// hatchStep is from one slanting stroke of a hatched box to the next, mm
// along its edge.
const hatchStep = 1.2

const (
	points  = 1 / Point2mm // in a mm
	a4High  = 297.0        // mm
	circled = 0.5522847498 // how far a circle's handles are, in parts of its radius
)

// file is one font file.
type file struct {
	weight typeface.Weight
	n      int // of typeface.Files
}

// pen draws pages of a document. It keeps which letters of which file were set.
type pen struct {
	content bytes.Buffer // of the page
	letters map[file]map[rune]bool

	// What the page last set; -1 and the like: nothing yet.
	filled, stroked int
	thick           float64
	font            file
	size            float64
}

func newPen() pen { return pen{letters: map[file]map[rune]bool{}} }

// begin begins a page.
func (p *pen) begin() {
	p.content.Reset()
	p.filled, p.stroked, p.thick, p.size = -1, -1, -1, -1
}

// put writes figures and the operator behind them.
func (p *pen) put(op string, places int, figures ...float64) {
	var room [32]byte
	for _, f := range figures {
		if math.Abs(f) < 0.5*math.Pow10(-places) {
			f = 0 // not -0
		}
		p.content.Write(strconv.AppendFloat(room[:0], f, 'f', places, 64))
		p.content.WriteByte(' ')
	}
	p.content.WriteString(op)
	p.content.WriteByte('\n')
}

// x and y are places on paper as a PDF has them, from the bottom left corner.
func x(mm float64) float64 { return mm * points }
func y(mm float64) float64 { return (a4High - mm) * points }

func (p *pen) fill(i Ink) {
	if level := int(i.Level()); level != p.filled {
		p.filled = level
		p.put("g", 3, float64(level)/255)
	}
}

func (p *pen) stroke(thick float64, i Ink) {
	if level := int(i.Level()); level != p.stroked {
		p.stroked = level
		p.put("G", 3, float64(level)/255)
	}
	if thick != p.thick {
		p.thick = thick
		p.put("w", 2, thick*points)
	}
}

func (p *pen) Fill(b Box, i Ink) {
	p.fill(i)
	p.put("re f", 2, x(b.X), y(b.Y), b.W*points, -b.H*points)
}

func (p *pen) Polygon(corners []Point, i Ink) {
	p.fill(i)
	op := "m"
	for _, c := range corners {
		p.put(op, 2, x(c.X), y(c.Y))
		op = "l"
	}
	p.put("f", 0)
}

func (p *pen) Disc(m Point, radius float64, i Ink) {
	p.fill(i)
	at := func(across, up float64) (float64, float64) { return x(m.X + radius*across), y(m.Y - radius*up) }
	px, py := at(1, 0)
	p.put("m", 2, px, py)
	for _, q := range [4][6]float64{
		{1, circled, circled, 1, 0, 1}, {-circled, 1, -1, circled, -1, 0}, {-1, -circled, -circled, -1, 0, -1}, {circled, -1, 1, -circled, 1, 0},
	} {
		ax, ay := at(q[0], q[1])
		bx, by := at(q[2], q[3])
		cx, cy := at(q[4], q[5])
		p.put("c", 2, ax, ay, bx, by, cx, cy)
	}
	p.put("f", 0)
}

func (p *pen) Hatch(b Box) {
	p.stroke(0.2, Grey)
	p.content.WriteString("q\n")
	p.put("re W n", 2, x(b.X), y(b.Y), b.W*points, -b.H*points)
	for d := hatchStep; d < b.W+b.H; d += hatchStep {
		p.line(Point{b.X + d - b.H, b.Bottom()}, Point{b.X + d, b.Y})
	}
	p.content.WriteString("Q\n")
}

func (p *pen) line(a, b Point) {
	p.put("m", 2, x(a.X), y(a.Y))
	p.put("l S", 2, x(b.X), y(b.Y))
}

func (p *pen) Line(a, b Point, thick float64, dashed bool, i Ink) {
	p.stroke(thick, i)
	if dashed {
		p.content.WriteString("[")
		p.put("] 0 d", 2, dash*points, dashGap*points)
		defer p.content.WriteString("[] 0 d\n")
	}
	p.line(a, b)
}

// Text sets words part by part where one file has not all of the letters.
func (p *pen) Text(words string, f Font, base Point, turned bool, i Ink) {
	p.fill(i)
	p.content.WriteString("BT\n")
	if turned {
		p.put("Tm", 2, 0, 1, -1, 0, x(base.X), y(base.Y))
	} else {
		p.put("Td", 2, x(base.X), y(base.Y))
	}
	open := false
	for _, r := range words {
		if r > 0xFFFF {
			r = unicode.ReplacementChar // a font is addressed by two bytes
		}
		letter := typeface.Outline(f.Weight, r)
		if from := (file{f.Weight, letter.File}); from != p.font || f.Size != p.size {
			if open {
				p.content.WriteString(") Tj\n")
			}
			p.use(from, f.Size)
			open = false
		}
		if !open {
			p.content.WriteByte('(')
			open = true
		}
		p.letter(letter.Rune)
	}
	if open {
		p.content.WriteString(") Tj\n")
	}
	p.content.WriteString("ET\n")
}

func (p *pen) use(from file, size float64) {
	p.font, p.size = from, size
	if p.letters[from] == nil {
		p.letters[from] = map[rune]bool{}
	}
	p.content.WriteString("/" + from.name() + " ")
	p.put("Tf", 2, size*points)
}

// letter writes one in two bytes, as the fonts are addressed.
func (p *pen) letter(r rune) {
	p.letters[p.font][r] = true
	for _, c := range [2]byte{byte(r >> 8), byte(r)} {
		switch c {
		case '(', ')', '\\':
			p.content.WriteByte('\\')
		case '\r':
			p.content.WriteByte('\\')
			c = 'r'
		}
		p.content.WriteByte(c)
	}
}

// name is what a page calls the font.
func (f file) name() string {
	if f.weight == typeface.Bold {
		return "B" + strconv.Itoa(f.n)
	}
	return "R" + strconv.Itoa(f.n)
}
