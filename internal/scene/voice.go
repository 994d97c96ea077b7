package scene

import (
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/typeface"
)

// Voice says texts of the catalogue in the reader's words, each on one line
// and without anything that can't be drawn.
type Voice struct {
	say  func(phrase.Text) string
	said map[string]string // the words of plain keys, as they come again and again
}

// NewVoice is the voice of a reader. Say gives the plain words, without
// mark-up, of a text of the catalogue.
func NewVoice(say func(phrase.Text) string) Voice { return Voice{say, map[string]string{}} }

// Say is the words of a text.
func (v Voice) Say(t phrase.Text) string { return typeface.Line(v.say(t)) }

// Key is the words of a plain key.
func (v Voice) Key(key string) string {
	words, ok := v.said[key]
	if !ok {
		words = v.Say(phrase.Of(key))
		v.said[key] = words
	}
	return words
}

// Number is a figure as the reader writes it.
func (v Voice) Number(n decimal.Decimal) string { return v.Say(phrase.Of("number").With("n", n)) }

// Ways say how the lights of a layout open, those that open alike together.
func (v Voice) Ways(layout calc.Layout) []string {
	var order []calc.Hinge
	numbers := map[calc.Hinge][]int{}
	for n, light := range layout.Lights {
		if numbers[light.Hinge] == nil {
			order = append(order, light.Hinge)
		}
		numbers[light.Hinge] = append(numbers[light.Hinge], n)
	}
	if len(layout.Lights) == 1 {
		return []string{v.Key("card.light." + string(order[0]))}
	}
	var out []string
	for _, h := range order {
		out = append(out, v.Say(phrase.Of("card.lights").Saying("numbers", Numbers(numbers[h])).Word("way", "card.light."+string(h))))
	}
	return out
}

// About names the lights that a sentence is about, where there are several, to
// stand before it.
func (v Voice) About(lights []int, layout calc.Layout) string {
	if len(lights) == 0 || len(layout.Lights) < 2 {
		return ""
	}
	return v.Say(phrase.Of("card.about_lights").Saying("numbers", Numbers(lights))) + " "
}

// Numbers are the numbers of lights, as people count them.
func Numbers(lights []int) string { return joined(lights, 1, ", ") }

func joined(ns []int, plus int, between string) string {
	parts := make([]string, len(ns))
	for i, n := range ns {
		parts[i] = strconv.Itoa(n + plus)
	}
	return strings.Join(parts, between)
}
