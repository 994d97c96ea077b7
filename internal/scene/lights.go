package scene

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/typeface"
)

// mark is what is asked of a light's glass, in words; none where nothing is.
func (w *window) mark(n int) string {
	if n >= len(w.marks) || !w.marks[n].Asked {
		return ""
	}
	return w.voice.Say(w.marks[n].Text())
}

// numbered tells whether the lights carry numbers: when there are several.
func (w *window) numbered() bool { return len(w.layout.Lights) > 1 }

func (w *window) numberHeight() float64 {
	if !w.numbered() {
		return 0
	}
	return w.numbers[0].Line()
}

// free is the room for words in a light, clear of the letters of its blocks: above
// and below them all, or between those at the upright edges, whichever is more.
func (w *window) free(n int) Box {
	between, beside := w.panes[n].Inset(1.2), w.panes[n].Inset(1.2)
	for _, b := range w.badges(n) {
		if b.role == calc.Location {
			continue
		}
		between = between.clear(b.box, true)
		beside = beside.clear(b.box, level(b.edge))
	}
	if beside.W*beside.H > between.W*between.H {
		return beside
	}
	return between
}

// clear is what is left of b on the larger side of a sign: above or below it, or
// left or right of it.
func (b Box) clear(sign Box, over bool) Box {
	x0, y0, x1, y1 := b.X, b.Y, b.Right(), b.Bottom()
	switch {
	case over && sign.Y+sign.H/2 > b.Y+b.H/2:
		y1 = min(y1, sign.Y-0.4)
	case over:
		y0 = max(y0, sign.Bottom()+0.4)
	case sign.X+sign.W/2 > b.X+b.W/2:
		x1 = min(x1, sign.X-0.4)
	default:
		x0 = max(x0, sign.Right()+0.4)
	}
	return Box{x0, y0, max(0, x1-x0), max(0, y1-y0)}
}

// written is how the words of a light stand inside it: how it opens, and in bold
// what is asked of its glass.
type written struct {
	font       Font
	ways, mark []string
}

func (m written) bold() Font { return Font{typeface.Bold, m.font.Size} }

func (m written) height() float64 { return m.font.Height(m.ways) + m.bold().Height(m.mark) }

// mostWays is how many lines the words in a light may take: a word a line is no
// sentence.
const mostWays = 4

// way is how the words and the number of a light are written inside it. ok is
// false when there is no room for all of them; what is asked of the glass is still
// written where it alone has room.
func (w *window) way(n int) (m written, ok bool) {
	ways, mark := w.voice.Way(w.layout.Lights[n].Hinge), w.mark(n)
	if m, ok = w.fitted(n, ways, mark); ok || mark == "" {
		return m, ok
	}
	if m, ok = w.fitted(n, "", mark); !ok {
		m, _ = w.fitted(n, "", w.voice.Say(w.marks[n].Short()))
	}
	return m, false
}

func (w *window) fitted(n int, ways, mark string) (m written, ok bool) {
	free := w.free(n)
	if w.numbered() && w.numbers[0].Width(strconv.Itoa(n+1)) > free.W {
		return m, false
	}
	for _, f := range w.ways {
		m.font = f
		whole := !slices.ContainsFunc(strings.Fields(ways+" "+mark), func(word string) bool { return m.bold().Width(word) > free.W })
		m.ways, m.mark = f.Wrap(ways, free.W), m.bold().Wrap(mark, free.W)
		if whole && len(m.ways) <= mostWays && m.height()+w.numberHeight() <= free.H {
			return m, true
		}
	}
	return written{}, false
}

// told tells whether every light says how it opens inside it.
func (w *window) told() bool {
	for n := range w.layout.Lights {
		if _, ok := w.way(n); !ok {
			return false
		}
	}
	return true
}

// list says of the lights what can't be said in all of them: how they open, and
// which have safety glass.
func (w *window) list() string {
	all := w.voice.Ways(w.layout)
	about := map[string][]int{}
	var order []string
	for n := range w.layout.Lights {
		if words := w.mark(n); words != "" {
			if about[words] == nil {
				order = append(order, words)
			}
			about[words] = append(about[words], n)
		}
	}
	for _, words := range order {
		all = append(all, w.voice.About(about[words], w.layout)+words)
	}
	return strings.Join(all, " · ")
}

// write writes a light's number, how it opens and what is asked of its glass, as
// far as there is room. It tells whether the number could be written.
func (w *window) write(n int) bool {
	free := w.free(n)
	m, _ := w.way(n)
	written := len(m.ways)+len(m.mark) > 0
	if !written {
		free = w.bay(w.layout.Lights[n])
	}
	number, fits := w.numberFont(n)
	if written {
		number = w.numbers[0]
	}
	y := free.Y + (free.H-w.numberHeight()-m.height())/2
	if w.numbered() && fits {
		w.patch(strconv.Itoa(n+1), number, Box{free.X, y, free.W, w.numberHeight()}, number.capital()+0.6)
	}
	y += w.numberHeight()
	for _, part := range []struct {
		lines []string
		font  Font
	}{{m.ways, m.font}, {m.mark, m.bold()}} {
		for _, line := range part.lines {
			w.patch(line, part.font, Box{free.X, y, free.W, part.font.Line()}, part.font.Line())
			y += part.font.Line()
		}
	}
	return fits
}

// patch sets words in the middle of b on a patch of paper, so that no line of
// the drawing runs through them.
func (w *window) patch(words string, f Font, b Box, high float64) {
	patch := b.Middle(f.Width(words)+1.2, high)
	w.Fill(patch, Paper)
	w.taken = append(w.taken, patch)
	w.inside(words, f, b, Black)
}

// numberFont is the first in which a light's number stays within its glass, or
// the last where it only stays within its sash; ok is false when it doesn't.
func (w *window) numberFont(n int) (f Font, ok bool) {
	within := func(b Box) bool {
		return f.Width(strconv.Itoa(n+1)) <= b.W-0.4 && f.capital() <= b.H-0.4
	}
	for _, f = range w.numbers {
		if within(w.panes[n]) {
			return f, true
		}
	}
	return f, within(w.bay(w.layout.Lights[n])) || !w.numbered()
}
