package sheet

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/locales"
)

func mm(n float64) decimal.Decimal { return decimal.NewFromFloat(n) }

var catalogue = sync.OnceValue(func() *locales.Catalogue {
	c, err := locales.Load()
	if err != nil {
		panic(err)
	}
	return c
})

func english(t phrase.Text) string { return catalogue().Plain("en", t) }

// compound makes every longer word as long as German ones get.
func compound(t phrase.Text) string {
	words := strings.Fields(english(t))
	for i, w := range words {
		if len(w) > 5 && !strings.ContainsAny(w, "0123456789") {
			words[i] = w + "befestigungsmittelabstandsmaßüberprüfung"
		}
	}
	return strings.Join(words, " ")
}

var (
	made   = time.Date(2026, 5, 4, 16, 10, 0, 0, time.UTC)
	fitter = job.Who{Chat: 1, Person: 11, Name: "Fay Fitter", Role: job.Fitter}
	lead   = job.Who{Chat: 2, Person: 12, Name: "Lou Lead", Role: job.Lead}
	desk   = job.Who{Chat: 3, Person: 13, Name: "Dee Desk", Role: job.Desk}
)

func printer(say func(phrase.Text) string) Printer { return Printer{Say: say, At: made} }

// surveyed is an invented opening.
func surveyed(name string, w, h float64, lights ...calc.Light) plan.Opening {
	floor, outside := mm(900), mm(1500)
	return plan.Opening{
		Name: name, Nation: safety.England, Date: "2026-06-01", Finish: calc.Bare, Material: calc.PVCUWhite,
		Widths:  [3]decimal.Decimal{mm(w), mm(w + 2), mm(w + 1)},
		Heights: [3]decimal.Decimal{mm(h), mm(h + 1), mm(h + 2)},
		Layout:  calc.Layout{Lights: lights},
		Room:    safety.Living, AboveFloor: &floor, AboveOutside: &outside, Panes: []decimal.Decimal{mm(4), mm(4)},
	}
}

func row0(hinges ...calc.Hinge) (out []calc.Light) {
	for i, h := range hinges {
		out = append(out, calc.Light{Column: i, Hinge: h})
	}
	return out
}

func above(lights []calc.Light, hinges ...calc.Hinge) []calc.Light {
	for i, h := range hinges {
		lights = append(lights, calc.Light{Column: i, Row: 1, Hinge: h})
	}
	return lights
}

// records are openings of many kinds.
func records() []job.Record {
	low, ground := mm(300), mm(450)
	one := surveyed("Front bedroom", 1204, 1006, row0(calc.SideLeft)...)
	two := surveyed("Kitchen over the sink", 1800, 1200, row0(calc.TiltTurnLeft, calc.FixedLight)...)
	two.Room, two.SillDepth, two.OldVents, two.VentArea = safety.Kitchen, mm(150), true, mm(4000)
	two.Material = calc.PVCUColour
	stairs := surveyed("Stairs", 700, 2300, above(row0(calc.FixedLight), calc.TopHung)...)
	stairs.Room, stairs.AboveFloor, stairs.AboveOutside = safety.Hall, &low, &ground
	bay := surveyed("Living room, street side", 2410, 1260, above(row0(calc.SideLeft, calc.FixedLight, calc.SideRight), calc.TopHung, calc.FixedLight, calc.TopHung)...)
	bay.AboveFloor = nil
	tiny := surveyed("Toilet", 410, 410, row0(calc.BottomHung)...)
	tiny.Room, tiny.Material = safety.Hall, calc.Timber
	wide := surveyed("Workshop", 4400, 1500, row0(calc.FixedLight, calc.SideLeft, calc.SideRight, calc.FixedLight, calc.SideLeft, calc.SideRight, calc.FixedLight, calc.TiltTurnRight)...)
	wide.Material = calc.Aluminium
	return []job.Record{
		{Plan: one, Colour: "white", MakeUp: "4-20-4"},
		{Plan: two, Colour: "anthracite outside, white inside", MakeUp: "4-16-4-16-4", Hardware: []string{"key-locking handles", "restrictor on light 1"}},
		{Plan: stairs, MakeUp: "6.4-16-4"},
		{Plan: bay, Colour: "white", MakeUp: "4-20-4"},
		{Plan: tiny, Colour: "oak stain"},
		{Plan: wide},
	}
}

func must(t testing.TB) func(j job.Job, _ []job.Event, err error) job.Job {
	return func(j job.Job, _ []job.Event, err error) job.Job {
		t.Helper()
		require.NoError(t, err)
		return j
	}
}

// add is a job with one opening more, of which nothing was said.
func add(j job.Job, who job.Who, at time.Time, name string) (job.Job, []job.Event, error) {
	j, err := j.Begin(who, at, name, opening.Record{})
	if err != nil {
		return job.Job{}, nil, err
	}
	return j.Review(who, at, j.LastID)
}

// send sends the order and takes on what stands against its lines, but for stops.
func send(j job.Job, at time.Time) (job.Job, []job.Event, error) {
	_, not := j.Ready(calc.DefaultSettings())
	var anyway []int
	for _, n := range not {
		if n.Unfit() && !n.Stopped() {
			anyway = append(anyway, n.ID)
		}
	}
	return j.Send(fitter, at, calc.DefaultSettings(), anyway...)
}

// begun is a job with three chairs taken and n openings measured.
func begun(t testing.TB, n int) job.Job {
	t.Helper()
	at := made.Add(-48 * time.Hour)
	j := job.New(job.NewReference([]byte{1, 2, 3, 4, 5, 6, 7, 8}), fitter, at, job.DefaultSettings())
	const leadToken, deskToken = "lead-lead-lead-lead-lead", "desk-desk-desk-desk-desk"
	j = must(t)(j.Grant(fitter, at, leadToken, job.Lead, made))
	j = must(t)(j.Grant(fitter, at, deskToken, job.Desk, made))
	j = must(t)(j.Use(lead, at, leadToken))
	j = must(t)(j.Use(desk, at, deskToken))
	all := records()
	for k := range n {
		r := all[k%len(all)]
		name := r.Plan.Name
		if k >= len(all) {
			name = fmt.Sprintf("%s %d", name, k/len(all)+1)
		}
		j = must(t)(add(j, fitter, at, name))
		j = must(t)(store(j, fitter, at, k+1, r))
	}
	return j
}

// revised is a job in revision B, with answers of the desk, names and address
// shared or not.
func revised(t testing.TB, n int, shared bool) job.Job {
	t.Helper()
	at := made.Add(-24 * time.Hour)
	j := begun(t, n)
	j = must(t)(j.SetCount(fitter, at, 1, 3))
	j = must(t)(j.SetLabel(fitter, at, "Invented Row, rear"))
	j = must(t)(j.SetAddress(fitter, at, "1 Invented Row, Nowhere", shared))
	j = must(t)(j.SetShareNames(fitter, at, shared))
	j = must(t)(j.AskCheck(fitter, at, 1))
	o, _ := j.Find(1)
	j = must(t)(j.Read(lead, at, 1, o.Record().Plan.Readings()))
	o, _ = j.Find(1)
	j = must(t)(j.Sign(lead, at, 1, o.Version))
	j = must(t)(send(j, at))
	o, _ = j.Find(2)
	said := o.Record()
	said.Colour = "grey outside, white inside"
	said.Plan.SillDepth = mm(180)
	j = must(t)(store(j, fitter, at, 2, said))
	j = must(t)(send(j, at))
	j = must(t)(j.Confirm(desk, made, "B", 1))
	price := decimal.RequireFromString("412.50")
	j = must(t)(j.Promise(desk, made, 1, "2026-05-22", &price))
	j = must(t)(j.Query(desk, made, 2, "Is the sill piece to be the same colour as the frame?"))
	j = must(t)(j.Answer(fitter, made, 2, 0, "Yes, grey."))
	return j
}

// checking is a job with the lead: some openings to be measured, one that was
// and differs, one that agreed and was signed.
func checking(t testing.TB) (job.Job, map[int]job.Comparison) {
	t.Helper()
	j := begun(t, 6)
	j = must(t)(j.SetAddress(fitter, made, "1 Invented Row, Nowhere", true))
	j = must(t)(j.SetShareNames(fitter, made, true))
	j = must(t)(j.SetCount(fitter, made, 1, 3))
	j = must(t)(j.AskCheck(fitter, made))
	o, _ := j.Find(2)
	r := o.Record().Plan.Readings()
	r.Widths[1] = r.Widths[1].Add(mm(10))
	r.Heights[2] = r.Heights[2].Sub(mm(7))
	r.Rising, r.Falling = mm(2166), mm(2164)
	j = must(t)(j.Read(lead, made, 2, r))
	j = must(t)(j.Settle(lead, made, 2, "width.middle", job.Mine))
	o, _ = j.Find(3)
	j = must(t)(j.Read(lead, made, 3, o.Record().Plan.Readings()))
	o, _ = j.Find(3)
	j = must(t)(j.Sign(lead, made, 3, o.Version))
	both := map[int]job.Comparison{}
	for _, id := range []int{2, 3} {
		c, ok := j.Comparison(fitter.Chat, id)
		require.True(t, ok)
		both[id] = c
	}
	return j, both
}
