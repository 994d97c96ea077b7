package opening

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var desk = Stamp{By: 33, Role: Desk, At: 3000}

func valueOf(k Known, key Key) string { return k.Value(key) }

func TestEntriesOfOneMessageAreOneAct(t *testing.T) {
	r := Record{}.Put(fitter, set("room", "hall"), set("floor", "900")).Put(fitter, set("room", "living"))
	assert.Equal(t, []int{1, 1, 2}, []int{r.Entries[0].Turn, r.Entries[1].Turn, r.Entries[2].Turn})
	r = r.Put(fitter.turn(7), set("room", "hall")).Put(fitter, set("room", "bath"))
	assert.Equal(t, 7, r.Entries[3].Turn)
	assert.Equal(t, 8, r.Entries[4].Turn)
	assert.Equal(t, 5, r.LastSeq())
}

func TestACopySaysWhereItsReadingsAreFrom(t *testing.T) {
	from := Record{}.Put(Stamp{By: 44, Role: Desk, At: 5, Msg: 9}, set("width.top", "1204"), Entry{Act: Sure, Key: "width.top"}).
		Put(fitter, set("name", "Bay"), set("room", "hall"))
	r := Record{}.Put(fitter, set("name", "Attic")).Copy(from, fitter, 3, "name")
	k := r.Known()
	assert.Equal(t, "Attic", k.Value("name"), "but for what is of one window alone")
	assert.Equal(t, "hall", k.Value("room"))
	e := k.Entry("width.top")
	assert.Equal(t, Copied, e.How)
	assert.Equal(t, 3, e.Of)
	assert.Equal(t, Stamp{By: 44, Role: Fitter, At: 5, Turn: 2}, e.Stamp, "who measured and when, in no message of this window")
	assert.True(t, k.Sure("width.top"))
	assert.False(t, k.Sure("room"))
	for _, e := range r.Entries[1:] {
		assert.Equal(t, 2, e.Turn, "one act")
	}
}

// The second measure is what the lead said since it was asked for; the first is
// what held then, settled or not, and what the fitter said since.
func TestTheTwoMeasures(t *testing.T) {
	settled := func(key Key, value string) Entry { return Entry{Act: Set, Key: key, Value: value, How: Settled} }
	r := Record{}.Put(fitter, set("width.top", "1204"), set("width.middle", "1203"), set("width.bottom", "1202")).
		Put(lead, set("height.left", "1050"), settled("width.top", "1214"))
	asked := r.Put(fitter, Entry{Act: Step, Value: "ask_check"})
	since := asked.LastSeq()
	first, second := twoMeasures(asked, since)
	assert.Equal(t, "1214", valueOf(first, "width.top"), "settled before")
	assert.Equal(t, "1203", valueOf(first, "width.middle"))
	assert.Zero(t, second.Answered(), "what the lead read before is of another measure")
	first, _ = twoMeasures(r, since)
	assert.Equal(t, "1214", valueOf(first, "width.top"), "nothing was said since")

	read := asked.Put(lead, set("width.top", "1220"), settled("width.middle", "1230"), Entry{Act: Clear, Key: "width.bottom"}).
		Put(fitter, set("width.bottom", "1201"), Entry{Act: Clear, Key: "width.top", How: Settled})
	first, second = twoMeasures(read, since)
	assert.Equal(t, "1220", valueOf(second, "width.top"))
	assert.False(t, second.Has("width.middle"), "settled since, it is in neither")
	assert.Equal(t, "1203", valueOf(first, "width.middle"))
	assert.Equal(t, "1214", valueOf(first, "width.top"))
	assert.Equal(t, "1201", valueOf(first, "width.bottom"))
	assert.False(t, second.Has("width.bottom"))
	first, _ = twoMeasures(read.Put(fitter, set("width.top", "1199")), since)
	assert.Equal(t, "1199", valueOf(first, "width.top"), "a new reading counts over what was settled before")
}

func TestStandingActs(t *testing.T) {
	r := Record{}.Put(fitter, set("room", "hall")).
		Put(desk, Entry{Act: Tell, Value: "line"}).
		Put(lead, Entry{Act: Tell, Value: "shown"}).
		Put(fitter, Entry{Act: Reviewed})
	assert.Equal(t, 2, r.LastAct(Tell, "line").Seq)
	assert.Equal(t, 3, r.LastAct(Tell, "shown").Seq)
	assert.Nil(t, r.LastAct(Tell, "other"))
	assert.Nil(t, r.LastAct(Agree, "line"))
	_, _, err := r.Undo(fitter)
	require.ErrorIs(t, err, ErrTold, "to have looked at it is no act of its own, and what was said was told since")
	r, _, err = Record{}.Put(fitter.turn(1), set("room", "hall")).Put(fitter.turn(2), set("room", "living"), Entry{Act: Reviewed}).Undo(fitter.turn(3))
	require.NoError(t, err)
	assert.Nil(t, r.LastAct(Reviewed, ""), "the looking goes with what was looked at")
	var acts []Act
	r.Standing(func(e *Entry) { acts = append(acts, e.Act) })
	assert.Equal(t, []Act{Set}, acts, "nor is the taking back an act that stands")
}

func TestWhatIsTakenBackAndWhatIsNot(t *testing.T) {
	base := Record{}.Put(desk, Entry{Act: Tell, Value: "line"}).Put(fitter, set("width.top", "1204"))
	for name, c := range map[string]struct {
		r    Record
		told bool
	}{
		"told before":  {base, false},
		"sure":         {base.Put(fitter, Entry{Act: Sure, Key: "width.top"}), false},
		"cleared":      {base.Put(fitter, Entry{Act: Clear, Key: "width.top"}), false},
		"a step":       {base.Put(fitter, Entry{Act: Step, Value: "ask_check"}), true},
		"a sentence":   {base.Put(fitter, Entry{Act: Note, Value: "so"}), true},
		"settled":      {base.Put(fitter, Entry{Act: Set, Key: "width.top", Value: "1214", How: Settled}), true},
		"told since":   {base.Put(desk, Entry{Act: Tell, Value: "line"}), true},
		"agreed since": {base.Put(desk, Entry{Act: Agree, Value: "line", Of: 1}), true},
		"said since":   {base.Put(lead, set("width.top", "1214")), false},
	} {
		_, _, err := c.r.Undo(fitter)
		if c.told {
			assert.ErrorIs(t, err, ErrTold, name)
		} else {
			assert.NoError(t, err, name)
		}
	}
}

func TestSureIsOfTheValueThatStands(t *testing.T) {
	sure := func(r Record) bool {
		k := r.Known()
		return k.Sure("width.top")
	}
	r := Record{}.Put(fitter, Entry{Act: Sure, Key: "width.top"})
	assert.False(t, sure(r), "of nothing")
	r = r.Put(fitter, set("width.top", "1204"))
	assert.False(t, sure(r))
	r = r.Put(fitter, Entry{Act: Sure, Key: "width.top"}, Entry{Act: Sure, Key: "no.such"})
	assert.True(t, sure(r))
	assert.False(t, sure(r.Put(fitter, set("width.top", "1205"))), "the new one was not questioned")
	k := r.Known()
	assert.False(t, k.Sure("width.middle"))
	assert.False(t, k.Sure("no.such"))
	assert.Empty(t, k.Value("no.such"))

	settled := set("width.top", "1214")
	settled.How = Settled
	assert.True(t, sure(r.Put(fitter, set("width.top", "1205")).Put(lead, settled)), "what was settled stands")
}

func TestCountAndNewest(t *testing.T) {
	var k Known
	assert.Zero(t, k.Answered())
	_, ok := k.Newest()
	assert.False(t, ok)
	r := Record{}.Put(fitter, set("width.top", "1204"), set("room", "hall")).Put(fitter, set("height.left", "1050"), set("width.top", "1203"))
	k = r.Known()
	assert.Equal(t, 3, k.Answered())
	key, ok := k.Newest()
	assert.True(t, ok)
	assert.Equal(t, Key("width.top"), key)
	back := r.Put(fitter, Entry{Act: Clear, Key: "width.top"})
	k = back.Known()
	assert.Equal(t, 2, k.Answered())
	key, _ = k.Newest()
	assert.Equal(t, Key("height.left"), key)
}

func TestStoredAttributesAndTheirErrors(t *testing.T) {
	read := func(text string) Record {
		var r Record
		require.NoError(t, r.UnmarshalText([]byte(text)), text)
		return r
	}
	r := read("a=1;n3;s4|z=2;n-1|*line;g3")
	assert.Equal(t, []int{3, 2, 2}, []int{r.Entries[0].Turn, r.Entries[1].Turn, r.Entries[2].Turn})
	assert.Equal(t, []int{5, 6, 7}, []int{r.Entries[0].Seq, r.Entries[1].Seq, r.Entries[2].Seq})
	assert.Equal(t, &Told{Rules: 3}, r.Entries[2].Told, "the number of the rules by itself")
	assert.Equal(t, &Told{Version: "ab", Rules: 3}, read("*line;vab;g3").Entries[0].Told)
	for _, text := range []string{"A=1", "`=1", "{=1", "1=1", "a"} {
		assert.Error(t, new(Record).UnmarshalText([]byte(text)), text)
	}
	assert.ErrorContains(t, new(Record).UnmarshalText([]byte("a=1|a=2|X")), "stored entry 3")
}
