package hear

import (
	"slices"
	"strings"

	"sillbot/internal/opening"
)

// present are the fields that say whether something is there or near, and the distance
// that near means, as it is typed.
var present = map[opening.Key]string{"vents": "", "door": "300", "bath": "800", "cracks": "", "bowed": "", "flue": "", "protected": ""}

// presences takes the clauses out of a part that say whether something is there or near:
// the old window did have background vents, not within 800 mm of the bath.
func (r *reader) presences(list []token) []token {
	if thingOf(list) == "" {
		return list
	}
	var left []token
	for from := 0; from < len(list); {
		to := from
		for to < len(list) && list[to].kind != comma && (to == from || !list[to].marker("and")) {
			to++
		}
		clause := list[from:to]
		key, value := presence(clause)
		if far := to+1 < len(list) && list[to+1].kind == lengths && present[key] != ""; value != "" && !far { // door is near, 20 cm
			from, to := clause[0].from, clause[len(clause)-1].to
			left = append(left, token{kind: phrase, means: []meaning{{key, value}}, text: r.text[from:to], from: from, to: to})
		} else {
			left = append(left, clause...)
		}
		if to < len(list) && list[to].kind == comma {
			left = append(left, list[to])
			to++
		}
		from = to
	}
	return slices.CompactFunc(left, func(a, b token) bool { return a.kind == comma && b.kind == comma })
}

// presence is what a clause says so; "" where it has other words, or asks.
func presence(list []token) (key opening.Key, value string) {
	if key = thingOf(list); key == "" || asksWhether(list) {
		return "", ""
	}
	there, none, named := 0, 0, false
	for _, t := range list {
		code := t.codeOf(key)
		named = named || code != "" || t.codeOf("name") == key
		switch {
		case t.marker("absent"), t.marker("no"), t.marker("not"), t.codeOf("answer") == "no", code == "no":
			if none++; named && there > 0 && code == "" { // one had vents, one didn't
				return "", ""
			}
		case t.marker("there"), t.codeOf("answer") == "yes", code == "yes":
			there++
		case t.kind == lengths && strings.TrimRight(t.text, " m") == present[key]:
		case t.codeOf("name") == key, t.marker("and"), t.marker("thing"), t.marker("asking"), t.marker("late"), t.marker("or"):
		default:
			return "", ""
		}
	}
	switch {
	case none > 1 || none+there == 0:
		return "", ""
	case none == 1:
		return key, "no"
	}
	return key, "yes"
}

// asksWhether says whether the clause is a question by its first words: did it have,
// hasn't the old one got.
func asksWhether(list []token) bool {
	return list[0].marker("asking") || list[0].marker("absent") && len(list) > 1 && list[1].marker("thing")
}

// thingOf is the one thing that a clause is of; "" for none, or several.
func thingOf(list []token) (key opening.Key) {
	for _, t := range list {
		for of := range present {
			switch named := t.codeOf("name") == of || key == "" && t.has(of) && len(t.means) == 1; {
			case named && key != "" && key != of:
				return ""
			case named:
				key = of
			}
		}
	}
	return key
}
