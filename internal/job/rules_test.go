package job

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/plan"
)

// underOlderRules is the job as a program with the rules before would have left it:
// what was told of the windows named was told with another width.
func underOlderRules(t *testing.T, j Job, ids ...int) Job {
	t.Helper()
	j.Rules = 0
	j.Openings = slices.Clone(j.Openings)
	for i, o := range j.Openings {
		o.Said.Entries = slices.Clone(o.Said.Entries)
		for k, e := range o.Said.Entries {
			if e.Told == nil {
				continue
			}
			told := *e.Told
			told.Rules = plan.Rules - 1
			if slices.Contains(ids, o.ID) {
				told.Figures = strings.ReplaceAll(told.Figures, `"width":"1192"`, `"width":"1190"`)
				require.NotEqual(t, e.Told.Figures, told.Figures)
			}
			o.Said.Entries[k].Told = &told
		}
		j.Openings[i] = j.derive(o)
	}
	j.supersede()
	stored, err := j.Encode()
	require.NoError(t, err)
	again, err := stored.Decode()
	require.NoError(t, err)
	return again
}

// What newer rules make another is told once, with the old and the new figure, to
// everybody who goes by it.
func TestNewerRulesGiveOneNotice(t *testing.T) {
	sentJob := underOlderRules(t, must(t)(begun(t, 3).Send(fitter, noon, calc0)), 1, 3)
	require.Equal(t, Changed, stateOf(t, sentJob, 1))
	require.Equal(t, Ordered, stateOf(t, sentJob, 2))
	j, events, err := sentJob.NewRules(fitter, noon)
	require.NoError(t, err)
	require.Equal(t, []EventKind{RulesMoved, OrderHeld}, kindsOf(events))
	require.Equal(t, []int{1, 3}, events[0].Openings)
	require.Equal(t, []int64{fitter.Chat}, chatsOf(events[0]))
	require.Equal(t, []int64{desk.Chat}, chatsOf(events[1]))
	require.Len(t, events[0].Changes, 2)
	change := events[0].Changes[0]
	require.Equal(t, []string{"1190", "1192"}, []string{change.Old.Num.String(), change.New.Num.String()})
	_, events, err = j.NewRules(fitter, noon)
	require.NoError(t, err)
	require.Empty(t, events)
	told, ok := j.Openings[0].Told()
	require.True(t, ok)
	require.Equal(t, "1190", told.Size.Width.String(), "what was told stays as it was told")

	_, events, err = underOlderRules(t, must(t)(begun(t, 2).Send(fitter, noon, calc0))).NewRules(fitter, noon)
	require.NoError(t, err)
	require.Empty(t, events, "rules that change no figure need no notice")
	_, _, err = sentJob.NewRules(desk, noon)
	require.Error(t, err)
}

func TestNewerRulesAreToldOfWhatWasSignedOrShown(t *testing.T) {
	j := must(t)(begun(t, 2).AskCheck(fitter, noon, 1))
	j = must(t)(must(t)(j.Look(lead, noon, 1)).Sign(lead, noon, 1, version(j)))
	j, events, err := underOlderRules(t, j, 1, 2).NewRules(fitter, noon)
	require.NoError(t, err)
	require.Equal(t, []EventKind{RulesMoved, SignatureVoid}, kindsOf(events))
	require.Equal(t, []int{1, 2}, events[0].Openings, "signed by the lead, and shown to the fitter")
	require.Equal(t, []int64{lead.Chat}, chatsOf(events[1]))
	require.Equal(t, Checking, stateOf(t, j, 1))
	require.Nil(t, j.Openings[0].Signature)

	made := underOlderRules(t, in(t, Delivered), 1)
	_, events, err = made.NewRules(fitter, noon)
	require.NoError(t, err)
	require.Empty(t, events, "the frame is made")
}
