package calc

import "github.com/shopspring/decimal"

// LeastBay is the least distance, mm, between two mullions' centre lines and
// from a mullion or a transom to the frame's edge. Below it a reading is more
// likely wrong than the light so narrow. Common practice, no source.
var LeastBay = decimal.NewFromInt(100)

// mostColumns is the most lights side by side: a guard against nonsense, not
// a rule of the trade.
const mostColumns = 32

// Columns is how many lights stand side by side at the frame's bottom.
func (l Layout) Columns() int { return len(l.Mullions) + 1 }

// Transom is the centre line of a column's transom, zero where it has none.
func (l Layout) Transom(column int) decimal.Decimal {
	if column >= len(l.Transoms) {
		return decimal.Zero
	}
	return l.Transoms[column]
}

// Check says whether the layout can be built in the frame: mullions ascending
// and transoms inside it, each at least LeastBay from the next and from the
// frame's edge; every place in the frame filled by one light, once. A layout
// without lights is one whose lights are not known yet; only its bars are
// checked. The error is a *RefusalError of kind ErrImpossible with the number
// of the mullion, column or light, counted from 1 at the left.
func (l Layout) Check(frame Size) error {
	if !frame.Width.IsPositive() || !frame.Height.IsPositive() {
		return refuse(ErrImpossible, "frame_size", map[string]decimal.Decimal{"width": frame.Width, "height": frame.Height}, nil)
	}
	if l.Columns() > mostColumns {
		return refuse(ErrImpossible, "layout_columns", map[string]decimal.Decimal{"columns": count(l.Columns()), "most": count(mostColumns)}, nil)
	}
	if err := l.checkMullions(frame.Width); err != nil {
		return err
	}
	if err := l.checkTransoms(frame.Height); err != nil {
		return err
	}
	if len(l.Lights) == 0 {
		return nil
	}
	return l.checkLights()
}

func (l Layout) checkMullions(width decimal.Decimal) error {
	before := decimal.Zero
	for i, at := range l.Mullions {
		rule := ""
		switch {
		case at.LessThanOrEqual(before):
			rule = "mullion_order"
		case at.GreaterThanOrEqual(width):
			rule = "mullion_outside"
		case at.Sub(before).LessThan(LeastBay), width.Sub(at).LessThan(LeastBay):
			rule = "mullion_close"
		}
		if rule != "" {
			return refuse(ErrImpossible, rule, map[string]decimal.Decimal{"number": count(i + 1), "at": at, "before": before, "width": width, "least": LeastBay}, nil)
		}
		before = at
	}
	return nil
}

func (l Layout) checkTransoms(height decimal.Decimal) error {
	if len(l.Transoms) > l.Columns() {
		return refuse(ErrImpossible, "transom_column", map[string]decimal.Decimal{"transoms": count(len(l.Transoms)), "columns": count(l.Columns())}, nil)
	}
	for i, at := range l.Transoms {
		if at.IsZero() {
			continue
		}
		if at.LessThan(LeastBay) || height.Sub(at).LessThan(LeastBay) {
			return refuse(ErrImpossible, "transom_outside", map[string]decimal.Decimal{"number": count(i + 1), "at": at, "height": height, "least": LeastBay}, nil)
		}
	}
	return nil
}

func (l Layout) checkLights() error {
	var taken [mostColumns][2]bool
	for i, light := range l.Lights {
		rule := ""
		switch {
		case light.Column < 0, light.Column >= l.Columns():
			rule = "light_column"
		case light.Row < 0, light.Row > 1:
			rule = "light_row"
		case light.Row == 1 && l.Transom(light.Column).IsZero():
			rule = "light_no_transom"
		case !light.Hinge.known():
			rule = "light_hinge"
		case taken[light.Column][light.Row]:
			rule = "light_twice"
		}
		if rule != "" {
			return refuse(ErrImpossible, rule, map[string]decimal.Decimal{"number": count(i + 1), "column": count(light.Column + 1), "columns": count(l.Columns())}, nil)
		}
		taken[light.Column][light.Row] = true
	}
	for column := range l.Columns() {
		if !taken[column][0] {
			return refuse(ErrImpossible, "light_missing", map[string]decimal.Decimal{"column": count(column + 1)}, nil)
		}
		if !l.Transom(column).IsZero() && !taken[column][1] {
			return refuse(ErrImpossible, "light_missing_above", map[string]decimal.Decimal{"column": count(column + 1)}, nil)
		}
	}
	return nil
}

// known says whether h is one of the hinges that this package works with.
func (h Hinge) known() bool {
	switch h {
	case FixedLight, SideLeft, SideRight, TopHung, BottomHung, TiltTurnLeft, TiltTurnRight:
		return true
	}
	return false
}

// EvenMullions are the centre lines, mm from the left edge of a frame of this
// width, of n mullions that leave the same width of daylight between frame
// and mullions everywhere; that is what looks even from outside. Each is
// rounded to 0.1 mm, and the right half mirrors the left. Nil when n is less
// than 1.
func EvenMullions(width decimal.Decimal, n int, s Settings) []decimal.Decimal {
	if n < 1 {
		return nil
	}
	daylight := evenDaylight(width, n, s)
	first := s.OuterFace.Add(daylight).Add(s.MullionFace.Mul(oneHalf))
	at := make([]decimal.Decimal, n)
	for i := range (n + 1) / 2 {
		at[i] = first.Add(daylight.Add(s.MullionFace).Mul(count(i))).Round(1)
		at[n-1-i] = width.Sub(at[i])
	}
	if n%2 == 1 {
		at[n/2] = width.Mul(oneHalf)
	}
	return at
}

// EvenDaylight is how wide, mm, the openings between frame and mullions are when n
// mullions stand as EvenMullions places them, rounded to 0.1 mm; zero when n is less
// than 1.
func EvenDaylight(width decimal.Decimal, n int, s Settings) decimal.Decimal {
	if n < 1 {
		return decimal.Zero
	}
	return evenDaylight(width, n, s).Round(1)
}

func evenDaylight(width decimal.Decimal, n int, s Settings) decimal.Decimal {
	return width.Sub(s.OuterFace.Mul(count(2))).Sub(s.MullionFace.Mul(count(n))).DivRound(count(n+1), 6)
}

// WithEvenMullions places the mullions of a layout that only names its
// lights: with no mullion given and lights in more than one column, they are
// placed by EvenMullions. Any other layout comes back as it is.
func (l Layout) WithEvenMullions(frame Size, s Settings) Layout {
	if len(l.Mullions) > 0 {
		return l
	}
	last := 0
	for _, light := range l.Lights {
		last = max(last, light.Column)
	}
	if last >= mostColumns {
		return l
	}
	l.Mullions = EvenMullions(frame.Width, last, s)
	return l
}

// bay is the daylight of the frame round one light, µm from the frame's
// bottom left corner, before a sash goes in.
type bay struct{ left, right, bottom, top int64 }

// bay needs a layout that passed Check.
func (l Layout) bay(frame Size, light Light, s Settings) bay {
	face, half := microns(s.OuterFace), microns(s.MullionFace)/2
	b := bay{face, microns(frame.Width) - face, face, microns(frame.Height) - face}
	if light.Column > 0 {
		b.left = microns(l.Mullions[light.Column-1]) + half
	}
	if light.Column < len(l.Mullions) {
		b.right = microns(l.Mullions[light.Column]) - half
	}
	transom := microns(l.Transom(light.Column))
	switch {
	case light.Row == 1:
		b.bottom = transom + half
	case transom != 0:
		b.top = transom - half
	}
	return b
}

// inside is the bay less a face, µm, on every side.
func (b bay) inside(face int64) bay {
	return bay{b.left + face, b.right - face, b.bottom + face, b.top - face}
}

func (b bay) size() Size { return Size{inMM(b.right - b.left), inMM(b.top - b.bottom)} }

// along is the length of a side.
func (z Size) along(s Side) decimal.Decimal {
	if s == Left || s == Right {
		return z.Height
	}
	return z.Width
}

// tooSmall says whether nothing is left in one direction.
func (z Size) tooSmall() bool { return !z.Width.IsPositive() || !z.Height.IsPositive() }

// area is in m² of a size in mm, exact.
func (z Size) area() decimal.Decimal {
	w, wide := wholeMicrons(z.Width)
	h, high := wholeMicrons(z.Height)
	if wide && high && max(abs64(w), abs64(h)) < longestSide {
		return decimal.New(w*h, -12)
	}
	return z.Width.Mul(z.Height).Shift(-6)
}

// Halves and quarters by multiplying, which is exact and much quicker than a
// division.
var (
	oneHalf    = decimal.New(5, -1)
	oneQuarter = decimal.New(25, -2)
)

// count is a whole number as a figure.
func count(n int) decimal.Decimal {
	if 0 <= n && n < len(counts) {
		return counts[n]
	}
	return decimal.NewFromInt(int64(n))
}

// counts are the small numbers, made once: a decimal never changes.
var counts = func() (all [65]decimal.Decimal) {
	for n := range all {
		all[n] = decimal.NewFromInt(int64(n))
	}
	return all
}()

// lightTooSmall refuses the light of this number, counted from 1, with what is
// left of it.
func lightTooSmall(number int, left Size) *RefusalError {
	return refuse(ErrTooSmall, "light_too_small", map[string]decimal.Decimal{
		"number": count(number), "width": left.Width, "height": left.Height,
	}, nil)
}
