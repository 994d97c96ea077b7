package job

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"slices"
	"strconv"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// Against is all that stands against ordering the window, the gravest first; none: it
// is fit to order. What the survey still lacks is not among it, see Lacks.
func (o Opening) Against(s calc.Settings) []Point {
	_, points, _ := o.looked(s)
	return points
}

// looked plans the window, once for its line and for all that stands against it. The
// error is what plan.Make gives; what stands against it is known all the same.
func (o Opening) looked(s calc.Settings) (line Line, points []Point, err error) {
	known := o.Known()
	p, err := plan.Make(o.Record().Plan, s)
	if err == nil { // of one that no plan can be made of no class of glass is known either
		points, line = found(p), completed(Line{Opening: o.ID, Name: o.Name, Quantity: o.Count}, p, o.Record())
	}
	if again, ok := o.madeAgain(); ok { // it was measured, or taken on, as the window that it stands for
		return again, slices.DeleteFunc(points, func(p Point) bool { return !p.Stops() }), nil
	}
	points = append(points, missed(&known)...)
	misfits := slices.ContainsFunc(points, func(p Point) bool { return p.Code == PointMisfit })
	points = append(points, doubted(&known, misfits)...)
	points = append(points, copied(&known)...)
	if err == nil {
		points = append(points, o.unagreed(line)...)
	}
	return line, append(points, unsaid(line.missed(known.Unsaid()))...), err
}

// WaitsForItems says whether something was refused because the maker needs answers.
func WaitsForItems(err error) bool {
	refused, ok := errors.AsType[*Refusal](err)
	return ok && slices.ContainsFunc(refused.Points, Point.asksItems)
}

func (p Point) asksItems() bool { return p.About == AboutItems }

// WithoutItems are the points but for what the maker needs: a list says that once for
// all windows.
func WithoutItems(points []Point) []Point {
	return slices.DeleteFunc(slices.Clone(points), Point.asksItems)
}

// unsaid is that the maker needs answers that nobody gave. They are asked once a job,
// so that they are one point and not one each.
func unsaid(keys []opening.Key) []Point {
	if len(keys) == 0 {
		return nil
	}
	return []Point{{Code: PointNeeded, About: AboutItems, Text: phrase.Of("against.items").WithInt("count", len(keys)), keys: keys}}
}

// doubted are the readings that look wrong and that nobody has confirmed. Where the
// readings can't all be right that says it already. The figure is not said: the desk,
// which reads this, sees no readings.
func doubted(known *opening.Known, misfits bool) []Point {
	var points []Point
	for _, key := range known.Doubts() {
		if misfits && opening.Find(key).Is(opening.Reading) {
			continue
		}
		text := phrase.Of("against.doubt").Sub1("name", fieldName(key))
		points = append(points, Point{Code: PointDoubt, About: key, Text: text, keys: []opening.Key{key}})
	}
	return points
}

// found is what the plan says against ordering the window.
func found(p plan.Plan) []Point {
	var stops, others []Point
	for i := range p.Findings {
		f := &p.Findings[i]
		if f.Severity == safety.Stop {
			stops = append(stops, Point{Code: PointStop, About: f.Rule, Text: p.Brief(f)})
		}
	}
	for _, h := range p.Against() {
		if h.Finding != nil {
			others = append(others, Point{Code: PointUnseen, About: h.Rule, Text: h.Text, keys: []opening.Key{"over"}})
		}
	}
	for _, h := range p.Holds() {
		if h.Rule == AboutReadings {
			others = append(others, misfit(p.Order.Figure, h.Text))
		}
	}
	return append(stops, others...)
}

// misfit is that the readings can't all be right, and by how much the diagonals miss.
func misfit(f calc.Figure, hold phrase.Text) Point {
	text := hold
	if off := f.Misclosure.Abs().Round(0); !f.Assumed && off.GreaterThan(decimal.NewFromInt(1)) {
		text = phrase.Of("against.misfit").With("off", off).Sub1("hold", hold)
	}
	return Point{Code: PointMisfit, About: AboutReadings, Text: text, keys: opening.ReadingKeys}
}

// AgainstPlan is what stands against ordering the window of a plan by itself, besides
// what holds it: nobody has taken any of it on.
func AgainstPlan(p plan.Plan) []TakenOn {
	var list []TakenOn
	for _, h := range p.Against() {
		code := PointMissed
		if h.Finding != nil {
			code = PointUnseen
		}
		list = append(list, TakenOn{Point: Point{Code: code, About: h.Rule, Text: h.Text}})
	}
	return list
}

// missed are the fields that stand against ordering while they are not known.
func missed(known *opening.Known) []Point {
	var points []Point
	for _, key := range known.Unknown()[opening.Against] {
		p := Point{Code: PointNeeded, About: key, Text: phrase.Of("against.needed").Sub1("name", fieldName(key)), keys: []opening.Key{key}}
		if word := plan.UnmeasuredAs[key]; word != "" {
			p.Code, p.Text = PointMissed, phrase.Of("against.missed").Word("what", "unmeasured."+word)
		}
		points = append(points, p)
	}
	return points
}

func fieldName(key opening.Key) phrase.Text {
	f := opening.Find(key)
	if f.N == 0 {
		return phrase.Of("name." + key)
	}
	return phrase.Of("name."+f.Name).WithInt("n", f.N)
}

// insideKeys are the lengths behind an overlap, tapeKeys all that the frame is sized by.
var (
	insideKeys = []opening.Key{"inner.width", "inner.height"}
	tapeKeys   = slices.Concat(opening.ReadingKeys, insideKeys)
)

// copied are the readings of other windows that were not taken here, by the window.
func copied(known *opening.Known) []Point {
	var from []int
	keys := map[int][]opening.Key{}
	taken := 0
	for _, key := range tapeKeys {
		e := known.Entry(key)
		switch {
		case e == nil || e.Value == opening.Skipped:
		case e.How != opening.Copied:
			taken++
		default:
			if keys[e.Of] == nil {
				from = append(from, e.Of)
			}
			keys[e.Of] = append(keys[e.Of], key)
		}
	}
	var points []Point
	for _, n := range from {
		text := phrase.Of("against.copied").WithInt("n", n).WithRow("names", tapeNames(keys[n])...)
		if taken == 0 && len(from) == 1 {
			text = phrase.Of("against.copied.all").WithInt("n", n)
		}
		points = append(points, Point{Code: PointCopied, About: AboutCopy + strconv.Itoa(n), Text: text, keys: keys[n]})
	}
	return points
}

// tapeNames are the names of some of tapeKeys.
func tapeNames(keys []opening.Key) []phrase.Text {
	var names []phrase.Text
	for _, key := range opening.ReadingKeys {
		if slices.Contains(keys, key) {
			names = append(names, phrase.Of(readingWord(key)))
		}
	}
	for _, key := range insideKeys {
		if slices.Contains(keys, key) {
			names = append(names, phrase.Of("name."+key))
		}
	}
	return names
}

// takeOn is the entry that takes points on.
func takeOn(version string, points []Point) opening.Entry {
	return opening.Entry{Act: opening.Agree, Value: toldAgainst, Told: telling(version, stored(points))}
}

// Standing is what stands against the window, each point with who took it on.
func (o Opening) Standing(s calc.Settings) []TakenOn { return o.takenOn(o.Against(s)) }

// takenOn finds who took the points on. One that came back, whose figures are others or
// whose answer was given again since is another point.
func (o Opening) takenOn(points []Point) []TakenOn {
	list := make([]TakenOn, len(points))
	for i, p := range points {
		list[i].Point = p
		for _, a := range o.accepted {
			if !o.saidSince(a.seq, p.keys) && !p.Stops() && slices.ContainsFunc(a.points, p.same) {
				list[i].By = &a.by
			}
		}
	}
	return list
}

// saidSince says whether one of the fields was given, or taken back, after an entry.
func (o Opening) saidSince(seq int, keys []opening.Key) bool {
	since := false
	o.Said.Standing(func(e *opening.Entry) {
		said := e.Act == opening.Set || e.Act == opening.Clear
		since = since || said && e.Seq > seq && slices.Contains(keys, e.Key)
	})
	return since
}

// toldStanding is what stood against a line as it was sent, with who took it on.
func (o Opening) toldStanding(l Line) []TakenOn {
	if l.Against == nil && o.asTold() {
		return o.Standing(calc.DefaultSettings())
	}
	list := make([]TakenOn, len(l.Against))
	for i, p := range l.Against {
		list[i].Point = p
		for _, a := range o.accepted {
			if a.seq < o.sent.Seq && slices.ContainsFunc(a.points, p.same) {
				list[i].By = &a.by
			}
		}
	}
	return list
}

// openPoints is how many points nobody took on of a window that is complete and not sent,
// and how many of them are what the maker needs.
func (o Opening) openPoints() (all, items int) {
	if o.State.atDesk() || o.State.made() || len(o.Lacks()) > 0 {
		return 0, 0
	}
	open := Open(o.Standing(calc.DefaultSettings()))
	return len(open), len(open) - len(WithoutItems(open))
}

// unfit is why a window with open points does not go out; nil without any.
func (o Opening) unfit(open []Point) *Refusal {
	if len(open) == 0 {
		return nil
	}
	r := refuse("against")
	if slices.ContainsFunc(open, Point.Stops) {
		r = refuse("stopped")
	}
	r = r.say("name", o.Name).num("n", o.ID)
	r.Points = open
	return r
}

// OpenVersion names the points of those windows that nobody took on, so that a button
// takes on no others than were shown.
func (j Job) OpenVersion(s calc.Settings, ids ...int) string {
	h := sha256.New()
	for _, id := range ids {
		if o, ok := j.Find(id); ok {
			h.Write([]byte(strconv.Itoa(id) + " " + stored(Open(o.Standing(s)))))
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:4])
}
