package plan

import (
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/phrase"
)

// GlassText is the make-up of a glass unit as it is written everywhere: its sheets
// and spaces from outside, and how thick that is.
func GlassText(makeUp string) phrase.Text {
	thick, ok := GlassThickness(makeUp)
	if !ok {
		return phrase.Of("glass.plain").Saying("glass", makeUp)
	}
	return phrase.Of("glass.form").Saying("glass", makeUp).With("mm", thick)
}

// GlassThickness is the thickness, mm, of a make-up such as 4-20-4, as its figures
// say it; ok is false for one that is not of figures alone.
func GlassThickness(makeUp string) (thick decimal.Decimal, ok bool) {
	for part := range strings.SplitSeq(strings.TrimSpace(makeUp), "-") {
		mm, err := decimal.NewFromString(part)
		if err != nil || !mm.IsPositive() {
			return decimal.Zero, false
		}
		thick = thick.Add(mm)
	}
	return thick, true
}
