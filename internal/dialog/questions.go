package dialog

import (
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/reading"
)

// answerKind says how an answer is read.
type answerKind int

const (
	choice answerKind = iota
	length
	day
	sillPiece // a depth from the list or any other
	floorOf   // a floor, or the height above the ground outside, which means the ground floor
	lights    // how many lights, or at once how each opens
	makeUp    // panes and cavities of the glass, 4-20-4
	floorArea // of the room, m²
)

// question is one entry of the table that is the survey.
type question struct {
	key  string
	kind answerKind
	// group names the words that answer a choice, and its options the codes
	// that get a button, in rows.
	group   string
	options [][]string
	// shortcuts stand in the place of the options while none of the further
	// questions that they answer has an answer: see together.
	shortcuts [][]string
	// asked says whether the answers so far call for the question. Nil: always.
	asked func(answers) bool
	// onRequest questions are asked only when the person opens them.
	onRequest bool
	within    reading.Range
	skip      bool // may be passed over
	// early is the choice of a later question that some give first, in words;
	// this one stays open.
	early string
	// drops are the questions whose answers hang on this one.
	drops []string
}

var mm = reading.MM

// sideRange is what the tape can say of one side of an opening.
var sideRange = mm(200, 6000)

const (
	mostColumns = 4
	mostLights  = 2 * mostColumns
)

// questions is the survey in the order it is asked. The next question is the
// first one that the answers call for and that has no answer.
var questions = survey()

func survey() []question {
	side := sideRange
	qs := []question{
		{key: "nation", kind: choice, group: "nation", options: [][]string{{"england", "wales"}, {"scotland", "ni"}},
			shortcuts: [][]string{{"england-today", "wales-today"}, {"scotland-today"}, {"ni-today"}}},
		{key: "date", kind: day, options: [][]string{{"today", "tomorrow"}}},
		{key: "finish", kind: choice, group: "finish", options: [][]string{{"bare"}, {"plaster"}, {"check"}},
			drops: []string{"inner.width", "inner.height"}},
		{key: "sill", kind: sillPiece, group: "sill", options: [][]string{{"none"}, {"85", "150", "180"}}, within: mm(40, 400)},
		{key: "material", kind: choice, group: "material",
			options: [][]string{{"pvcu-white", "pvcu-colour"}, {"timber", "aluminium", "steel"}}},
		{key: "width.top", kind: length, within: side},
		{key: "width.middle", kind: length, within: side},
		{key: "width.bottom", kind: length, within: side},
		{key: "height.left", kind: length, within: side},
		{key: "height.middle", kind: length, within: side},
		{key: "height.right", kind: length, within: side},
		{key: "inner.width", kind: length, within: side, skip: true, asked: is("finish", "check"), drops: []string{"inner.height"}},
		{key: "inner.height", kind: length, within: side, skip: true, asked: all(is("finish", "check"), has("inner.width"))},
		{key: "diagonal.rising", kind: length, within: mm(280, 8500), skip: true, drops: []string{"diagonal.falling", "sill.fall"}},
		{key: "diagonal.falling", kind: length, within: mm(280, 8500), skip: true, asked: has("diagonal.rising"), drops: []string{"sill.fall"}},
		{key: "sill.fall", kind: length, within: mm(-100, 100), skip: true, asked: leansMuch},
		{key: "layout", kind: lights, group: "light", options: layoutButtons(), shortcuts: layoutShortcuts(), drops: layoutDrops()},
	}
	for n := 1; n < mostColumns; n++ {
		q := question{key: numbered("mullion", n), kind: length, within: mm(50, 5950), asked: hasMullion(n)}
		if n == 1 {
			q.skip, q.drops = true, []string{"mullion.2", "mullion.3"}
		}
		qs = append(qs, q)
	}
	qs = append(qs, question{key: "transom", kind: length, within: mm(50, 5950), asked: hasTopRow, skip: true})
	for n := 1; n <= mostLights; n++ {
		qs = append(qs, question{key: numbered("light", n), kind: choice, group: "light", options: lightButtons(), asked: hasLight(n)})
	}
	return append(qs,
		question{key: "over", kind: choice, group: "over", options: [][]string{{"drill"}, {"nodrill"}, {"nolintel", "bay"}}},
		question{key: "room", kind: choice, group: "room", drops: []string{"bath"},
			options:   [][]string{{"living", "bedroom"}, {"kitchen", "bathroom"}, {"hall"}},
			shortcuts: [][]string{{"living", "bedroom"}, {"kitchen", "hall"}, {"bath-near"}, {"bath-far"}}},
		question{key: "bath", kind: choice, group: "answer", options: [][]string{{"yes", "no"}}, asked: is("room", "bathroom")},
		question{key: "floor", kind: length, within: mm(0, 4000), skip: true, early: "storey"},
		question{key: "storey", kind: floorOf, group: "storey", options: [][]string{{"0"}, {"1"}, {"2"}},
			shortcuts: [][]string{{"1", "2"}, {"ground"}}, drops: []string{"outside"}},
		question{key: "outside", kind: length, within: mm(0, 9000), skip: true, asked: is("storey", "0")},
		question{key: "door", kind: choice, group: "answer", options: [][]string{{"yes", "no"}}, asked: all(is("storey", "0"), belowDoorZone)},
		question{key: "glass", kind: makeUp, group: "glass", options: [][]string{{"4-20-4", "4-16-4"}, {"6-16-6", "6-14-6"}}, skip: true},
		question{key: "vents", kind: choice, group: "answer", options: [][]string{{"yes", "no"}}, skip: true},
		question{key: "pattern", kind: choice, group: "pattern", options: [][]string{{"full"}, {"lighter"}}, onRequest: true},
		question{key: "bedjoint", kind: length, within: mm(0, 300), skip: true, onRequest: true},
		question{key: "restrictor", kind: length, within: mm(20, 500), skip: true, onRequest: true, drops: []string{"release"}},
		question{key: "release", kind: choice, group: "answer", options: [][]string{{"yes", "no"}}, asked: has("restrictor")},
		question{key: "area", kind: floorArea, skip: true, onRequest: true},
		question{key: "tight", kind: choice, group: "tight", options: [][]string{{"middle"}, {"left", "right"}}, onRequest: true},
	)
}

func numbered(name string, n int) string { return name + "." + strconv.Itoa(n) }

// family cuts the number off a numbered question: light.3 → light, 3.
func family(key string) (string, int) {
	name, num, ok := strings.Cut(key, ".")
	if !ok || (name != "light" && name != "mullion") {
		return key, 0
	}
	n, _ := strconv.Atoi(num)
	return name, n
}

// together is what the button of a shortcut answers: questions and codes, in
// the order they are asked. They keep a survey short.
var together = map[string][]Answer{
	"england-today":  {{Key: "nation", Value: "england"}, {Key: "date", Value: "today"}},
	"wales-today":    {{Key: "nation", Value: "wales"}, {Key: "date", Value: "today"}},
	"scotland-today": {{Key: "nation", Value: "scotland"}, {Key: "date", Value: "today"}},
	"ni-today":       {{Key: "nation", Value: "ni"}, {Key: "date", Value: "today"}},
	"left-fixed":     twoEqual("side-left", "fixed"),
	"fixed-right":    twoEqual("fixed", "side-right"),
	"left-right":     twoEqual("side-left", "side-right"),
	"bath-near":      {{Key: "room", Value: "bathroom"}, {Key: "bath", Value: "yes"}},
	"bath-far":       {{Key: "room", Value: "bathroom"}, {Key: "bath", Value: "no"}},
	"ground":         {{Key: "storey", Value: "0"}, {Key: "outside", Value: skipped}},
}

// twoEqual is two lights of one width.
func twoEqual(left, right string) []Answer {
	return []Answer{
		{Key: "layout", Value: "2"}, {Key: "mullion.1", Value: skipped},
		{Key: "light.1", Value: left}, {Key: "light.2", Value: right},
	}
}

// isShortcut says whether the code answers more questions than its own.
func isShortcut(code string) bool { return together[code] != nil }

// offered are the codes that get a button, in rows: shortcuts only where they
// would not answer again what was answered.
func (q *question) offered(a answers) [][]string {
	for _, row := range q.shortcuts {
		for _, code := range row {
			for _, further := range together[code] {
				if _, known := a[further.Key]; known {
					return q.options
				}
			}
		}
	}
	if q.shortcuts == nil {
		return q.options
	}
	return q.shortcuts
}

func layoutShortcuts() [][]string {
	return [][]string{
		{"side-left", "fixed", "side-right"}, {"top", "bottom"}, {"tilt-turn-left", "tilt-turn-right"},
		{"left-fixed"}, {"fixed-right"}, {"left-right"},
		{"2", "3", "4"}, {"2t", "3t"},
	}
}

func layoutButtons() [][]string {
	return append(lightButtons(), []string{"2", "3", "4"}, []string{"2t", "3t"})
}

func lightButtons() [][]string {
	return [][]string{{"fixed"}, {"side-left", "side-right"}, {"top", "bottom"}, {"tilt-turn-left", "tilt-turn-right"}}
}

func layoutDrops() []string {
	drops := []string{"transom"}
	for n := 1; n < mostColumns; n++ {
		drops = append(drops, numbered("mullion", n))
	}
	for n := 1; n <= mostLights; n++ {
		drops = append(drops, numbered("light", n))
	}
	return drops
}

func is(key, code string) func(answers) bool {
	return func(a answers) bool { return a[key] == code }
}

func has(key string) func(answers) bool {
	return func(a answers) bool { return a.given(key) }
}

func all(conditions ...func(answers) bool) func(answers) bool {
	return func(a answers) bool {
		for _, holds := range conditions {
			if !holds(a) {
				return false
			}
		}
		return true
	}
}

// columns is how many lights stand side by side; 0 while that is not known.
func (a answers) columns() int {
	n, _ := strconv.Atoi(strings.TrimSuffix(a["layout"], "t"))
	return n
}

func hasTopRow(a answers) bool { return strings.HasSuffix(a["layout"], "t") }

func hasMullion(n int) func(answers) bool {
	return func(a answers) bool {
		return n < a.columns() && (n == 1 || a["mullion.1"] != skipped)
	}
}

func hasLight(n int) func(answers) bool {
	return func(a answers) bool {
		return n <= a.columns() || hasTopRow(a) && n <= 2*a.columns()
	}
}

// leansMuch: the fall of the sill is only asked when the diagonals make it
// matter.
func leansMuch(a answers) bool {
	if !a.given("diagonal.rising", "diagonal.falling") {
		return false
	}
	if known, ok := a[leans]; ok {
		return known == "yes"
	}
	a[leans] = "no"
	if f, err := calc.Survey(a.opening().Readings()); err == nil && calc.NeedsSillFall(f) {
		a[leans] = "yes"
	}
	return a[leans] == "yes"
}

// leans is where leansMuch notes what it found, since the open question is
// looked for several times a turn. It is no question's key.
const leans = "~leans"

// belowDoorZone: a door's edge only matters for glass below 1500 mm.
func belowDoorZone(a answers) bool {
	floor, err := decimal.NewFromString(a["floor"])
	return err == nil && floor.LessThan(decimal.NewFromInt(1500))
}

// next is the open question, nil when the survey is complete.
func (s State) next(a answers) *question {
	if s.Asking != "" {
		return find(s.Asking)
	}
	for i := range questions {
		q := &questions[i]
		if s.Second != nil && !isReading(q.key) {
			continue // a second measure is of the opening alone
		}
		if _, done := a[q.key]; done || q.onRequest || q.asked != nil && !q.asked(a) {
			continue
		}
		return q
	}
	return nil
}

func find(key string) *question {
	for i := range questions {
		if questions[i].key == key {
			return &questions[i]
		}
	}
	return nil
}

// askedOnce are the answers that hold for every survey of the chat.
func askedOnce(key string) bool { return key == "nation" || key == "date" }

// isReading are the answers that make the figure of the opening.
func isReading(key string) bool {
	return strings.HasPrefix(key, "width.") || strings.HasPrefix(key, "height.") || strings.HasPrefix(key, "diagonal.") || key == "sill.fall"
}

// sizesOrder are the answers that the order size depends on.
func sizesOrder(key string) bool {
	return isReading(key) || key == "finish" || key == "sill" || key == "material" || strings.HasPrefix(key, "inner.")
}
