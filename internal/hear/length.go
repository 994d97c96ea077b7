package hear

import (
	"errors"
	"regexp"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/reading"
)

// one takes one length for the field from the front of rest and gives what
// follows.
func (w *walk) one(key opening.Key, rest string, run *token, by how) string {
	f := opening.Find(key)
	switch {
	case f.Kind == opening.FloorOf && by == named:
		return w.one("floor", rest, run, named) // floor 900
	case f.Kind == opening.FloorOf:
		return w.floorOrHeight(rest, run)
	case f.Kind == opening.FloorArea:
		return w.area(f, rest)
	case f.Kind == opening.MakeUp:
		return w.unit(rest)
	}
	l, after, err := w.ctx.length(f, rest)
	switch {
	case err != nil:
		w.trouble = &Trouble{Key: key, Given: firstWord(rest), Err: err, Rest: w.from(rest, run)}
		return rest
	case !l.Clear() && w.unfitting(key, &l):
		w.trouble = &Trouble{Key: key, Given: firstWord(rest), Err: ErrUnfit, Rest: w.from(after, run)}
		return rest
	case !l.Clear():
		length := &Length{Key: key, Given: l.Text, Others: l.Others, Rest: w.from(after, run)}
		if slices.ContainsFunc(l.OtherRests, func(other string) bool { return other != after }) {
			for _, other := range l.OtherRests {
				length.Rests = append(length.Rests, w.from(other, run))
			}
		}
		w.length = length
		return after
	}
	if l.Unit == "ft" && !strings.ContainsAny(strings.ToLower(l.Text), "in\"″") && f.Scope == opening.Window {
		w.unsure = true // 4 ft is not read off a tape
	}
	if !w.ctx.Fits(&w.known, key, l.MM) {
		w.trouble = &Trouble{Key: key, Given: l.MM.String(), Err: ErrUnfit, Rest: w.from(after, run)}
		return rest
	}
	if key == "sill.fall" && l.MM.IsPositive() {
		w.eitherEnd(l.MM, l.Text) // by its name alone: fall 5
		return after
	}
	w.put(Value{Key: key, Value: l.MM.String(), Typed: l.Text, Other: l.Unit != "" && l.Unit != "mm"}, by)
	return after
}

// eitherEnd asks which end of the sill is lower by so much: to take one would move the
// order size by a reading that nobody gave.
func (w *walk) eitherEnd(mm decimal.Decimal, typed string) {
	value := func(mm decimal.Decimal) []Value {
		return []Value{{Key: "sill.fall", Value: mm.String(), Typed: typed}}
	}
	w.ask(Either, value(mm), value(mm.Neg()))
}

// unfitting takes the ways of reading a length that can't be out of it, and says
// whether none is left.
func (w *walk) unfitting(key opening.Key, l *reading.Length) bool {
	var others []decimal.Decimal
	var rests []string
	for i, mm := range l.Others {
		if w.ctx.Fits(&w.known, key, mm) {
			others, rests = append(others, mm), append(rests, l.OtherRests[i])
		}
	}
	l.Others, l.OtherRests = others, rests
	return len(others) == 0
}

// from is what of the message is not read when rest of a run is left.
func (w *walk) from(rest string, run *token) string {
	return strings.TrimSpace(rest + w.text[run.to:])
}

// Figure takes one length from the front of text; a bare number is in the unit
// that the person chose, where that makes sense.
func Figure(text string, usual reading.Range, chosen string) (reading.Length, string, error) {
	l, rest, err := reading.Next(text, usual)
	if chosen == "" || l.Unit != "" || l.Text == "" {
		return l, rest, err
	}
	for i, unit := range l.OtherUnits {
		if unit == chosen {
			rest = l.OtherRests[i]
			l.MM, l.Unit, l.Others, l.OtherUnits, l.OtherRests = l.Others[i], unit, nil, nil, nil
			return l, rest, err
		}
	}
	mm := l.MM.Mul(unitLength[chosen])
	switch {
	case err != nil || !l.Clear():
	case usual.Has(mm):
		l.MM, l.Unit = mm, chosen
	default:
		// It only makes sense in another unit than the one chosen.
		l.Others, l.OtherUnits, l.OtherRests, l.MM = []decimal.Decimal{l.MM}, []string{"mm"}, []string{rest}, decimal.Zero
	}
	return l, rest, err
}

func (c Context) length(f *opening.Field, text string) (reading.Length, string, error) {
	return Figure(text, f.Usual, c.Unit)
}

// unitLength is a unit in mm.
var unitLength = map[string]decimal.Decimal{
	"cm": decimal.NewFromInt(10), "m": decimal.NewFromInt(1000), "in": decimal.New(254, -1),
}

// highestFloor: a bare whole figure up to this is rather a floor than a height.
var highestFloor = decimal.NewFromInt(30)

// floorOrHeight takes the height of the glass above the ground outside: then it
// is the ground floor.
func (w *walk) floorOrHeight(rest string, run *token) string {
	outside := opening.Find("outside")
	l, after, err := w.ctx.length(outside, rest)
	var beyond *reading.RangeError
	switch {
	case err != nil && !errors.As(err, &beyond), l.Clear() && isDigits(l.Text) && (!l.MM.GreaterThan(highestFloor) || isDigits(firstWord(after))):
		w.trouble = &Trouble{Key: "storey", Given: strings.TrimSpace(rest), Err: reading.ErrNoNumber, Rest: w.from(rest, run)}
		return rest
	}
	if w.ctx.Open != "storey" && len(w.said) > w.partFrom {
		w.unsure = true // 900, 1100: the second may correct the first
	}
	c := w.clone()
	rest = (&walk{reader: c}).one("outside", rest, run, named)
	if c.trouble != nil {
		w.trouble = c.trouble
		return rest
	}
	if c.length != nil { // a figure in doubt tells no floor
		w.length = c.length
		return rest
	}
	w.put(Value{Key: "storey", Value: "0", Typed: run.text}, named)
	return w.one("outside", run.text[len(run.text)-len(strings.TrimLeft(run.text, " ")):], run, named)
}

// AreaLeast and AreaMost are the least and the most floor area of a room, m².
var AreaLeast, AreaMost = decimal.New(5, -1), decimal.NewFromInt(200)

var areaForm = regexp.MustCompile(`^\s*(\d{1,3}(?:[.,]\d{1,3})?)\s*(?:m²|m2|sqm|sq\s?m)?\s*$`)

// area takes the floor area of the room, m².
func (w *walk) area(f *opening.Field, rest string) string {
	found := areaForm.FindStringSubmatch(strings.ToLower(rest))
	if found != nil {
		d, err := decimal.NewFromString(strings.ReplaceAll(found[1], ",", "."))
		if err == nil && d.GreaterThanOrEqual(AreaLeast) && d.LessThanOrEqual(AreaMost) {
			w.put(Value{Key: f.Key, Value: d.String()}, named)
			return ""
		}
	}
	w.trouble = &Trouble{Key: f.Key, Given: strings.TrimSpace(rest), Err: reading.ErrOutOfRange}
	return rest
}

var unitForm = regexp.MustCompile(`^\s*(\d{1,2})\s*(?:mm)?\s*$`)

func isDigits(text string) bool { return text != "" && strings.Trim(text, "0123456789") == "" }

func firstWord(text string) string {
	text = strings.TrimSpace(text)
	if i := strings.IndexAny(text, " \n\t,"); i > 0 {
		return text[:i]
	}
	return text
}

// unit takes one figure for the glass: a single pane, or the thickness of a
// unit, for which the usual make-up of two panes of 4 mm is proposed.
func (w *walk) unit(rest string) string {
	found := unitForm.FindStringSubmatch(strings.ToLower(rest))
	if found == nil {
		w.trouble = &Trouble{Key: "glass", Given: strings.TrimSpace(rest), Err: reading.ErrNoNumber}
		return rest
	}
	n := int(decimal.RequireFromString(found[1]).IntPart())
	code, ok := glassCode(found[1])
	switch {
	case n >= 2*4+8 && n <= 2*4+widestGlassSpace:
		code, _ = glassCode("4-" + decimal.NewFromInt(int64(n-8)).String() + "-4")
		w.ask(Unsaid, []Value{{Key: "glass", Value: code, Typed: strings.TrimSpace(rest)}})
	case ok:
		w.put(Value{Key: "glass", Value: code, Typed: strings.TrimSpace(rest)}, named)
	default:
		w.trouble = &Trouble{Key: "glass", Given: strings.TrimSpace(rest), Err: reading.ErrOutOfRange}
		return rest
	}
	return ""
}
