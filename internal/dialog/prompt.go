package dialog

import (
	"strings"

	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
	"sillbot/locales"
)

func isHinge(code string) bool {
	for _, row := range find("light.1").Rows {
		if slices.Contains(row, code) {
			return true
		}
	}
	return false
}

// example shows how an answer looks and what range it may have.
func (q *question) example() phrase.Text {
	name := q.Name
	ex := phrase.Of("example." + name)
	if q.Kind == opening.Length {
		return phrase.Of("example.range").Sub1("example", ex).With("least", q.Usual.Least).With("most", q.Usual.Most)
	}
	return ex
}

// help is how to take the reading.
func (q *question) help() phrase.Text {
	name, n := q.Name, q.N
	if n > 0 {
		return phrase.Of("help."+name).WithInt("n", n)
	}
	return phrase.Of("help." + name)
}

// label is the key of the words on a choice's button.
func (q *question) label(code string) string {
	name := q.Name
	if code == skipped {
		switch {
		case slices.Contains([]string{"mullion", "transom"}, name):
			return "skip." + name
		case q.Key == "sill.fall", q.Key == "lean", q.is(opening.Maker):
			return "skip.unknown"
		}
		return "skip"
	}
	switch {
	case opening.Together(code) != nil:
		return "shortcut." + code
	case q.Kind == opening.Day:
		return "date." + code
	case q.Kind == opening.SillPiece && code != "none":
		return "sill.depth." + code
	case q.Kind == opening.MakeUp:
		return "glass." + code
	case q.Kind == opening.Lights && !isHinge(code):
		return "layout." + code
	}
	return q.Group + "." + code
}

// stored is a recorded answer in words.
func (q *question) stored(value string) phrase.Text {
	switch {
	case q.Scope == opening.OfJob, value == opening.DeskSays:
		return job.StatedText(opening.Pair{Key: q.Key, Value: value})
	case value == skipped:
		return phrase.Of("button." + q.label(skipped))
	case q.Key == "cleared":
		return clearedText(value)
	case q.Kind == opening.Words && value != "none", q.Kind == opening.Figure:
		return phrase.Of("job.words").Saying("words", strings.ReplaceAll(value, "\n", ", "))
	case q.Kind == opening.Day:
		return tell.StoredDay(value)
	case q.Kind == opening.MakeUp:
		return phrase.Of("glass.makeup").Saying("makeup", value)
	case q.Kind == opening.FloorArea:
		n, err := decimal.NewFromString(value)
		if err == nil {
			return phrase.Of("area").With("area", n)
		}
	case q.Kind == opening.Length, q.Kind == opening.SillPiece && value != "none":
		n, err := decimal.NewFromString(value)
		switch {
		case err == nil && q.Key == "sill.fall" && n.IsZero():
			return phrase.Of("button.fall.0")
		case err == nil && q.Key == "sill.fall" && n.IsNegative():
			return phrase.Of("fall.left").With("mm", n.Neg())
		case err == nil && q.Key == "sill.fall":
			return phrase.Of("fall.right").With("mm", n)
		case err == nil:
			return phrase.Of("length").With("mm", n)
		}
	}
	return phrase.Of("button." + q.label(value))
}

// prompt is the question in words. The first reading of a group says how the
// whole group is taken.
func (t *turn) prompt(q *question, a *opening.Known) phrase.Text {
	p := questionText(q, a)
	if q.Key == "cleared" {
		p = askCleared(t.Clearing)
	}
	more := phrase.Of("more." + strings.TrimPrefix(p.Key, "ask."))
	if t.Fails > 0 || !words().Has(locales.Default, more.Key) {
		return p
	}
	return phrase.Of("asked").Sub1("ask", p).Sub1("more", more)
}

// questionText is the question alone.
func questionText(q *question, a *opening.Known) phrase.Text {
	name, n := q.Name, q.N
	key := "ask." + name
	switch name {
	case "height.left", "height.middle", "height.right":
		if a.Value("sill") != "none" && q.Key == opening.Heights[0] {
			key = "ask.height.left.sill"
		}
	case "nation":
		if a.Has("date") {
			key = "ask.nation.only"
		}
	case "storey":
		if a.Has("outside") {
			key = "ask.storey.only"
		}
	case "light":
		return phrase.Of("ask.light").WithInt("n", n).WithInt("count", len(a.Layout().Lights)).Sub1("place", lightPlace(a, n))
	}
	if n > 0 {
		return phrase.Of(key).WithInt("n", n)
	}
	return phrase.Of(key)
}

// lightPlace says where light n is, seen from outside.
func lightPlace(a *opening.Known, n int) phrase.Text {
	columns := a.Columns()
	column := (n-1)%columns + 1
	row := ""
	switch {
	case a.TopRow() && n > columns:
		row = ".upper"
	case a.TopRow():
		row = ".lower"
	}
	switch {
	case columns == 1:
		return phrase.Of("place.only" + row)
	case column == 1:
		return phrase.Of("place.left" + row)
	case column == columns:
		return phrase.Of("place.right" + row)
	}
	return phrase.Of("place.between"+row).WithInt("n", column)
}

// choices are the buttons of a question, with skip where it may be passed
// over.
func (t *turn) choices(q *question) [][]Button {
	var rows [][]Button
	if t.asBefore(q) != nil {
		rows = append(rows, []Button{t.button(beforeCode, q.Key, beforeCode)})
	}
	for _, row := range t.answers().Offered((*opening.Field)(q)) {
		var line []Button
		for _, code := range row {
			line = append(line, t.button(q.label(code), q.Key, code))
		}
		rows = append(rows, line)
	}
	if q.More != nil && len(rows) > 0 {
		rows = append(rows, []Button{t.button(otherCode, q.Key, otherCode)})
	}
	if q.skips() {
		rows = append(rows, []Button{t.button(q.label(skipped), q.Key, skipped)})
	}
	if q.is(opening.Maker) {
		rows = append(rows, []Button{t.button("item.desk", q.Key, opening.DeskSays)})
	}
	return rows
}

// others are the buttons behind the one for others.
func (t *turn) others(q *question) [][]Button {
	var rows [][]Button
	for _, row := range q.More {
		var line []Button
		for _, code := range row {
			line = append(line, t.button(q.label(code), q.Key, code))
		}
		rows = append(rows, line)
	}
	return rows
}

// otherCode is the choice of the button that shows the others.
const otherCode = "other"

// beforeCode is the choice of a button that takes answers over from the window
// before.
const beforeCode = "before"

// asBefore are the answers that the window before has to q and to what comes
// with it; nil when it has not all of them, or they are answered here.
func (t *turn) asBefore(q *question) []Answer {
	var list []Answer
	for _, key := range t.answers().Repeated((*opening.Field)(q)) {
		i := slices.IndexFunc(t.Before, func(ans Answer) bool { return ans.Key == key })
		if i < 0 {
			return nil
		}
		list = append(list, t.Before[i])
	}
	return list
}
