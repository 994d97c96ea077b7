// Package openingtest gives tests a whole window at once.
package openingtest

import (
	"slices"
	"strings"

	"sillbot/internal/opening"
)

// Window is all that a test says of a window.
type Window struct {
	Plan     opening.Opening
	MakeUp   string // of the glass
	Colour   string
	Hardware []string
}

// ofOneWindow is what a command of its own says.
var ofOneWindow = []opening.Key{"name", "count", "due", "price"}

// Differing are the entries that make what is known of an opening the window:
// what it says otherwise is set, what it does not say is cleared.
func Differing(known opening.Known, w Window) []opening.Entry {
	want := opening.Values(w.Plan, w.MakeUp)
	if w.Colour != "" {
		want = append(want, opening.Entry{Act: opening.Set, Key: "colour", Value: w.Colour})
	}
	if len(w.Hardware) > 0 {
		want = append(want, opening.Entry{Act: opening.Set, Key: "hardware", Value: strings.Join(w.Hardware, "\n")})
	}
	want = append(want, passedOver(want)...)
	var list []opening.Entry
	for _, e := range want {
		if known.Value(e.Key) != e.Value {
			list = append(list, e)
		}
	}
	for f := range opening.Fields {
		wanted := slices.ContainsFunc(want, func(e opening.Entry) bool { return e.Key == f.Key })
		if known.Has(f.Key) && !wanted && !slices.Contains(ofOneWindow, f.Key) {
			list = append(list, opening.Entry{Act: opening.Clear, Key: f.Key})
		}
	}
	return list
}

// Complete is Differing with what the maker needs and nobody said left to the desk, so
// that nothing of that holds an order back.
func Complete(known opening.Known, w Window) []opening.Entry {
	list := slices.DeleteFunc(Differing(known, w), func(e opening.Entry) bool {
		return e.Act == opening.Clear && known.Value(e.Key) == opening.DeskSays
	})
	for _, key := range opening.ItemKeys {
		if known.Entry(key) == nil && key != "colour" {
			list = append(list, opening.Entry{Act: opening.Set, Key: key, Value: opening.DeskSays})
		}
	}
	return list
}

// passedOver are the answers to what a survey would still ask and a plan does
// not say: passed over, or the usual one.
func passedOver(want []opening.Entry) []opening.Entry {
	var known opening.Known
	for _, e := range want {
		known.Set(e.Key, e.Value)
	}
	usual := map[opening.Key]string{"over": "drill", "door": "no", "bath": "no", "release": "no"}
	var list []opening.Entry
	for range 20 {
		for _, key := range known.Lacks() {
			value := usual[key]
			if opening.Find(key).Is(opening.Skips) {
				value = opening.Skipped
			}
			if value != "" {
				known.Set(key, value)
				list = append(list, opening.Entry{Act: opening.Set, Key: key, Value: value})
			}
		}
	}
	return list
}
