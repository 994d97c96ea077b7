package main

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func rulesPrinted(t *testing.T, args ...string) []string {
	t.Helper()
	var out, errs bytes.Buffer
	require.NoError(t, run(context.Background(), append([]string{"rules"}, args...), strings.NewReader(""), &out, &errs))
	require.Empty(t, errs.String())
	return strings.Split(strings.TrimSpace(out.String()), "\n")
}

// What is known of each nation and from when to when: AD K 2013 from the year
// after, AD L 2021 from 2022-06-15 to AD L 2026 on 2027-03-24, in higher-risk
// buildings on 2027-09-24 (all S), BS 6262-4:2005; nothing of airing in Wales.
func TestRulesSayWhatIsKnownAndWhatIsNot(t *testing.T) {
	lines := rulesPrinted(t, "--until", "2028")
	for _, want := range []string{
		"England, from … to 2013-12-31: older than what is known",
		"England, from 2014-01-01 to …: known (Approved Document K (England), K4 section 5, 2013; quoted by others)",
		"England, from 2022-06-15 to 2027-03-23: known (Approved Document L volume 1 (England), 2021; quoted by others)",
		"England, from 2027-03-24 to …: ENDED, the last limits are kept (Approved Document L volume 1 (England), 2021; from memory, check it)",
		"England, buildings of 18 m or seven storeys, from 2022-06-15 to 2027-09-23: known (Approved Document L volume 1 (England), 2021; quoted by others)",
		"Scotland, from 2007-01-01 to …: known (Technical Handbook Domestic (Scotland), 2.9.4, 2004-06; quoted by others)",
		"Wales, from … to …: England's limits stand in (Approved Document B volume 1 (England), 2.10; from memory, check it)",
		"Northern Ireland, from … to …: NOT VERIFIED",
		"Wales, from … to …: known, edition not noted (Approved Document N (Wales); from memory, check it)",
		"England, from … to …: known, edition not noted (Building Regulations (England and Wales), reg 20; quoted by others)",
	} {
		require.True(t, slices.ContainsFunc(lines, func(l string) bool { return strings.TrimSpace(l) == want }), "%s in\n%s", want, strings.Join(lines, "\n"))
	}
	for _, topic := range []string{"safety glass", "glass beside a bath or shower", "guarding", "escape", "background vents", "airing", "heat", "who must be told", "dangers of the work"} {
		require.Contains(t, lines, topic)
	}
	require.NotContains(t, strings.Join(rulesPrinted(t, "--until", "2026-11-25"), "\n"), "ENDED", "nothing has ended yet")
	require.Contains(t, rulesPrinted(t, "--until", "2027-03-24")[0], "2027-03-24")
	require.Contains(t, strings.Join(rulesPrinted(t, "--until", "2027-03-24"), "\n"), "ENDED")
	require.NotContains(t, strings.Join(rulesPrinted(t, "--until", "2027-03-23"), "\n"), "ENDED")
}

func TestRulesTakeAYearOrADay(t *testing.T) {
	var out, errs bytes.Buffer
	for _, args := range [][]string{{"rules", "--until", "soon"}, {"rules", "file"}, {"rules", "--when", "2028"}} {
		require.Error(t, run(context.Background(), args, strings.NewReader(""), &out, &errs), args)
	}
	require.Contains(t, errs.String(), "-until", "the help of the flag")
	errs.Reset()
	require.Error(t, run(context.Background(), []string{"nothing"}, strings.NewReader(""), &out, &errs))
	require.Contains(t, errs.String(), "rules [--until")
}
