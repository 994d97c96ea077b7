package opening

import (
	"crypto/sha256"
	"encoding/hex"
)

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
