package calc

import "github.com/shopspring/decimal"

// Weight is what a window weighs without its hardware and sill piece.
type Weight struct {
	Window   decimal.Decimal   // kg, all glass and profiles, rounded up to whole kg
	Profiles decimal.Decimal   // kg of frame, bars and sashes in it, rounded up to 0.1
	Lights   []decimal.Decimal // kg of each sash with its glass, rounded up to 0.1; zero for a fixed light
	Reasons  []Reason
}

// WeightOf adds to the glass, in the order of l.Lights, the profiles at
// s.ProfileMass kg per metre: the outer frame round its outside, mullions and
// transoms between the frame's faces, and each sash round the frame's daylight,
// whose overlap only its maker knows. With glass of unknown weight all is zero: half a weight is no
// weight to lift by. The layout has passed Check. The figure is no better than
// ProfileMass, common practice until the crew sets its profile's own.
func WeightOf(frame Size, l Layout, glass []GlassPlan, s Settings) Weight {
	w := Weight{Lights: make([]decimal.Decimal, len(glass))}
	total, length := decimal.Zero, profileLength(frame, l, s)
	for i, g := range glass {
		if g.Mass.IsZero() {
			return Weight{}
		}
		total = total.Add(g.Mass)
		if light := l.Lights[g.Light]; light.Hinge != FixedLight {
			sash := round(l.bay(frame, light, s).size())
			length = length.Add(sash)
			w.Lights[i] = g.Mass.Add(inMetres(sash).Mul(s.ProfileMass)).RoundUp(1)
		}
	}
	profiles := inMetres(length).Mul(s.ProfileMass)
	w.Profiles = profiles.RoundUp(1)
	w.Window = total.Add(profiles).RoundUp(0)
	w.Reasons = []Reason{{Rule: "window_mass", Mark: Practice, Figures: map[string]decimal.Decimal{
		"mass": w.Window, "glass": total, "profiles": w.Profiles, "length": inMetres(length).RoundUp(1), "each": s.ProfileMass,
	}}}
	return w
}

// profileLength is the frame's and its bars', mm.
func profileLength(frame Size, l Layout, s Settings) decimal.Decimal {
	faces := s.OuterFace.Mul(count(2))
	length := round(frame).Add(frame.Height.Sub(faces).Mul(count(len(l.Mullions))))
	for column := range l.Columns() {
		if l.Transom(column).IsPositive() {
			length = length.Add(l.bay(frame, Light{Column: column}, s).size().Width)
		}
	}
	return length
}

// round is once round a size, mm.
func round(z Size) decimal.Decimal { return z.Width.Add(z.Height).Mul(count(2)) }

func inMetres(mm decimal.Decimal) decimal.Decimal { return mm.Shift(-3) }
