package day

import (
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// stands are the readings of the sashes in the order in which they were made.
func (w *Window) stands() []string {
	var list []string
	for _, round := range w.rounds["sash"] {
		if v := round["sash.stand"].Value; v != "" && v != opening.Skipped {
			list = append(list, v)
		}
	}
	if v := w.Value(&sashKeys, "stand"); v != "" && v != opening.Skipped {
		list = append(list, v)
	}
	return list
}

// toed are the numbers of the lights that are heeled and toed.
func (w *Window) toed() []int {
	var list []int
	for i, light := range w.Record().Plan.Layout.Lights {
		if side, ok := light.Hinge.Side(); ok && (side == calc.Left || side == calc.Right) {
			list = append(list, i+1)
		}
	}
	return list
}

// lightDue is the number of the light that is to be looked at: the one that was read last
// while it does not agree, else the first of which nothing was read. 0 when all agree.
func (w *Window) lightDue() int {
	agree := map[int]bool{}
	last := 0
	for _, v := range w.stands() {
		s, ok := standOf(v)
		if !ok {
			continue
		}
		last = s.Light
		agree[s.Light] = strings.HasSuffix(v, shuts) || w.agrees(s.Light)
	}
	if last != 0 && !agree[last] {
		return last
	}
	for _, light := range w.toed() {
		if !agree[light] {
			return light
		}
	}
	return 0
}

// agrees says whether the light's last reading needs no packing.
func (w *Window) agrees(light int) bool {
	advice := w.advices(light)
	return len(advice) > 0 && advice[len(advice)-1].Done
}

// advices are what came of each reading of a light, in the order in which they were made.
func (w *Window) advices(light int) []calc.ToeAdvice {
	made, err := w.Planned()
	if err != nil {
		return nil
	}
	var list []calc.ToeAdvice
	var before *calc.ToeAdvice
	for _, v := range w.stands() {
		s, ok := standOf(v)
		if !ok || s.Light != light {
			continue
		}
		if strings.HasSuffix(v, shuts) {
			list, before = nil, nil // from here on it is packed for another reason
			continue
		}
		a, err := made.Toe(s, before)
		if err != nil {
			continue
		}
		list = append(list, a)
		before = &list[len(list)-1]
	}
	return list
}
