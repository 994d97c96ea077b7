// Simulate measures the order size and the search for mistakes on openings whose true
// figure is known, and writes the table of docs/simulation.md.
//
//	go run ./internal/simulate [-openings 20000] [-seeds 3]
package main

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
)

func main() {
	openings := flag.Int("openings", 20_000, "openings a row and seed")
	seeds := flag.Int("seeds", 3, "seeds")
	flag.Parse()
	s := simulation{*openings, *seeds}
	fmt.Println("| perfect openings | short by, width | short by, height | 2 mm or more short |")
	fmt.Println("|---|---|---|---|")
	s.perfect("smallest less 10", thumb)
	s.perfect("program", program)
	fmt.Println("\n| openings | under 4 mm left on a side | under 2 mm |")
	fmt.Println("|---|---|---|")
	s.room("mild, smallest less 10", mild, true, thumb)
	s.room("mild, program", mild, true, program)
	s.room("fall of the sill not measured, smallest less 10", unmeasured, false, thumb)
	s.room("fall of the sill not measured, program", unmeasured, false, program)
	fmt.Println("\n| sound readings, tape's error | false alarms |")
	fmt.Println("|---|---|")
	for _, tape := range []float64{0.7, 1.0, 1.5} {
		s.alarms(tape)
	}
	fmt.Println("\n| slip | found | named alone |")
	fmt.Println("|---|---|---|")
	sides, middles, diagonals := []int{0, 2, 3, 5}, []int{1, 4}, []int{6, 7}
	for _, size := range []struct {
		name string
		do   slip
	}{{"10 mm", by(10)}, {"100 mm", by(100)}, {"two digits swapped", swapped}} {
		s.slips(size.name+" on a side", sides, size.do)
		s.slips(size.name+" on a middle reading", middles, size.do)
		s.slips(size.name+" on a diagonal", diagonals, size.do)
	}
}

type simulation struct{ openings, seeds int }

// each calls do for every opening of every seed.
func (s simulation) each(of spread, do func(r *rand.Rand, o opening)) {
	for seed := range s.seeds {
		r := rand.New(rand.NewPCG(uint64(seed+1), 20260101))
		for range s.openings {
			do(r, draw(r, of))
		}
	}
}

// size is an order size in mm; false where the readings were refused.
type size func(calc.Readings) (width, height float64, ok bool)

func thumb(r calc.Readings) (w, h float64, ok bool) {
	least := func(l [3]decimal.Decimal) float64 { return decimal.Min(l[0], l[1], l[2]).InexactFloat64() - 10 }
	return least(r.Widths), least(r.Heights), true
}

func program(r calc.Readings) (w, h float64, ok bool) {
	o, err := calc.OrderSize(calc.OrderRequest{Readings: r, Finish: calc.Bare, Material: calc.PVCUWhite, Settings: calc.DefaultSettings()})
	if err != nil {
		return 0, 0, false
	}
	return o.Size.Width.InexactFloat64(), o.Size.Height.InexactFloat64(), true
}

func (s simulation) perfect(name string, order size) {
	var width, height mean
	var far share
	s.each(perfect, func(r *rand.Rand, o opening) {
		w, h, ok := order(readings(o.measured(r, 0.7), true))
		if !ok {
			return
		}
		width.add(o.width - 10 - w)
		height.add(o.height - 10 - h)
		far.add(o.width-10-w >= 2 || o.height-10-h >= 2)
	})
	fmt.Printf("| %s | %v mm | %v mm | %v |\n", name, width, height, far)
}

func (s simulation) room(name string, of spread, level bool, order size) {
	var four, two share
	s.each(of, func(r *rand.Rand, o opening) {
		w, h, ok := order(readings(o.measured(r, 0.7), level))
		if !ok {
			return
		}
		jambs, along := o.left(w, h)
		four.add(min(jambs, along) < 4)
		two.add(min(jambs, along) < 2)
	})
	fmt.Printf("| %s | %v | %v |\n", name, four, two)
}

func (s simulation) alarms(tape float64) {
	var alarm share
	s.each(mild, func(r *rand.Rand, o opening) {
		found, _ := doubted(readings(o.measured(r, tape), true))
		alarm.add(found)
	})
	fmt.Printf("| %.1f mm | %v |\n", tape, alarm)
}

func (s simulation) slips(name string, which []int, spoil slip) {
	var found, named share
	s.each(mild, func(r *rand.Rand, o opening) {
		y := o.measured(r, 0.7)
		i := which[r.IntN(len(which))]
		before := y
		spoil(r, &y, i)
		if y == before {
			return
		}
		alarm, alone := doubted(readings(y, true))
		found.add(alarm)
		named.add(alone == names[i])
	})
	fmt.Printf("| %s | %v | %v |\n", name, found, named)
}

// doubted says whether readings raise a doubt, and the reading that is named alone: as
// they come in, three widths, three heights and then all.
func doubted(r calc.Readings) (found bool, alone string) {
	for _, part := range []calc.Readings{{Widths: r.Widths}, {Heights: r.Heights}} {
		if list := part.Suspects(); len(list) > 0 {
			return true, aloneOf(list)
		}
	}
	f, err := calc.Survey(r)
	list := f.Suspects
	if err != nil {
		list = r.Suspects()
	}
	if len(list) == 0 {
		return err != nil, ""
	}
	return true, aloneOf(list)
}

// aloneOf is the reading that is named alone; "" for two or more.
func aloneOf(list []calc.Suspect) string {
	if len(list) > 1 && list[1].Rank == 0 || list[0].With != "" {
		return ""
	}
	return list[0].Reading
}

// mean of figures, with its 95 % interval.
type mean struct{ n, sum, squares float64 }

func (m *mean) add(v float64) { m.n, m.sum, m.squares = m.n+1, m.sum+v, m.squares+v*v }

func (m mean) String() string {
	average := m.sum / m.n
	return fmt.Sprintf("%.2f ± %.2f", average, 1.96*math.Sqrt((m.squares/m.n-average*average)/m.n))
}

// share of what is true, with its 95 % interval.
type share struct{ n, yes float64 }

func (s *share) add(yes bool) {
	s.n++
	if yes {
		s.yes++
	}
}

// String gives Wilson's interval, which holds near 0 and 1 too.
func (s share) String() string {
	const z = 1.96
	p := s.yes / s.n
	middle := (p + z*z/(2*s.n)) / (1 + z*z/s.n)
	half := z * math.Sqrt(p*(1-p)/s.n+z*z/(4*s.n*s.n)) / (1 + z*z/s.n)
	return fmt.Sprintf("%.2f %% (%.2f to %.2f)", 100*p, 100*max(middle-half, 0), 100*min(middle+half, 1))
}
