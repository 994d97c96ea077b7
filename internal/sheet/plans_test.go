package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/scene"
)

// twice is an opening of which there are two, held one whose lintel nobody
// saw, and none one that has no plan.
func twice(t testing.TB) plan.Plan {
	o := surveyed("twice", 1200, 1000, row0(calc.FixedLight)...)
	o.Count = 2
	return made1(t, o)
}

func held(t testing.TB) plan.Plan {
	o := surveyed("=held", 900, 1000, row0(calc.SideLeft)...)
	o.NoLintel = true
	p := made1(t, o)
	require.NotEmpty(t, p.Holds())
	return p
}

func none(t testing.TB) phrase.Text {
	why, ok := plan.WhyRefused(plan.FieldErrors{{Field: "gauge", Why: "must be from 40 to 1000"}})
	require.True(t, ok)
	return why
}

// planned is a sheet of the three, with an opening of the file between.
func planned(t testing.TB, form string) []byte {
	var out bytes.Buffer
	s, err := printer(english).Plans(&out, form)
	require.NoError(t, err)
	require.NoError(t, s.Add(1, twice(t)))
	require.NoError(t, s.Refuse(2, "attic", none(t)))
	require.NoError(t, s.Add(4, held(t)))
	require.NoError(t, s.Close())
	return out.Bytes()
}

const whyNone = "The file says what no opening can have: gauge must be from 40 to 1000."

func TestASheetOfPlansOnPaper(t *testing.T) {
	pages := read(t, planned(t, ".pdf"))
	require.Len(t, pages, 2, "the lines begin on a page of their own")
	for i, page := range pages {
		require.Contains(t, page, fmt.Sprintf("Page %d of 2", i+1))
		require.Contains(t, page, "NOT AN ORDER YET")
	}
	require.Contains(t, pages[0], "3 (lines: 2)", "two alike and one")
	require.Contains(t, pages[0], "1 opening of the file is not on this sheet")
	require.Contains(t, pages[0], "attic")
	require.Contains(t, strings.ReplaceAll(pages[0], " ", ""), strings.ReplaceAll(whyNone, " ", ""))
	require.Contains(t, pages[0], "on hold")
	require.NotContains(t, pages[0], "DO NOT MAKE")
	require.Equal(t, 1, strings.Count(pages[1], "DO NOT MAKE."), "the one that is held")
	why := english(held(t).Holds()[0].Text)
	require.Contains(t, strings.ReplaceAll(pages[1], " ", ""), strings.ReplaceAll(why, " ", ""))
	require.Less(t, strings.Index(pages[1], "twice"), strings.Index(pages[1], "DO NOT MAKE."))
	require.NotContains(t, pages[1], "attic")
}

func TestASheetOfPlansAsCSV(t *testing.T) {
	raw := planned(t, ".csv")
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(raw), "\uFEFF"))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 4)
	cell := func(row int, column string) string { return rows[row][slices.Index(rows[0], column)] }
	require.Equal(t, []string{"1", "2", "4"}, []string{cell(1, "line"), cell(2, "line"), cell(3, "line")})
	require.Equal(t, []string{"2", "0", "1"}, []string{cell(1, "quantity"), cell(2, "quantity"), cell(3, "quantity")})
	require.Equal(t, []string{"false", "true", "true"}, []string{cell(1, "held"), cell(2, "held"), cell(3, "held")})
	require.Equal(t, "1190", cell(1, "width_mm"))
	require.Empty(t, cell(1, "hold"))
	require.Equal(t, "no_plan", cell(2, "state"))
	require.Empty(t, cell(2, "width_mm"))
	require.Equal(t, whyNone, cell(2, "hold"))
	require.Equal(t, english(held(t).Holds()[0].Text), cell(3, "hold"))
	require.Equal(t, "'=held", cell(3, "opening"))
}

func TestASheetOfPlansForPrograms(t *testing.T) {
	raw := planned(t, ".json")
	var got struct {
		SeenFrom string `json:"seen_from"`
		Lines    []struct {
			Line, Quantity int
			Opening, Width string
			Hold           []string
		}
		NoPlan []struct {
			Line         int
			Opening, Why string
		} `json:"no_plan"`
	}
	require.NoError(t, json.Unmarshal(raw, &got))
	require.Equal(t, "outside", got.SeenFrom)
	require.Len(t, got.Lines, 2)
	require.Equal(t, 2, got.Lines[0].Quantity)
	require.Equal(t, "1190", got.Lines[0].Width)
	require.Empty(t, got.Lines[0].Hold)
	require.Equal(t, 4, got.Lines[1].Line)
	require.Equal(t, []string{english(held(t).Holds()[0].Text)}, got.Lines[1].Hold)
	require.Len(t, got.NoPlan, 1)
	require.Equal(t, "attic", got.NoPlan[0].Opening)
	require.Equal(t, whyNone, got.NoPlan[0].Why)

	// Indented as the order of a job is.
	var again bytes.Buffer
	require.NoError(t, json.Indent(&again, raw, "", "  "))
	require.Equal(t, again.String(), string(raw))
}

func TestASheetOfNothingButRefusals(t *testing.T) {
	for _, form := range []string{".pdf", ".csv", ".json"} {
		var out bytes.Buffer
		s, err := printer(english).Plans(&out, form)
		require.NoError(t, err)
		require.ErrorIs(t, s.Close(), ErrNoLines, form)
		s, err = printer(english).Plans(&out, form)
		require.NoError(t, err)
		require.ErrorIs(t, s.Add(1, plan.Plan{}), ErrNoFrame, form)
		out.Reset()
		s, err = printer(english).Plans(&out, form)
		require.NoError(t, err)
		require.NoError(t, s.Refuse(1, "none", none(t)))
		require.NoError(t, s.Close())
		switch form {
		case ".pdf":
			require.Contains(t, read(t, out.Bytes())[0], "none")
		case ".json":
			require.True(t, json.Valid(out.Bytes()), out.String())
		}
	}
	_, err := printer(english).Plans(io.Discard, ".png")
	require.ErrorIs(t, err, ErrNoForm)
	_, err = Printer{Say: english}.Plans(io.Discard, ".pdf")
	require.ErrorIs(t, err, ErrNoTime)
}

// full is a disk with room for n bytes.
type full struct{ n int }

var errFull = errors.New("no room")

func (f *full) Write(p []byte) (int, error) {
	if f.n -= len(p); f.n < 0 {
		return 0, errFull
	}
	return len(p), nil
}

func TestAFullDiskIsTold(t *testing.T) {
	for _, form := range []string{".pdf", ".csv", ".json"} {
		whole := len(planned(t, form))
		for _, room := range []int{0, 200, whole - 1} {
			s, err := printer(english).Plans(&full{room}, form)
			if err == nil {
				err = errors.Join(s.Add(1, twice(t)), s.Refuse(2, "attic", none(t)), s.Add(4, held(t)), s.Close())
			}
			require.ErrorIs(t, err, errFull, "%s, %d bytes", form, room)
		}
	}
}

// Nothing leaves its page or lies on anything else, in long words too.
func TestTheLayoutOfASheetOfPlans(t *testing.T) {
	var wrong plan.FieldErrors
	for i := range 100 {
		wrong = append(wrong, &plan.FieldError{Field: fmt.Sprintf("layout.lights[%d].hinge", i), Why: "must be one of fixed, side-left, side-right"})
	}
	why, _ := plan.WhyRefused(wrong)
	for name, say := range map[string]func(phrase.Text) string{"english": english, "compound": compound, "cyrillic": cyrillic} {
		s, err := printer(say).Plans(io.Discard, ".pdf")
		require.NoError(t, err)
		p := s.(*planPDF)
		var pages []*scene.Scene
		collect := func(s *scene.Scene) { pages = append(pages, s) }
		p.lines.full = collect
		for i := range 60 {
			switch i % 3 {
			case 0:
				require.NoError(t, s.Add(i+1, twice(t)))
			case 1:
				require.NoError(t, s.Refuse(i+1, strings.Repeat("none ", 40), why))
			default:
				require.NoError(t, s.Add(i+1, held(t)))
			}
		}
		p.lines.end()
		p.front(collect)
		checkLayout(t, name, &layout{pages: pages})
	}
}

// What is alive after 100 lines and after 1000 is nearly the same: a row of the
// first table is kept of each, and where its page is.
func TestASheetOfManyPlansStaysSmall(t *testing.T) {
	alive := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	for _, form := range []string{".pdf", ".csv", ".json"} {
		s, err := printer(english).Plans(io.Discard, form)
		require.NoError(t, err)
		one, two := twice(t), held(t)
		var early uint64
		for i := range 500 {
			require.NoError(t, s.Add(2*i+1, one))
			require.NoError(t, s.Add(2*i+2, two))
			if i == 50 {
				early = alive()
			}
		}
		const perLine = 600 // a page alone has some 60 KB of shapes
		require.Less(t, alive(), early+900*perLine, form)
		require.NoError(t, s.Close())
	}
}
