package safety

import (
	"encoding/json"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/locales"
)

// span is the days on which an edition is known here. England's may be lent to
// nations that have none, which must be said.
type span struct {
	document, from, until string
	lent                  bool
}

// known are the documents by topic and nation, with the first day and the day
// after the last. AD K 2013, BS 6262-4:2005, AD L of Wales 2022 and Scotland's
// handbook of 2023 count from the year after, because the day was not verified;
// AD L 2021 from 2022-06-15 (S), and AD L 2026 from 2027-03-24 (S). AD F goes
// with AD L (M). Where no nation stands, the rule is not verified there.
var known = map[Topic]map[Nation]span{
	Glass: {
		England: {"ad_k", "2014-01-01", "", false}, Wales: {"ad_n_wales", "", "", false},
		Scotland: {"technical_handbook", "", "", false}, NI: {"booklet_v", "", "", false},
	},
	Bath: {
		England: {"bs_6262_4", "2006-01-01", "", false}, Wales: {"bs_6262_4", "2006-01-01", "", false},
		Scotland: {"bs_6262_4", "2006-01-01", "", false}, NI: {"bs_6262_4", "2006-01-01", "", false},
	},
	Guarding: {England: {"ad_k", "2014-01-01", "", true}},
	Escape:   {England: {"ad_b_1", "", "", true}, Scotland: {"technical_handbook", "", "", false}},
	Vents:    {England: {"ad_f_1", "2022-06-15", "2027-03-24", false}},
	Purge:    {England: {"ad_f_1", "2022-06-15", "2027-03-24", false}, Scotland: {"technical_handbook", "", "", false}},
	Heat: {
		England: {"ad_l_1", "2022-06-15", "2027-03-24", false}, Wales: {"ad_l_wales", "2023-01-01", "", false},
		Scotland: {"technical_handbook", "2024-01-01", "", false},
	},
	Paper: {
		England: {"building_regulations", "", "", false}, Wales: {"building_regulations", "", "", false},
		Scotland: {"building_scotland", "", "", false}, NI: {"building_ni", "", "", false},
	},
}

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
		s.document = lender.document
	}
	for _, fd := range verdicts {
		require.Equal(t, s.document, fd.Document, "%s: %s", name, fd.Rule)
		if borrowed || s.until != "" && day >= s.until {
			require.Equal(t, calc.FromMemory, fd.Mark, "%s: %s", name, fd.Rule)
			require.NotEqual(t, Clear, fd.Severity, "%s: %s", name, fd.Rule)
		}
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
			Rule: "glass_bath", Severity: Must, Topic: Bath, OnOrder: true, Lights: []int{1},
			Document: "bs_6262_4", Edition: "2005", Mark: calc.Quoted,
		},
		`{"rule":"unverified","weight":"ask","words":{"nation":"nation.wales","topic":"topic.escape"},"mark":"M"}`: {
			Rule: "unverified", Severity: Ask, Topic: Escape, OnOrder: true,
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
			require.Equal(t, outcome{topic, Ask, true}, outcomes[name+end])
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
