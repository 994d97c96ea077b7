package sheet

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
)

// Limits of an answer file. Common practice, no source.
const (
	MostAnswerBytes = 256 << 10
	MostAnswers     = 200 // rows
	mostAnswerWords = 500 // characters of a question, as a job takes them
	mostAnswerOrder = 40  // of the supplier's number of the order
)

// mostAnswerPrice is more than any window costs, £.
var mostAnswerPrice = decimal.NewFromInt(10_000_000)

// Answers are what a supplier wrote into the order's CSV, all of one job.
type Answers struct {
	Ref     string
	Lines   []job.LineAnswer // rows in which something was filled in
	Refused []RefusedRow     // rows of which nothing is taken
}

// RefusedRow is a row that can't be taken as it stands.
type RefusedRow struct {
	Row int // as a spreadsheet counts: 1 is the row of names
	Why phrase.Text
}

// ReadAnswers reads the order's CSV with its answer columns filled in, as a
// spreadsheet may write it again: UTF-8 with or without a byte order mark, commas or
// semicolons, a decimal point or comma, columns in any order or left out but for ref,
// revision and window. Today is for days without a year. A row is taken whole or not
// at all; trouble is why nothing of the file is.
func ReadAnswers(data []byte, today time.Time) (answers Answers, trouble *phrase.Text) {
	table, trouble := openAnswers(data)
	if trouble != nil {
		return Answers{}, trouble
	}
	seen := map[int]int{} // window → its first row
	for row := 2; ; row++ {
		cells, more, trouble := table.next(row)
		switch {
		case trouble != nil:
			return Answers{}, trouble
		case !more && answers.Ref == "":
			return Answers{}, no(phrase.Of("answers.empty"))
		case !more:
			return answers.withoutDoubles(seen), nil
		case row > MostAnswers+1:
			return Answers{}, no(phrase.Of("answers.rows_many").WithInt("most", MostAnswers))
		}
		if blank(cells) {
			continue
		}
		ref, err := job.ParseReference(cells["ref"])
		switch {
		case err != nil:
			answers.refuse(row, phrase.Of("answers.ref").Saying("given", short(cells["ref"])))
			continue
		case answers.Ref == "":
			answers.Ref = ref
		case answers.Ref != ref:
			return Answers{}, no(phrase.Of("answers.two_jobs").Saying("one", answers.Ref).Saying("other", ref))
		}
		if !filledIn(cells) {
			continue
		}
		line, why := readAnswer(cells, today)
		if line.Window != 0 {
			seen[line.Window]++
		}
		if why != nil {
			answers.refuse(row, *why)
			continue
		}
		line.Row = row
		answers.Lines = append(answers.Lines, line)
	}
}

// AnswersRef is the reference of the job that an answer file names first; "": none.
// It tells which job to load before the file is read.
func AnswersRef(data []byte) string {
	table, trouble := openAnswers(data)
	if trouble != nil {
		return ""
	}
	for row := 2; row <= MostAnswers+1; row++ {
		cells, more, trouble := table.next(row)
		if trouble != nil || !more {
			return ""
		}
		if ref, err := job.ParseReference(cells["ref"]); err == nil {
			return ref
		}
	}
	return ""
}

func (a *Answers) refuse(row int, why phrase.Text) {
	a.Refused = append(a.Refused, RefusedRow{row, why})
}

// withoutDoubles refuses the rows of a window that has several: which of them is
// meant nobody can say.
func (a Answers) withoutDoubles(seen map[int]int) Answers {
	var lines []job.LineAnswer
	for _, l := range a.Lines {
		if seen[l.Window] > 1 {
			a.refuse(l.Row, phrase.Of("answers.twice").WithInt("n", l.Window))
			continue
		}
		lines = append(lines, l)
	}
	a.Lines = lines
	slices.SortStableFunc(a.Refused, func(x, y RefusedRow) int { return x.Row - y.Row })
	return a
}

func no(t phrase.Text) *phrase.Text { return &t }

// answerTable is the file after its row of names.
type answerTable struct {
	rows  *csv.Reader
	names []string // of the columns that are read, "" for the others
}

// openAnswers reads the row of names, and by it what stands between the cells.
func openAnswers(data []byte) (answerTable, *phrase.Text) {
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	switch {
	case len(data) > MostAnswerBytes:
		return answerTable{}, no(phrase.Of("answers.large").WithInt("most", MostAnswerBytes>>10))
	case !utf8.Valid(data) || bytes.IndexByte(data, 0) >= 0:
		return answerTable{}, no(phrase.Of("answers.utf8"))
	}
	for _, comma := range []rune{',', ';'} {
		rows := csv.NewReader(bytes.NewReader(data))
		rows.Comma, rows.FieldsPerRecord = comma, -1
		first, err := rows.Read()
		if err != nil {
			continue
		}
		names := make([]string, len(first))
		for i, name := range first {
			if name = strings.ToLower(strings.TrimSpace(name)); slices.Contains(readColumns, name) {
				names[i] = name
			}
		}
		if slices.Contains(names, "ref") && slices.Contains(names, "revision") && slices.Contains(names, "window") {
			return answerTable{rows, names}, namedOnce(names)
		}
	}
	return answerTable{}, no(phrase.Of("answers.columns"))
}

// readColumns are those of the order that say which line a row is, and the answers.
var readColumns = slices.Concat([]string{"ref", "revision"}, answerColumns)

func namedOnce(names []string) *phrase.Text {
	answers := false
	for i, name := range names {
		if name == "" {
			continue
		}
		if slices.Contains(names[:i], name) {
			return no(phrase.Of("answers.column_twice").Saying("name", name))
		}
		answers = answers || slices.Contains(answerColumns[1:], name)
	}
	if !answers {
		return no(phrase.Of("answers.columns"))
	}
	return nil
}

// next are the cells of the next row by the names of their columns. A spreadsheet
// leaves out cells at the end of a row.
func (t answerTable) next(row int) (cells map[string]string, more bool, trouble *phrase.Text) {
	read, err := t.rows.Read()
	if errors.Is(err, io.EOF) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, no(phrase.Of("answers.broken").WithInt("row", row))
	}
	cells = map[string]string{}
	for i, cell := range read {
		if i < len(t.names) && t.names[i] != "" {
			cells[t.names[i]] = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(cell), "'"))
		}
	}
	return cells, true, nil
}

func blank(cells map[string]string) bool {
	for _, cell := range cells {
		if cell != "" {
			return false
		}
	}
	return true
}

func filledIn(cells map[string]string) bool {
	return slices.ContainsFunc(answerColumns[1:], func(name string) bool { return cells[name] != "" })
}

// readAnswer reads one row. Window is given even when the row is refused.
func readAnswer(cells map[string]string, today time.Time) (job.LineAnswer, *phrase.Text) {
	a := job.LineAnswer{Revision: strings.ToUpper(cells["revision"]), Order: cells["order number"], Words: strings.Join(strings.Fields(cells["words"]), " ")}
	window, err := strconv.Atoi(cells["window"])
	if err != nil || window < 1 || window > job.MostOpenings*100 {
		return a, no(phrase.Of("answers.window").Saying("given", short(cells["window"])))
	}
	a.Window = window
	if a.Revision == "" || len(a.Revision) > 4 {
		return a, no(phrase.Of("answers.revision").Saying("given", short(cells["revision"])))
	}
	var why *phrase.Text
	if a.Confirm, why = readConfirm(cells["confirm"], a.Words); why != nil {
		return a, why
	}
	if a.Price, why = readPrice(cells["price"]); why != nil {
		return a, why
	}
	if a.Due, why = readDay(cells["day"], today); why != nil {
		return a, why
	}
	switch {
	case utf8.RuneCountInString(a.Words) > mostAnswerWords:
		return a, no(phrase.Of("answers.long").Saying("name", "words").WithInt("most", mostAnswerWords))
	case utf8.RuneCountInString(a.Order) > mostAnswerOrder:
		return a, no(phrase.Of("answers.long").Saying("name", "order number").WithInt("most", mostAnswerOrder))
	}
	return a, nil
}

// readConfirm takes yes and no, also as spreadsheets and tired people write them.
func readConfirm(cell, words string) (bool, *phrase.Text) {
	switch strings.ToLower(strings.TrimRight(cell, ".!")) {
	case "":
		return false, nil
	case "yes", "y", "x", "ok", "okay", "true", "1", "confirmed", "confirm", "✓":
		return true, nil
	case "no", "n", "false", "0":
		if words == "" {
			return false, no(phrase.Of("answers.no_reason"))
		}
		return false, nil
	}
	return false, no(phrase.Of("answers.confirm").Saying("given", short(cell)))
}

// readPrice takes an amount that can be read one way only, and that is no mistake.
func readPrice(cell string) (*decimal.Decimal, *phrase.Text) {
	if cell == "" {
		return nil, nil
	}
	amounts, certain, err := reading.Money(cell)
	switch {
	case errors.Is(err, reading.ErrNegative):
		return nil, no(phrase.Of("job.refused.price_negative"))
	case err != nil:
		return nil, no(phrase.Of("answers.price").Saying("given", short(cell)))
	case !certain:
		return nil, no(phrase.Of("answers.price_two").Saying("given", short(cell)))
	case amounts[0].IsZero():
		return nil, no(phrase.Of("answers.price_zero"))
	case amounts[0].GreaterThan(mostAnswerPrice):
		return nil, no(phrase.Of("job.price.most").With("most", mostAnswerPrice))
	}
	return &amounts[0], nil
}

// readDay takes a day of the calendar. Whether it is over says the job, which knows
// what was promised before.
func readDay(cell string, today time.Time) (string, *phrase.Text) {
	if cell == "" {
		return "", nil
	}
	day, err := reading.Date(cell, today)
	switch {
	case errors.Is(err, reading.ErrAmbiguousDate):
		return "", no(phrase.Of("answers.day_two").Saying("given", short(cell)))
	case errors.Is(err, reading.ErrOutOfRange):
		return "", no(phrase.Of("answers.day_far").Saying("given", short(cell)))
	case err != nil:
		return "", no(phrase.Of("answers.day").Saying("given", short(cell)))
	}
	return day.Format(time.DateOnly), nil
}

// mostGiven is how many characters of a cell are said back.
const mostGiven = 40

func short(cell string) string {
	cell = clean(cell)
	if runes := []rune(cell); len(runes) > mostGiven {
		return string(runes[:mostGiven]) + "…"
	}
	return cell
}
