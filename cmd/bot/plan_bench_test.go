package main

import (
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// many is the shown job's openings over and over, a line each, without their
// rooms, which would be added up.
func many(t testing.TB, n int) string {
	t.Helper()
	raw, err := os.ReadFile(shownFile)
	require.NoError(t, err)
	var records []map[string]any
	require.NoError(t, json.Unmarshal(raw, &records))
	var lines []string
	for _, r := range records[1:] {
		delete(r, "room_name")
		line, err := json.Marshal(r)
		require.NoError(t, err)
		lines = append(lines, string(line)+"\n")
	}
	var all strings.Builder
	for i := range n {
		all.WriteString(lines[i%len(lines)])
	}
	return all.String()
}

// BenchmarkPlanFile plans 1000 openings, some refused, some held.
func BenchmarkPlanFile(b *testing.B) {
	in := many(b, 1000)
	for name, args := range map[string][]string{
		"json": nil, "text": {"--text"}, "pdf": {"--sheet", filepath.Join(b.TempDir(), "x.pdf")}, "csv": {"--sheet", filepath.Join(b.TempDir(), "x.csv")},
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_ = run(b.Context(), append(append([]string{"plan"}, args...), "-"), strings.NewReader(in), io.Discard, io.Discard)
			}
		})
	}
}
