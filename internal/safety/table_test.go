package safety

import (
	"bufio"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
)

// tableRow is one opening of testdata/rules/openings.txt: its facts, and what is
// said of it by the documents that its source names.
type tableRow struct {
	line   int
	facts  Facts
	wanted []string
	source string
}

// readTable reads the table of openings.
func readTable(t *testing.T) []tableRow {
	t.Helper()
	file, err := os.Open("../../testdata/rules/openings.txt")
	require.NoError(t, err)
	defer file.Close()
	type base struct{ facts, wanted []string }
	bases, rows := map[string]base{}, []tableRow(nil)
	lines := bufio.NewScanner(file)
	for n := 1; lines.Scan(); n++ {
		line := lines.Text()
		if line == "" || strings.HasPrefix(line, "#") || strings.HasPrefix(line, "==") {
			continue
		}
		name, rest, ok := strings.Cut(line, ":")
		require.True(t, ok, "line %d", n)
		cells := strings.Split(rest, "|")
		if base0, is := strings.CutPrefix(name, "base "); is {
			require.Len(t, cells, 2, "line %d", n)
			bases[base0] = base{strings.Fields(cells[0]), strings.Fields(cells[1])}
			continue
		}
		require.Len(t, cells, 3, "line %d", n)
		from, ok := bases[name]
		require.True(t, ok, "line %d: no base %q", n, name)
		row := tableRow{line: n, wanted: slices.Clone(from.wanted), source: strings.TrimSpace(cells[2])}
		row.facts = factsOf(t, n, slices.Concat(from.facts, strings.Fields(cells[0])))
		for _, finding := range strings.Fields(cells[1]) {
			gone, is := strings.CutPrefix(finding, "-")
			if !is {
				row.wanted = append(row.wanted, finding)
				continue
			}
			at := slices.IndexFunc(row.wanted, func(w string) bool { return strings.HasPrefix(w, gone+"/") })
			require.GreaterOrEqual(t, at, 0, "line %d: the base has no %s", n, gone)
			row.wanted = slices.Delete(row.wanted, at, at+1)
		}
		rows = append(rows, row)
	}
	require.NoError(t, lines.Err())
	return rows
}

// factsOf are the facts of a row; a later one holds.
func factsOf(t *testing.T, line int, said []string) Facts {
	t.Helper()
	f := Facts{Panes: []Pane{{}}}
	for _, one := range said {
		key, value, ok := strings.Cut(one, "=")
		require.True(t, ok, "line %d: %s", line, one)
		if number, own, is := strings.Cut(key, "."); is {
			n, err := strconv.Atoi(number)
			require.NoError(t, err, "line %d: %s", line, one)
			require.True(t, setPane(&f.Panes[n-1], own, value), "line %d: %s", line, one)
			continue
		}
		require.True(t, setFact(&f, key, value), "line %d: %s", line, one)
	}
	return f
}

func setPane(p *Pane, key, value string) bool {
	sized := func() calc.Size {
		w, h, _ := strings.Cut(value, "x")
		return calc.Size{Width: dec(w), Height: dec(h)}
	}
	switch key {
	case "hinge":
		p.Hinge = calc.Hinge(value)
	case "size":
		p.Size = sized()
	case "opening":
		p.Opening = sized()
	case "clear":
		p.Clear = sized()
	case "bottom":
		p.Bottom = dec(value)
	case "open":
		p.OpenBottom = dec(value)
	case "degrees":
		p.Degrees = dec(value)
	case "restrictor":
		p.Restrictor = dec(value)
	case "letsgo":
		p.Releasable = value == "yes"
	case "given":
		p.ClearGiven = value == "yes"
	case "beside":
		p.BesideDoor = value == "yes"
	default:
		return false
	}
	return true
}

// setFact sets what is no yes or no; setYes the rest.
func setFact(f *Facts, key, value string) bool {
	height := func() *decimal.Decimal {
		if value == "?" {
			return nil
		}
		return dp(value)
	}
	switch key {
	case "nation":
		f.Nation = Nation(strings.Trim(value, "-"))
	case "day":
		if f.Date = (Facts{}).Date; value != "-" {
			f.Date = on(value)
		}
	case "room":
		f.Room = Room(value)
	case "storey":
		f.Storey, _ = strconv.Atoi(value)
	case "glass":
		f.GlassAboveFloor = height()
	case "outside":
		f.GlassAboveOutside = height()
	case "over":
		f.Over = Over(strings.Trim(value, "-"))
	case "certifies":
		f.Certifies = Way(value)
	case "lights":
		setLights(f, value)
	case "cleared":
		f.Cleared = &Clearance{Who: "A. Engineer (invented)", Capacity: map[string]string{"yes": "structural engineer"}[value], Day: "2026-11-20", Words: "sound"}
	default:
		return setFigure(f, key, value) || value == "yes" && setYes(f, key)
	}
	return true
}

// setLights makes copies of the base's light.
func setLights(f *Facts, value string) {
	n, _ := strconv.Atoi(value)
	if n == 0 {
		f.Panes = nil
	}
	for i := 1; i < n; i++ {
		p := f.Panes[0]
		p.Light = i
		f.Panes = append(f.Panes, p)
	}
}

func setFigure(f *Facts, key, value string) bool {
	place, ok := map[string]*decimal.Decimal{
		"thick": &f.Thickness, "oldarea": &f.OldVentArea, "newarea": &f.NewVentArea, "floor": &f.FloorArea, "u": &f.UValue, "centre": &f.CentreU,
	}[key]
	if ok {
		*place = dec(value)
	}
	return ok
}

func setYes(f *Facts, key string) bool {
	place, ok := map[string]*bool{
		"beside": &f.BesideDoor, "door": &f.Door, "bath": &f.NearBath, "shop": &f.NotHouse, "glassonly": &f.GlassOnly, "leaded": &f.Leaded,
		"guarded": &f.Guarded, "oldvents": &f.OldVents, "ventsunknown": &f.VentsUnknown, "mvhr": &f.MVHR, "flue": &f.OpenFlue, "inner": &f.InnerRoom,
		"oldescape": &f.OldEscape, "heritage": &f.Heritage, "cracks": &f.Cracks, "bowed": &f.Bowed, "high": &f.HigherRisk, "extract": &f.Extract,
		"few": &f.FewWindows, "flat": &f.Flat, "widened": &f.Widened, "nolintel": &f.NoLintel, "bay": &f.Bay,
		"before2000": &f.BuiltBefore2000, "before1992": &f.BuiltBefore1992,
	}[key]
	if ok {
		*place = true
	}
	return ok
}

// is reports whether a finding is what a row wants: the rule, how grave and how
// sure, and the figures, words and lights that the row names.
func (f Finding) is(wanted string) bool {
	parts := strings.SplitN(wanted, "/", 4)
	if f.Rule != parts[0] || string(f.Severity) != parts[1] || string(f.Mark) != strings.Trim(parts[2], "-") {
		return false
	}
	if len(parts) < 4 {
		return true
	}
	for part := range strings.SplitSeq(parts[3], ",") {
		key, value, _ := strings.Cut(part, "=")
		figure, isFigure := f.Figures[key]
		switch {
		case key == "on":
			var lights []string
			for _, l := range f.Lights {
				lights = append(lights, strconv.Itoa(l+1))
			}
			if strings.Join(lights, "+") != value {
				return false
			}
		case isFigure:
			if !figure.Equal(dec(value)) {
				return false
			}
		case f.Words[key] != value:
			return false
		}
	}
	return true
}

// TestOpeningsOfTheTable holds what is found of each opening against what its
// documents say of it. The expected findings were written from the documents that
// the rows name, with the marks that those deserve.
func TestOpeningsOfTheTable(t *testing.T) {
	rows := readTable(t)
	require.GreaterOrEqual(t, len(rows), 150)
	for _, row := range rows {
		found, missing := Findings(row.facts), []string(nil)
		for _, wanted := range row.wanted {
			at := slices.IndexFunc(found, func(f Finding) bool { return f.is(wanted) })
			if at < 0 {
				missing = append(missing, wanted)
				continue
			}
			found = slices.Delete(found, at, at+1)
		}
		var extra []string
		for _, f := range found {
			extra = append(extra, f.Rule+"/"+string(f.Severity)+"/"+string(f.Mark))
		}
		if len(missing)+len(extra) > 0 {
			t.Errorf("openings.txt:%d: missing %v, too many %v", row.line, missing, extra)
		}
		require.NotEmpty(t, row.source, "line %d", row.line)
	}
}

// What the table has to have in it: every rule that can be found, every nation,
// room and storey, and both sides of every day on which an edition begins or ends.
func TestTheTableLeavesNothingOut(t *testing.T) {
	rules, seen, days := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, row := range readTable(t) {
		for _, wanted := range row.wanted {
			rule, _, _ := strings.Cut(wanted, "/")
			rules[rule] = true
		}
		seen[string(row.facts.Nation)], seen[string(row.facts.Room)] = true, true
		seen[strconv.Itoa(row.facts.Storey)], seen["over "+string(row.facts.Over)] = true, true
		days[string(row.facts.Nation)+" "+row.facts.Date.Format("2006-01-02")] = true
	}
	unmet := map[string]string{
		"glass_bath": "of earlier releases", "escape_less": "of earlier releases", "escape_small": "of earlier releases",
		"paper_unverified": "every nation has its papers", "escape_unverified": "England's stand in everywhere",
		"glass_unverified": "every nation has its document", "glass_bath_unverified": "a British Standard",
	}
	for _, rule := range slices.Sorted(maps.Keys(outcomes)) {
		require.Equal(t, unmet[rule] == "", rules[rule], rule)
	}
	for _, name := range strings.Fields("england wales scotland ni living bedroom kitchen bathroom hall -1 0 1 2 3") {
		require.True(t, seen[name], name)
	}
	for _, over := range []Over{OverLintel, OverArch, OverTimber, OverBricks, OverHidden, ""} {
		require.True(t, seen["over "+string(over)], over)
	}
	for _, r := range rulings {
		for _, day := range []string{r.from, r.until, r.untilHigh} {
			if day == "" {
				continue
			}
			nation := string(r.nation)
			if nation == "" {
				nation = "england"
			}
			require.True(t, days[nation+" "+day], "%s of %s on its day %s", r.topic, nation, day)
			require.True(t, days[nation+" "+on(day).AddDate(0, 0, -1).Format("2006-01-02")], "%s of %s on the day before %s", r.topic, nation, day)
		}
	}
}
