package opening

import (
	"fmt"
	"slices"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// taken is a record of readings in the order of the tape; "" leaves one out.
func taken(values ...string) Record {
	var r Record
	for i, v := range values {
		if v != "" {
			r = r.Put(fitter.turn(i+1), set(ReadingKeys[i], v))
		}
	}
	return r
}

func TestDoubts(t *testing.T) {
	for _, c := range []struct {
		values []string
		want   []Key
	}{
		{[]string{"1204", "1202", "1203"}, nil},
		{[]string{"1240", "1202"}, nil}, // of two that differ nobody can say which is wrong
		{[]string{"1240", "1202", "1203"}, []Key{"width.top"}},
		{[]string{"1204", "1202", "1203", "1050", "1152", "1051"}, []Key{"height.middle"}},
		{[]string{"1204", "1202", "1203", "1050", "1052", "1051", "1596", "1697"}, []Key{"diagonal.falling"}},
		{[]string{"1204", "1202", "1203", "1050", "1052", "1051", "1596", "1597", "0"}, nil},
	} {
		k := taken(c.values...).Known()
		assert.Equal(t, c.want, k.Doubts(), "%v", c.values)
	}
}

// A doubt ends when its reading is confirmed or measured anew, and not before.
func TestADoubtEndsWhenItIsAnswered(t *testing.T) {
	doubted := taken("1240", "1202", "1203")
	confirmed := doubted.Put(fitter.turn(8), Entry{Act: Sure, Key: "width.top"})
	k := confirmed.Known()
	assert.Empty(t, k.Doubts())
	back, _, err := confirmed.Undo(fitter.turn(9))
	require.NoError(t, err)
	k = back.Known()
	assert.Equal(t, []Key{"width.top"}, k.Doubts(), "the confirming was taken back")
	anew := doubted.Put(fitter.turn(8), set("width.top", "1204"))
	k = anew.Known()
	assert.Empty(t, k.Doubts())
	again := confirmed.Put(fitter.turn(9), set("width.top", "1250"))
	k = again.Known()
	assert.Equal(t, []Key{"width.top"}, k.Doubts(), "another figure is doubted by itself")
}

func TestBehindTheOverlapFarMoreThanInFrontIsInDoubt(t *testing.T) {
	r := taken("1204", "1202", "1203").Put(fitter.turn(4), set("finish", "check"), set("inner.width", "1404"))
	k := r.Known()
	assert.Empty(t, k.Doubts(), "100 mm a side is the most without a doubt")
	r = r.Put(fitter.turn(5), set("inner.width", "1405"))
	k = r.Known()
	assert.Equal(t, []Key{"inner.width"}, k.Doubts())
	r = r.Put(fitter.turn(6), Entry{Act: Sure, Key: "inner.width"})
	k = r.Known()
	assert.Empty(t, k.Doubts())
}

// Beside the opening that was copied a slip of 100 mm or of two digits is in doubt; what
// was copied itself is not.
func TestASlipBesideTheCopiedOpening(t *testing.T) {
	source := taken("1204", "1202", "1203", "1050", "1052", "1051", "1596", "1597", "0")
	copied := Record{}.Copy(source, fitter, 1)
	for _, c := range []struct {
		values []string
		want   []Key
	}{
		{[]string{"1104"}, []Key{"width.top"}},
		{[]string{"1104", "1102", "1103"}, []Key{"width.top"}}, // misread once, and three times
		{[]string{"1240"}, []Key{"width.top"}},
		{[]string{"1180", "1181", "1182"}, nil},
		{[]string{"1204", "1202", "1203"}, nil},
		{[]string{"", "", "", "1502"}, []Key{"height.left"}},
		{[]string{"", "", "", "", "", "", "1696"}, []Key{"diagonal.rising"}},
	} {
		r := copied
		for i, v := range c.values {
			if v != "" {
				r = r.Put(fitter.turn(20+i), set(ReadingKeys[i], v))
			}
		}
		k := r.Known()
		assert.Equal(t, c.want, k.Doubts(), "%v", c.values)
		for _, key := range c.want {
			r = r.Put(fitter.turn(40), Entry{Act: Sure, Key: key})
		}
		k = r.Known()
		assert.Empty(t, k.Doubts(), "%v, once the first is confirmed", c.values)
	}
}

// anyReadings are those of an opening, most of them near each other, some left out.
func anyReadings(t *rapid.T) Record {
	var values []string
	for i := range 9 {
		base := []int{1204, 1204, 1204, 1050, 1050, 1050, 1597, 1597, 0}[i]
		off := rapid.SampledFrom([]int{-2, -1, 0, 0, 1, 2, 3, 10, 36, 90, 100, -100, 99999}).Draw(t, "off")
		if off == 99999 {
			values = append(values, "")
			continue
		}
		values = append(values, fmt.Sprint(base+off))
	}
	return taken(values...)
}

// A doubt hangs on the readings alone: neither storing the record nor any other field
// makes or ends one, and a copy has none.
func TestADoubtStays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyReadings(t)
		k := r.Known()
		want := k.Doubts()

		text, err := r.MarshalText()
		require.NoError(t, err)
		var stored Record
		require.NoError(t, stored.UnmarshalText(text))
		k = stored.Known()
		require.Equal(t, want, k.Doubts())

		var others []Key
		for f := range Fields {
			if !slices.Contains(tapeKeys, f.Key) && f.Key != CrewPrefix+"tape" {
				others = append(others, f.Key)
			}
		}
		key := rapid.SampledFrom(others).Draw(t, "key")
		other := r.Put(fitter.turn(50), set(key, "1"))
		k = other.Known()
		require.Equal(t, want, k.Doubts(), "with %s", key)
		other = other.Put(fitter.turn(51), Entry{Act: Clear, Key: key})
		k = other.Known()
		require.Equal(t, want, k.Doubts(), "%s gone", key)

		copied := Record{}.Copy(r, fitter, 1)
		k = copied.Known()
		require.Empty(t, k.Doubts())
	})
}

// Whoever confirms one doubt after the other comes to an end.
func TestEveryDoubtCanBeConfirmed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := anyReadings(t)
		for n := 0; ; n++ {
			k := r.Known()
			doubts := k.Doubts()
			if len(doubts) == 0 {
				return
			}
			require.Less(t, n, 2*len(ReadingKeys))
			for _, key := range doubts {
				r = r.Put(fitter.turn(60+n), Entry{Act: Sure, Key: key})
			}
			k = r.Known()
			for _, key := range k.Doubts() {
				require.NotContains(t, doubts, key, "it was confirmed")
			}
		}
	})
}

// Own has all that was said here, and of what was copied all but what a tape says.
func TestOwn(t *testing.T) {
	source := taken("1204", "1202", "1203").Put(fitter.turn(5), set("room", "hall"), set("lean", "left"), set("finish", "check"), set("inner.width", "1300"))
	r := Record{}.Copy(source, fitter, 7).Put(fitter.turn(9), set("width.middle", "1202"))
	k := r.Known()
	own := *k.Own()
	assert.Equal(t, "hall", own.Value("room"))
	assert.Equal(t, "1202", own.Value("width.middle"), "measured here, to the same figure")
	for _, key := range []Key{"width.top", "width.bottom", "inner.width", "lean"} {
		assert.False(t, own.Has(key), key)
		assert.True(t, k.Has(key), key)
	}
	keys, of := k.StillCopied()
	assert.Equal(t, []Key{"width.top", "width.bottom", "inner.width"}, keys)
	assert.Equal(t, 7, of)
	assert.Equal(t, "1202", k.Source("width.middle").Value)
	assert.True(t, number(k.Source("width.top").Value).Equal(decimal.NewFromInt(1204)))
}
