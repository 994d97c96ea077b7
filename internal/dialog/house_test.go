package dialog

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// seeded is a typed message with what a job is begun with.
func seeded(s State, texts ...string) (State, []Reply) {
	var said []Reply
	for i, text := range texts {
		in := typed(text)
		in.Chat, in.User, in.Seed = 1, 1, []byte("0123456789abcdef"+string(rune('a'+i)))
		for k := range in.Seed[:8] {
			in.Seed[k] += byte(s.Turn)
		}
		s, said = Step(s, in)
	}
	return s, said
}

const wholeWindow = "bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left brick bedroom first 900 4-20-4 no"

// Nothing of the house is asked on the way: the answers go on one after the other.
func TestTheHouseAsksNothingOnTheWay(t *testing.T) {
	for _, first := range []string{"England, today", "England, today, flat", "England, today, flat, built 1985, listed, heat recovery"} {
		s, _ := playAll(State{}, "/start", first)
		require.Equal(t, "finish", (&turn{State: s}).open(), first)
		s, _ = playAll(s, "brick", "150", "white", "1204")
		require.Equal(t, "width.middle", (&turn{State: s}).open(), first)
		k := s.known()
		require.Equal(t, []string{"bare", "150", "pvcu-white", "1204"}, []string{k.Value("finish"), k.Value("sill"), k.Value("material"), k.Value("width.top")})
	}
}

// What was said of the house goes to the job's next windows and copies, undo takes it
// back, another job begins without it, and the first has it still.
func TestTheHouseIsOfItsJob(t *testing.T) {
	s, _ := seeded(State{}, "England today, built 1995, listed, "+wholeWindow, "job")
	first := s.Ref
	require.NotEmpty(t, first)
	house := func(s State, key string) string {
		k := s.known()
		return k.Value(key)
	}
	s, _ = seeded(s, "new")
	require.Equal(t, []string{"1992", "yes"}, []string{house(s, "built"), house(s, "protected")})
	s, _ = seeded(s, "heat recovery", "undo")
	require.Empty(t, house(s, "fans"))
	s, _ = seeded(s, "heat recovery", "copy 1 kitchen")
	require.Equal(t, "1992", house(s, "built"))

	s, _ = seeded(s, "job new")
	require.NotEqual(t, first, s.Ref)
	for _, q := range houseFields() {
		require.Empty(t, house(s, q.Key), q.Key)
	}
	require.Equal(t, "england", house(s, "nation"))
}

// A stop is only lifted by who is named, with a capacity and a day that has been.
func TestNobodyClearsWithoutNameCapacityAndDay(t *testing.T) {
	start := "England today " + wholeWindow
	for _, text := range []string{
		"cleared", "cleared it's fine", "cleared: all ok, me, fitter, today", "engineer says ok", "engineer says ok: sound, J Doe, today",
		"engineer says ok: sound, structural engineer, today", "engineer says ok: sound, J Doe, structural engineer",
		"engineer says ok: sound, J Doe, structural engineer, 24 Nov 2027", "engineer says ok: sound, J Doe, gas fitter, today",
		"cleared sound, J Doe, sales engineer, today", "engineer says ok: J Doe, structural engineer, today", "cleared sound, the engineer, structural engineer, today",
	} {
		s, _ := playAll(State{}, start, text)
		k := s.known()
		require.False(t, k.Has("cleared"), text)
		s, _ = playAll(s, "back") // and the way out holds
		require.Empty(t, s.Asking, text)
	}
	for _, text := range []string{
		"engineer says ok: lintel is sound, J Doe, structural engineer, 24 Nov", "cleared lintel is sound, structural engineer J Doe, yesterday",
		"the engineer says: lintel is sound; J Doe; structural engineer; 24/11/2026", "engineer says ok: J Doe, lintel is sound, structural engineer, 24 Nov",
	} {
		s, _ := playAll(State{}, start, text)
		o := s.known()
		require.Equal(t, &opening.Cleared{Who: "J Doe", Capacity: "structural engineer", Day: "2026-11-24", Words: "lintel is sound"}, o.Opening().Cleared, text)
		for _, seen := range []string{"cracks over the window", "old frame is bowed", "change over to soldier course"} {
			after, _ := playAll(s, seen)
			k := after.known()
			require.False(t, k.Has("cleared"), "%s came after it", seen)
		}
		s, _ = playAll(s, "undo")
		o = s.known()
		require.Nil(t, o.Opening().Cleared, text)
	}
}

// Whose word lifts a stop hangs on the stop: an engineer speaks for no regulator, and who
// looks after a stove speaks for no wall.
func TestEachStopHasItsOwnPerson(t *testing.T) {
	for _, c := range []struct {
		stop, capacity string
		lifted         bool
	}{
		{"change over to soldier course", "structural engineer", true}, {"change over to soldier course", "building control", true},
		{"change over to soldier course", "gas engineer", false}, {"change over to soldier course", "conservation officer", false},
		{"it is a flat, 18 m high or more", "structural engineer", false}, {"it is a flat, 18 m high or more", "building safety regulator", true},
		{"open fire", "gas engineer", true}, {"open fire", "structural engineer", false},
	} {
		s, _ := playAll(State{}, "England today "+wholeWindow, c.stop)
		if c.stop == "it is a flat, 18 m high or more" {
			s, _ = playAll(s, "its a flat", "yes")
		}
		s, _ = playAll(s, "cleared it is sound, J Doe, "+c.capacity+", 24 Nov")
		k := s.known()
		require.Equal(t, c.lifted, k.Has("cleared"), "%s by %s", c.stop, c.capacity)
	}
}
