package tell

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// mostUnfit is how many groups of windows are said with what stands against them, and
// mostNamed how many windows of one group are named. Common practice, no source.
const (
	mostUnfit = 6
	mostNamed = 4
)

// unfit are windows that the same stands against.
type unfit struct {
	names  []phrase.Text
	ids    []string
	points []job.Point
}

// Unfit says of windows that did not go to the desk what stands against each and what
// to do, with a button to send them anyway where nothing stops them.
func (v View) Unfit(not []job.NotReady) (lines []phrase.Text, buttons [][]talk.Button) {
	groups := v.unfitGroups(not)
	for i, g := range groups {
		if i == mostUnfit {
			return append(lines, phrase.Of("job.unfit.more")), buttons
		}
		lines = append(lines, phrase.Of("job.unfit").WithRow("names", g.named()...))
		lines = append(lines, pointLines(g.points)...)
		if slices.ContainsFunc(g.points, job.Point.Stops) {
			lines = append(lines, phrase.Of("job.unfit.stopped").Word("takes", liftedBy(g.points)).Saying("n", g.ids[0]))
			continue
		}
		if len(job.WithoutItems(g.points)) < len(g.points) {
			lines = append(lines, phrase.Of("job.unfit.items"))
		}
		if slices.ContainsFunc(g.points, func(p job.Point) bool { return p.Code == job.PointCustomer }) {
			lines = append(lines, phrase.Of("job.unfit.customer").Saying("ids", g.said()))
		}
		lines = append(lines, phrase.Of("job.unfit.do").Saying("n", g.ids[0]).Saying("ids", g.said()))
		if b, fits := v.anyway(g); fits {
			buttons = append(buttons, []talk.Button{b})
		}
	}
	return lines, buttons
}

// LeftOut says of windows that did not go to the desk, and that no point stands
// against, what each lacks, the next question first, and what to do.
func (v View) LeftOut(not []job.NotReady) []phrase.Text {
	not = slices.DeleteFunc(slices.Clone(not), job.NotReady.Unfit)
	if len(not) == 0 {
		return nil
	}
	lines := []phrase.Text{phrase.Of("job.left_out").WithInt("count", len(not))}
	for i, n := range not {
		if i == mostUnfit {
			return append(lines, phrase.Of("job.left_out.more").WithInt("count", len(not)-i))
		}
		lines = append(lines, phrase.Of("job.point").Sub1("point", v.lacking(n)))
	}
	return lines
}

// lacking is what a window that is not complete still lacks, or why else it can't be
// sent.
func (v View) lacking(n job.NotReady) phrase.Text {
	o, ok := v.Job.Find(n.ID)
	if !ok || n.Why.Reason != "incomplete" {
		return Refusal(n.Why)
	}
	lacks, known := o.Lacks(), o.Known()
	next := lacks[0]
	if f := known.Next(false, ""); f != nil {
		next = f.Key
	}
	return phrase.Of("job.left_out.lacks").WithInt("count", len(lacks)).WithInt("n", n.ID).Saying("name", o.Name).Sub1("next", Name(next))
}

func (v View) unfitGroups(not []job.NotReady) []unfit {
	var groups []unfit
	same := func(a, b []job.Point) bool {
		return slices.EqualFunc(a, b, func(p, q job.Point) bool { return p.About == q.About && p.Text.Same(q.Text) })
	}
	for _, n := range not {
		if !n.Unfit() {
			continue
		}
		i := slices.IndexFunc(groups, func(g unfit) bool { return same(g.points, n.Why.Points) })
		if i < 0 {
			i = len(groups)
			groups = append(groups, unfit{points: n.Why.Points})
		}
		g := &groups[i]
		g.ids = append(g.ids, strconv.Itoa(n.ID))
		g.names = append(g.names, phrase.Of("job.words").Saying("words", strconv.Itoa(n.ID)+" "+n.Why.Say["name"]))
	}
	return groups
}

// named are the windows of a group, the first of many.
func (g unfit) named() []phrase.Text {
	if len(g.names) <= mostNamed {
		return g.names
	}
	more := phrase.Of("job.unfit.others").WithInt("count", len(g.names)-mostNamed)
	return append(slices.Clone(g.names[:mostNamed]), more)
}

// said are the numbers of the windows as they are typed.
func (g unfit) said() string {
	if len(g.ids) > mostNamed {
		return "all"
	}
	return strings.Join(g.ids, " ")
}

// anyway is the button that takes on what was shown; fits is false where the windows
// are too many for one.
func (v View) anyway(g unfit) (b talk.Button, fits bool) {
	ids := strings.Join(g.ids, " ")
	numbers := make([]int, len(g.ids))
	for i, id := range g.ids {
		numbers[i], _ = strconv.Atoi(id)
	}
	b = v.Button("job.anyway", "", "send", ids, v.Job.OpenVersion(calc.DefaultSettings(), numbers...))
	b.Label = b.Label.Saying("ids", ids)
	return b, len(ids) <= 30
}

// pointLines are points one a line, a stop as such.
func pointLines(points []job.Point) []phrase.Text {
	var lines []phrase.Text
	for _, p := range points {
		key := "job.point"
		if p.Stops() {
			key = "job.point.stop"
		}
		lines = append(lines, phrase.Of(key).Sub1("point", p.Text))
	}
	return lines
}

// liftedBy is whose word lifts the first stop, as the word for it is taken.
func liftedBy(points []job.Point) string {
	for _, p := range points {
		switch {
		case !p.Stops():
		case p.About == "higher_risk":
			return "cleared.takes.control"
		case p.About == "open_flue":
			return "cleared.takes.fuel"
		default:
			return "cleared.takes.wall"
		}
	}
	return "cleared.takes.wall"
}

// mostAgainst is how many windows at most are said with what stands against them.
const mostAgainst = 12

// Against is what stands against each of those windows, with who took it on, or against
// the first of all that something stands against.
func (v View) Against(ids ...int) []phrase.Text {
	var lines []phrase.Text
	said := 0
	for _, o := range v.Job.All() {
		named := slices.Contains(ids, o.ID)
		if len(ids) > 0 && !named {
			continue
		}
		name := phrase.Of("job.against").Saying("name", strconv.Itoa(o.ID)+" "+o.Name)
		standing := o.Standing(calc.DefaultSettings())
		switch {
		case len(standing) == 0 && !named:
			continue
		case len(standing) == 0:
			name.Key = "job.against.none"
		case said == mostAgainst:
			return append(lines, phrase.Of("job.unfit.more"))
		}
		said++
		lines = append(append(lines, name), v.standingLines(standing)...)
		if named && len(o.Lacks()) > 0 {
			name.Key = "job.against.lacks"
			lines = append(lines, name)
		}
	}
	return lines
}

// standingLines are what stands against a line, with who took it on.
func (v View) standingLines(standing []job.TakenOn) []phrase.Text {
	var lines []phrase.Text
	for i, t := range standing {
		lines = append(lines, pointLines([]job.Point{t.Point})...)
		if t.By == nil {
			continue
		}
		if next := i + 1; next < len(standing) && standing[next].By != nil && *standing[next].By == *t.By {
			continue // said once for all
		}
		lines = append(lines, phrase.Of("job.point.taken").Sub1("by", by(*t.By)).Sub1("when", v.When(t.By.At)))
	}
	return lines
}

// by is a person by name where that is shared, else by their chair.
func by(s job.Stamp) phrase.Text {
	if s.Name == "" {
		return phrase.Of("role." + string(s.Role))
	}
	return phrase.Of("job.words").Saying("words", s.Name)
}
