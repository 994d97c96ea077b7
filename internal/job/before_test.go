package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
)

// ofBefore is an order that went out before points were kept, with a level that nobody took.
func ofBefore(t *testing.T) Job {
	j := must(t)(begun(t, 1).Store(fitter, noon, 1, withoutLevel()))
	o := j.Openings[0]
	line, err := o.line(calc0)
	require.NoError(t, err)
	j.write(fitter, noon, 0, opening.Entry{Act: opening.Tell, Value: toldLine, Told: telling(o.Version, stored(line))}, stepEntry(DoSend))
	j.Order.Revision, j.Order.On = 1, []int{1}
	return j
}

// Of what was changed since nobody knows what stood against the line then; a frame that
// came is not held back by what nobody asked about.
func TestAnOrderOfBeforeSaysOnlyWhatIsKnown(t *testing.T) {
	j := ofBefore(t)
	require.Len(t, j.OrderCopy().Lines[0].Against, 1)
	require.Empty(t, must0(recolour(t, j, 1, "grey")).OrderCopy().Lines[0].Against)
	j = must(t)(must(t)(j.ConfirmAll(desk, noon, "A")).Advance(fitter, noon, 1, DoDeliver))
	require.Zero(t, j.List()[0].Against)
}
