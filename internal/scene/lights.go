package scene

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
)

// words say how a light opens and where its hinges are.
func (w *window) words(n int) string {
	return w.voice.Key("card.light." + string(w.layout.Lights[n].Hinge))
}

// numbered tells whether the lights carry numbers: when there are several.
func (w *window) numbered() bool { return len(w.layout.Lights) > 1 }

func (w *window) numberHeight() float64 {
	if !w.numbered() {
		return 0
	}
	return w.numbers[0].Line()
}

// free is the room for words in a light, clear of the signs of its blocks.
func (w *window) free(n int) Box {
	r := w.panes[n].Inset(1.2)
	y0, y1, middle := r.Y, r.Bottom(), r.Y+r.H/2
	for _, b := range w.badges(n) {
		switch {
		case b.role == calc.Location:
		case b.box.Y+b.box.H/2 > middle:
			y1 = min(y1, b.box.Y-0.4)
		default:
			y0 = max(y0, b.box.Bottom()+0.4)
		}
	}
	return Box{r.X, y0, r.W, max(0, y1-y0)}
}

// way is how the words and the number of a light are written inside it; ok is
// false when there is no room for them.
func (w *window) way(n int) (f Font, lines []string, ok bool) {
	free, words := w.free(n), w.words(n)
	if w.numbered() && w.numbers[0].Width(strconv.Itoa(n+1)) > free.W {
		return f, nil, false
	}
	for _, f := range w.ways {
		whole := !slices.ContainsFunc(strings.Fields(words), func(word string) bool { return f.Width(word) > free.W })
		if lines := f.Wrap(words, free.W); whole && f.Height(lines)+w.numberHeight() <= free.H {
			return f, lines, true
		}
	}
	return f, nil, false
}

// told tells whether every light says how it opens inside it.
func (w *window) told() bool {
	for n := range w.layout.Lights {
		if _, _, ok := w.way(n); !ok {
			return false
		}
	}
	return true
}

// write writes a light's number and how it opens, as far as there is room. It
// tells whether the number could be written.
func (w *window) write(n int) bool {
	free := w.free(n)
	f, lines, ok := w.way(n)
	if !ok {
		free = w.bay(w.layout.Lights[n])
	}
	number, fits := w.numberFont(n)
	if ok {
		number = w.numbers[0]
	}
	y := free.Y + (free.H-w.numberHeight()-f.Height(lines))/2
	if w.numbered() && fits {
		w.patch(strconv.Itoa(n+1), number, Box{free.X, y, free.W, w.numberHeight()}, number.capital()+0.6)
	}
	y += w.numberHeight()
	for _, line := range lines {
		w.patch(line, f, Box{free.X, y, free.W, f.Line()}, f.Line())
		y += f.Line()
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
