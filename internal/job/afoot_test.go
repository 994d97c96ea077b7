package job

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Who forgets everything is told what others wait for: what the lead has, what the desk
// has and what was promised.
func TestAfootNamesWhatOthersWaitFor(t *testing.T) {
	require.Equal(t, Afoot{Links: 2}, begun(t, 2).Afoot(), "nobody waits for a survey")
	j := must(t)(sent(t, 4).Confirm(desk, noon, "A", 1))
	require.Equal(t, Afoot{Confirmed: []string{"Window 1"}, Open: []string{"Window 2", "Window 3", "Window 4"}, Links: 2}, j.Afoot())
	j = must(t)(j.Advance(fitter, noon, 1, DoDeliver))
	j = must(t)(j.Query(desk, noon, 4, "which side?"))
	require.Equal(t, Afoot{Open: []string{"Window 2", "Window 3", "Window 4"}, Links: 2}, j.Afoot(), "a frame that is here is nobody else's")
	j = must(t)(must(t)(j.Add(fitter, noon, "Bath")).Store(fitter, noon, 5, measured()))
	j = must(t)(j.AskCheck(fitter, noon, 3, 5))
	want := Afoot{Open: []string{"Window 2", "Window 3", "Window 4"}, WithLead: []string{"Window 3", "Bath"}, Checked: 3, Links: 2}
	require.Equal(t, want, j.Afoot(), "the desk still has the line of what is measured again")
	require.Equal(t, 1, must(t)(j.Revoke(fitter, noon, deskToken)).Afoot().Links)
}
