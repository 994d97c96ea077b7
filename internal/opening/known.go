package opening

import "slices"

// fieldCount is room for every field that has a key.
const fieldCount = 128

// places are those of the keys in the table, which fills it.
var places map[Key]int

// Index is the field's place among those that have a key.
func Index(key Key) (int, bool) {
	i, ok := places[key]
	return i, ok
}

// Known is what is known of an opening: for each field the entry that holds.
// The zero Known is of an opening of which nothing was said. It is copied by
// value and never shared with who changes it.
type Known struct {
	entries [fieldCount]*Entry // nil for none
	sure    [fieldCount]bool
	sources [fieldCount]*Entry // that copied a value from another opening last
}

// Follow takes an entry into account. Entries of fields that the table does not
// have are left in the record alone.
func (k *Known) Follow(e *Entry) {
	switch e.Act {
	case Set:
		k.put(e.Key, e)
		if i, ok := Index(e.Key); ok && e.How == Copied {
			k.sources[i] = e
		}
	case Clear:
		k.put(e.Key, nil)
	case Sure:
		if i, ok := Index(e.Key); ok && k.entries[i] != nil {
			k.sure[i] = true
		}
	}
}

// put gives a field the entry that holds, nil for none.
func (k *Known) put(key Key, e *Entry) {
	if i, ok := Index(key); ok {
		k.entries[i], k.sure[i] = e, false
	}
}

// over puts what other has over what k has.
func (k *Known) over(other *Known) {
	for i, e := range &other.entries {
		if e != nil {
			k.entries[i], k.sure[i] = e, true
		}
	}
}

// Set gives a field a value that nobody's entry stands behind.
func (k *Known) Set(key Key, value string) { k.put(key, &Entry{Act: Set, Key: key, Value: value}) }

// Unset takes the field's value away.
func (k *Known) Unset(key Key) { k.put(key, nil) }

// Entry is the entry that gave the field its value; nil when it has none.
func (k *Known) Entry(key Key) *Entry {
	if i, ok := Index(key); ok {
		return k.entries[i]
	}
	return nil
}

// Value is the field's value as it is stored; "" when it has none.
func (k *Known) Value(key Key) string {
	if e := k.Entry(key); e != nil {
		return e.Value
	}
	return ""
}

// Has says whether the field has a value, Skipped among them.
func (k *Known) Has(key Key) bool { return k.Entry(key) != nil }

// Given says whether every key has a value that was neither skipped nor left to the
// desk.
func (k *Known) Given(keys ...Key) bool {
	for _, key := range keys {
		if e := k.Entry(key); e == nil || e.Value == Skipped || e.Value == DeskSays {
			return false
		}
	}
	return true
}

// Sure says whether the value was questioned and stands.
func (k *Known) Sure(key Key) bool {
	i, ok := Index(key)
	return ok && k.sure[i]
}

// InOrder are the fields that have a value, in the order they were given.
func (k *Known) InOrder() []Key {
	var entries []*Entry
	for _, e := range &k.entries {
		if e != nil {
			entries = append(entries, e)
		}
	}
	slices.SortStableFunc(entries, func(a, b *Entry) int { return a.Seq - b.Seq })
	keys := make([]Key, len(entries))
	for i, e := range entries {
		keys[i] = e.Key
	}
	return keys
}
