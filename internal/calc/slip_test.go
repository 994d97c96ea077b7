package calc

import (
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestSlipBeside(t *testing.T) {
	for _, c := range []struct {
		now, other int64
		want       string
	}{
		{1204, 1204, ""}, {1214, 1204, ""}, {1180, 1204, ""}, {1254, 1204, ""}, {1404, 1204, ""},
		{1104, 1204, "hundred"}, {1304, 1204, "hundred"}, {1109, 1204, "hundred"}, {1094, 1204, "hundred"}, {1093, 1204, ""},
		{1240, 1204, "swap"}, {1024, 1204, "swap"}, {2104, 1204, "swap"}, {1242, 1219, "swap"},
	} {
		assert.Equal(t, c.want, SlipBeside(decimal.NewFromInt(c.now), decimal.NewFromInt(c.other)), "%d beside %d", c.now, c.other)
	}
}

// What is near is no slip, and 100 mm either way is one.
func TestASlipBesideIsFar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		now := rapid.Int64Range(300, 5900).Draw(t, "now")
		near := rapid.Int64Range(-like, like).Draw(t, "near")
		other := decimal.NewFromInt(now + near)
		assert.Empty(t, SlipBeside(decimal.NewFromInt(now), other))
		assert.NotEmpty(t, SlipBeside(decimal.NewFromInt(now+100), other))
		assert.NotEmpty(t, SlipBeside(decimal.NewFromInt(now-100), other))
	})
}
