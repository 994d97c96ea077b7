package day

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// A reading of a level is stored as what it was read by, how much, over what and which
// way: gap 1.6 600 right_low, bubble 0.5 top_left, metre 2 top_out; or level.
const (
	gap    = "gap"
	bubble = "bubble"
	metre  = "metre"
)

var (
	longestGap = decimal.NewFromInt(200) // mm: longer is a level
	// The levels that are taken, mm, and that a gap is no more than this part of them:
	// guards against nonsense.
	shortestLevel, longestLevel = decimal.NewFromInt(200), decimal.NewFromInt(3000)
	steepest                    = decimal.NewFromInt(10)
	ofADegree                   = decimal.RequireFromString("17.453293") // mm in a metre that one degree falls
)

// slope reads what a level shows: level; 2 in 600 right low; half a bubble left low; 1.5
// mm a metre leans left; 0.2 degrees out.
func (l *listening) slope(f *Field, text string) (rest string, ok bool) {
	s := slopeHeard{}
	rest = text
	for rest != "" {
		after, more := l.slopeWord(&s, f, rest)
		if !more {
			break
		}
		rest = after
		if s.true {
			break
		}
	}
	switch {
	case rest == text:
		return text, false
	case s.true && s.amount == nil:
		return l.takeTrue(f, rest), true
	case s.amount == nil:
		return text, false
	}
	if s.across { // left jamb leans out
		f = l.part.field(f.Name + "face")
		for i, other := range l.named {
			l.named[i] = l.part.field(other.Name + "face")
		}
	}
	value, fail := l.slopeValue(s, f)
	if fail != nil {
		l.trouble = fail
		return text, false
	}
	l.takeSlope(f, value, strings.TrimSpace(text[:len(text)-len(rest)]))
	return rest, true
}

// takeSlope takes one reading for the field and for those that were named with it.
func (l *listening) takeSlope(f *Field, value, typed string) {
	l.take(f, value, typed)
	for _, other := range l.named {
		l.take(other, value, typed)
	}
	l.named = nil
}

// slopeHeard is what was heard of one reading of a level so far.
type slopeHeard struct {
	amount, run *decimal.Decimal
	by, to      string
	true        bool
	bare        bool // the way is a side alone, which a bubble may be at that moved to the high side
	across      bool // it was said of a jamb that it leans in or out
}

// slopeWord takes one word or figure of a reading; more is false where what follows is
// of something else.
func (l *listening) slopeWord(s *slopeHeard, f *Field, text string) (rest string, more bool) {
	if text == "" {
		return text, false
	}
	if after, ok := l.slopeWay(s, f, text); ok {
		return after, true
	}
	if s.done() {
		if _, _, ok := l.Words.Match(l.Lang, "day"+l.part.Name, text); ok {
			return text, false
		}
	}
	if _, after, ok := l.Words.Match(l.Lang, "daytrue", text); ok && s.amount == nil && s.to == "" {
		s.true = true
		return after, true
	}
	if code, after, ok := l.Words.Match(l.Lang, "daybubble", text); ok {
		if s.by = bubble; s.amount == nil {
			n := parts[code]
			s.amount = &n
		}
		return after, true
	}
	if code, after, ok := l.Words.Match(l.Lang, "dayper", text); ok && s.amount != nil {
		if s.by = metre; code == "degree" {
			n := s.amount.Mul(ofADegree).Round(2)
			s.amount = &n
		}
		return after, true
	}
	if startsFigure(text) {
		return l.slopeFigure(s, text)
	}
	if _, after, ok := l.Words.Match(l.Lang, "dayslopefill", text); ok && after != text {
		return after, true
	}
	return text, false
}

// names says whether the words name another member rather than a direction: left jamb.
func (l *listening) names(s *slopeHeard, text string) bool {
	if !s.done() {
		return false
	}
	_, _, ok := l.Words.Match(l.Lang, "day"+l.part.Name, text)
	return ok
}

// done says whether all of a reading was heard but its direction, or all.
func (s *slopeHeard) done() bool { return s.amount != nil && s.to != "" }

// parts are how many divisions the words for bubbles mean.
var parts = map[string]decimal.Decimal{"one": decimal.NewFromInt(1), "half": decimal.New(5, -1), "quarter": decimal.New(25, -2)}

// slopeFigure takes the amount, and then the length of the level.
func (l *listening) slopeFigure(s *slopeHeard, text string) (rest string, more bool) {
	n, rest, ok := amountOf(text)
	switch {
	case !ok:
		return text, false
	case s.amount == nil && n.LessThan(longestGap):
		s.amount = &n
		if over, after, ok := amountOf(strings.TrimPrefix(rest, "/")); ok && strings.HasPrefix(rest, "/") && s.run == nil { // 2/600
			s.run, rest = &over, after
		}
	case s.run == nil:
		if _, after, ok := l.Words.Match(l.Lang, "daymetre", rest); ok {
			n, rest = n.Shift(3), after
		}
		s.run = &n
	default:
		return text, false
	}
	return rest, true
}

// slopeValue is a reading as it is stored, or what it lacks.
func (l *listening) slopeValue(s slopeHeard, f *Field) (string, *phrase.Text) {
	fail := func(key string) (string, *phrase.Text) {
		text := phrase.Of(key).Sub1("name", l.part.Title(f)).With("amount", *s.amount)
		return "", &text
	}
	switch {
	case s.amount.IsZero():
		return level, nil
	case s.bare && s.by == bubble:
		return fail("day.fail.way.bubble")
	case s.to == "" && f.upright():
		return fail("day.fail.way.jamb")
	case s.to == "" && f.across():
		return fail("day.fail.way.face")
	case s.to == "":
		return fail("day.fail.way")
	case s.by == bubble || s.by == metre:
		return s.by + " " + s.amount.String() + " " + s.to, nil
	case s.run == nil:
		if run := l.levelLength(); run != nil {
			s.run = run
		}
	}
	if s.run == nil || s.run.LessThan(shortestLevel) || s.run.GreaterThan(longestLevel) || s.amount.Mul(steepest).GreaterThan(*s.run) {
		return fail("day.fail.run")
	}
	return gap + " " + s.amount.String() + " " + s.run.String() + " " + s.to, nil
}

// levelLength is the length of the level that is used, where it was said.
func (l *listening) levelLength() *decimal.Decimal {
	for _, v := range l.said {
		if v.Field.Name == "length" {
			d := decimal.RequireFromString(v.Value)
			return &d
		}
	}
	for _, round := range append(l.window.rounds[l.part.Name], l.window.read) {
		if d, err := decimal.NewFromString(round[l.part.Name+".length"].Value); err == nil {
			return &d
		}
	}
	return nil
}

func (f *Field) upright() bool { return f.Name == "left" || f.Name == "right" }

func (f *Field) across() bool { return f.Name == "leftface" || f.Name == "rightface" }

// tilts says whether a member can be out that way.
func tilts(f *Field, code string) bool {
	switch calc.TiltTo(code) {
	case calc.LeansLeft, calc.LeansRight:
		return f.upright()
	case calc.LeansOut, calc.LeansIn:
		return f.across()
	}
	return !f.upright() && !f.across()
}

// tiltOf is a stored reading of a level; nil for none.
func tiltOf(value string) *opening.Tilt {
	if value == level {
		return &opening.Tilt{}
	}
	words := strings.Fields(value)
	if len(words) < 3 {
		return nil
	}
	amount, err := decimal.NewFromString(words[1])
	if err != nil {
		return nil
	}
	t := opening.Tilt{To: calc.TiltTo(words[len(words)-1])}
	switch words[0] {
	case bubble:
		t.Bubble = &amount
	case metre:
		t.PerMetre = &amount
	default:
		if t.Level, err = decimal.NewFromString(words[2]); err != nil {
			return nil
		}
		t.Gap = &amount
	}
	return &t
}

// slopeText is a stored reading of a level in words.
func slopeText(value string) phrase.Text {
	t := tiltOf(value)
	switch {
	case t == nil:
		return phrase.Of("job.words").Saying("words", value)
	case t.Gap != nil:
		return phrase.Of("day.tilt.gap").With("mm", *t.Gap).With("length", t.Level).Word("way", "day.way."+string(t.To))
	case t.Bubble != nil:
		return phrase.Of("day.tilt.bubble").With("n", *t.Bubble).Word("way", "day.way."+string(t.To))
	case t.PerMetre != nil:
		return phrase.Of("day.tilt.metre").With("mm", *t.PerMetre).Word("way", "day.way."+string(t.To))
	}
	return phrase.Of("day.tilt.level")
}

// AtOnce says whether something was said that is enough to begin with: a corner that is
// out.
func AtOnce(said []Value) bool {
	return slices.ContainsFunc(said, func(v Value) bool { return v.Field.Name == "corner" })
}

// corner reads a corner that is out: 3 mm low at top right.
func (l *listening) corner(text string) (rest string, ok bool) {
	f := l.part.field("corner")
	if f == nil || len(l.named) > 0 {
		return text, false
	}
	if !startsFigure(text) {
		return l.cornerFirst(f, text)
	}
	s := slopeHeard{}
	rest, _ = l.slopeFigure(&s, text)
	if s.amount == nil {
		return text, false
	}
	to, after, known := l.Words.Match(l.Lang, "daycornerto", rest)
	if !known {
		return text, false
	}
	at, rest, known := l.Words.Match(l.Lang, "daycorner", after)
	if !known {
		return text, false
	}
	if to == "off" {
		fail := phrase.Of("day.fail.corner").With("amount", *s.amount).Word("corner", "day.corner."+at)
		l.trouble = &fail
		return text, false
	}
	l.take(f, s.amount.String()+" "+to+" "+at, "")
	return rest, true
}

// cornerOf is a stored corner; nil for none.
func cornerOf(value string) *opening.CornerOff {
	words := strings.Fields(value)
	if len(words) != 3 {
		return nil
	}
	by, err := decimal.NewFromString(words[0])
	if err != nil {
		return nil
	}
	return &opening.CornerOff{By: by, To: calc.CornerTo(words[1]), At: calc.Corner(words[2])}
}

func cornerText(value string) phrase.Text {
	c := cornerOf(value)
	if c == nil {
		return phrase.Of("job.words").Saying("words", value)
	}
	return phrase.Of("day.corneroff").With("mm", c.By).Word("way", "day.cornerway."+string(c.To)).Word("corner", "day.corner."+string(c.At))
}

// slopeWay takes which way a member is out.
func (l *listening) slopeWay(s *slopeHeard, f *Field, text string) (rest string, ok bool) {
	if s.to != "" || l.names(s, text) {
		return text, false
	}
	code, after, ok := l.Words.Match(l.Lang, "daytilt", text)
	if ok && f.upright() && (code == "top_out" || code == "top_in") && l.part.field(f.Name+"face") != nil && !l.guessed {
		s.across, s.to = true, code
		return after, true
	}
	if ok && tilts(f, code) {
		s.to = code
		return after, true
	}
	code, after, ok = l.Words.Match(l.Lang, "dayway", text)
	if ok && (f.upright() || s.by == bubble && !f.across()) {
		s.bare, s.to = true, code
		return after, true
	}
	return text, false
}

// takeTrue takes that a member is true, both ways where that follows.
func (l *listening) takeTrue(f *Field, rest string) string {
	fields := append([]*Field{f}, l.named...)
	l.named = nil
	_, after, both := l.Words.Match(l.Lang, "dayways", rest)
	for _, f := range fields {
		l.take(f, level, "")
		if face := l.part.field(f.Name + "face"); both && face != nil {
			l.take(face, level, "")
			rest = after
		}
	}
	return rest
}

// cornerFirst reads a corner that is named before by how much it is out: top right 3 low.
func (l *listening) cornerFirst(f *Field, text string) (rest string, ok bool) {
	at, after, ok := l.Words.Match(l.Lang, "daycorner", text)
	if !ok || !startsFigure(after) {
		return text, false
	}
	by, after, ok := amountOf(after)
	if !ok || !by.LessThan(longestGap) {
		return text, false
	}
	to, rest, ok := l.Words.Match(l.Lang, "daycornerto", after)
	if !ok || startsFigure(rest) { // 3 in 600
		return text, false
	}
	if to == "off" {
		fail := phrase.Of("day.fail.corner").With("amount", by).Word("corner", "day.corner."+at)
		l.trouble = &fail
		return text, false
	}
	l.take(f, by.String()+" "+to+" "+at, "")
	return rest, true
}
