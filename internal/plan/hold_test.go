package plan

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/safety"
)

func TestHoldsNameTheLikeliestReadingsAndWhatARuleStops(t *testing.T) {
	say := english(t)
	var p Plan
	require.Empty(t, p.Holds())
	p.Order.Figure.Suspects = []calc.Suspect{{Reading: "width.top"}, {Reading: "height.left"}, {Reading: "height.right", Rank: 1}}
	p.Findings = []safety.Finding{{Rule: "no_lintel", Severity: safety.Must}, {Rule: "no_lintel", Severity: safety.Stop, Document: "hse", Mark: calc.Read}}
	holds := p.Holds()
	require.Len(t, holds, 2)
	require.Equal(t, "The readings can't all be right. Measure again: top width, left height.", say(holds[0].Text))
	require.Equal(t, "readings", holds[0].Rule)
	require.Nil(t, holds[0].Finding)
	require.Same(t, &p.Findings[1], holds[1].Finding)
	said := reporter{say}.holds(holds)
	require.Empty(t, said[0].Source)
	require.NotEmpty(t, said[1].Source)
	require.Equal(t, calc.Read, said[1].Mark)
}

func TestOnlyRefusalsAreExplained(t *testing.T) {
	_, ok := WhyRefused(nil)
	require.False(t, ok)
	_, ok = WhyRefused(errNoEnd)
	require.False(t, ok)
	why, ok := WhyRefused(FieldErrors{{Field: "a", Why: "is wrong"}, {Field: "b[1]", Why: "is too"}, {Field: "c", Why: "is not a field here"}})
	require.True(t, ok)
	require.Equal(t, "The file says what no opening can have: a is wrong; b[1] is too; c is not a field here.", english(t)(why))
}
