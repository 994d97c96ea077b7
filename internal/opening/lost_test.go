package opening

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestLostIsWhatHasNoValueLater(t *testing.T) {
	var before, later Known
	before.Set("room", "bedroom")
	before.Set("nation", "england")
	later.Set("nation", "wales")
	later.Set("floor", "0")
	require.Equal(t, []Key{"room"}, before.Lost(&later))
	require.Empty(t, later.Lost(&later))
}
