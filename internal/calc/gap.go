package calc

import "github.com/shopspring/decimal"

// The bands of the gap table, by the length of the dimension in mm.
var (
	gapBandMiddle = decimal.NewFromInt(1500)
	gapBandLong   = decimal.NewFromInt(3000)
	gapTableEnd   = decimal.NewFromInt(4500)
)

// gapTable is the gap per side in mm: under 1.5 m, 1.5 to under 3.0 m, 3.0 to
// 4.5 m. Source: structural-warranty technical article "Gaps around windows";
// believed to be the table of BS 8213-4.
var gapTable = map[Material][3]decimal.Decimal{
	PVCUWhite:  {decimal.New(5, 0), decimal.New(5, 0), decimal.New(75, -1)},
	PVCUColour: {decimal.New(75, -1), decimal.New(75, -1), decimal.New(11, 0)},
	Timber:     {decimal.New(5, 0), decimal.New(5, 0), decimal.New(5, 0)},
	Steel:      {decimal.New(4, 0), decimal.New(5, 0), decimal.New(6, 0)},
	Aluminium:  {decimal.New(5, 0), decimal.New(5, 0), decimal.New(75, -1)},
}

// The largest acceptable gap per side: 10 mm under 3 m, 15 mm from there.
// Source: the same article; new-home warranty guidance TG 6.7/01:2017.
var (
	largestGapShort = decimal.NewFromInt(10)
	largestGapLong  = decimal.NewFromInt(15)
)

// GapPerSide is the gap in mm to leave on each side of a dimension of the
// given length in mm. On a boundary of the table the larger gap counts. A
// length over 4.5 m is refused with ErrBeyondTable, a length that is not
// positive or an unknown material with ErrImpossible.
func GapPerSide(m Material, length decimal.Decimal) (decimal.Decimal, Reason, error) {
	row, ok := gapTable[m]
	if !ok {
		return decimal.Zero, Reason{}, refuse(ErrImpossible, "material_unknown", nil, nil)
	}
	if !length.IsPositive() {
		return decimal.Zero, Reason{}, refuse(ErrImpossible, "length_not_positive",
			map[string]decimal.Decimal{"length": length}, nil)
	}
	if length.GreaterThan(gapTableEnd) {
		return decimal.Zero, Reason{}, refuse(ErrBeyondTable, "gap_beyond_table",
			map[string]decimal.Decimal{"length": length, "most": gapTableEnd},
			map[string]string{"material": "material." + string(m)})
	}
	band, rule := 0, "gap_table_short"
	switch {
	case length.GreaterThanOrEqual(gapBandLong):
		band, rule = 2, "gap_table_long"
	case length.GreaterThanOrEqual(gapBandMiddle):
		band, rule = 1, "gap_table_middle"
	}
	return row[band], Reason{
		Rule:    rule,
		Figures: map[string]decimal.Decimal{"gap": row[band], "length": length},
		Words:   map[string]string{"material": "material." + string(m)},
		Source:  "gaps_around_windows",
		Mark:    Read,
	}, nil
}

// LargestGap is the largest acceptable gap per side in mm for a dimension of
// the given length in mm.
func LargestGap(length decimal.Decimal) (decimal.Decimal, Reason) {
	most := largestGap(length)
	return most, Reason{
		Rule:    "gap_largest",
		Figures: map[string]decimal.Decimal{"most": most, "length": length},
		Source:  "gaps_around_windows",
		Mark:    Read,
	}
}

func largestGap(length decimal.Decimal) decimal.Decimal {
	if length.GreaterThanOrEqual(gapBandLong) {
		return largestGapLong
	}
	return largestGapShort
}

// refuse makes the error for a calculation that is not answered.
func refuse(kind error, rule string, figures map[string]decimal.Decimal, words map[string]string) *RefusalError {
	return &RefusalError{Kind: kind, Reason: Reason{Rule: rule, Figures: figures, Words: words}}
}
