package job

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"
)

// A version of before took a confirmation for the answer to what the desk had asked,
// and its head counts no question. The record has one and no answer: it is open again,
// it can be answered, and the line stays confirmed.
func TestASwallowedQuestionIsOpenAgain(t *testing.T) {
	j := must(t)(sent(t, 1).Query(desk, noon, 1, "which side?"))
	j = must(t)(j.Confirm(desk, noon, "A", 1))
	stored, err := j.Encode()
	require.NoError(t, err)
	require.Equal(t, 1, bytes.Count(stored.Head, []byte("@1?1")))
	stored.Head = bytes.Replace(stored.Head, []byte("@1?1"), []byte("@1"), 1)

	old, err := stored.Decode()
	require.NoError(t, err)
	require.Equal(t, Confirmed, stateOf(t, old, 1))
	require.Equal(t, 1, old.List()[0].Questions)
	require.Len(t, old.Openings[0].Supply.Open(), 1)
	require.True(t, old.OrderCopy().Lines[0].Notes[0].Open, "the desk sees it too")

	old = must(t)(old.Answer(fitter, noon, 1, 0, "left, from outside"))
	require.Empty(t, old.Openings[0].Supply.Open())
	require.Equal(t, Confirmed, stateOf(t, old, 1), "an answer takes no confirmation away")
}

// What is ready goes out as the line that it is, with all that stands against it: one
// plan is behind both.
func TestWhatIsReadyIsTheLine(t *testing.T) {
	o := begun(t, 1).Openings[0]
	line, points, err := o.looked(calc0)
	require.NoError(t, err)
	want, err := o.line(calc0)
	require.NoError(t, err)
	require.Equal(t, stored(want), stored(line))
	require.Equal(t, o.Against(calc0), points)
}
