package calc

import (
	"slices"
	"strings"
)

// A mark is worked out from the reading to the sentence: that of a result is the
// weakest of all that it rests on. A reading off the tape, and what a person
// says of one window, weaken nothing. A setting does, by the marks below, and by
// no better one when a crew gave its own: a crew's own figure has no source.

// How far the settings may be trusted.
const (
	faceMark     = Practice   // face widths, upstand and edge cover: invented or the crew's own
	tapeMark     = Practice   // the tape's error
	plasterMark  = Practice   // the plaster's thickness
	coverMark    = FromMemory // what a check covers
	embedMark    = FromMemory // a screw's length in the masonry
	wallMark     = Practice   // setback, bed, leaf, cavity, frame depth, stock lengths
	movementMark = FromMemory // expansion, range, share and class of a joint
	sashMark     = FromMemory // what an open sash takes off
	coatMark     = Practice   // the coats of a patch, where a person didn't give them
)

// finishMark is how far what a finish hides may be trusted.
func finishMark(f Finish) Mark {
	switch f {
	case Plaster:
		return plasterMark
	case Check:
		return coverMark
	}
	return ""
}

// Weakest is the mark of a figure that several make: that of the one that may
// be trusted least. No mark at all is less than any.
func Weakest(marks ...Mark) Mark {
	const order = string(Read + Derived + Quoted + FromMemory + Practice)
	worst := marks[0]
	for _, m := range marks {
		if m == "" {
			return ""
		}
		if strings.Index(order, string(m)) > strings.Index(order, string(worst)) {
			worst = m
		}
	}
	return worst
}

// on is a reason weakened by what it rests on.
func (r Reason) on(marks ...Mark) Reason {
	mark := resting(r.Mark, marks...)
	if r.Source != "" && mark != r.Mark && r.Own == "" {
		r.Own = r.Mark
	}
	r.Mark = mark
	return r
}

// resting is a mark weakened by those of what it rests on, of which an empty one
// is a reading and weakens nothing.
func resting(own Mark, on ...Mark) Mark {
	return Weakest(append(slices.DeleteFunc(on, func(m Mark) bool { return m == "" }), own)...)
}

// markOf is the weakest mark of reasons; empty without any.
func markOf(reasons []Reason) Mark {
	var marks []Mark
	for _, r := range reasons {
		marks = append(marks, r.Mark)
	}
	if marks == nil {
		return ""
	}
	return Weakest(marks...)
}
