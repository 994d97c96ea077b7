package opening

import (
	"slices"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

// A Doubt is a reading that looks wrong and that nobody has confirmed. It is worked
// out of what is known and stored nowhere: it ends when the reading is confirmed or
// measured anew, or when the others speak for it.
type Doubt struct {
	Key Key
	Why Doubtful
	Now decimal.Decimal // as given, mm
	// Closes is what the others speak for, mm; of Beside what the opening that was
	// copied has. Zero: nothing is known of it.
	Closes decimal.Decimal
	Slip   bool // a usual slip explains it
	With   Key  // of Exchanged: the other reading
}

// Doubtful says why a reading is in doubt.
type Doubtful string

// The reasons to doubt a reading.
const (
	SwapDoubt      Doubtful = "swap"      // beside its two fellows two digits seem swapped
	OutlierDoubt   Doubtful = "outlier"   // it does not go with its two fellows
	FigureDoubt    Doubtful = "figure"    // by all readings it is likelier a mistake than not
	ExchangedDoubt Doubtful = "exchanged" // it and another seem to be each other's
	InnerDoubt     Doubtful = "inner"     // far more behind the overlap than in front
	BesideDoubt    Doubtful = "beside"    // a slip away from the opening that was copied
)

// overlapMost: a leaf seldom overlaps a frame by more than this on each side, mm; common
// practice, no source.
var overlapMost = decimal.NewFromInt(100)

// Doubts are the readings in doubt, in the order of the table.
func (k *Known) Doubts() []Key {
	return InDoubt(k.Doubted())
}

// InDoubt are the readings that doubts are over, in the order of the table.
func InDoubt(list []Doubt) []Key {
	var keys []Key
	for _, d := range list {
		keys = append(keys, d.Key)
		if d.With != "" {
			keys = append(keys, d.With)
		}
	}
	slices.SortFunc(keys, Order)
	return slices.Compact(keys)
}

// Doubted are the doubts over what was measured here. Of readings that can be the
// mistake for each other only the likeliest is named. What was copied from another
// opening has none.
func (k *Known) Doubted() []Doubt {
	own := k.Own()
	list := append(own.doubtedSide(Widths), own.doubtedSide(Heights)...)
	list = append(list, own.doubtedFigure()...)
	list = append(list, own.doubtedInner()...)
	return append(list, own.doubtedBeside()...)
}

// Questions says whether an answer to the field may raise a doubt, or end one: those are
// over what is measured at the opening.
func (f *Field) Questions() bool {
	return slices.ContainsFunc(tapeKeys, func(key Key) bool { return Find(key).Change == f.Change })
}

// AllGiven says whether both sides and the diagonals were taken: all together say more
// than the three of a side.
func (k *Known) AllGiven() bool {
	return k.Given(Widths[:]...) && k.Given(Heights[:]...) && k.Given("diagonal.rising", "diagonal.falling")
}

// doubtedSide is the reading that its two fellows speak against. It waits until all
// three are there: of two that differ nobody can say which is wrong.
func (k *Known) doubtedSide(keys [3]Key) []Doubt {
	if !k.Given(keys[:]...) || k.AllGiven() {
		return nil
	}
	var r calc.Readings
	all := k.Readings()
	if keys == Widths {
		r.Widths = all.Widths
	} else {
		r.Heights = all.Heights
	}
	for _, s := range r.Suspects() {
		if k.Sure(s.Reading) || s.With != "" || s.Rank > 0 {
			continue
		}
		if s.Slip == string(SwapDoubt) {
			return []Doubt{{Key: s.Reading, Why: SwapDoubt, Now: s.Now, Closes: s.Closes, Slip: true}}
		}
		return []Doubt{{Key: s.Reading, Why: OutlierDoubt, Now: s.Now}}
	}
	return nil
}

// doubtedFigure is the reading that is likelier a mistake than not, by all the others.
func (k *Known) doubtedFigure() []Doubt {
	if !k.AllGiven() {
		return nil
	}
	suspects := k.Readings().Suspects()
	if len(suspects) == 0 {
		return nil
	}
	s := suspects[0]
	switch {
	case s.With != "" && k.Sure(s.Reading) && k.Sure(s.With), s.With == "" && k.Sure(s.Reading):
		return nil
	case s.With != "":
		return []Doubt{{Key: s.Reading, Why: ExchangedDoubt, Now: s.Now, Closes: s.Closes, With: s.With}}
	}
	return []Doubt{{Key: s.Reading, Why: FigureDoubt, Now: s.Now, Closes: s.Closes, Slip: s.Slip != ""}}
}

// doubtedInner are those behind the overlap that are far more than in front.
func (k *Known) doubtedInner() []Doubt {
	var list []Doubt
	for key, front := range map[Key][3]Key{"inner.width": Widths, "inner.height": Heights} {
		if !k.Given(key) || k.Sure(key) {
			continue
		}
		widest := decimal.Max(k.Number(front[0]), k.Number(front[1]), k.Number(front[2]))
		if now := k.Number(key); now.GreaterThan(widest.Add(overlapMost).Add(overlapMost)) {
			list = append(list, Doubt{Key: key, Why: InnerDoubt, Now: now})
		}
	}
	slices.SortFunc(list, func(a, b Doubt) int { return Order(a.Key, b.Key) })
	return list
}

// doubtedBeside are the readings that are a slip away from those of the opening that
// this one was copied from: one of each kind, for a tape misread once is often misread
// three times.
func (k *Known) doubtedBeside() []Doubt {
	var list []Doubt
	asked := map[string]bool{}
	for _, key := range tapeKeys {
		like := k.Source(key)
		f := Find(key)
		if like == nil || like.Value == Skipped || !k.Given(key) || asked[f.Change] || key == "sill.fall" {
			continue
		}
		now, was := k.Number(key), number(like.Value)
		slip := calc.SlipBeside(now, was)
		if slip == "" {
			continue
		}
		asked[f.Change] = true
		if !k.Sure(key) {
			list = append(list, Doubt{Key: key, Why: BesideDoubt, Now: now, Closes: was, Slip: true})
		}
	}
	return list
}
