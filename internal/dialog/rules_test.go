package dialog

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/plan"
)

// After an upgrade whose rules make another size of a sent line the fitter has one
// notice with the old and the new figure, and the desk is told to make nothing.
func TestNewRulesGiveNoticeOnceInTheChat(t *testing.T) {
	w := newTown(t)
	w.play(modelDesk)
	for key, s := range w.jobs {
		j, err := s.Decode()
		require.NoError(t, err)
		j.Rules = plan.Rules - 1
		for i, o := range j.Openings {
			o.Said.Entries = slices.Clone(o.Said.Entries)
			for k, e := range o.Said.Entries {
				if e.Told == nil {
					continue
				}
				told := *e.Told
				told.Rules, told.Figures = plan.Rules-1, strings.ReplaceAll(told.Figures, `"height":"1040"`, `"height":"1033"`)
				o.Said.Entries[k].Told = &told
			}
			j.Openings[i] = o
		}
		w.jobs[key], err = j.Encode()
		require.NoError(t, err)
	}
	said := func(who, text string) string {
		chat := w.chat(who)
		from := len(w.said[chat])
		w.person("fitter", "", ">", text)
		var lines []string
		for _, r := range w.said[chat][from:] {
			lines = append(lines, words().Plain("en", r.Text))
		}
		return strings.Join(lines, "\n")
	}
	notice := said("fitter", "list")
	require.Contains(t, notice, "newer rules")
	require.Contains(t, notice, "was 1033 mm")
	require.Contains(t, words().Plain("en", w.said[w.chat("desk")][len(w.said[w.chat("desk")])-1].Text), "no longer stands")
	require.NotContains(t, said("fitter", "list"), "newer rules")
	require.Empty(t, said("desk", "summary"), "the desk is told once")
}
