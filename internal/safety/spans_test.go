package safety

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
)

// A span ends where the next begins, and two alike are one: what bounds England's
// rule alone parts nothing in a nation that has its own.
func TestSpansPartWhereTheRuleChanges(t *testing.T) {
	var heat, scotland []Span
	for _, s := range Spans(on("2028-12-31")) {
		switch {
		case s.Topic == Heat && s.Nation == England && !s.HigherRisk:
			heat = append(heat, s)
		case s.Topic == Escape && s.Nation == Scotland:
			scotland = append(scotland, s)
		}
	}
	require.Len(t, heat, 3)
	for i, want := range []Span{
		{From: "", Until: "2022-06-15", Standing: "early"},
		{From: "2022-06-15", Until: "2027-03-24", Standing: "known", Document: "ad_l_1", Edition: "2021", Mark: calc.Quoted},
		{From: "2027-03-24", Until: "", Standing: "ended", Document: "ad_l_1", Edition: "2021", Mark: calc.FromMemory},
	} {
		want.Topic, want.Nation = Heat, England
		require.Equal(t, want, heat[i])
	}
	require.Len(t, scotland, 2, "early, then the text of 2004-06")
	// The weakest part counts: reg 20 was read, the building notice is quoted.
	for _, s := range Spans(on("2026-11-25")) {
		if s.Topic == Paper && s.Nation == England {
			require.Equal(t, calc.Quoted, s.Mark)
			require.Empty(t, s.Until)
		}
	}
}

// A list up to a day has what begins on that day, and nothing that begins after it.
// Approved Document L, volume 1, 2021 edition, took effect on 15 June 2022 (S).
func TestSpansEndWithTheDayAskedFor(t *testing.T) {
	last := func(day string) string {
		latest, heat := "", ""
		for _, s := range Spans(on(day)) {
			latest = max(latest, s.From)
			if s.Topic == Heat && s.Nation == England && !s.HigherRisk {
				heat = s.From
			}
		}
		require.LessOrEqual(t, latest, day)
		return heat
	}
	require.Equal(t, "", last("2022-06-14"))
	require.Equal(t, "2022-06-15", last("2022-06-15"))
}

// Where a finding rests on something weaker than its document, the document keeps
// its own mark beside it; with no document there is none to keep.
func TestADocumentKeepsItsOwnMark(t *testing.T) {
	read := ruling{document: "ad_k", mark: calc.Read}.finding("guard")
	require.Empty(t, read.by(calc.Read).Own)
	require.Empty(t, read.by("").Own)
	weak := read.by(calc.FromMemory)
	require.Equal(t, []calc.Mark{calc.FromMemory, calc.Read}, []calc.Mark{weak.Mark, weak.Own})
	weaker := weak.by(calc.Practice)
	require.Equal(t, []calc.Mark{calc.Practice, calc.Read}, []calc.Mark{weaker.Mark, weaker.Own}, "the document's, not the step's")
	require.Empty(t, ruling{mark: calc.Read}.finding("widened").by(calc.Practice).Own)
}
