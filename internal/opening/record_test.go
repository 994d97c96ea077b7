package opening

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var (
	fitter = Stamp{By: 11, Role: Fitter, At: 1000}
	lead   = Stamp{By: 22, Role: Lead, At: 2000}
)

func (s Stamp) turn(n int) Stamp {
	s.Turn = n
	return s
}

// twoMeasures are the first measure and that of the only lead.
func twoMeasures(r Record, asked int) (first, second Known) {
	first, leads := r.Measures(asked, asked)
	if len(leads) > 0 {
		second = leads[0].Known
	}
	return first, second
}

func set(key Key, value string) Entry { return Entry{Act: Set, Key: key, Value: value} }

func TestTheLastWordCounts(t *testing.T) {
	r := Record{}.Put(fitter, set("width.top", "1204")).Put(fitter, set("width.top", "1203"))
	k := r.Known()
	assert.Equal(t, "1203", k.Value("width.top"))
	assert.Equal(t, 2, k.Entry("width.top").Seq)
}

func TestWhatIsSettledCountsOverBothMeasures(t *testing.T) {
	r := Record{}.Put(fitter, set("height.left", "1050")).Put(lead, set("height.left", "1040"))
	k := r.Known()
	assert.Equal(t, "1050", k.Value("height.left"), "the lead's reading does not count by itself")
	settled := set("height.left", "1040")
	settled.How = Settled
	r = r.Put(lead, settled)
	k = r.Known()
	assert.Equal(t, "1040", k.Value("height.left"))
	first, second := twoMeasures(r, 1)
	assert.Equal(t, "1050", first.Value("height.left"), "the first measure stays what it was")
	assert.Equal(t, "1040", second.Value("height.left"))

	r = r.Put(lead, Entry{Act: Clear, Key: "height.left"})
	k = r.Known()
	assert.Equal(t, "1040", k.Value("height.left"), "what was settled stays when the second measure is withdrawn")
	r = r.Put(fitter, Entry{Act: Clear, Key: "height.left", How: Settled}, set("height.left", "1051"))
	k = r.Known()
	assert.Equal(t, "1051", k.Value("height.left"))
}

func TestUndoTakesBackOnesOwnLastActAndNothingElse(t *testing.T) {
	other := Stamp{By: 33, Role: Fitter}
	r := Record{}.
		Put(fitter.turn(1), set("room", "hall")).
		Put(other.turn(2), set("room", "kitchen"), set("floor", "900")).
		Put(fitter.turn(3), Entry{Act: Clear, Key: "floor"})
	r, keys, err := r.Undo(other.turn(4))
	require.NoError(t, err)
	assert.Equal(t, []Key{"room"}, keys, "the floor was cleared by somebody else since")
	k := r.Known()
	assert.Equal(t, "hall", k.Value("room"))
	assert.False(t, k.Has("floor"))

	r, keys, err = r.Undo(fitter.turn(5))
	require.NoError(t, err)
	assert.Empty(t, keys)
	r, keys, err = r.Undo(fitter.turn(6))
	require.NoError(t, err, "twice is twice")
	assert.Equal(t, []Key{"room"}, keys)
	_, _, err = r.Undo(fitter.turn(7))
	assert.ErrorIs(t, err, ErrNothing)
}

func TestUndoBringsBackWhatFellWithTheAct(t *testing.T) {
	r := Record{}.
		Put(fitter.turn(1), set("layout", "2"), set("light.1", "fixed"), set("light.2", "side-left")).
		Put(fitter.turn(2), set("layout", "1"), Entry{Act: Clear, Key: "light.1"}, Entry{Act: Clear, Key: "light.2"})
	r, keys, err := r.Undo(fitter.turn(3))
	require.NoError(t, err)
	assert.Equal(t, []Key{"layout", "light.1", "light.2"}, keys)
	k := r.Known()
	assert.Equal(t, "side-left", k.Value("light.2"))
}

func TestUndoRefusesWhatWasToldSince(t *testing.T) {
	r := Record{}.Put(fitter, set("width.top", "1204")).
		Put(fitter, Entry{Act: Tell, Value: "line", Told: &Told{Version: "abc", Rules: 3, Figures: `{"w":1}`}})
	_, _, err := r.Undo(fitter)
	assert.ErrorIs(t, err, ErrTold, "the telling itself")
	r = Record{}.Put(fitter, set("width.top", "1204")).Put(lead, Entry{Act: Tell, Value: "sign"})
	_, _, err = r.Undo(fitter)
	assert.ErrorIs(t, err, ErrTold, "a telling by somebody else since")
	r = Record{}.Put(fitter, set("width.top", "1204"), Entry{Act: Step, Value: "measure"})
	_, _, err = r.Undo(fitter)
	assert.ErrorIs(t, err, ErrTold, "an act that took the window a step")
}

// What was settled in an earlier second measure is part of the first measure
// of the next one.
func TestAnEarlierSettlementBelongsToTheFirstMeasure(t *testing.T) {
	settled := set("height.left", "1040")
	settled.How = Settled
	r := Record{}.Put(fitter, set("height.left", "1050")).Put(lead, set("height.left", "1040")).Put(lead, settled).
		Put(fitter, Entry{Act: Step, Value: "ask_check"})
	asked := r.LastSeq()
	r = r.Put(fitter, set("height.right", "1041")).Put(lead, set("height.left", "1041"))
	first, second := twoMeasures(r, asked)
	assert.Equal(t, "1040", first.Value("height.left"))
	assert.Equal(t, "1041", first.Value("height.right"))
	assert.Equal(t, "1041", second.Value("height.left"))
	assert.False(t, second.Has("height.right"))
}

func TestForgetTakesThePersonOutAndLeavesTheFigures(t *testing.T) {
	e := set("width.top", "1204")
	e.Typed = "47 3/8 by my tape"
	r := Record{}.Put(Stamp{By: 11, Role: Fitter, Msg: 5}, e).
		Put(lead, Entry{Act: Note, Value: "the lead's words"}).
		Put(fitter, Entry{Act: Note, Value: "ring me on 0123"})
	raw, err := r.Forget(11).MarshalText()
	require.NoError(t, err)
	assert.NotContains(t, string(raw), "my tape")
	assert.NotContains(t, string(raw), "0123")
	assert.Contains(t, string(raw), "the lead's words")
	k := r.Forget(11).Known()
	assert.Equal(t, "1204", k.Value("width.top"))
	assert.EqualValues(t, Former, k.Entry("width.top").By)
	k = r.Known()
	assert.EqualValues(t, 11, k.Entry("width.top").By, "the record it was called on stays as it was")
}

func TestVersionFollowsWhatASignatureCovers(t *testing.T) {
	base := Record{}.Put(fitter, set("width.top", "1204"), set("light.1", "side-left"))
	version := func(r Record) string {
		k := r.Known()
		return k.Version()
	}
	assert.Len(t, version(base), 12)
	assert.NotEqual(t, version(base), version(base.Put(fitter, set("light.1", "side-right"))), "the hinge side")
	assert.NotEqual(t, version(base), version(base.Put(fitter, set("glass", "4-20-4"))), "the glass")
	assert.Equal(t, version(base), version(base.Put(fitter, set("due", "2026-12-01"))), "the day of delivery")
	assert.Equal(t, version(base), version(base.Put(fitter, set("width.top", "1204"))), "the same said again")
	slip := base.Put(fitter, set("width.top", "1240"))
	back, _, err := slip.Undo(fitter)
	require.NoError(t, err)
	assert.Equal(t, version(base), version(back), "a slip undone voids nothing")
}

// A stored record of the first form, as it must be readable for ever.
const storedRecord = ".finish=bare;t1764100000;p11;rfitter|.width.top=1204;t7;m1;y47 3/8%3B" +
	"|.!width.top;t2;m1|.height.left=1040;t60;p11;rlead|@read_apart|.height.left=1040;t5;hsettled" +
	"|.*line;t9;p-11;rfitter;v0a1b2c3d4e5f;g3;f{`w`:1190}|.+line;t4;p5;rdesk;o7|.^2;t1;p-5;rfitter;o2"

func TestStoredRecordIsReadForEver(t *testing.T) {
	var r Record
	require.NoError(t, r.UnmarshalText([]byte(storedRecord)))
	require.Len(t, r.Entries, 9)
	assert.Equal(t, Entry{
		Seq: 2, Act: Set, Key: "width.top", Value: "1204", Typed: "47 3/8;",
		Stamp: Stamp{By: 11, Role: Fitter, At: 1764100007, Msg: 1, Turn: 2},
	}, r.Entries[1])
	assert.Equal(t, &Told{Version: "0a1b2c3d4e5f", Rules: 3, Figures: `{"w":1190}`}, r.Entries[6].Told)
	assert.Equal(t, 2, r.Entries[8].Of)
	raw, err := r.MarshalText()
	require.NoError(t, err)
	assert.Equal(t, ".finish=bare;t1764100000;p11;rfitter|.width.top=1204;t7;m1;y47 3/8%3B"+
		"|.!width.top;t2;m1|.height.left=1040;t60;p11;rlead|@read_apart|.height.left=1040;t5;hsettled"+
		"|.*line;t9;p-11;rfitter;v0a1b2c3d4e5f;g3;f{`w`:1190}|.+line;t4;p5;rdesk;o7|.^2;t1;p-5;rfitter;o2", string(raw))
}

// A photo as it is stored, and one that was deleted.
func TestStoredPhotosAreReadForEver(t *testing.T) {
	const stored = ".$frame=AgAC_1-x;t1764100000;p11;rfitter;ycrack%3B head|$frame=doc:BQ|$survey="
	var r Record
	require.NoError(t, r.UnmarshalText([]byte(stored)))
	photos := r.Photos()
	require.Len(t, photos, 2)
	assert.Equal(t, "AgAC_1-x", photos[0].File)
	assert.Equal(t, "crack; head", photos[0].Caption)
	assert.True(t, photos[1].Document)
	raw, err := r.MarshalText()
	require.NoError(t, err)
	assert.Equal(t, stored, string(raw))
}

func TestBrokenRecordsAreRefused(t *testing.T) {
	for _, text := range []string{"|", "width.top", ".", "$", "$frame", "a=b;", "a=b;t", "a=b;tx", "a=b;z1", "a=b;n99999999999999999999"} {
		var r Record
		assert.Error(t, r.UnmarshalText([]byte(text)), text)
		assert.Empty(t, r.Entries)
	}
}

// drawRecord is a random record of two people at random acts.
func drawRecord(t *rapid.T) Record {
	r := Record{}
	turn := 0
	for range rapid.IntRange(0, 40).Draw(t, "acts") {
		turn += rapid.IntRange(1, 3).Draw(t, "turns")
		s := Stamp{
			By: rapid.SampledFrom([]int64{11, 22, 33, Former}).Draw(t, "by"), Turn: turn,
			Role: rapid.SampledFrom([]Role{Fitter, Lead, Desk}).Draw(t, "role"),
			At:   rapid.Int64Range(0, 1e10).Draw(t, "at"), Msg: rapid.Int64Range(-9, 1e9).Draw(t, "msg"),
		}
		if rapid.IntRange(0, 5).Draw(t, "undo") == 0 {
			if back, _, err := r.Undo(s); err == nil {
				r = back
			}
			continue
		}
		var entries []Entry
		for range rapid.IntRange(1, 4).Draw(t, "entries") {
			entries = append(entries, drawEntry(t))
		}
		r = r.Put(s, entries...)
	}
	return r
}

func drawEntry(t *rapid.T) Entry {
	e := Entry{
		Act:   rapid.SampledFrom([]Act{Set, Set, Set, Set, Clear, Sure, Step, Tell, Agree, Note, Again, Reviewed}).Draw(t, "act"),
		Typed: rapid.SampledFrom([]string{"", "", "47 3/8|;%", "zwölf%7C\"`"}).Draw(t, "typed"),
		How:   rapid.SampledFrom([]How{Measured, Copied, Assumed, Settled}).Draw(t, "how"),
	}
	value := rapid.StringN(0, 8, -1).Draw(t, "value")
	switch e.Act {
	case Set:
		e.Key, e.Value = rapid.SampledFrom(keys()).Draw(t, "key"), value
	case Clear, Sure, Again:
		e.Key = rapid.SampledFrom(keys()).Draw(t, "key")
	case Tell:
		e.Value, e.Told = value, &Told{Version: "0123456789ab", Rules: 4, Figures: value}
	case Agree:
		e.Value, e.Of = value, 3
	default:
		e.Value = value
	}
	return e
}

func TestRandomRecordsSurviveStorage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecord(t)
		raw, err := r.MarshalText()
		require.NoError(t, err)
		var back Record
		require.NoError(t, back.UnmarshalText(raw), string(raw))
		require.Equal(t, len(r.Entries), len(back.Entries))
		for i := range r.Entries {
			require.Equal(t, r.Entries[i], back.Entries[i], string(raw))
		}
	})
}

// The fold against one written a second way: values by key, an act at a time,
// taken back by leaving the acts out.
func TestTheFoldAgainstASecondWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecord(t)
		said, settled := map[Key]string{}, map[Key]string{}
		for i, e := range r.Entries {
			gone := slices.ContainsFunc(r.Entries, func(b Entry) bool { return b.Act == TakeBack && b.Of == e.Turn && b.By == e.By })
			if gone || e.Act == TakeBack {
				continue
			}
			into := said
			if e.How == Settled && (e.Act == Set || e.Act == Clear) {
				into = settled
			} else if e.Role == Lead && e.Key != "due" && e.Key != "price" { // those are the supplier's, whoever passes them on
				continue
			}
			switch e.Act {
			case Set:
				into[e.Key] = r.Entries[i].Value
			case Clear:
				delete(into, e.Key)
			}
		}
		maps.Copy(said, settled)
		k := r.Known()
		for _, key := range keys() {
			value, has := said[key]
			require.Equal(t, has, k.Has(key), key)
			require.Equal(t, value, k.Value(key), key)
		}
	})
}

// Undo gives back exactly what was known before the act, whoever acts between
// on other fields.
func TestUndoIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawRecord(t)
		before := r.Known()
		s := Stamp{By: 44, Role: Fitter, Turn: r.lastTurn() + 1}
		after := r.Put(s, set("room", "hall"), Entry{Act: Clear, Key: "glass"}, set("width.top", "1"))
		s.Turn++
		back, _, err := after.Undo(s)
		require.NoError(t, err)
		now := back.Known()
		require.Empty(t, before.Differ(&now))
	})
}

func FuzzRecord(f *testing.F) {
	f.Add(storedRecord)
	f.Add("")
	f.Add(".a=b;t1|-a|!a")
	f.Add(".a=b|~")
	f.Add("!;h\"000000") // an unknown How with a quotation mark
	f.Fuzz(func(t *testing.T, text string) {
		var r Record
		if r.UnmarshalText([]byte(text)) != nil {
			return
		}
		k := r.Known()
		k.Version()
		raw, err := r.MarshalText()
		require.NoError(t, err)
		var again Record
		require.NoError(t, again.UnmarshalText(raw))
		require.Equal(t, r, again)
	})
}

// Several lengths are one setting, said with spaces between.
func TestASettingOfSeveralLengths(t *testing.T) {
	var r Record
	r.Entries = append(r.Entries, Entry{Act: Set, Key: CrewPrefix + "screws", Value: "82 102.5 152"})
	k := r.Known()
	c := k.Crew()
	require.Len(t, c.ScrewStock, 3)
	require.True(t, c.ScrewStock[1].Equal(decimal.RequireFromString("102.5")))
	require.Equal(t, []Pair{{CrewPrefix + "screws", "82 102.5 152"}}, c.Changed())
	usual := DefaultCrew()
	require.True(t, strings.HasPrefix(Find(CrewPrefix+"screws").OfCrew(&usual), "60 70 80 "))
}

// What a person wrote goes with the person; the number of a certificate stays.
func TestACertificatesNumberIsNobodysWords(t *testing.T) {
	words := Entry{Act: Set, Key: "last.snag", Value: "scratched bead"}
	require.True(t, words.inOwnWords())
	number := Entry{Act: Set, Key: "certificate.number", Value: "AB 12"}
	require.False(t, number.inOwnWords())
}

// A reading that was copied stays that of the window where it was taken, however often it
// is copied; anything else is of the window that it was copied from.
func TestACopyOfACopyKnowsItsTape(t *testing.T) {
	var from Record
	from = from.Put(Stamp{By: 1, Turn: 1}, Entry{Act: Set, Key: "width.top", Value: "1204", How: Copied, Of: 1}, Entry{Act: Set, Key: "finish", Value: "bare", How: Copied, Of: 1})
	known := Record{}.Copy(from, Stamp{By: 1, Turn: 2}, 2).Known()
	require.Equal(t, 1, known.Entry("width.top").Of)
	require.Equal(t, 2, known.Entry("finish").Of)
}
