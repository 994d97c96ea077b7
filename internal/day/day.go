// Package day is the fitting day of one window: what is read and looked at in each
// part of the work, how it is read out of a message, and what comes of it.
//
// A reading of the day is an entry of the window's record under a key of its own,
// PART.NAME. No survey asks for it, no signature covers it, and no order hangs on it.
package day

import (
	"maps"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/reading"
)

// Kind says how something of the day is given.
type Kind int

// The kinds.
const (
	Length Kind = iota // mm
	Choice             // one of its codes
	Tick               // all right, or what is not in the person's words
	Words              // the person's own
	Degree             // of heat, °C
	Slope              // mm in a metre, signed, see Tilt
	Patch              // places to make good, see Place
	Panes              // rebate and glass by light, see Rebate
	Mass               // kg
	Corner             // how a sash stands, see toe.go
)

// Field is one thing that is read or looked at. Its name is storage.
type Field struct {
	Name  string
	Kind  Kind
	Usual reading.Range // of a Length
	Codes []string      // of a Choice, the usual one first
	// Sorts says that the codes are kinds of a thing: no yes and no all ok tells which.
	Sorts bool
	// Means are other codes that mean one of them here.
	Means map[string]string
	// Ask says whether it is asked; nil: always. What is not asked is still heard.
	Ask func(*Window) bool
}

// Part is a piece of the day's work in which one thing after another is asked. Its
// name is storage: it stands in conversations and on buttons.
type Part struct {
	Name string
	// At is where the window stands when the part is due.
	At     job.State
	Fields []Field
	// Together are names of fields that one word names together, with + between.
	Together []string
	// Loop: the part is read again after each advice until it is right.
	Loop bool
	// Tells is what is said of the work when the part's turn comes, before anything is
	// asked; nil: nothing. A part that asks nothing is told in passing.
	Tells func(*Window) []phrase.Text
	// ByWord: it is begun by its word alone, and never due.
	ByWord bool
	// Ends says what comes of what was read. Call it with the part itself.
	Ends func(*Part, *Window) Outcome
}

// Outcome is what comes of a part.
type Outcome struct {
	Lines []phrase.Text
	// Again: something is to be put right and read again.
	Again bool
	// Wrong: the work can't go on like this.
	Wrong bool
	// Paper is what the file for the customer says of it, besides the readings.
	Paper []phrase.Text
}

// Key is the key of the field's entries in a record.
func (p *Part) Key(f *Field) opening.Key { return p.Name + "." + f.Name }

// FieldOf is the field of a key of the part; nil for none.
func (p *Part) FieldOf(key opening.Key) *Field {
	name, of := strings.CutPrefix(key, p.Name+".")
	if !of {
		return nil
	}
	return p.field(name)
}

// field is the field of that name; nil for none.
func (p *Part) field(name string) *Field {
	for i := range p.Fields {
		if p.Fields[i].Name == name {
			return &p.Fields[i]
		}
	}
	return nil
}

// Window is a window of the job on its day, with what was read so far.
type Window struct {
	job.Opening
	read map[opening.Key]opening.Entry
	// rounds are what was read of a part before it was read again, by the part's name.
	rounds map[string][]map[opening.Key]opening.Entry
	// made is what came of planning the window, nil before somebody asked: what comes of
	// several parts asks for it.
	made *madePlan
}

// madePlan is a plan, or why there is none.
type madePlan struct {
	plan plan.Plan
	err  error
}

// again is the field that begins the next round of a part.
const again = "again"

// Of is the window with what was read of it on the day.
func Of(o job.Opening) *Window {
	w := &Window{Opening: o, read: map[opening.Key]opening.Entry{}, rounds: map[string][]map[opening.Key]opening.Entry{}}
	o.Said.Standing(func(e *opening.Entry) {
		part, field, _ := strings.Cut(e.Key, ".")
		switch {
		case e.Act == opening.Set && field == again:
			w.nextRound(part)
		case e.Act == opening.Set:
			w.read[e.Key] = *e
		case e.Act == opening.Clear:
			delete(w.read, e.Key)
		}
	})
	return w
}

// nextRound puts aside what was read of a part.
func (w *Window) nextRound(part string) {
	before := map[opening.Key]opening.Entry{}
	for key, e := range w.read {
		if strings.HasPrefix(key, part+".") {
			before[key] = e
			delete(w.read, key)
		}
	}
	w.rounds[part] = append(w.rounds[part], before)
}

// Value is what was read of a field of the part; "" for nothing.
func (w *Window) Value(p *Part, name string) string { return w.read[p.Name+"."+name].Value }

// Has says whether the field was read or passed over.
func (w *Window) Has(p *Part, name string) bool { return w.Value(p, name) != "" }

// Number is a figure that was read; nil when it was not.
func (w *Window) Number(p *Part, name string) *decimal.Decimal {
	d, err := decimal.NewFromString(w.Value(p, name))
	if err != nil {
		return nil
	}
	return &d
}

// Next is the next field of the part to be asked; nil when all was.
func (p *Part) Next(w *Window) *Field {
	for i := range p.Fields {
		f := &p.Fields[i]
		if p.asked(w, f) && !w.Has(p, f.Name) {
			return f
		}
	}
	return nil
}

// asked says whether the field is one that the window has.
func (p *Part) asked(w *Window, f *Field) bool { return f.Ask == nil || f.Ask(w) }

// Begun says whether anything of the part was read.
func (p *Part) Begun(w *Window) bool {
	return slices.ContainsFunc(p.Fields, func(f Field) bool { return w.Has(p, f.Name) })
}

// Again are the entries after which the part is read again: what was not all right of
// ticks, else all.
func (p *Part) Again(w *Window) []opening.Entry {
	var wrong []opening.Entry
	for i := range p.Fields {
		f := &p.Fields[i]
		if value := w.Value(p, f.Name); f.Kind == Tick && value != "" && value != OK {
			wrong = append(wrong, opening.Entry{Act: opening.Clear, Key: p.Key(f)})
		}
	}
	if wrong != nil {
		return wrong
	}
	return []opening.Entry{p.NextRound()}
}

// NextRound is the entry from which on the part is read again as a whole.
func (p *Part) NextRound() opening.Entry {
	return opening.Entry{Act: opening.Set, Key: p.Name + "." + again, Value: "yes"}
}

// Fresh is the window as it is when the part is read again.
func (w *Window) Fresh(p *Part) *Window {
	fresh := &Window{Opening: w.Opening, read: maps.Clone(w.read), rounds: maps.Clone(w.rounds)}
	fresh.nextRound(p.Name)
	return fresh
}

// OK is the stored value of a Tick that is all right.
const OK = "ok"

// level is the stored value of a Slope that is true.
const level = "level"

// troubles are the ticks that are not all right, with what was said of each.
func (p *Part) troubles(w *Window) []phrase.Text {
	var list []phrase.Text
	for i := range p.Fields {
		f := &p.Fields[i]
		value := w.Value(p, f.Name)
		if f.Kind != Tick || value == "" || value == OK || value == opening.Skipped {
			continue
		}
		list = append(list, phrase.Of("day.trouble").Sub1("name", p.Title(f)).Saying("words", value))
	}
	return list
}

// Title is the name of a field.
func (p *Part) Title(f *Field) phrase.Text { return phrase.Of("day.name." + p.Key(f)) }

// Prompt is the question for a field.
func (p *Part) Prompt(f *Field) phrase.Text { return phrase.Of("day.ask." + p.Key(f)) }

// Last is the field of the part that was read last; nil for none.
func (p *Part) Last(w *Window) *Field {
	var last *Field
	seq := 0
	for i := range p.Fields {
		if e, ok := w.read[p.Key(&p.Fields[i])]; ok && e.Seq > seq {
			last, seq = &p.Fields[i], e.Seq
		}
	}
	return last
}

// Offered are the values that get a button.
func (f *Field) Offered() []string {
	switch f.Kind {
	case Tick:
		return []string{OK}
	case Slope:
		return []string{level}
	case Choice:
		return f.Codes
	}
	return nil
}

func never(*Window) bool { return false }

// bothDiagonals asks for the falling diagonal unless the rising one was passed over.
func bothDiagonals(part string) func(*Window) bool {
	keys := &Part{Name: part}
	return func(w *Window) bool { return w.Value(keys, "rising") != opening.Skipped }
}
