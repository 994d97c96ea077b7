package day

import "slices"

// All are the parts in the order of the day.
var All = []*Part{&frame, &structure, &setting, &bow, &lastlook}

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
		if p.At == w.State && (p.Next(w) != nil || p.Ends(p, w).Wrong) {
			return p
		}
	}
	return nil
}
