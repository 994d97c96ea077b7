package tell

import (
	"fmt"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// mostReasons is how many reasons a message names rows of a file with.
const mostReasons = 15

// Row is a row of an answer file, as a spreadsheet counts, and why it was left.
type Row struct {
	N   int
	Why phrase.Text
}

// Rows say which rows of an answer file were left and why, those with the same
// reason together.
func Rows(rows []Row) []phrase.Text {
	var order []string
	same := map[string][]Row{}
	for _, r := range rows {
		key := fmt.Sprint(r.Why)
		if same[key] == nil {
			order = append(order, key)
		}
		same[key] = append(same[key], r)
	}
	var lines []phrase.Text
	for i, key := range order {
		if i == mostReasons {
			return append(lines, phrase.Of("answers.left_more").WithInt("count", len(order)-mostReasons))
		}
		var numbers []int
		for _, r := range same[key] {
			numbers = append(numbers, r.N)
		}
		lines = append(lines, phrase.Of("answers.left").WithInt("count", len(numbers)).Saying("rows", job.Numbers(numbers)).Sub1("why", same[key][0].Why))
	}
	return lines
}
