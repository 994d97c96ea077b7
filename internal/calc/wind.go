package calc

import "github.com/shopspring/decimal"

// WindCode is the standard by which a wind speed becomes a pressure.
type WindCode string

// The standards.
const (
	BS6399 WindCode = "bs-6399-2"   // q = 0.613 v²
	EN1991 WindCode = "en-1991-1-4" // q = 0.625 v², the recommended air density
)

// WindPressure is the dynamic pressure in Pa of a wind speed in m/s. An
// unknown code is taken as EN1991, which gives more.
func WindPressure(speed decimal.Decimal, by WindCode) (decimal.Decimal, Reason) {
	factor, rule, source, mark := decimal.New(625, -3), "wind_en1991", "en_1991_1_4", Read
	if by == BS6399 {
		factor, rule, source, mark = decimal.New(613, -3), "wind_bs6399", "bs_6399_2", Quoted
	}
	q := factor.Mul(speed).Mul(speed)
	return q, Reason{
		Rule:    rule,
		Figures: map[string]decimal.Decimal{"speed": speed, "pressure": q.Round(1)},
		Source:  source,
		Mark:    mark,
	}
}

// LoadPerFixing is the load in newtons on one fixing, rounded up to 0.1 N,
// when a pressure in Pa acts on the whole frame (mm) and every fixing takes an
// equal share. Compare it with the screw's own data sheet. Zero without a
// fixing.
func LoadPerFixing(pressure decimal.Decimal, frame Size, count int) decimal.Decimal {
	if count < 1 {
		return decimal.Zero
	}
	load := pressure.Mul(frame.Width).Mul(frame.Height).Shift(-6)
	share, rest := load.QuoRem(decimal.NewFromInt(int64(count)), 1)
	if rest.IsPositive() {
		share = share.Add(decimal.New(1, -1))
	}
	return share
}

// ScrewEnough compares the load on one fixing with what the screw's own data
// sheet allows, both in N, and says so. ok is false when the load is more.
func ScrewEnough(load, allowed decimal.Decimal) (why Reason, ok bool) {
	why = Reason{Rule: "screw_enough", Mark: Derived, Figures: map[string]decimal.Decimal{"load": load, "allowed": allowed}}
	if load.GreaterThan(allowed) {
		why.Rule = "screw_weak"
		return why, false
	}
	return why, true
}
