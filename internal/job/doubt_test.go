package job

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// A reading in doubt stands against ordering until it is confirmed.
func TestADoubtStandsAgainstOrdering(t *testing.T) {
	set := func(key, value string) opening.Entry {
		return opening.Entry{Act: opening.Set, Key: key, Value: value}
	}
	said := opening.Record{}.Put(opening.Stamp{By: 11, Role: opening.Fitter, Turn: 1},
		set("finish", "check"), set("width.top", "1204"), set("width.middle", "1202"), set("width.bottom", "1203"), set("inner.width", "1500"))
	against := func() (abouts []string) {
		o := Opening{ID: 1, Said: said}.derive(nil, DefaultSettings().Tolerance)
		for _, p := range o.Against(calc.DefaultSettings()) {
			if p.Code == PointDoubt {
				abouts = append(abouts, p.About)
			}
		}
		return abouts
	}
	require.Equal(t, []string{"inner.width"}, against())
	said = said.Put(opening.Stamp{By: 11, Role: opening.Fitter, Turn: 2}, opening.Entry{Act: opening.Sure, Key: "inner.width"})
	require.Empty(t, against())
}
