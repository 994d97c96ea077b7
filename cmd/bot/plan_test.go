package main

import (
	"bytes"
	"context"
	"encoding/json"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
)

// planned runs bot plan.
func planned(t *testing.T, in string, args ...string) (out string, err error) {
	t.Helper()
	var stdout, errs bytes.Buffer
	err = run(within(t, time.Minute), append([]string{"plan"}, args...), strings.NewReader(in), &stdout, &errs)
	return stdout.String(), err
}

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
	require.NoError(t, err)
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
		require.NoError(t, err, name)
		require.Equal(t, fromFile, out, name)
	}
}

// Check values, D: worked out from the table of the
// structural-warranty technical article "Gaps around windows", R.
func TestPlanGivesTheSizesOfTheTable(t *testing.T) {
	out, err := planned(t, "", openingsFile)
	require.NoError(t, err)
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
		out, err := planned(t, c.in, "-")
		require.ErrorContains(t, err, "opening 1: "+c.names, "%s", c.in)
		require.Empty(t, out)
		// In an array, and as the second, it is counted, and the first stands.
		out, err = planned(t, "["+good+","+c.in+"]", "-")
		require.ErrorContains(t, err, "opening 2: "+c.names)
		require.Equal(t, 1, strings.Count(out, "\n"))
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
	out, err := planned(t, "", openingsFile)
	require.NoError(t, err)
	for line := range strings.Lines(out) {
		require.NoError(t, holds(report, []byte(line)), "%s", line)
	}
}

func TestPlanWritesForPeopleAndDraws(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "cards")
	out, err := planned(t, "", "--text", "--card", folder, openingsFile)
	require.NoError(t, err)
	require.Contains(t, out, "Order size: 1190 wide × 990 high, mm")
	require.NotContains(t, out, "{")
	pictures, err := filepath.Glob(filepath.Join(folder, "*.png"))
	require.NoError(t, err)
	require.NotEmpty(t, pictures)
	for _, path := range pictures {
		_, err := png.Decode(open(t, path))
		require.NoError(t, err)
	}
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
	require.NoError(t, err, "the next opening is still planned")
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
}
