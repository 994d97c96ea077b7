package job

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/plan"
)

// A line that was told before weights and sizes of glass were worked out, or by other
// figures of the profile, stands: the desk agreed to none of them.
func TestWhatIsWorkedOutMakesNoOtherLine(t *testing.T) {
	j := sent(t, 1)
	o := j.Openings[0]
	require.NotNil(t, o.sent)
	line, ok := o.Told()
	require.True(t, ok)
	require.NotNil(t, line.Worked)
	require.True(t, line.Worked.Mass.IsPositive())
	line.Worked = nil
	raw, err := json.Marshal(line)
	require.NoError(t, err)
	told := *o.sent.Told
	told.Rules, told.Figures = plan.Rules-1, string(raw)
	entry := *o.sent
	entry.Told = &told
	o.sent = &entry
	require.True(t, o.asTold())
	line.Size.Width = line.Size.Width.Sub(mm(1))
	raw, err = json.Marshal(line)
	require.NoError(t, err)
	told.Figures = string(raw)
	require.False(t, o.asTold(), "another size is another line")
}
