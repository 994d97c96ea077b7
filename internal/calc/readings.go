package calc

import (
	"github.com/shopspring/decimal"
)

// Readings are what the tape says of one opening, in mm, seen from outside.
type Readings struct {
	Widths  [3]decimal.Decimal // top, middle, bottom
	Heights [3]decimal.Decimal // left, middle, right
	// Rising runs from the bottom left to the top right corner, Falling from
	// the top left to the bottom right. Both zero: not measured.
	Rising, Falling decimal.Decimal
	// SillFall is how much lower the right end of the sill is than the left
	// end; negative when the left end is lower. Nil: taken level.
	SillFall *decimal.Decimal
	// TapeError is the standard deviation of one reading, in mm. Zero: TapeError.
	TapeError decimal.Decimal
}

// shortestReading is the least that is taken for a reading, in mm.
var shortestReading = decimal.NewFromInt(10)

// check finds what no arithmetic should start on.
func (r Readings) check() error {
	for _, n := range r.named() {
		diagonal := n.name == "diagonal.rising" || n.name == "diagonal.falling"
		if n.value.LessThan(shortestReading) && !(diagonal && n.value.IsZero()) {
			return impossibleReading("reading_not_positive", n.name, n.value)
		}
		if n.value.GreaterThan(decimal.NewFromInt(2*longestSide/1000)) ||
			!diagonal && n.value.GreaterThan(decimal.NewFromInt(longestSide/1000)) {
			return impossibleReading("reading_too_long", n.name, n.value)
		}
	}
	if r.Rising.IsZero() != r.Falling.IsZero() {
		missing := "diagonal.rising"
		if r.Falling.IsZero() {
			missing = "diagonal.falling"
		}
		return impossibleReading("diagonal_alone", missing, decimal.Zero)
	}
	if r.SillFall != nil && r.SillFall.Abs().Mul(decimal.NewFromInt(steepest)).GreaterThan(r.Widths[2]) {
		return impossibleReading("sill_fall_too_steep", "sill_fall", *r.SillFall)
	}
	return nil
}

// archRise is how far the middle height stands above both sides where the head is
// rather an arch than a beam that bellies, mm. Common practice, no source.
var archRise = decimal.NewFromInt(25)

// arched says whether the middle height stands well above both sides: no rectangle is
// right for an arch.
func (r Readings) arched() bool {
	higher := decimal.Max(r.Heights[0], r.Heights[2])
	return r.Heights[1].Sub(higher).GreaterThanOrEqual(archRise)
}

// Arched is the refusal of an order for a head that is rather arched; nil for none.
func (r Readings) Arched() *RefusalError {
	if !r.arched() {
		return nil
	}
	return refuse(ErrImpossible, "arched", map[string]decimal.Decimal{"middle": r.Heights[1]}, nil)
}

type namedReading struct {
	name  string
	value decimal.Decimal
}

// named lists the readings by their names.
func (r Readings) named() [8]namedReading {
	return [8]namedReading{
		{"width.top", r.Widths[0]}, {"width.middle", r.Widths[1]}, {"width.bottom", r.Widths[2]},
		{"height.left", r.Heights[0]}, {"height.middle", r.Heights[1]}, {"height.right", r.Heights[2]},
		{"diagonal.rising", r.Rising}, {"diagonal.falling", r.Falling},
	}
}

func impossibleReading(rule, name string, value decimal.Decimal) *RefusalError {
	return refuse(ErrImpossible, rule,
		map[string]decimal.Decimal{"value": value},
		map[string]string{"reading": "reading." + name})
}

// fall is the sill's fall in µm, 0 when not given.
func (r Readings) fall() int64 {
	if r.SillFall == nil {
		return 0
	}
	return microns(*r.SillFall)
}

func (r Readings) valueOf(name string) decimal.Decimal {
	for _, n := range r.named() {
		if n.name == name {
			return n.value
		}
	}
	return decimal.Zero
}

// TapeError is the standard deviation of one reading in a rough opening, in mm:
// the tape's own division, its hook, and where on a rough edge it was held. Common
// practice, no source.
var TapeError = decimal.New(7, -1)

// variance of one reading in µm²: the tape's error, and that of rounding to what the
// tape is read to, a twelfth of its square.
func (r Readings) variance() int64 {
	tape := r.TapeError
	if tape.IsZero() {
		tape = TapeError
	}
	u := microns(tape)
	if step := r.step(); step > 0 {
		return u*u + step*step/12
	}
	return u * u
}

// steps are what tapes are read to, mm: whole millimetres, an eighth, a sixteenth and a
// thirty-second of an inch.
var steps = []decimal.Decimal{decimal.NewFromInt(1), decimal.New(3175, -3), decimal.New(15875, -4), decimal.New(79375, -5)}

// step is what all readings are whole multiples of, µm; 0 for none.
func (r Readings) step() int64 {
	for i, step := range steps {
		whole := true
		for _, n := range r.named() {
			whole = whole && (i == 0 && n.value.IsInteger() || i > 0 && n.value.Mod(step).IsZero())
		}
		if whole {
			return microns(step)
		}
	}
	return 0
}
