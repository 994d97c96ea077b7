package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"sillbot/internal/sheet"
)

// planned runs bot plan.
func planned(t *testing.T, in string, args ...string) (out string, err error) {
	t.Helper()
	out, _, err = plannedBeside(t, in, args...)
	return out, err
}

// plannedBeside runs bot plan and gives what it says beside its output too.
func plannedBeside(t *testing.T, in string, args ...string) (out, beside string, err error) {
	t.Helper()
	var stdout, errs bytes.Buffer
	err = run(within(t, 5*time.Minute), append([]string{"plan"}, args...), strings.NewReader(in), &stdout, &errs)
	return stdout.String(), errs.String(), err
}

// oneRefused is how the sample file ends: one of its openings has no plan.
const oneRefused = "4 openings: 1 refused, 0 that must not be ordered"

const openingsFile = "testdata/openings.json"

// openings are those of the sample file, each by itself.
func openings(t *testing.T) []json.RawMessage {
	t.Helper()
	raw, err := os.ReadFile(openingsFile)
	require.NoError(t, err)
	var list []json.RawMessage
	require.NoError(t, json.Unmarshal(raw, &list))
	require.NotEmpty(t, list)
	return list
}

func TestPlanReadsAnArrayAndAStreamAlike(t *testing.T) {
	list := openings(t)
	fromFile, err := planned(t, "", openingsFile)
	require.EqualError(t, err, oneRefused)
	require.Len(t, strings.Split(strings.TrimSpace(fromFile), "\n"), len(list), "a line for each opening")

	var spread, lines strings.Builder
	for _, o := range list {
		spread.Write(o)
		var tight bytes.Buffer
		require.NoError(t, json.Compact(&tight, o))
		lines.WriteString(tight.String() + "\n")
	}
	for name, in := range map[string]string{"one after another": spread.String(), "a line each": lines.String()} {
		out, err := planned(t, in, "-")
		require.EqualError(t, err, oneRefused, name)
		require.Equal(t, fromFile, out, name)
	}
}

// Check values, D: worked out from the table of the
// structural-warranty technical article "Gaps around windows", R.
func TestPlanGivesTheSizesOfTheTable(t *testing.T) {
	out, err := planned(t, "", openingsFile)
	require.EqualError(t, err, oneRefused)
	type size struct{ Width, Height string }
	want := map[string]size{
		"square, white": {"1190", "990"},  // white 1200 × 1000
		"square, grey":  {"1785", "1185"}, // other colour 1800 × 1200
	}
	found := 0
	for line := range strings.Lines(out) {
		var report struct {
			Name  string
			Order struct {
				Width, Height string
				Sum           []struct{ Dimension, Amount string }
			}
		}
		require.NoError(t, json.Unmarshal([]byte(line), &report))
		if s, ok := want[report.Name]; ok {
			found++
			require.Equal(t, s, size{report.Order.Width, report.Order.Height}, report.Name)
		}
	}
	require.Equal(t, len(want), found)
}

func TestPlanRefusesByFieldName(t *testing.T) {
	change := func(name string, value any) string {
		o := map[string]any{}
		require.NoError(t, json.Unmarshal(openings(t)[0], &o))
		o[name] = value
		raw, err := json.Marshal(o)
		require.NoError(t, err)
		return string(raw)
	}
	good := string(openings(t)[0])
	for _, c := range []struct{ in, names string }{
		{change("widht", 1200), "widht"},
		{change("nation", "atlantis"), "nation"},
		{change("material", "cheese"), "material"},
		{change("finish", "gold"), "finish"},
		{change("room", "cellar"), "room"},
		{change("date", "25/11/2026"), "date"},
		{change("date", "2026-02-30"), "date"},
		{change("widths", []any{1204, 0, 1203}), "widths[1]"},
		{change("heights", []any{1204, 1204, -3}), "heights[2]"},
		{change("heights", []any{1204, 1204, 20001}), "heights[2]"},
		{change("storey", -1), "storey"},
		{change("storey", "ground"), "storey"},
		{change("panes", []any{4, 99}), "panes[1]"},
		{change("falling", 0), "falling"},
		{change("layout", map[string]any{"lights": []any{}}), "layout.lights"},
		{change("layout", map[string]any{"lights": []any{map[string]any{"hinge": "loose"}}}), "layout.lights[0].hinge"},
	} {
		// It is counted, and those before and behind it stand.
		out, beside, err := plannedBeside(t, "["+good+","+c.in+","+good+"]", "-")
		require.EqualError(t, err, "3 openings: 1 refused, 0 that must not be ordered", "%s", c.in)
		require.Contains(t, beside, "Opening 2: front bay left: no plan. The file says what no opening can have: "+c.names)
		require.Equal(t, 1, strings.Count(beside, "\n"))
		reports := reportsOf(t, out)
		require.Len(t, reports, 3)
		for i, r := range reports {
			require.Equal(t, i+1, r.Position)
			require.Equal(t, "front bay left", r.Name)
			require.Equal(t, i == 1, r.Refused != nil)
			require.Equal(t, i != 1, r.Order != nil)
		}
		require.Equal(t, c.names, reports[1].Errors[0].Field)
	}
	for _, in := range []string{"", "  \n", "[" + good, good[:len(good)-1], "[" + good + "] x"} {
		_, err := planned(t, in, "-")
		require.Error(t, err, "%q", in)
	}
	_, err := planned(t, "", filepath.Join(t.TempDir(), "nothing.json"))
	require.ErrorIs(t, err, os.ErrNotExist)
	_, err = planned(t, "")
	require.Error(t, err, "no file")
}

// report is what the tests look at in a line of output.
type report struct {
	Position, Count int
	Name            string
	Refused         *struct{ Rule, Text string }
	Errors          []struct{ Field, Why string }
	Hold            []struct{ Rule, Text, Source, Mark string }
	Order           json.RawMessage
}

func reportsOf(t *testing.T, out string) []report {
	t.Helper()
	var all []report
	for line := range strings.Lines(out) {
		var r report
		require.NoError(t, json.Unmarshal([]byte(line), &r), line)
		all = append(all, r)
	}
	return all
}

// shownFile is an invented job with a slipped reading and an opening wider than
// any table.
const shownFile = "../../testdata/openings.json"

func TestPlanHoldsWhatMustNotBeOrdered(t *testing.T) {
	out, beside, err := plannedBeside(t, "", shownFile)
	require.EqualError(t, err, "6 openings: 1 refused, 1 that must not be ordered")
	reports := reportsOf(t, out)
	require.Len(t, reports, 6)
	for i, r := range reports {
		require.Equal(t, i+1, r.Position)
		require.Equal(t, i == 4, r.Hold != nil, r.Name)
		require.Equal(t, i == 5, r.Refused != nil, r.Name)
	}
	require.Equal(t, "readings", reports[4].Hold[0].Rule)
	require.Equal(t, "The readings can't all be right. Measure again: right height.", reports[4].Hold[0].Text)
	require.NotEmpty(t, reports[4].Order, "the plan stands beside it")
	require.Contains(t, beside, "Opening 5: hall, a reading slipped: must not be ordered. "+reports[4].Hold[0].Text+"\n")
	require.Contains(t, beside, "Opening 6: wider than the table: no plan. "+reports[5].Refused.Text+"\n")

	out, err = planned(t, "", "--text", "--job", shownFile)
	require.Error(t, err)
	require.Contains(t, out, "Opening 5: hall, a reading slipped\n")
	require.Contains(t, out, "Do not order from this yet. "+reports[4].Hold[0].Text)
	require.Contains(t, out, "Opening 6: wider than the table\nI can't give a size. ")
	require.Contains(t, out, "1 entry must not be ordered yet. It is in these sums.")

	out, err = planned(t, "", "--job", shownFile)
	require.Error(t, err)
	last := out[strings.LastIndex(strings.TrimSpace(out), "\n")+1:]
	var sums struct {
		Job struct{ Openings, Refused, Held int }
	}
	require.NoError(t, json.Unmarshal([]byte(last), &sums))
	require.Equal(t, 6, sums.Job.Openings)
	require.Equal(t, 1, sums.Job.Refused)
	require.Equal(t, 1, sums.Job.Held)
}

// What a rule stops is held too, with the rule's document.
func TestPlanHoldsWhatARuleStops(t *testing.T) {
	o := map[string]any{}
	require.NoError(t, json.Unmarshal(openings(t)[0], &o))
	o["no_lintel"] = true
	raw, err := json.Marshal(o)
	require.NoError(t, err)
	out, err := planned(t, string(raw), "-")
	require.EqualError(t, err, "1 opening: 0 refused, 1 that must not be ordered")
	holds := reportsOf(t, out)[0].Hold
	require.Len(t, holds, 1)
	require.Equal(t, "no_lintel", holds[0].Rule)
	require.NotEmpty(t, holds[0].Text)
}

// The order of the output is that of the file, however long each opening takes,
// and many are refused among them.
func TestPlanKeepsTheOrderOfTheFile(t *testing.T) {
	list := openings(t)
	var in strings.Builder
	const many = 300
	for i := range many {
		switch {
		case i%7 == 3:
			in.WriteString(`{"name":"none"}`)
		default:
			in.Write(list[i%3])
		}
		in.WriteString("\n")
	}
	out, beside, err := plannedBeside(t, in.String(), "-")
	require.Error(t, err)
	reports := reportsOf(t, out)
	require.Len(t, reports, many)
	refused := 0
	for i, r := range reports {
		require.Equal(t, i+1, r.Position)
		require.Equal(t, i%7 == 3, r.Refused != nil)
		if r.Refused != nil {
			require.Greater(t, len(r.Errors), 5, "all that is missing is told")
			refused++
		}
	}
	require.Equal(t, refused, strings.Count(beside, "no plan"))
}

func TestPlanRefusesASecondJobAndOneTooManyRooms(t *testing.T) {
	good := string(openings(t)[0])
	out, err := planned(t, `{"job":{}}`+good+`{"job":{}}`+good, "--job", "-")
	require.ErrorContains(t, err, "job: stands there a second time")
	reports := reportsOf(t, out)
	require.Len(t, reports, 2, "no sums: nobody knows of what")
	require.Nil(t, reports[0].Refused)
	require.Equal(t, "job", reports[1].Errors[0].Field)

	var in strings.Builder
	for i := range 1002 {
		in.WriteString(strings.Replace(good, "{", fmt.Sprintf(`{"room_name":"room %d",`, i), 1))
	}
	out, err = planned(t, in.String(), "--job", "-")
	require.EqualError(t, err, "1002 openings: 2 refused, 0 that must not be ordered")
	require.Contains(t, out, "room_name is one room too many")
}

func TestTheOrdersSchemaIsPrinted(t *testing.T) {
	raw, err := planned(t, "", "--order-schema")
	require.NoError(t, err)
	require.Equal(t, string(sheet.Schema), raw)
}

// An independent library reads the schema and holds the openings and plans
// against it.
func TestSchemaIsOneAndHolds(t *testing.T) {
	raw, err := planned(t, "", "--schema")
	require.NoError(t, err)
	document, err := jsonschema.UnmarshalJSON(strings.NewReader(raw))
	require.NoError(t, err)
	compiler := jsonschema.NewCompiler()
	compiler.DefaultDraft(jsonschema.Draft4) // its own $schema must say which
	require.NoError(t, compiler.AddResource("plan.json", document))
	opening, err := compiler.Compile("plan.json#/properties/opening")
	require.NoError(t, err)
	report, err := compiler.Compile("plan.json#/properties/report")
	require.NoError(t, err)
	require.Equal(t, 2020, opening.DraftVersion)

	holds := func(s *jsonschema.Schema, raw []byte) error {
		value, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
		require.NoError(t, err)
		return s.Validate(value)
	}
	for _, o := range openings(t) {
		require.NoError(t, holds(opening, o), "%s", o)
		var wrong map[string]any
		require.NoError(t, json.Unmarshal(o, &wrong))
		for name, value := range map[string]any{"widht": 1, "nation": "atlantis", "widths": []any{1, 2}, "storey": "one", "rising": "long"} {
			old, had := wrong[name]
			wrong[name] = value
			raw, err := json.Marshal(wrong)
			require.NoError(t, err)
			require.Error(t, holds(opening, raw), "%s = %v", name, value)
			delete(wrong, name)
			if had {
				wrong[name] = old
			}
		}
	}
	wrong := `{"name":"x","widths":[NaN,1,1],"gauge":0.001}`
	out, err := planned(t, string(openings(t)[0])+wrong, "-")
	require.Error(t, err)
	all, err := planned(t, "", shownFile)
	require.Error(t, err)
	for line := range strings.Lines(out + all) {
		require.NoError(t, holds(report, []byte(line)), "%s", line)
	}
}

func TestPlanWritesForPeopleAndDraws(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "cards")
	out, err := planned(t, "", "--text", "--card", folder, openingsFile)
	require.EqualError(t, err, oneRefused)
	require.Contains(t, out, "Opening 2: square, white\n")
	require.Contains(t, out, "Order size: 1190 wide × 990 high, mm")
	require.NotContains(t, out, "{")
	pictures, err := filepath.Glob(filepath.Join(folder, "*.png"))
	require.NoError(t, err)
	require.NotEmpty(t, pictures)
	for _, path := range pictures {
		_, err := png.Decode(open(t, path))
		require.NoError(t, err)
		ownersAlone(t, path, 0o600)
	}
	ownersAlone(t, folder, 0o700)
}

// ownersAlone is that a file may be read by nobody else on the machine.
func ownersAlone(t *testing.T, path string, mode os.FileMode) {
	t.Helper()
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, mode, info.Mode().Perm(), path)
}

func TestPlanSaysWhyItRefusesASize(t *testing.T) {
	o := map[string]any{}
	require.NoError(t, json.Unmarshal(openings(t)[0], &o))
	o["widths"] = []any{4600, 4600, 4600} // beyond the table's 4.5 m
	delete(o, "rising")
	delete(o, "falling")
	raw, err := json.Marshal(o)
	require.NoError(t, err)
	out, err := planned(t, string(raw)+"\n"+string(openings(t)[0]), "-")
	require.Error(t, err)
	lines := strings.Split(strings.TrimSpace(out), "\n")
	require.Len(t, lines, 2)
	var first, second struct {
		Refused *struct{ Rule, Text string }
		Order   json.RawMessage
	}
	require.NoError(t, json.Unmarshal([]byte(lines[0]), &first))
	require.NoError(t, json.Unmarshal([]byte(lines[1]), &second))
	require.NotNil(t, first.Refused)
	require.NotEmpty(t, first.Refused.Text)
	require.Empty(t, first.Order)
	require.Nil(t, second.Refused)
	require.NotEmpty(t, second.Order)
}

func TestPlanStopsWhenToldTo(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	var out bytes.Buffer
	require.ErrorIs(t, run(ctx, []string{"plan", openingsFile}, strings.NewReader(""), &out, &out), context.Canceled)

	// Also where it waits for input.
	in, end := io.Pipe()
	defer end.Close()
	ctx, stop = context.WithCancel(context.Background())
	go func() {
		_, _ = end.Write(openings(t)[0])
		stop()
	}()
	require.ErrorIs(t, run(ctx, []string{"plan", "-"}, in, io.Discard, io.Discard), context.Canceled)
}

// broken takes n bytes and no more.
type broken struct{ n int }

func (b *broken) Write(p []byte) (int, error) {
	if b.n -= len(p); b.n < 0 {
		return 0, io.ErrShortWrite
	}
	return len(p), nil
}

func TestPlanStopsWhenNobodyReads(t *testing.T) {
	in := strings.Repeat(string(openings(t)[0]), 50)
	for _, room := range []int{0, 100_000} {
		err := run(within(t, 5*time.Minute), []string{"plan", "-"}, strings.NewReader(in), &broken{room}, io.Discard)
		require.ErrorIs(t, err, io.ErrShortWrite)
	}
	err := run(within(t, 5*time.Minute), []string{"plan", "-"}, strings.NewReader(`{}`), io.Discard, &broken{})
	require.ErrorIs(t, err, io.ErrShortWrite)
	err = run(within(t, 5*time.Minute), []string{"plan", "--card", openingsFile, "-"}, strings.NewReader(in), io.Discard, io.Discard)
	require.Error(t, err, "a folder that is a file")
}

func TestPlanMakesTheSheet(t *testing.T) {
	folder := t.TempDir()
	for _, form := range []string{"pdf", "csv", "json"} {
		path := filepath.Join(folder, "order."+form)
		_, err := planned(t, "", "--sheet", path, shownFile)
		require.EqualError(t, err, "6 openings: 1 refused, 1 that must not be ordered")
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		require.NotEmpty(t, raw)
		ownersAlone(t, path, 0o600)
		switch form {
		case "csv":
			require.Equal(t, 7, strings.Count(string(raw), "\r\n"))
			require.Contains(t, string(raw), "front room, side\",2,624,1052")
			require.Contains(t, string(raw), "wider than the table,0,,")
		case "json":
			require.Contains(t, string(raw), `"no_plan"`)
		default:
			require.True(t, strings.HasPrefix(string(raw), "%PDF-"))
		}
	}
	files, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, files, 3, "nothing else is left there")

	// What somebody opened to others stays so.
	shown := filepath.Join(folder, "order.csv")
	require.NoError(t, os.Chmod(shown, 0o640))
	_, err = planned(t, "", "--sheet", shown, shownFile)
	require.Error(t, err)
	ownersAlone(t, shown, 0o640)
}

// A sheet that may lack openings is not made, and an older one stays as it was.
func TestPlanMakesNoSheetThatMayLackOpenings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "order.csv")
	require.NoError(t, os.WriteFile(path, []byte("older"), 0o600))
	good := string(openings(t)[0])
	for name, in := range map[string]string{"cut off": "[" + good + ",", "two jobs": `{"job":{}}{"job":{}}` + good, "empty": " "} {
		_, err := planned(t, in, "--sheet", path, "-")
		require.ErrorContains(t, err, "no sheet was made", name)
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, "older", string(raw), name)
	}
	_, err := planned(t, good, "--sheet", filepath.Join(t.TempDir(), "order.doc"), "-")
	require.ErrorContains(t, err, ".pdf, .csv or .json")
	_, err = planned(t, good, "--sheet", filepath.Join(t.TempDir(), "nowhere", "order.pdf"), "-")
	require.ErrorIs(t, err, os.ErrNotExist)
	_, err = planned(t, `{"job":{}}`, "--sheet", filepath.Join(t.TempDir(), "order.pdf"), "-")
	require.ErrorContains(t, err, "no line to print")
}

// Real files have a mark at the front, other encodings, and marks that hide.
func TestPlanReadsFilesAsTheyCome(t *testing.T) {
	good := string(openings(t)[0])
	out, err := planned(t, "\uFEFF"+good, "-")
	require.NoError(t, err)
	require.Len(t, reportsOf(t, out), 1)
	latin1 := strings.Replace(good, "front bay left", "k\xfcche", 1)
	turned := strings.Replace(good, "front bay left", "a\u202eb", 1)
	out, beside, err := plannedBeside(t, latin1+turned+good, "-")
	require.EqualError(t, err, "3 openings: 2 refused, 0 that must not be ordered")
	require.Contains(t, beside, "Opening 1: no plan. The file says what no opening can have: name is not UTF-8")
	require.Contains(t, beside, "Opening 2: no plan. The file says what no opening can have: name has U+202E")
	for _, r := range reportsOf(t, out)[:2] {
		require.Empty(t, r.Name)
		require.Equal(t, "name", r.Errors[0].Field)
	}
	require.NotContains(t, out+beside, "\u202e")
	_, err = planned(t, "\xff\xfe{\x00", "-")
	require.ErrorContains(t, err, "UTF-16")
}
