package opening

import "slices"

// ItemKeys are the fields that a maker needs and the survey does not ask, in the order
// in which they are asked, once a job.
var ItemKeys = []Key{
	"opens", "handle", "locking", "colour", "inside", "obscure", "safeglass", "coating", "gas", "spacer",
	"trickle", "trickle.place", "trickle.area", "trickle.colour", "sillend", "sillfix", "stays",
	"glazed", "packing", "unload", "wanted",
}

// Unsaid are the items that what is known calls for and that nobody has said. Not to
// know one and to leave it to the desk are answers.
func (k *Known) Unsaid() []Key {
	return slices.DeleteFunc(slices.Clone(ItemKeys), func(key Key) bool {
		return k.Value(key) != "" || !k.calls(Find(key))
	})
}

// Left are the items that were answered with none, that they are not known, or that
// the desk decides: they stand on the order as that.
func (k *Known) Left() []Pair {
	var left []Pair
	for f := range Fields {
		if e := k.Entry(f.Key); f.Is(Maker) && e != nil && k.calls(f) && slices.Contains([]string{"none", Skipped, DeskSays}, e.Value) {
			left = append(left, Pair{f.Key, e.Value})
		}
	}
	return left
}
