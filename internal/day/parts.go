package day

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// KeptIn is the part that found why the old window stays in; nil: none did.
func (w *Window) KeptIn() *Part {
	for _, p := range []*Part{&frame, &structure} {
		if p.Begun(w) && p.Next(w) == nil && p.Ends(p, w).Wrong {
			return p
		}
	}
	return nil
}

// All are the parts in the order of the day.
var All = []*Part{&frame, &structure, &takeout, &sillpiece, &setting, &fixing, &bow, &glazing, &sash, &patches, &seal, &lastlook}

// Find is the part of that name; nil for none.
func Find(name string) *Part {
	i := slices.IndexFunc(All, func(p *Part) bool { return p.Name == name })
	if i < 0 {
		return nil
	}
	return All[i]
}

// Due is the part that is due at the window after the given one, nil for the first
// that is: one that lacks something, or after which the work can't go on. Nil when none
// is.
func Due(w *Window, after *Part) *Part {
	from := slices.Index(All, after) + 1
	for _, p := range All[from:] {
		if !p.ByWord && p.At == w.State && (p.Next(w) != nil || p.Ends(p, w).Wrong) {
			return p
		}
	}
	return nil
}

// InPassing are the parts between two at the window that have something to tell and
// nothing to ask; after nil: from the first, until nil: to the last.
func InPassing(w *Window, after, until *Part) []*Part {
	var list []*Part
	for _, p := range All[slices.Index(All, after)+1:] {
		if p == until {
			break
		}
		if p.At == w.State && p.Tells != nil && !p.ByWord && p.Next(w) == nil {
			list = append(list, p)
		}
	}
	return list
}

// Told is what the part says of the work, with what came of what was read of it.
func (p *Part) Told(w *Window) []phrase.Text {
	var lines []phrase.Text
	if p.Tells != nil {
		lines = p.Tells(w)
	}
	return append(lines, p.Ends(p, w).Lines...)
}

// OfWork are the parts that tell how the work at a window is done where it stands.
func OfWork(w *Window) []*Part {
	var list []*Part
	for _, p := range All {
		if p.Tells != nil && (p.At == w.State || w.State == job.Confirmed && p.At == job.Delivered) {
			list = append(list, p)
		}
	}
	return list
}

// Later hears a message for the parts that come after one at the window: a reading that
// is of a later one passes over what is asked. Words are not, which may mean anything,
// nor is a figure where one is asked.
func (e Ear) Later(after *Part, w *Window, text string) (*Part, []Value) {
	if f := after.Next(w); f != nil && f.Kind.isFigure() && startsFigure(text) {
		return nil, nil
	}
	for _, p := range All[slices.Index(All, after)+1:] {
		if p.At != w.State || p.ByWord {
			continue
		}
		said := e.Hear(p, w, text).Said
		if len(said) > 0 && !slices.ContainsFunc(said, func(v Value) bool { return v.Field.Kind == Tick || v.Field.Kind == Words }) {
			return p, said
		}
	}
	return nil, nil
}
