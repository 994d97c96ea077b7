package plan

import (
	"slices"

	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// Part is what a row of the screen is about.
type Part int

// The parts, in the order in which they are read.
const (
	StopPart Part = iota
	SizePart
	RiskPart
	OrderPart
	PointPart
	UnmeasuredPart
	ScrewPart
	PackerPart
	BlockPart
)

// Row is one row of the answer on one screen of a phone.
type Row struct {
	Part Part
	Head bool // it stands over the other rows of its part
	Text phrase.Text
	// Finding is what a rule says; nil for rows of another kind.
	Finding *safety.Finding
	// Words are a stop's or a point's without what stands before them.
	Words phrase.Text
}

// Changed are the rows that are others than before, under the heads of their parts, and
// the stops and points that hold no more. The stops of now are not among them.
func Changed(before, now []Row) []phrase.Text {
	lacks := func(rows []Row, row Row) bool {
		return !slices.ContainsFunc(rows, func(other Row) bool { return other.Part == row.Part && other.Text.Same(row.Text) })
	}
	moved := map[Part]bool{}
	for _, row := range now {
		moved[row.Part] = moved[row.Part] || lacks(before, row)
	}
	var lines []phrase.Text
	for _, row := range now {
		if row.Part != StopPart && (lacks(before, row) || row.Head && moved[row.Part]) {
			lines = append(lines, row.Text)
		}
	}
	for _, row := range before {
		if row.Words.Key != "" && lacks(now, row) {
			lines = append(lines, phrase.Of("screen.gone").Sub1("row", row.Words))
		}
	}
	return lines
}
