package safety

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/locales"
)

// span is where a rule stands, and the days on which that edition is known
// here. England's may be lent to nations that have none, which must be said.
type span struct {
	document, clause, edition string
	mark                      calc.Mark
	from, until               string
	lent                      bool
}

// known are the editions by topic and nation, with the first day and the day
// after the last, and the clause for the window of askingAll. AD K 2013, BS
// 6262-4:2005, AD L of Wales 2022 and Scotland's handbook of 2023 count from the
// year after, because the day was not verified; AD L 2021 from 2022-06-15 (S),
// and AD L 2026 from 2027-03-24 (S). AD F goes with AD L (M). No edition was
// noted of the other documents. Where no nation stands, the rule is not verified
// there.
var known = map[Topic]map[Nation]span{
	Glass: {
		England:  {"ad_k", "K4 section 5", "2013", calc.Quoted, "2014-01-01", "", false},
		Wales:    {"ad_n_wales", "", "", calc.FromMemory, "", "", false},
		Scotland: {"technical_handbook", "4.8", "", calc.FromMemory, "", "", false},
		NI:       {"booklet_v", "", "", calc.FromMemory, "", "", false},
	},
	Bath: {England: bath, Wales: bath, Scotland: bath, NI: bath},
	// The diagram was read; the drop is from memory.
	Guarding: {England: {"ad_k", "K2 diagram 3.1", "2013", calc.FromMemory, "2014-01-01", "", true}},
	Escape: {
		England:  {"ad_b_1", "2.10", "", calc.Quoted, "", "", true},
		Scotland: {"technical_handbook", "2.9.4", "2004-06", calc.Quoted, "2007-01-01", "", false},
	},
	Vents: {England: {"ad_f_1", "3.15", "2021", calc.Read, "2022-06-15", "2027-03-24", false}},
	Purge: {
		England:  {"ad_f_1", "", "2021", calc.Quoted, "2022-06-15", "2027-03-24", false},
		Scotland: {"technical_handbook", "", "2015", calc.Quoted, "2016-01-01", "", false},
	},
	Heat: {
		England:  {"ad_l_1", "", "2021", calc.Quoted, "2022-06-15", "2027-03-24", false},
		Wales:    {"ad_l_wales", "", "2022", calc.Quoted, "2023-01-01", "", false},
		Scotland: {"technical_handbook", "", "2023", calc.FromMemory, "2024-01-01", "", false},
	},
	// Reg 20 was read, the building notice beside it is quoted.
	Paper: {
		England:  {"building_regulations", "reg 20", "", calc.Quoted, "", "", false},
		Wales:    {"building_regulations", "reg 20", "", calc.Quoted, "", "", false},
		Scotland: {"building_scotland", "sch 3 type 20", "2004", calc.Read, "2005-01-01", "", false},
		NI:       {"building_ni", "", "", calc.Quoted, "", "", false},
	},
}

var bath = span{"bs_6262_4", "", "2005", calc.FromMemory, "2006-01-01", "", false}

var nations = []Nation{England, Wales, Scotland, NI}

// askingAll is a window of which every topic asks something: low, upstairs,
// beside a bath, too narrow to climb out of, in a bedroom of 40 m².
func askingAll(n Nation, day time.Time) Facts {
	f := house()
	f.Nation, f.Date, f.GlassAboveFloor, f.NearBath, f.FloorArea = n, day, at(500), true, mm(40)
	f.Panes[0].Clear, f.Panes[0].Degrees = size(300, 1100), mm(90)
	return f
}

// boundaries are the days on both sides of every day on which an edition
// begins or ends, and days far from any.
func boundaries() []time.Time {
	days := []time.Time{on("1990-01-01"), on("2026-11-25"), on("2040-01-01")}
	for _, byNation := range known {
		for _, s := range byNation {
			for _, day := range []string{s.from, s.until} {
				if day != "" {
					days = append(days, on(day), on(day).AddDate(0, 0, -1))
				}
			}
		}
	}
	return days
}

func TestEveryTopicSaysSomethingOnEveryDay(t *testing.T) {
	require.Len(t, known, len(topicRules))
	for topic, byNation := range known {
		for _, nation := range nations {
			for _, day := range boundaries() {
				f, name := askingAll(nation, day), string(topic)+" in "+string(nation)+" on "+day.Format(time.DateOnly)
				var notes, verdicts []Finding
				for _, fd := range Findings(f) {
					if fd.Topic != topic {
						continue
					}
					if isNote(fd) {
						notes = append(notes, fd)
						require.Equal(t, "nation."+string(nation), fd.Words["nation"], name)
					} else {
						verdicts = append(verdicts, fd)
					}
				}
				checkStanding(t, name, byNation, nation, day.Format(time.DateOnly), notes, verdicts)
			}
		}
	}
}

func isNote(f Finding) bool {
	_, ok := f.Words["nation"]
	return ok
}

// checkStanding holds the notes and the verdicts of one topic against the span
// in which its edition is known.
func checkStanding(t *testing.T, name string, byNation map[Nation]span, n Nation, day string, notes, verdicts []Finding) {
	s, own := byNation[n]
	lender := byNation[England]
	borrowed := !own && lender.lent && day >= lender.from
	switch {
	case own && day < s.from, !own && !borrowed:
		require.Len(t, notes, 1, name)
		require.Equal(t, Ask, notes[0].Severity, name)
		require.Empty(t, notes[0].Document, name)
		require.Empty(t, verdicts, "%s: no limit is guessed", name)
		return
	case own && s.until != "" && day >= s.until:
		require.Len(t, notes, 1, name)
		require.Equal(t, Stop, notes[0].Severity, name)
		require.Equal(t, s.document, notes[0].Document, name)
		require.NotEmpty(t, verdicts, "%s: the known duty stays", name)
	case own:
		require.Empty(t, notes, name)
		require.NotEmpty(t, verdicts, name)
	default:
		require.Len(t, notes, 1, name)
		require.Equal(t, "unverified", notes[0].Rule, name)
		require.NotEmpty(t, verdicts, name)
	}
	if !own {
		s = lender
	}
	sure := s.mark
	if borrowed || s.until != "" && day >= s.until {
		sure = calc.FromMemory
	}
	for _, fd := range verdicts {
		require.Equal(t, []any{s.document, s.clause, s.edition}, []any{fd.Document, fd.Clause, fd.Edition}, "%s: %s", name, fd.Rule)
		require.Equal(t, weaker(fd.Mark, sure), fd.Mark, "%s: %s is no better than its ruling", name, fd.Rule)
		require.NotEqual(t, Clear, fd.Severity, "%s: %s", name, fd.Rule)
	}
}

// Any edition can end: the note comes from the table alone, for every topic.
func TestAnEditionThatEndsIsSaidForEveryTopic(t *testing.T) {
	whole := rulings
	defer func() { rulings = whole }()
	rulings = slices.Clone(whole)
	for i := range rulings {
		rulings[i].until = "2026-11-25"
	}
	for topic, byNation := range known {
		for nation, s := range byNation {
			for day, ended := range map[string]bool{"2026-11-24": false, "2026-11-25": true} {
				var note *Finding
				verdicts := 0
				for _, fd := range Findings(askingAll(nation, on(day))) {
					switch {
					case fd.Topic != topic:
					case fd.Rule == "edition_ended":
						require.Nil(t, note, "said once")
						note = &fd
					default:
						verdicts++
					}
				}
				require.Equal(t, ended, note != nil, "%s in %s on %s", topic, nation, day)
				require.Positive(t, verdicts, "%s in %s on %s", topic, nation, day)
				if ended {
					require.Equal(t, s.document, note.Document)
					require.Equal(t, "topic."+string(topic), note.Words["topic"])
				}
			}
		}
	}
}

// After the last edition nothing is cleared by it, in a room as little as at
// one window, and between two editions the earlier one has ended.
func TestNothingIsClearedAfterTheLastEdition(t *testing.T) {
	f := house()
	f.Date, f.FloorArea, f.UValue, f.OldVents, f.OldVentArea, f.NewVentArea = on("2027-03-23"), mm(10), dec("1.2"), true, mm(5000), mm(5000)
	f.Panes[0].Degrees = mm(90)
	for _, rule := range []string{"heat_clear", "vents_clear", "purge_clear"} {
		need(t, Findings(f), rule, Clear)
	}
	f.Date = on("2027-03-24")
	none(t, Findings(f), "heat_clear", "vents_clear", "purge_clear")
	require.Equal(t, []string{"edition_ended", "edition_ended"}, rules(RoomFindings(f)))

	// The known duties stay: vents cut from 5000 to 2500 mm² (AD F 2021 3.14,
	// R), and 3.0 W/m²K (AD L 2021, S).
	f.UValue, f.NewVentArea = mm(3), mm(2500)
	figure(t, need(t, Findings(f), "vents_short", Must), "short", "2500")
	figure(t, need(t, Findings(f), "heat_over", Must), "limit", "1.4")

	whole := rulings
	defer func() { rulings = whole }()
	later := *heatOf(England)
	later.from, later.until, later.edition, later.next = "2028-01-01", "", "2026", ""
	rulings = append(slices.Clone(whole), later)
	for day, edition := range map[string]string{"2027-12-31": "2021", "2028-01-01": "2026"} {
		f.Date = on(day)
		require.Equal(t, edition, need(t, Findings(f), "heat_over", Must).Edition)
	}
}

func heatOf(n Nation) *ruling {
	return &rulings[slices.IndexFunc(rulings, func(r ruling) bool { return r.topic == Heat && r.nation == n })]
}

// A finding on an order of before topics were fields of a finding.
func TestAStoredFindingHasItsTopic(t *testing.T) {
	for raw, want := range map[string]Finding{
		`{"rule":"glass_bath","weight":"must","lights":[1],"document":"bs_6262_4","edition":"2005","mark":"S"}`: {
			Rule: "glass_bath", Severity: Must, Topic: Bath, OnOrder: true, Scope: OfWindow, Lights: []int{1},
			Document: "bs_6262_4", Edition: "2005", Mark: calc.Quoted,
		},
		`{"rule":"unverified","weight":"ask","words":{"nation":"nation.wales","topic":"topic.escape"},"mark":"M"}`: {
			Rule: "unverified", Severity: Ask, Topic: Escape, OnOrder: true, Scope: OfJob,
			Words: map[string]string{"nation": "nation.wales", "topic": "topic.escape"}, Mark: calc.FromMemory,
		},
	} {
		var got Finding
		require.NoError(t, json.Unmarshal([]byte(raw), &got))
		require.Equal(t, want, got)
		again, err := json.Marshal(got)
		require.NoError(t, err)
		require.Equal(t, raw, string(again), "the stored form stays")
	}
	require.Error(t, new(Finding).UnmarshalJSON([]byte(`{"rule":7}`)))
}

// Every rule, topic and document has its words, those too that today's table
// does not lead to.
func TestEveryRuleHasItsSentence(t *testing.T) {
	words, err := locales.Load()
	require.NoError(t, err)
	has := func(key string) { require.True(t, words.Has(locales.Default, key), key) }
	for rule := range outcomes {
		has("finding." + rule)
	}
	for topic, name := range noteNames {
		has("topic." + string(topic))
		for _, end := range []string{"_early", "_unverified"} {
			require.Equal(t, outcome{topic, Ask, true, OfJob}, outcomes[name+end])
		}
	}
	for _, r := range rulings {
		has("source." + r.document)
		for rule := range r.parts {
			require.Equal(t, r.topic, outcomes[rule].topic, rule)
		}
		require.True(t, r.paper == nil || outcomes[r.paper.rule].topic == Paper && (r.paper.flat == "" || outcomes[r.paper.flat].topic == Paper))
	}
}

// Heat by nation and day: AD L vol 1 2021 from 2022-06-15 (S), Wales 2022 (S),
// Scotland from 2023 (weak S), NI not verified; AD L 2026 from 2027-03-24 (S).
func TestHeatByNationAndDate(t *testing.T) {
	for _, c := range []struct {
		nation   Nation
		day      string
		rule     string
		severity Severity
		document string
	}{
		{England, "2022-06-14", "heat_early", Ask, ""},
		{England, "2022-06-15", "heat", Must, "ad_l_1"},
		{England, "2027-03-23", "heat", Must, "ad_l_1"},
		{England, "2027-03-24", "edition_ended", Stop, "ad_l_1"},
		{Wales, "2022-12-31", "heat_early", Ask, ""},
		{Wales, "2026-01-01", "heat", Must, "ad_l_wales"},
		{Wales, "2027-03-24", "heat", Must, "ad_l_wales"},
		{Scotland, "2023-12-31", "heat_early", Ask, ""},
		{Scotland, "2026-01-01", "heat", Must, "technical_handbook"},
		{NI, "2026-01-01", "heat_unverified", Ask, ""},
	} {
		f := house()
		f.Nation, f.Date = c.nation, on(c.day)
		fs := slices.DeleteFunc(Findings(f), func(fd Finding) bool { return fd.Topic != Heat })
		got := need(t, fs, c.rule, c.severity)
		require.Equal(t, c.document, got.Document)
		if c.rule == "heat" {
			figure(t, got, "limit", "1.4")
			none(t, fs, "edition_ended", "heat_early")
			continue
		}
		require.NotContains(t, got.Figures, "limit", "no figure is guessed")
		if c.rule == "edition_ended" {
			require.Equal(t, "2026", got.Edition)
			require.Equal(t, calc.Quoted, got.Mark)
			continue // the known limit stays beside it
		}
		none(t, fs, "heat")
	}
	f := house()
	f.Date = on("2022-06-14")
	none(t, Findings(f), "vents_new", "purge_clear")
	need(t, Findings(f), "vents_early", Ask)
}

// AD K is the edition of 2013 and BS 6262-4 that of 2005. The day in those years
// is not verified, so the whole year counts as not covered. No edition was
// noted of the other nations' documents on safety glass, of AD B, and of the
// regulations on paper: they have no first day.
func TestGlassBathAndGuardsByDate(t *testing.T) {
	low := func(n Nation, day string) []Finding {
		f := house()
		f.Nation, f.Date, f.GlassAboveFloor, f.NearBath = n, on(day), at(500), true
		f.Panes[0].Clear = size(300, 1100)
		return Findings(f)
	}
	for _, c := range []struct {
		nation Nation
		day    string
		has    map[string]Severity
		none   []string
	}{
		{England, "2014-01-01", map[string]Severity{"glass_window_inner": Must, "guard": Ask, "glass_bath_code": Advise}, []string{"glass_early", "guard_early"}},
		{England, "2013-12-31", map[string]Severity{"glass_early": Ask, "guard_early": Ask, "glass_bath_code": Advise, "escape_size": Ask}, []string{"glass_window_inner", "glass_clear", "glass_screen", "guard", "guard_clear"}},
		{England, "2006-01-01", map[string]Severity{"glass_bath_code": Advise}, []string{"glass_bath_early"}},
		{England, "2005-12-31", map[string]Severity{"glass_bath_early": Ask, "paper_notify": Advise}, []string{"glass_bath_code"}},
		{Wales, "2013-12-31", map[string]Severity{"glass_window_inner": Must, "guard_unverified": Ask}, []string{"guard", "glass_early"}},
		{Scotland, "2014-01-01", map[string]Severity{"glass_window_inner": Must, "guard": Ask, "unverified": Ask}, []string{"guard_unverified"}},
		{NI, "2005-12-31", map[string]Severity{"glass_window_inner": Must, "guard_unverified": Ask, "glass_bath_early": Ask}, []string{"guard", "glass_bath_code"}},
	} {
		fs := low(c.nation, c.day)
		for name, w := range c.has {
			got := need(t, fs, name, w)
			if w == Ask && name != "escape_size" && name != "guard" {
				require.Empty(t, got.Figures, "no figure is guessed")
			}
		}
		none(t, fs, c.none...)
	}

	f := house() // nothing opens: no guard to ask about
	f.Date, f.Panes[0].Hinge = on("2013-12-31"), calc.FixedLight
	none(t, Findings(f), "guard_early")
}

// Every ruling has the figures of its topic, so no rule reads nothing.
func TestEveryRulingHasItsFigures(t *testing.T) {
	for _, r := range rulings {
		has := map[Topic]bool{
			Glass: r.glass != nil, Bath: r.bath != nil, Guarding: r.guard != nil, Escape: r.escape != nil,
			Vents: r.vents != nil, Purge: r.purge != nil, Heat: r.heat != nil,
			Paper: r.paper != nil, Hazards: r.hazards != nil,
		}
		require.True(t, has[r.topic], "%s in %s", r.topic, r.nation)
		if r.edition != "" {
			require.NotEmpty(t, r.from, "%s in %s names an edition and no first day", r.topic, r.nation)
			require.GreaterOrEqual(t, r.from, r.edition, "%s in %s begins before its edition", r.topic, r.nation)
		}
	}
}

func TestNoNationGetsAnothersDocumentWithoutSayingSo(t *testing.T) {
	own := map[Nation][]string{
		England:  {"ad_k", "ad_b_1", "ad_f_1", "ad_l_1", "building_regulations"},
		Wales:    {"ad_n_wales", "ad_l_wales", "building_regulations"},
		Scotland: {"technical_handbook", "building_scotland"},
		NI:       {"booklet_v", "building_ni"},
	}
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts(t)
		fs := Findings(f)
		_, said := find(fs, "unverified")
		for _, fd := range fs {
			if fd.Document == "" || slices.Contains([]string{"hse", "bs_6262_4", "scheme_guidance", "lead_paint"}, fd.Document) || fd.Rule == "higher_risk" && f.Nation == England || slices.Contains(own[f.Nation], fd.Document) {
				continue
			}
			require.True(t, said, "%s names %s in %s", fd.Rule, fd.Document, f.Nation)
			require.Equal(t, fd.Mark, weaker(fd.Mark, calc.FromMemory), "no better than from memory")
		}
	})
}

// TestNoSentenceIsStrongerThanItsWeakestPart: reg 20 was read, the building
// notice is quoted (S); for Scotland's flats no clause was read; the rating
// band is not given for Scotland.
func TestNoSentenceIsStrongerThanItsWeakestPart(t *testing.T) {
	mark := func(f Facts, rule string) Finding {
		fs := Findings(f)
		i := slices.IndexFunc(fs, func(x Finding) bool { return x.Rule == rule })
		require.GreaterOrEqual(t, i, 0, rule)
		return fs[i]
	}
	f := house()
	require.Equal(t, calc.Quoted, mark(f, "paper_notify").Mark)
	f.Nation, f.Flat = Scotland, true
	flat := mark(f, "paper_scotland_flat")
	require.Equal(t, calc.Quoted, flat.Mark)
	require.Empty(t, flat.Clause)
	require.Equal(t, calc.FromMemory, mark(f, "heat").Mark)
	f = house()
	f.Room, f.Storey, f.GlassAboveOutside = Bedroom, 1, nil
	for _, rule := range []string{"guard_clear", "escape_clear"} {
		require.Equal(t, calc.Practice, mark(f, rule).Mark, "%s: by face widths that have no source", rule)
	}
}

// A topic that the table does not have is not verified anywhere, and says so.
func TestATopicWithoutAnyEdition(t *testing.T) {
	whole := rulings
	defer func() { rulings = whole }()
	for topic := range known {
		rulings = slices.DeleteFunc(slices.Clone(whole), func(r ruling) bool { return r.topic == topic })
		for _, nation := range nations {
			f := askingAll(nation, on("2026-11-25"))
			f.Panes[0].Clear, f.Panes[0].Restrictor = size(710, 1100), mm(100)
			own := slices.DeleteFunc(Findings(f), func(fd Finding) bool { return fd.Topic != topic })
			require.Equal(t, noteNames[topic]+"_unverified", own[0].Rule, "%s in %s", topic, nation)
			require.Equal(t, "nation."+string(nation), own[0].Words["nation"])
		}
	}
}
