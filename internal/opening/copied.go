package opening

import "slices"

// tapeKeys are the fields that have to be measured at the opening itself.
var tapeKeys = append(slices.Clone(ReadingKeys), "inner.width", "inner.height")

// OfOneWindow is what is of one window alone, and never copied: what was said of its
// stops by somebody who looked at it among it.
var OfOneWindow = []Key{"name", "count", "due", "price", "cleared"}

// IsOfOneWindow says whether the field is never copied.
func IsOfOneWindow(key Key) bool { return slices.Contains(OfOneWindow, key) }

// OfTheTape says whether the field has to be measured at the opening itself.
func OfTheTape(key Key) bool { return slices.Contains(tapeKeys, key) }

// ownKeys are those that another opening's answer says nothing of.
var ownKeys = append(slices.Clip(tapeKeys), "lean")

// Own is what is known without what was measured at another opening: k itself where
// nothing was.
func (k *Known) Own() *Known {
	own := k
	for _, key := range ownKeys {
		if e := k.Entry(key); e != nil && e.How == Copied {
			if own == k {
				c := *k
				own = &c
			}
			own.Unset(key)
		}
	}
	return own
}

// Source is the entry that copied the field's value from another opening, whatever was
// said since; nil for none.
func (k *Known) Source(key Key) *Entry {
	if i, ok := Index(key); ok {
		return k.sources[i]
	}
	return nil
}

// StillCopied are the readings that are those of another opening, in the order of the
// tape, and the number of that opening; 0 where it has none.
func (k *Known) StillCopied() (keys []Key, of int) {
	for _, key := range tapeKeys {
		if e := k.Entry(key); e != nil && e.How == Copied && e.Value != Skipped {
			keys, of = append(keys, key), e.Of
		}
	}
	return keys, of
}
