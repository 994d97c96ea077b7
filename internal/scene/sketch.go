package scene

import (
	"fmt"
	"strings"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// Sketch draws as a PNG where the tape goes for a reading, or for a setting of
// the crew: its own place bold, those of its group thin. With under, heights start under the old sill. say
// gives the plain words of a catalogue text. The error is for a reading that
// has no sketch.
func Sketch(reading opening.Key, under bool, say func(phrase.Text) string) ([]byte, error) {
	s, err := sketched(reading, under, NewVoice(say))
	if err != nil {
		return nil, err
	}
	return PNG(s.Scene, sketchWide, sketchHigh)
}

func sketched(reading opening.Key, under bool, v Voice) (*sketch, error) {
	f := opening.Find(reading)
	if f == nil || !f.Is(opening.Sketched) {
		return nil, fmt.Errorf("scene: no sketch of %q", reading)
	}
	s := &sketch{window{Scene: &Scene{}, voice: v}, reading, under}
	group, _, _ := strings.Cut(reading, ".")
	seen := "card.seen_from_outside"
	switch group {
	case "mullion", "transom":
		s.bars(f.N)
	case "floor", "outside":
		s.glassAbove()
		seen = "sketch.side"
	case "sill":
		s.level()
	case "inner":
		seen = s.behind()
	case "crew":
		s.section()
		seen = "sketch.side"
	default:
		s.places()
	}
	s.Into(sketchName, v.Say(NameOf(f)), Black, Fonts(Bold, 14, 12, 10, 9, 8, 7)...)
	s.Into(sketchSeen.Middle(sketchWide-3, sketchSeen.H), v.Key(seen), Black, Fonts(Bold, 10, 9, 8, 7)...)
	return s, nil
}

// NameOf is what a field is called over its sketch.
func NameOf(f *opening.Field) phrase.Text {
	if setting, crew := strings.CutPrefix(f.Key, opening.CrewPrefix); crew {
		return phrase.Of("setting." + setting)
	}
	name := phrase.Of("name." + f.Name)
	if f.N > 0 {
		name = name.WithInt("n", f.N)
	}
	return name
}
