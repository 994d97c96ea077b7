package dialog

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
	"sillbot/internal/talk"
)

// TestAJobThatNobodyTookStaysHere: where the copy never comes, nothing is written here
// until the other chat says that it has no job, and a letter that came meanwhile is taken
// then. One that comes later than that is not taken for the job.
func TestAJobThatNobodyTookStaysHere(t *testing.T) {
	w := newTown(t)
	var copied *Mail
	w.lose = func(m Mail) bool {
		lost := m.Hand != nil && m.Hand.Job != nil
		if lost {
			copied = &m
		}
		return lost
	}
	w.play("old> job\nold> label mill\nold> invite lead\nlead> /start TOKEN\nold> hand job to\nmate> /start TOKEN\n")
	require.NotNil(t, copied)
	ref := copied.Ref
	at := func() job.Job {
		j, err := w.jobs[fmt.Sprint(w.chat("old"), " ", ref)].Decode()
		require.NoError(t, err)
		return j
	}
	require.Equal(t, w.chat("mate"), at().Handing.To)
	out := w.play("old> job " + ref + "\nlead> job\n")
	require.Contains(t, out, "is on its way")
	require.Len(t, at().Handing.Kept, 1)
	w.play("third> /start TOKEN\n")
	require.Equal(t, w.chat("mate"), at().Handing.To, "it is offered to nobody else")
	before := len(w.said[w.chat("lead")])
	w.play("old! Keep it here\n")
	require.Nil(t, at().Handing)
	require.Greater(t, len(w.said[w.chat("lead")]), before, "what the lead asked meanwhile")
	require.Contains(t, w.play("old> job "+ref+"\nold> label weir\n"), "weir")
	require.NotContains(t, w.jobs, fmt.Sprint(w.chat("mate"), " ", ref))

	// It was taken, and only the answer is late: the note comes, and it does not stay.
	w.lose = func(m Mail) bool { return m.Hand != nil && m.Hand.Taken }
	w.play("old> hand job to\nmate> /start TOKEN\n")
	require.False(t, at().Handing.There)
	w.lose = nil
	w.play("old> job " + ref + "\nold! Keep it here\n")
	require.True(t, at().Handing.There)
	require.Contains(t, w.jobs, fmt.Sprint(w.chat("mate"), " ", ref))
	// An old copy again, and one that is led on by nobody who had it, change nothing.
	taken := w.jobs[fmt.Sprint(w.chat("mate"), " ", ref)]
	w.step(w.chat("mate"), Input{Kind: Mailed, Now: w.now, Mail: copied})
	w.step(w.chat("mate"), Input{Kind: Mailed, Now: w.now, Mail: &Mail{From: w.chat("third"), To: w.chat("mate"), Ref: ref, For: w.chat("lead"), Ask: &Ask{Do: "leave"}}})
	w.step(w.chat("old"), Input{Kind: Mailed, Now: w.now, Mail: &Mail{From: w.chat("third"), To: w.chat("old"), Ref: ref, Hand: &talk.Hand{Gone: true}}})
	require.Equal(t, taken, w.jobs[fmt.Sprint(w.chat("mate"), " ", ref)])
	require.Equal(t, w.chat("mate"), at().Handing.To)
}
