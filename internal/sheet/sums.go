package sheet

import (
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
)

// ofAll is what is said once, and the lines that have it.
type ofAll struct {
	words string
	lines []int
	ask   string // the sentence that it is the name in; "": words are the sentence
}

// noted is the list with a line more that has those words.
func noted(all []ofAll, words string, line int) []ofAll { return notedOf(all, "", words, line) }

// notedOf is the same of what is the name in a sentence.
func notedOf(all []ofAll, ask, words string, line int) []ofAll {
	i := slices.IndexFunc(all, func(a ofAll) bool { return a.words == words && a.ask == ask })
	if i < 0 {
		i, all = len(all), append(all, ofAll{words: words, ask: ask})
	}
	if at := &all[i]; len(at.lines) == 0 || at.lines[len(at.lines)-1] != line {
		at.lines = append(at.lines, line)
	}
	return all
}

// total is what the windows of all lines come to.
type total struct {
	windows, weighed, priced, lines int
	mass, price                     decimal.Decimal
}

func (t *total) add(l job.SheetLine) {
	n := decimal.NewFromInt(int64(l.Quantity))
	t.windows, t.lines = t.windows+l.Quantity, t.lines+1
	if l.Worked != nil && l.Worked.Mass.IsPositive() {
		t.weighed++
		t.mass = t.mass.Add(l.Worked.Mass.Mul(n))
	}
	if l.Price != nil {
		t.priced++
		t.price = t.price.Add(sumOf(l))
	}
}

// share is the area of vents that rooms of one kind ask for, and the lines that are
// in one.
type share struct {
	room    string // catalogue key
	area    decimal.Decimal
	windows int
	lines   []int
}

// ranges are the numbers of lines as people count them, runs of three and more drawn
// together: 1–6, 9.
func ranges(lines []int) string {
	var parts []string
	for _, r := range job.Runs(lines) {
		if r[1] > r[0]+1 {
			parts = append(parts, strconv.Itoa(r[0]+1)+"–"+strconv.Itoa(r[1]+1))
			continue
		}
		for n := r[0]; n <= r[1]; n++ {
			parts = append(parts, strconv.Itoa(n+1))
		}
	}
	return strings.Join(parts, ", ")
}

// sumOf is the price of all windows of a line, which has one.
func sumOf(l job.SheetLine) decimal.Decimal {
	return l.Price.Mul(decimal.NewFromInt(int64(l.Quantity)))
}
