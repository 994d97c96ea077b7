package hear

import (
	"slices"
)

// material takes what the new frame is made of, with its colour. PVC-U needs
// both: what is not said is asked.
func (w *walk) material(i int) bool {
	if !w.list[i].has("stuff") && !w.list[i].has("colour") || w.ofOther(i) {
		return false
	}
	stuffs, colours, typed := w.stuff(i)
	if len(colours) > 1 { // colour white
		colours = slices.DeleteFunc(colours, func(c string) bool { return c == "any" })
	}
	by := placed
	if slices.Contains(w.names, "material") {
		by, w.names = named, nil
	}
	value := func(code string) []Value { return []Value{{Key: "material", Value: code, Typed: typed}} }
	w.last = "material"
	switch {
	case len(stuffs) > 1:
		var ways [][]Value
		for _, s := range stuffs {
			if s == "pvcu" {
				s = pvcu(colours)
			}
			ways = append(ways, value(s))
		}
		w.ask(Either, ways...)
	case len(stuffs) == 1 && stuffs[0] != "pvcu":
		w.put(value(stuffs[0])[0], by)
	case len(colours) != 1:
		w.ask(Either, value("pvcu-white"), value("pvcu-colour"))
	case len(stuffs) == 0 && w.bareColour(i, colours[0], by):
		w.ask(Unsaid, value(pvcu(colours)))
	default:
		w.put(value(pvcu(colours))[0], by)
	}
	return true
}

// lintel asks of what it is, where it is all that is said to be over the opening.
func (w *walk) lintel(i int) bool {
	if w.open() != "over" || w.saidNow("over") || !w.list[i].marker("lintel") {
		return false
	}
	for _, t := range w.list[i+1:] {
		if !t.marker("harmless") {
			return false
		}
	}
	w.use(i)
	value := func(code string) []Value { return []Value{{Key: "over", Value: code, Typed: w.list[i].text}} }
	w.ask(Either, value("lintel"), value("timber"))
	return true
}

// pvcu is the material of a PVC-U frame of those colours.
func pvcu(colours []string) string {
	if len(colours) == 1 && colours[0] == "white" {
		return "pvcu-white"
	}
	return "pvcu-colour"
}

// ofOther says whether the word rather answers another question: brick or
// timber over the opening.
func (w *walk) ofOther(i int) bool {
	t := w.list[i]
	switch {
	case w.open() != "material" && w.fits(w.open(), t):
	case len(w.names) > 0 && !slices.Contains(w.names, "material") && w.fits(w.names[0], t):
	case w.last != "material" && w.saidNow(w.last) && w.fits(w.last, t): // no lintel, steel
	case w.correcting && w.target() != "material" && w.fits(w.target(), t):
	default:
		return false
	}
	return true
}

// stuff gathers the materials and colours of the part.
func (w *walk) stuff(i int) (stuffs, colours []string, typed string) {
	for j := i; j < len(w.list); j++ {
		t := w.list[j]
		stuff, colour := t.codeOf("stuff"), t.codeOf("colour")
		if w.used[j] || stuff == "" && colour == "" || j > i && w.fits(w.open(), t) && w.open() != "material" {
			continue
		}
		if stuff != "" && !slices.Contains(stuffs, stuff) {
			stuffs = append(stuffs, stuff)
		}
		if colour != "" && !slices.Contains(colours, colour) {
			colours = append(colours, colour)
		}
		typed = w.text[w.list[i].from:t.to]
		w.use(j)
	}
	return stuffs, colours, typed
}

// bareColour says whether a colour alone leaves the material open. White and
// coloured are what the buttons of the question say.
func (w *walk) bareColour(i int, colour string, by how) bool {
	if w.known.Value("material") == pvcu([]string{colour}) {
		return false
	}
	return colour == "other" || by != named && w.open() != "material" || w.nearSill(i)
}

// nearSill says whether the sill was named before token i: the colour may be its.
func (w *walk) nearSill(i int) bool {
	return slices.ContainsFunc(w.list[:i], func(t token) bool { return t.codeOf("name") == "sill" })
}
