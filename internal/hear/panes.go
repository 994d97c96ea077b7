package hear

import (
	"slices"
	"strconv"

	"sillbot/internal/opening"
)

// Of what the safety glass of single lights is: light 2 laminated, lights 1 and 3
// toughened, laminated in light 2.

// lightWords are the words before the number of a light.
const lightWords = "itemlight"

// panes takes a clause that says nothing else.
func (r *reader) panes(list []atom) bool {
	c := clause{reader: r, list: list}
	value, glass, found := r.glassByLight, "", false
	var lights []int
	named := r.ctx.Open == opening.ByLight
	for c.at < len(list) {
		a := list[c.at]
		means, end := c.phrase()
		of := func(group string) string {
			for _, m := range means {
				if base(m.group) == group {
					return m.code
				}
			}
			return ""
		}
		n, err := strconv.Atoi(a.text)
		switch {
		case a.kind == digits && err == nil && named && n >= 1 && n <= len(r.known.Layout().Lights):
			lights = append(lights, n)
			c.at++
		case of(lightWords) != "":
			named, c.at = true, end
		case of(string(opening.ByClass)) != "" && glass == "":
			glass, c.at = of(string(opening.ByClass)), end
		case of(fillers) != "", a.kind == mark && (a.text == ":" || a.text == "-" || a.text == "&"):
			c.at = max(end, c.at+1)
		default:
			return false
		}
		if glass != "" && len(lights) > 0 && (c.at == len(list) || !ofLights(list[c.at:])) {
			value, found = opening.WithPanes(value, opening.SafetyGlass(glass), lights...), true
			glass, lights = "", nil
		}
	}
	if !found || glass != "" || len(lights) > 0 {
		return false
	}
	r.glassByLight, r.byLight = value, true
	r.blank(list)
	return true
}

// ofLights says whether more numbers of lights follow.
func ofLights(list []atom) bool {
	i := slices.IndexFunc(list, func(a atom) bool { return a.kind == digits || a.kind == word && a.text != "and" })
	return i >= 0 && list[i].kind == digits
}
