package opening

import (
	"crypto/sha256"
	"encoding/hex"
)

// Answered is how many questions have an answer.
func (k *Known) Answered() int {
	n := 0
	for i := range k.entries {
		if e := k.answer(i); e != nil && e.How != ForAll {
			n++
		}
	}
	return n
}

// answer is the entry of the i-th field if it is one that a survey asks.
func (k *Known) answer(i int) *Entry {
	if k.entries[i] == nil || table[i].Is(ByCommand) {
		return nil
	}
	return k.entries[i]
}

// Started says whether any question of the window itself was answered.
func (k *Known) Started() bool {
	for i := range k.entries {
		if e := k.answer(i); e != nil && e.How != Assumed && e.How != ForAll && table[i].Scope != House {
			return true
		}
	}
	return false
}

// Newest is the question that was answered last; ok is false when there is
// none.
func (k *Known) Newest() (key Key, ok bool) {
	last := 0
	for i := range k.entries {
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
	for i := range k.entries {
		a, b := k.entries[i], other.entries[i]
		if (a == nil) != (b == nil) || a != nil && a.Value != b.Value {
			keys = append(keys, table[i].Key)
		}
	}
	return keys
}

// Lost are the fields that have a value and have none later, in the order of the table.
func (k *Known) Lost(later *Known) []Key {
	var keys []Key
	for i, e := range &k.entries {
		if e != nil && later.entries[i] == nil {
			keys = append(keys, e.Key)
		}
	}
	return keys
}

// Version names the values that a signature covers, in the order of the table:
// twelve digits, so that it fits a button.
func (k *Known) Version() string {
	h := sha256.New()
	for i := range k.entries {
		if e := k.entries[i]; e != nil && !table[i].Is(Unsigned) {
			h.Write([]byte(e.Key))
			h.Write([]byte{'='})
			h.Write([]byte(e.Value))
			h.Write([]byte{0})
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
}
