package job

import (
	"fmt"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

func TestDiffOfMovedLights(t *testing.T) {
	line := func(l calc.Layout) Line { return Line{Opening: 1, Layout: l} }
	flat := func(l, m calc.Layout) (out []string) {
		for _, c := range Diff(line(l), line(m)) {
			out = append(out, fmt.Sprint(c.Kind, " ", c.N))
		}
		return out
	}
	fixed := func(column, row int) calc.Light { return calc.Light{Column: column, Row: row, Hinge: calc.FixedLight} }
	beside := calc.Layout{Mullions: []decimal.Decimal{mm(600)}, Lights: []calc.Light{fixed(0, 0), fixed(1, 0)}}
	above := calc.Layout{Transoms: []decimal.Decimal{mm(700)}, Lights: []calc.Light{fixed(0, 0), fixed(0, 1)}}
	require.Equal(t, []string{
		fmt.Sprint(LightsChanged, " 0"), fmt.Sprint(HingeChanged, " 1"), fmt.Sprint(HingeChanged, " 2"), fmt.Sprint(TransomMoved, " 1"),
	}, flat(beside, above))
	require.Equal(t, fmt.Sprint(MullionMoved, " 1"), flat(above, beside)[3])
	// The same lights, and no mullion placed before.
	bare := beside
	bare.Mullions = nil
	require.Equal(t, fmt.Sprint(LightsChanged, " 0"), flat(bare, beside)[0])
	up := beside
	up.Lights = []calc.Light{fixed(0, 0), fixed(1, 1)}
	require.Equal(t, fmt.Sprint(LightsChanged, " 0"), flat(beside, up)[0])
	over := beside
	over.Lights = []calc.Light{fixed(0, 0), fixed(2, 0)}
	require.Equal(t, fmt.Sprint(LightsChanged, " 0"), flat(beside, over)[0])

	wants := func(w ...string) Line { return Line{Opening: 1, Wanted: w} }
	changes := Diff(wants("stay", "bolt"), wants("stay", "lock"))
	require.Equal(t, []ChangeKind{WantedAdded, WantedGone}, kinds(changes))
	require.Equal(t, said("lock"), changes[0].New)
	require.Equal(t, said("bolt"), changes[1].Old)
}

func TestAChangeSaysItsValuesInTheirKinds(t *testing.T) {
	n := mm(1100)
	for want, v := range map[string]Value{
		"number": {Num: &n}, "job.yes": word("job.yes"), "job.words": said("grey"), "job.none": {},
	} {
		require.Equal(t, want, Change{Kind: ColourChanged, Old: v}.Text().Sub["old"].Key)
		require.Equal(t, want, Change{Kind: ColourChanged, New: v}.Text().Sub["new"].Key)
	}
	f := safety.Finding{Rule: "glass_window"}
	require.Equal(t, plan.FindingText(f).Key, Change{Kind: SafetyAdded, New: Value{Finding: &f}}.Text().Sub["new"].Key)
}

func TestRowsThatAreBroken(t *testing.T) {
	for _, text := range []string{
		"x|1|survey|||||||1|a", "1|x|survey|||||||1|a", "1|1|survey|||||||x|a", "1|1|survey|||||||-1|a", "1|1|survey|||||||2|a",
		"1|1|ordered@x|||||||1|a", "1|1|signed||||lead|x|0|1|a", "1|1|signed||||lead|7|x|1|a", "1|1|survey",
	} {
		require.Error(t, new(rows).UnmarshalText([]byte(text)), text)
	}
	for _, row := range []Row{{ID: 1, Count: 1, State: Survey, taken: Survey}, {ID: 3, Name: "a|b", Count: 2, State: Signed, taken: Signed, Copied: true, Lacks: []string{"room", "light.1"}, Due: "2026-06-01"}, {ID: 2, Name: "Bay", Count: 1, State: Checking, taken: Signed, confirmed: 12}} {
		text, err := rows{row, row}.MarshalText()
		require.NoError(t, err)
		var again rows
		require.NoError(t, again.UnmarshalText(text))
		require.Len(t, again, 2)
		again[1].text = "" // it only spares writing it anew
		require.Equal(t, row, again[1])
	}
}

func TestAHeadByItselfIsStoredOnlyAsItWas(t *testing.T) {
	stored, err := sent(t, 2).Encode()
	require.NoError(t, err)
	head, err := Stored{Head: stored.Head}.Decode()
	require.NoError(t, err)
	again, err := head.Encode()
	require.NoError(t, err)
	require.Equal(t, string(stored.Head), string(again.Head))
	require.Empty(t, again.Parts)
	_, err = Stored{Head: stored.Head, Parts: map[int][]byte{1: []byte("{")}}.Decode()
	require.Error(t, err)
	// A later version may have put anything in the place of what is read here.
	_, err = Stored{Head: []byte(`{"v":3,"list":7}`)}.Decode()
	require.ErrorIs(t, err, ErrNewer)
	_, err = Stored{Head: []byte(`{"v":2,"list":7}`)}.Decode()
	require.NotErrorIs(t, err, ErrNewer)
	windows, all := begun(t, 1).Missing()
	require.Empty(t, windows)
	require.False(t, all)
}
