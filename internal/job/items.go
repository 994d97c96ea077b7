package job

import (
	"cmp"
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// Unsaid are the items that a maker needs of the window and that nobody has said.
func (o Opening) Unsaid(s calc.Settings) []opening.Key {
	known := o.Known()
	keys := known.Unsaid()
	if !slices.Contains(keys, opening.ByClass) {
		return keys
	}
	line, _ := o.line(s) // of one that no line can be made of no class is known either
	return line.missed(keys)
}

// Blank is a question that has no answer, and the openings that it is left open for.
type Blank struct {
	Key      opening.Key
	Openings []int
}

// BlanksOn are the questions that several windows leave open, each once, in the order
// in which they are asked. Each calls do with every window and what it leaves open.
func BlanksOn(each func(do func(id int, keys []opening.Key))) []Blank {
	var list []Blank
	each(func(id int, keys []opening.Key) {
		for _, key := range keys {
			i := slices.IndexFunc(list, func(l Blank) bool { return l.Key == key })
			if i < 0 {
				i, list = len(list), append(list, Blank{Key: key})
			}
			list[i].Openings = append(list[i].Openings, id)
		}
	})
	slices.SortStableFunc(list, func(a, b Blank) int {
		i, j := slices.Index(opening.ItemKeys, a.Key), slices.Index(opening.ItemKeys, b.Key)
		return cmp.Or(cmp.Compare(i, j), opening.Order(a.Key, b.Key))
	})
	return list
}

// Unsaid are the items of the job that nobody has said, each with the windows that
// need it. A window that is not here any more, or still being measured, needs none.
func (j Job) Unsaid(s calc.Settings) []Blank {
	return BlanksOn(func(do func(int, []opening.Key)) {
		for _, o := range j.Readable() {
			if !o.State.made() && len(o.Lacks()) == 0 {
				do(o.ID, o.Unsaid(s))
			}
		}
	})
}
