package opening

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
)

// Skipped is the stored value of a question that was passed over.
const Skipped = "-"

// Known is what is known of an opening: for each field the entry that holds.
// The zero Known is of an opening of which nothing was said. It is copied by
// value and never shared with who changes it.
type Known struct {
	slots [fieldCount]slot
	leans int8 // what leansMuch found; 0: not looked
}

// slot is one field's: the entry that holds, nil for none.
type slot struct {
	entry *Entry
	sure  bool
}

func (k *Known) slot(key Key) *slot {
	i, ok := Index(key)
	if !ok {
		return nil
	}
	return &k.slots[i]
}

// follow takes an entry into account. Entries of fields that the table does not
// have are left in the record alone.
func (k *Known) follow(e *Entry) {
	switch e.Act {
	case Set:
		k.put(e)
	case Clear:
		k.clear(e.Key)
	case Sure:
		if s := k.slot(e.Key); s != nil && s.entry != nil {
			s.sure = true
		}
	case Restart:
		*k = Known{}
	}
}

func (k *Known) put(e *Entry) {
	if s := k.slot(e.Key); s != nil {
		*s, k.leans = slot{entry: e}, 0
	}
}

func (k *Known) clear(key Key) {
	if s := k.slot(key); s != nil {
		*s, k.leans = slot{}, 0
	}
}

// over puts what other has over what k has.
func (k *Known) over(other *Known) {
	k.leans = 0
	for i := range other.slots {
		if other.slots[i].entry != nil {
			k.slots[i] = slot{entry: other.slots[i].entry, sure: true}
		}
	}
}

// Set gives a field a value that nobody's entry stands behind.
func (k *Known) Set(key Key, value string) { k.put(&Entry{Act: Set, Key: key, Value: value}) }

// Unset takes a field's value away.
func (k *Known) Unset(key Key) { k.clear(key) }

// Entry is the entry that gave the field its value; nil when it has none.
func (k *Known) Entry(key Key) *Entry {
	if s := k.slot(key); s != nil {
		return s.entry
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

// Given says whether every key has a value that was not skipped.
func (k *Known) Given(keys ...Key) bool {
	for _, key := range keys {
		if e := k.Entry(key); e == nil || e.Value == Skipped {
			return false
		}
	}
	return true
}

// Sure says whether the value was questioned and stands.
func (k *Known) Sure(key Key) bool {
	s := k.slot(key)
	return s != nil && s.sure
}

// Answered is how many questions have an answer.
func (k *Known) Answered() int {
	n := 0
	for i := range k.slots {
		if k.answer(i) != nil {
			n++
		}
	}
	return n
}

// answer is the entry of the i-th field if it is one that a survey asks.
func (k *Known) answer(i int) *Entry {
	if k.slots[i].entry == nil || table[i].Is(ByCommand) {
		return nil
	}
	return k.slots[i].entry
}

// Started says whether any question of the window itself was answered.
func (k *Known) Started() bool {
	for i := range k.slots {
		if e := k.answer(i); e != nil && e.How != Assumed && table[i].Scope != House {
			return true
		}
	}
	return false
}

// Newest is the question that was answered last; ok is false when there is
// none.
func (k *Known) Newest() (key Key, ok bool) {
	last := 0
	for i := range k.slots {
		if e := k.answer(i); e != nil && e.Seq > last {
			key, last, ok = e.Key, e.Seq, true
		}
	}
	return key, ok
}

// Differ are the fields whose values are not the same in both, in the order of
// the table.
func (k *Known) Differ(other *Known) []Key {
	var keys []Key
	for i := range k.slots {
		a, b := k.slots[i].entry, other.slots[i].entry
		if (a == nil) != (b == nil) || a != nil && a.Value != b.Value {
			keys = append(keys, table[i].Key)
		}
	}
	return keys
}

// Version names the values that a signature covers, in the order of the table:
// twelve digits, so that it fits a button.
func (k *Known) Version() string {
	h := sha256.New()
	for i := range k.slots {
		if e := k.slots[i].entry; e != nil && !table[i].Is(Unsigned) {
			h.Write([]byte(e.Key))
			h.Write([]byte{'='})
			h.Write([]byte(e.Value))
			h.Write([]byte{0})
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}

// InOrder are the fields that have a value, in the order they were given.
func (k *Known) InOrder() []Key {
	var entries []*Entry
	for i := range k.slots {
		if e := k.slots[i].entry; e != nil {
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
