package sheet

import (
	"strings"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/day"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// sealed is a job whose first window is fitted, with readings of its day.
func sealed(t testing.TB, shared bool, read ...opening.Entry) job.Job {
	t.Helper()
	j := revised(t, 2, shared)
	for _, do := range []job.Action{job.DoDeliver, job.DoTakeOut, job.DoFit, job.DoGlaze, job.DoSeal} {
		j = must(t)(j.Advance(fitter, made, 1, do))
	}
	if len(read) == 0 {
		return j
	}
	j, err := j.OnDay(fitter, made, 1, read...)
	require.NoError(t, err)
	return j
}

func reads(key, value string) opening.Entry {
	return opening.Entry{Act: opening.Set, Key: key, Value: value}
}

func fileText(t testing.TB, s job.FileSheet) string {
	t.Helper()
	_, err := printer(english).File(s)
	require.NoError(t, err)
	text := strings.Join(strings.Fields(strings.Join(said(printer(english).fileLayout(s)), " ")), " ")
	require.NotContains(t, text, "<no value>")
	return text
}

// flat is a text as it stands on a page.
func flat(t phrase.Text) string { return strings.Join(strings.Fields(english(t)), " ") }

// Whoever reads the file holds each finding against its source: every one stands there
// with its document, clause and edition, and with its own mark and no better one.
func TestTheFileSaysOfEachFindingHowFarItMayBeTrusted(t *testing.T) {
	s := day.File(sealed(t, true))
	require.Len(t, s.Windows, 1)
	text := fileText(t, s)
	findings := append(append([]safety.Finding{}, s.Windows[0].Findings...), s.Whole...)
	require.NotEmpty(t, findings)
	for _, f := range findings {
		require.NotEqual(t, safety.Hazards, f.Topic, f.Rule)
		require.Contains(t, text, flat(plan.FindingText(f)), f.Rule)
		after := text[strings.Index(text, flat(plan.FindingText(f)))+len(flat(plan.FindingText(f))):]
		if source, ok := plan.SourceText(f); ok {
			require.True(t, strings.HasPrefix(strings.TrimSpace(after), flat(source)), "%s: %.120s", f.Rule, after)
			mark := "mark." + string(f.Mark)
			if f.Own != "" && (f.Mark == calc.FromMemory || f.Mark == calc.Practice) {
				mark = "mark.with." + string(f.Mark) // weaker here than its source
			}
			require.Contains(t, flat(source), english(phrase.Of(mark)), f.Rule)
		} else {
			require.True(t, strings.HasPrefix(strings.TrimSpace(after), "("+english(phrase.Of("mark."+string(f.Mark)))+")"), "%s: %.120s", f.Rule, after)
		}
	}
	require.Contains(t, text, "so that the order could be made by it")
	require.NotContains(t, text, "Settle it before ordering")
	require.NotContains(t, text, "Put it on the order")
	require.Contains(t, text, "It certifies nothing")
	require.NotContains(t, strings.ToLower(text), "complies")
}

// How a window is used and kept is common practice, and every sentence of it says so.
func TestTheFileSaysThatCareIsCommonPractice(t *testing.T) {
	text := fileText(t, day.File(sealed(t, true)))
	for _, code := range []string{"way_out", "locks", "drains", "moving", "clean", "mist"} {
		require.Contains(t, text, english(phrase.Of("sheet.care."+code))+" (common practice, no source)")
	}
	require.Contains(t, text, "The maker's paper comes first.")
}

// What nobody looked at is said, and nothing is made of it.
func TestTheFileSaysWhatNobodyLookedAt(t *testing.T) {
	text := fileText(t, day.File(sealed(t, true)))
	require.Contains(t, text, "The frame that came was not measured.")
	require.Contains(t, text, "Number, where one is due:")
	require.Contains(t, text, "No snag was written down.")
	require.Contains(t, text, "3 windows alike.")
	for _, part := range []string{"the frame that came", "the look before it comes out", "level, plumb and square", "the widths after the screws"} {
		require.Contains(t, text, "Nobody wrote it down: "+part)
	}
	require.NotContains(t, text, "Nobody wrote it down: the last look", "its time is not past")
	text = fileText(t, day.File(sealed(t, true, reads("setting.sill", "level"), reads("setting.left", "level"))))
	require.Contains(t, text, "The sill is level. (a PVC-U mounting sheet")
	require.Contains(t, text, "Not written down to the end: level, plumb and square")
	require.NotContains(t, text, "Sill: true")

	text = fileText(t, day.File(sealed(t, true, reads("lastlook.screws", opening.Skipped), reads("lastlook.board", "ok"), reads("lastlook.rubbish", "a bag is left"))))
	require.Contains(t, text, "Sill screw heads sealed: not looked at")
	require.Contains(t, text, "Looked at and all right: Inside board")
	require.Contains(t, text, "Rubbish away: a bag is left (snag 1.1)")
	require.Contains(t, text, "▸ 1.1 Rubbish away: a bag is left")
	require.NotContains(t, text, "No snag")
}

// The frame as it was measured stands there, each figure with the source of its limit.
func TestTheFileSaysWhatWasMeasured(t *testing.T) {
	j := sealed(t, true)
	o, _ := j.Find(1)
	line, ok := o.Told()
	require.True(t, ok)
	wide := line.Size.Width.Add(decimal.NewFromInt(1))
	j, err := j.OnDay(fitter, made, 1, reads("frame.width", wide.String()), reads("frame.height", line.Size.Height.String()),
		reads("frame.rising", opening.Skipped), reads("frame.falling", opening.Skipped), reads("frame.twist", opening.Skipped), reads("frame.hand", "asdrawn"),
		reads("frame.mark", "marked"), reads("frame.vent", "vented"))
	require.NoError(t, err)
	text := fileText(t, day.File(j))
	came := flat(phrase.Of("card.size").With("width", wide).With("height", line.Size.Height))
	require.Contains(t, text, came+", as measured when it came")
	require.Contains(t, text, "1 mm too long for")
	require.Contains(t, text, "VinduesIndustrien, technical provisions, 6.4.1 and 9; read there)")
}

// Names stand there where they are shared, and the address as it was typed.
func TestTheFileNamesPeopleOnlyWhereNamesAreShared(t *testing.T) {
	text := fileText(t, day.File(sealed(t, false)))
	require.NotContains(t, text, fitter.Name)
	require.NotContains(t, text, lead.Name)
	require.Contains(t, text, "the fitter, ")
	require.Contains(t, text, "1 Invented Row, Nowhere")
	text = fileText(t, day.File(sealed(t, true)))
	require.Contains(t, text, fitter.Name+" (the fitter)")
	require.Contains(t, text, lead.Name+" (the crew lead)")
}

func TestTheFileTakesTheCertificatesNumber(t *testing.T) {
	j, err := sealed(t, true).Keep(fitter, made, 1, job.Certificate("2026-1234", "2026-12-03")...)
	require.NoError(t, err)
	require.Contains(t, fileText(t, day.File(j)), "Number 2026-1234, 3 December 2026, as it was written down here")
	_, err = printer(english).File(job.FileSheet{})
	require.ErrorIs(t, err, ErrNoLines)
	_, err = Printer{Say: english}.File(day.File(j))
	require.ErrorIs(t, err, ErrNoTime)
}

// Long words and many windows keep inside the page.
func TestTheFileKeepsInsideThePage(t *testing.T) {
	j := sealed(t, true, reads("lastlook.rubbish", strings.Repeat("a bag is left ", 8)))
	l := printer(compound).fileLayout(day.File(j))
	for n, p := range l.pages {
		for _, m := range p.Shapes {
			require.LessOrEqual(t, m.Box.Y, pageHeight, "page %d: %q", n+1, m.Words)
		}
	}
}

// A quotation's lines add up to its sums, and it says what it is not.
func TestTheQuotationAddsUp(t *testing.T) {
	j := revised(t, 2, true)
	terms := job.Terms{Rate: decimal.NewFromInt(38), Hours: decimal.NewFromInt(6), Stores: decimal.NewFromInt(25), Money: calc.DefaultMoneySettings()}
	s, err := j.Quotation(terms)
	require.NoError(t, err)
	// Three windows at 412.50, 18 h at 38, stores at 25 each: 1237.50 + 684 + 75.
	require.Equal(t, "1996.5", s.Sum.Net.String())
	require.Equal(t, "399.3", s.Sum.VAT.String())
	require.Equal(t, "2395.8", s.Sum.Gross.String())
	require.Equal(t, []int{2}, s.Open)
	text := strings.Join(strings.Fields(strings.Join(said(printer(english).quoteLayout(s)), " ")), " ")
	for _, want := range []string{"Quotation", "£1237.50", "£684.00", "£75.00", "£2395.80", "not a tax invoice", "without a price: window 2", "firm, name, day; good until", "Agreed: customer"} {
		require.Contains(t, text, want)
	}
	_, err = printer(english).Quote(s)
	require.NoError(t, err)
	_, err = printer(english).Quote(job.QuoteSheet{})
	require.ErrorIs(t, err, ErrNoLines)
}
