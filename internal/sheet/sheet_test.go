package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/ledongthuc/pdf"
	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"
	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// read gives the text of every page, as another PDF library reads it.
func read(t testing.TB, raw []byte) []string {
	t.Helper()
	r, err := pdf.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	var pages []string
	for n := 1; n <= r.NumPage(); n++ {
		text, err := r.Page(n).GetPlainText(nil)
		require.NoError(t, err)
		pages = append(pages, strings.ReplaceAll(text, "\n", ""))
	}
	return pages
}

func orderPDF(t testing.TB, s job.OrderSheet) []byte {
	t.Helper()
	raw, err := printer(english).Order(s)
	require.NoError(t, err)
	return raw
}

// planSheet is the order of plans that belong to no job.
func planSheet(plans []plan.Plan) job.OrderSheet {
	o := order{sheet: job.OrderSheet{SeenFrom: job.SeenFrom}}
	for i, p := range plans {
		l, _ := o.planLine(i+1, p)
		o.sheet.Lines = append(o.sheet.Lines, l)
	}
	return o.sheet
}

func made1(t testing.TB, o plan.Opening) plan.Plan {
	t.Helper()
	p, err := plan.Make(o, calc.DefaultSettings())
	require.NoError(t, err)
	return p
}

func TestTheSameJobGivesTheSameBytes(t *testing.T) {
	s := revised(t, 6, true).OrderCopy()
	k, both := checking(t)
	sheets := map[string]func() ([]byte, error){
		"order": func() ([]byte, error) { return printer(english).Order(s) },
		"check": func() ([]byte, error) { return printer(english).Check(k.CheckCopy(), both) },
		"csv":   func() ([]byte, error) { return printer(english).CSV(s) },
		"json":  func() ([]byte, error) { return printer(english).JSON(s) },
	}
	for name, sheet := range sheets {
		first, err := sheet()
		require.NoError(t, err)
		for range 3 {
			again, err := sheet()
			require.NoError(t, err)
			require.True(t, bytes.Equal(first, again), name)
		}
	}
	later := printer(english)
	later.At = made.Add(time.Hour)
	other, err := later.Order(s)
	require.NoError(t, err)
	require.Contains(t, string(orderPDF(t, s)), made.Format("20060102150405"))
	require.Contains(t, string(other), later.At.Format("20060102150405"))
}

// Check values, D, from the table of "Gaps around windows" (R): white 1200 ×
// 1000 → 1190 × 990; other colour 1800 × 1200 → 1785 × 1185; aluminium 3600 wide → 3585.
func TestThePaperSaysThePublishedSizes(t *testing.T) {
	white := surveyed("White", 1200, 1000, row0(calc.FixedLight)...)
	colour := surveyed("Colour", 1800, 1200, row0(calc.FixedLight)...)
	colour.Material = calc.PVCUColour
	wide := surveyed("Wide", 3600, 1200, row0(calc.FixedLight, calc.FixedLight)...)
	wide.Material = calc.Aluminium
	raw, err := printer(english).Order(planSheet([]plan.Plan{made1(t, white), made1(t, colour), made1(t, wide)}))
	require.NoError(t, err)
	text := strings.Join(read(t, raw), "\n")
	for _, size := range []string{"1190 × 990 mm", "1785 × 1185 mm", "3585 × "} {
		require.Equal(t, 2, strings.Count(text, size), "%s: once in the table of all lines, once in its own block", size)
	}
}

func TestTextCanBeReadBack(t *testing.T) {
	s := revised(t, 6, true).OrderCopy()
	// U+052F stands in the second font file, ы in the first.
	s.Lines[0].Name = "Кухня ԯы Łőș × ½ “”"
	pages := read(t, orderPDF(t, s))
	bare := func(words string) string { return strings.ReplaceAll(words, " ", "") } // a line may end at any space
	text := bare(strings.Join(pages, "\n"))
	for _, l := range s.Lines {
		require.Contains(t, text, bare(l.Name))
		require.Contains(t, text, bare(l.Size.Width.String()+" × "+l.Size.Height.String()+" mm"))
		for _, m := range l.Layout.Mullions {
			require.Contains(t, text, m.String())
		}
		for _, light := range l.Layout.Lights {
			require.Contains(t, text, bare(english(phrase.Of("card.light."+string(light.Hinge)))))
		}
	}
	for _, words := range []string{
		s.Ref, "4-16-4-16-4", "key-locking handles", "Is the sill piece to be", "412.50",
		"22 May 2026", "Fay Fitter", "Lou Lead", "Dee Desk", "1 Invented Row, Nowhere", "grey outside",
	} {
		require.Contains(t, text, bare(words))
	}
	for i, page := range pages {
		require.Contains(t, page, english(phrase.Of("card.advice")))
		require.Contains(t, page, english(phrase.Of("sheet.page").WithInt("page", i+1).WithInt("pages", len(pages))))
		require.Contains(t, page, s.Ref)
	}
}

// The embedded files are read with golang.org/x/image/font/sfnt: each has a
// shape for every letter that is set in it, and is a small part of the whole.
func TestFontsAreEmbeddedAndSubset(t *testing.T) {
	s := revised(t, 2, true).OrderCopy()
	s.Lines[0].Name = "Кухня ԯ"
	raw := orderPDF(t, s)
	r, err := pdf.NewReader(bytes.NewReader(raw), int64(len(raw)))
	require.NoError(t, err)
	fonts := r.Page(2).Resources().Key("Font")
	require.Len(t, fonts.Keys(), 4, "regular, bold, and of each the file with the letter that the first lacks")
	for _, name := range fonts.Keys() {
		f := fonts.Key(name)
		require.False(t, f.Key("ToUnicode").IsNull(), name)
		require.Regexp(t, `^[A-Z]{6}\+`, f.Key("BaseFont").Name(), "the name of a subset, ISO 32000-1 9.6.4")
		file := f.Key("DescendantFonts").Index(0).Key("FontDescriptor").Key("FontFile2")
		require.False(t, file.IsNull(), "%s is not embedded", name)
		ttf, err := io.ReadAll(file.Reader())
		require.NoError(t, err)
		require.Less(t, len(ttf), 150_000, "%s is not subset", name)
		parsed, err := sfnt.Parse(ttf)
		require.NoError(t, err)
		letters := "1234567890 Wwindo×"
		if parsed.NumGlyphs() < 40 {
			letters = "ԯ"
		}
		for _, letter := range letters {
			glyph, err := parsed.GlyphIndex(nil, letter)
			require.NoError(t, err)
			require.NotZero(t, glyph, "%s has no %c", name, letter)
			if letter == ' ' {
				continue
			}
			_, _, err = parsed.GlyphBounds(nil, glyph, fixed.I(100), xfont.HintingNone)
			require.NoError(t, err)
		}
	}
}

func TestNamesAndAddressOnlyWhenShared(t *testing.T) {
	all := func(s job.OrderSheet) string {
		text := strings.Join(read(t, orderPDF(t, s)), "\n")
		raw, err := printer(english).CSV(s)
		require.NoError(t, err)
		data, err := printer(english).JSON(s)
		require.NoError(t, err)
		return text + string(raw) + string(data)
	}
	secrets := []string{"Fay", "Lou", "Invented"}
	hidden, shown := all(revised(t, 3, false).OrderCopy()), all(revised(t, 3, true).OrderCopy())
	for _, secret := range secrets {
		require.NotContains(t, hidden, secret)
		require.Contains(t, shown, secret)
	}
}

// Readings that look like nothing else on the sheet, so that a digit of the
// first measure can't be there by chance.
func TestACheckSheetHasNoFirstFigure(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		at := made.Add(-time.Hour)
		j := begun(t, 0)
		var readings []string
		for k := range 3 {
			w := rapid.Float64Range(611, 3977).Draw(r, "width")
			o := surveyed(fmt.Sprintf("Window %c", 'p'+k), w, w*0.9, row0(calc.FixedLight)...)
			for i := range 3 {
				o.Widths[i], o.Heights[i] = mm(w+float64(i)/8).Round(3), mm(w*0.9+float64(i)/8).Round(3)
				readings = append(readings, o.Widths[i].String(), o.Heights[i].String())
			}
			j = must(t)(add(j, fitter, at, o.Name))
			j = must(t)(store(j, fitter, at, k+1, job.Record{Plan: o}))
		}
		j = must(t)(j.AskCheck(fitter, at))
		text := strings.Join(said(printer(english).checkLayout(j.CheckCopy(), nil)), " ")
		require.Contains(t, text, "Window p")
		for _, reading := range readings {
			whole, _, _ := strings.Cut(reading, ".")
			require.NotContains(t, strings.NewReplacer("2026", "", "123456789", "").Replace(text), whole)
		}
	})
}

func TestACheckSheetComparesWhatBothMeasured(t *testing.T) {
	j, both := checking(t)
	raw, err := printer(english).Check(j.CheckCopy(), both)
	require.NoError(t, err)
	text := strings.Join(read(t, raw), "\n")
	for _, words := range []string{"1802", "1812", "1202", "1195", "Lou Lead", "rising diagonal"} {
		require.Contains(t, text, words)
	}
	require.NotContains(t, text, "1204", "a reading of the first opening, which the lead has not measured")
	require.Contains(t, text, english(phrase.Of("sheet.check.open")), "one reading is not settled")
}

// said are the words of a layout's pages, with the breaks of lines taken out.
func said(l *layout) []string {
	var out []string
	for _, p := range l.pages {
		var words []string
		for _, m := range p.Shapes {
			if m.Words != "" {
				words = append(words, m.Words)
			}
		}
		out = append(out, strings.Join(words, " "))
	}
	return out
}

// What is not an order says so on each page; a line that must not be made says
// so in its heading.
func TestWhatMustNotBeMadeSaysSo(t *testing.T) {
	j := revised(t, 6, true)
	now := said(printer(english).orderLayout(j.OrderCopy()))
	j = must(t)(j.SetCount(fitter, made, 3, 2))
	j = must(t)(j.Delete(fitter, made, 4))
	s := j.OrderCopy()
	require.True(t, s.Held)
	held := english(phrase.Of("sheet.order.held").Saying("revision", "B"))
	for i, page := range said(printer(english).orderLayout(s)) {
		require.Contains(t, page, held, "page %d", i+1)
	}
	all := strings.Join(said(printer(english).orderLayout(s)), " ")
	for _, key := range []string{"sheet.dont.changed", "sheet.dont.deleted"} {
		require.Contains(t, all, english(phrase.Of(key))) // again where the line goes on overleaf
		require.NotContains(t, strings.Join(now, " "), english(phrase.Of(key)))
	}
	require.NotContains(t, strings.Join(now, " "), held)
	for _, page := range said(printer(english).orderLayout(planSheet([]plan.Plan{made1(t, surveyed("x", 1200, 1000, row0(calc.FixedLight)...))}))) {
		require.Contains(t, page, english(phrase.Of("sheet.order.plans_only")))
	}
	unsent := s
	unsent.Held, unsent.Revision = false, ""
	require.Contains(t, said(printer(english).orderLayout(unsent))[0], english(phrase.Of("sheet.order.not_sent")))
}

// AD K 2013 K4 section 5: window glass with any part below 800 mm
// (S) is class 3 of BS EN 12600 (R, para 5.4); a pane over 900 mm wide beside
// a door is class 2.
func TestSafetyGlassSaysClassAndWhy(t *testing.T) {
	low := mm(300)
	o := surveyed("Low", 2300, 1300, row0(calc.FixedLight, calc.FixedLight)...)
	o.AboveFloor = &low
	sheet := planSheet([]plan.Plan{made1(t, o)})
	text := strings.Join(said(printer(english).orderLayout(sheet)), " ")
	class := english(phrase.Of("sheet.class_lights").Sub1("mark", phrase.Of("card.safety.both").WithInt("class", 3)).Saying("numbers", "1, 2"))
	require.Contains(t, text, class)
	require.Contains(t, text, english(phrase.Of("source.ad_k")))
	require.NotContains(t, text, english(phrase.Of("sheet.no_class")))

	o.BesideDoor = true
	require.Equal(t, 2, classes(planSheet([]plan.Plan{made1(t, o)}).Lines[0].Line)[0].mark.Class)

	o.BesideDoor, o.AboveFloor = false, nil
	text = strings.Join(said(printer(english).orderLayout(planSheet([]plan.Plan{made1(t, o)}))), " ")
	require.Contains(t, text, english(phrase.Of("sheet.class_unknown")))
	require.NotContains(t, text, english(phrase.Of("sheet.no_class")), "nothing is cleared that nobody measured")

	// AD K 2013 is not known to hold before 2014.
	high := mm(2000)
	o.AboveFloor, o.AboveOutside, o.Date = &high, &high, "2013-12-31"
	text = strings.Join(said(printer(english).orderLayout(planSheet([]plan.Plan{made1(t, o)}))), " ")
	require.Contains(t, text, english(phrase.Of("sheet.class_unknown")))
	require.NotContains(t, text, english(phrase.Of("sheet.no_class")), "nothing is cleared by an edition that is not known")
	o.Date = "2027-03-24" // the editions of 2021 on heat and vents have ended, and the desk reads it
	ended := planSheet([]plan.Plan{made1(t, o)})
	text = strings.Join(said(printer(english).orderLayout(ended)), " ")
	words := english(phrase.Of("finding.edition_ended").Word("topic", "topic.heat").Word("nation", "nation.england"))
	require.Contains(t, text, words)
	for _, write := range []func(job.OrderSheet) ([]byte, error){printer(english).CSV, printer(english).JSON} {
		raw, err := write(ended)
		require.NoError(t, err)
		require.Contains(t, string(raw), words)
	}
	o.Date = "2014-01-01"
	text = strings.Join(said(printer(english).orderLayout(planSheet([]plan.Plan{made1(t, o)}))), " ")
	require.Contains(t, text, english(phrase.Of("sheet.no_class")))
}

// A plan by itself gives the line that a job would send of it.
func TestAPlanGivesTheLineOfAJob(t *testing.T) {
	for _, r := range records() {
		r.Plan.Layout.Lights = append([]calc.Light(nil), r.Plan.Layout.Lights...)
		want, err := job.NewLine(job.Line{Opening: 1, Name: r.Plan.Name, Quantity: 1}, job.Record{Plan: r.Plan}, calc.DefaultSettings())
		require.NoError(t, err)
		require.Equal(t, want, planSheet([]plan.Plan{made1(t, r.Plan)}).Lines[0].Line)
	}
}

func TestCSVIsOneRowALine(t *testing.T) {
	s := revised(t, 6, true).OrderCopy()
	s.Lines[2].Name = "=HYPERLINK(\"x\")"
	s.Lines[3].Colour = "-1+2, two\nlines"
	raw, err := printer(english).CSV(s)
	require.NoError(t, err)
	raw = bytes.TrimPrefix(raw, []byte("\uFEFF"))
	require.Equal(t, bytes.Count(raw, []byte("\n")), bytes.Count(raw, []byte("\r\n")))
	rows, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, len(s.Lines)+1)
	column := func(row int, name string) string {
		for i, title := range rows[0] {
			if title == name {
				return rows[row][i]
			}
		}
		t.Fatalf("no column %s", name)
		return ""
	}
	for i, l := range s.Lines {
		require.Equal(t, l.Size.Width.String(), column(i+1, "width_mm"))
		require.Equal(t, l.Size.Height.String(), column(i+1, "height_mm"))
		require.Equal(t, fmt.Sprint(l.Quantity), column(i+1, "quantity"))
		require.Equal(t, job.SeenFrom, column(i+1, "seen_from"))
	}
	require.Equal(t, "'=HYPERLINK(\"x\")", column(3, "opening"))
	require.Equal(t, "'-1+2, two lines", column(4, "colour"))
	require.Equal(t, "4-20-4, 28 mm thick", column(1, "glass"), "no spreadsheet takes it for a day")
	require.Equal(t, "2026-05-22", column(1, "due"))
	require.Equal(t, "412.50", column(1, "price_each"))
	require.Contains(t, column(3, "safety_class"), "3")
}

func TestInertCells(t *testing.T) {
	for cell, want := range map[string]string{
		"": "", "white": "white", "1190": "1190", "-3": "-3", "+3.5": "+3.5", "-3,5": "-3,5", "=1": "'=1", "@x": "'@x",
		"+x": "'+x", "-": "'-", "-3-4": "'-3-4", " =1": "' =1", "\t=1": "'\t=1", "\rx": "'\rx", "＝1": "'＝1", "\u200b=1": "'\u200b=1",
		"a=1": "a=1", "1-2": "'1-2", "2026-05-22": "2026-05-22", "10:30": "'10:30",
	} {
		require.Equal(t, want, inert(cell), "%q", cell)
	}
}

func FuzzInert(f *testing.F) {
	f.Add("=1+1")
	f.Add(" -x")
	f.Add("\r")
	f.Fuzz(func(t *testing.T, cell string) {
		out := inert(cell)
		if out != cell && out != "'"+cell {
			t.Fatalf("%q became %q", cell, out)
		}
		if out != "" && strings.ContainsRune("=+-@\t\r", rune(out[0])) {
			if _, err := decimal.NewFromString(strings.Replace(out, ",", ".", 1)); err != nil {
				t.Fatalf("%q still begins like a formula", out)
			}
		}
	})
}

func TestJSONHasTheFiguresAsDecimals(t *testing.T) {
	s := revised(t, 6, true).OrderCopy()
	raw, err := printer(english).JSON(s)
	require.NoError(t, err)
	var got struct {
		Ref, Revision, Advice string
		Changes               []string
		Lines                 []struct {
			Quantity      int
			Width, Height string
			Lights        []struct {
				Hinge calc.Hinge
				Class int `json:"safety_class"`
			}
			Asked []struct{ Rule, Text string }
		}
	}
	require.NoError(t, json.Unmarshal(raw, &got))
	require.Equal(t, s.Ref, got.Ref)
	require.Equal(t, "B", got.Revision)
	require.Len(t, got.Changes, len(s.Changes))
	require.NotEmpty(t, got.Advice)
	require.Len(t, got.Lines, len(s.Lines))
	for i, l := range s.Lines {
		require.Equal(t, l.Size.Width.String(), got.Lines[i].Width)
		require.Equal(t, l.Size.Height.String(), got.Lines[i].Height)
		require.Equal(t, l.Quantity, got.Lines[i].Quantity)
		for n, light := range l.Layout.Lights {
			require.Equal(t, light.Hinge, got.Lines[i].Lights[n].Hinge)
			class, _, _ := l.SafetyClass(n)
			require.Equal(t, class, got.Lines[i].Lights[n].Class)
		}
		for _, f := range got.Lines[i].Asked {
			require.NotContains(t, f.Text, "[", f.Rule)
		}
	}
	require.Equal(t, 3, got.Lines[2].Lights[0].Class, "the low glass of the stairs")
}

func TestWhatCannotBePrinted(t *testing.T) {
	s := revised(t, 2, true).OrderCopy()
	type maker func(Printer, job.OrderSheet) ([]byte, error)
	for name, make := range map[string]maker{"pdf": Printer.Order, "csv": Printer.CSV, "json": Printer.JSON} {
		_, err := make(printer(english), job.OrderSheet{Ref: s.Ref})
		require.ErrorIs(t, err, ErrNoLines, name)
		_, err = make(Printer{Say: english}, s)
		require.ErrorIs(t, err, ErrNoTime, name)
		_, err = make(printer(english), job.OrderSheet{Lines: []job.SheetLine{{Line: job.Line{Name: "x"}}}})
		require.ErrorIs(t, err, ErrNoFrame, name)
	}
	_, err := printer(english).Order(planSheet(nil))
	require.ErrorIs(t, err, ErrNoLines)
	_, err = printer(english).Check(job.CheckSheet{}, nil)
	require.ErrorIs(t, err, ErrNoLines)
	_, err = Printer{Say: english}.Check(job.CheckSheet{Openings: []job.CheckOpening{{ID: 1}}}, nil)
	require.ErrorIs(t, err, ErrNoTime)
}

func TestDaysAreThoseOfTheReadersZone(t *testing.T) {
	s := revised(t, 2, true).OrderCopy()
	s.Sent = time.Date(2026, 5, 3, 23, 30, 0, 0, time.UTC)
	p := printer(english)
	require.Contains(t, said(p.orderLayout(s))[0], "Sent 3 May 2026")
	p.At = p.At.In(time.FixedZone("", 3600))
	require.Contains(t, said(p.orderLayout(s))[0], "Sent 4 May 2026")
}

// A job of 200 openings: issue 5 asks for a sheet in under 2 s.
func BenchmarkOrderOf200(b *testing.B) {
	s := revised(b, 200, true).OrderCopy()
	b.ReportAllocs()
	for b.Loop() {
		raw, err := printer(english).Order(s)
		if err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(len(raw)))
	}
}

func BenchmarkCheckOf200(b *testing.B) {
	j := begun(b, 200)
	j = must(b)(j.AskCheck(fitter, made))
	for b.Loop() {
		if _, err := printer(english).Check(j.CheckCopy(), nil); err != nil {
			b.Fatal(err)
		}
	}
}
