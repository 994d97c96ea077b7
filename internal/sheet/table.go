package sheet

import "sillbot/internal/scene"

// part is some of a row's words.
type part struct {
	words string
	font  scene.Font
}

// row is a label and what it says, part under part.
type row struct {
	label string
	parts []part
}

// column is where rows stand: labels at x, labelWidth wide, and all of it
// width wide.
type column struct{ x, labelWidth, width float64 }

const rowGap = 0.9 // mm between two rows

// unit is one line of a row: the least that is kept together.
type unit struct {
	label, words string
	font         scene.Font
	first        bool    // of its row
	keep         float64 // height from here that must not be broken
}

func (l *layout) units(rows []row, c column) []unit {
	var out []unit
	for _, r := range rows {
		labels := labelFont.Wrap(r.label, c.labelWidth-2)
		n := len(out)
		for _, p := range r.parts {
			for _, line := range p.font.Wrap(p.words, c.width-c.labelWidth) {
				out = append(out, unit{words: line, font: p.font})
			}
		}
		for len(out)-n < len(labels) {
			out = append(out, unit{font: labelFont})
		}
		for i, label := range labels {
			out[n+i].label = label
		}
		if len(out) > n {
			out[n].first = true
			out[n].keep = unitsHeight(out[n : n+max(1, min(len(labels), len(out)-n))])
		}
	}
	return out
}

var labelFont = scene.Bold(8)

func (u unit) height() float64 {
	h := u.font.Line()
	if u.label != "" {
		h = max(h, labelFont.Line())
	}
	if u.first {
		h += rowGap
	}
	return h
}

func unitsHeight(units []unit) float64 {
	h := 0.0
	for _, u := range units {
		h += u.height()
	}
	return h
}

// atLeast is how many lines go over to the next page together: one or two there by
// themselves are overlooked.
const atLeast = 4

// flow sets rows from y down. On a new page again draws the heading.
func (l *layout) flow(rows []row, c column, again func()) {
	units := l.units(rows, c)
	for i, u := range units {
		keep := max(u.height(), u.keep)
		if i > 0 && i == len(units)-atLeast {
			keep = max(keep, unitsHeight(units[i:]))
		}
		if l.need(keep) {
			again()
		}
		y := l.y
		if u.first {
			y += rowGap
		}
		// Label and words stand on one base line.
		l.Text(u.label, labelFont, box(c.x, y+labelFont.Beside(u.font), c.labelWidth, u.height()), scene.Black)
		l.Text(u.words, u.font, box(c.x+c.labelWidth, y, c.width-c.labelWidth, u.font.Line()), scene.Black)
		l.y += u.height()
	}
}

// tableColumn is a column of a table with a title.
type tableColumn struct {
	title string // catalogue key
	width float64
	ended bool // figures, set to the right
}

type table struct {
	columns []tableColumn
	rows    [][]string
	heavy   map[int]bool // rows in bold
}

const cellPad = 1.6

// table draws a table over as many pages as it takes, its titles on each.
func (l *layout) table(t table) {
	head := l.titles(t)
	l.need(l.tableStart(t))
	l.tableRow(t, head, true)
	for n, cells := range t.rows {
		f := scene.Regular(9)
		if t.heavy[n] {
			f = scene.Bold(9)
		}
		r := l.cells(t, cells, f)
		if l.need(r.height) {
			l.tableRow(t, head, true)
		}
		l.tableRow(t, r, false)
	}
}

func (l *layout) titles(t table) cells {
	titles := make([]string, len(t.columns))
	for i, c := range t.columns {
		titles[i] = l.key(c.title)
	}
	return l.cells(t, titles, scene.Bold(8.5))
}

// tableStart is the height of the titles and the first row.
func (l *layout) tableStart(t table) float64 {
	h := l.titles(t).height
	if len(t.rows) > 0 {
		h += l.cells(t, t.rows[0], scene.Bold(9)).height
	}
	return h
}

// cells is a row of a table with its words broken into lines.
type cells struct {
	lines  [][]string
	font   scene.Font
	height float64
}

func (l *layout) cells(t table, words []string, f scene.Font) cells {
	r := cells{font: f}
	for i, c := range t.columns {
		lines := f.Wrap(words[i], c.width-2*cellPad)
		r.lines = append(r.lines, lines)
		r.height = max(r.height, f.Height(lines)+2)
	}
	return r
}

func (l *layout) tableRow(t table, r cells, head bool) {
	if head {
		l.Fill(box(left, l.y, width, r.height), scene.Pale)
	}
	x := left
	for i, c := range t.columns {
		for n, line := range r.lines[i] {
			b := box(x+cellPad, l.y+1+float64(n)*r.font.Line(), c.width-2*cellPad, r.font.Line())
			if c.ended {
				l.Ended(line, r.font, b, scene.Black)
			} else {
				l.Text(line, r.font, b, scene.Black)
			}
		}
		x += c.width
	}
	l.y += r.height
	l.Fill(box(left, l.y, width, 0.15), scene.Grey)
}
