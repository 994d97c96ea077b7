package main

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sampleAlive is what the tests of testdata/sample do not notice, worked out
// by hand from the two files.
const sampleAlive = "Fits: `width < room` < becomes <=: alive\n" +
	"Guarded: `width <= 0 || width > 9000` never: alive\n" +
	"Guarded: `width <= 0 || width > 9000` || becomes &&: alive\n" +
	"Guarded: `width <= 0` left out of ||: alive\n" +
	"Guarded: `width <= 0` <= becomes <: alive\n" +
	"Guarded: `width > 9000` left out of ||: alive\n" +
	"Guarded: `width > 9000` > becomes >=: alive\n" +
	"Guarded: `errTooSmall` no error: alive, not reached\n" +
	"Amount: `p.width != nil && !p.width.Abs().IsZero()` && becomes ||: alive\n" +
	"Amount: `p.width != nil` left out of &&: alive\n" +
	"Amount: `!p.width.Abs().IsZero()` left out of &&: alive\n" +
	"Amount: `p.width.Abs()` Abs becomes itself: alive\n" +
	"Amount: `total.RoundUp(0)` RoundUp becomes RoundDown: alive\n" +
	"Name: `p.count == 1` == becomes !=: alive, not reached\n" +
	"Name: `p.count == 1` never: alive, not reached\n" +
	"Name: `p.count > 1 && // a comment between the two p.width != nil` negated: alive, not reached\n" +
	"Name: `p.count > 1 && // a comment between the two p.width != nil` never: alive, not reached\n" +
	"Name: `p.count > 1 && // a comment between the two p.width != nil` && becomes ||: alive, not reached\n" +
	"Name: `p.count > 1` left out of &&: alive, not reached\n" +
	"Name: `p.count > 1` > becomes >=: alive, not reached\n" +
	"Name: `p.width != nil` left out of &&: alive, not reached\n" +
	"Name: `p.width != nil` != becomes ==: alive, not reached\n"

func TestSampleTellsTheLivingFromTheDead(t *testing.T) {
	var out bytes.Buffer
	err := check(t.Context(), &out, options{patterns: []string{"./testdata/sample"}, only: regexp.MustCompile(""), workers: 2})
	assert.ErrorContains(t, err, "fewer than 90 %")
	report := regexp.MustCompile(`(?m)^sample sample.go:\d+ `).ReplaceAllString(out.String(), "")
	living, sums, _ := strings.Cut(report, "sample: ")
	wantLines, gotLines := strings.Split(sampleAlive, "\n"), strings.Split(living, "\n")
	assert.ElementsMatch(t, wantLines, gotLines)
	assert.Contains(t, sums, "all: ")
}

func TestFilesAreAskedForByName(t *testing.T) {
	patterns, files := byFile([]string{"./a/calc", "./a/opening/record.go", "./a/opening/codec.go"})
	assert.Equal(t, []string{"./a/calc", "./a/opening"}, patterns)
	assert.Equal(t, map[string]bool{"opening/record.go": true, "opening/codec.go": true}, files)
	keep := func(files map[string]bool) int {
		s := &subject{dir: "/b/opening", mutants: []mutant{{place: "record.go:3"}, {place: "table.go:9"}, {place: "codec.go:1"}}}
		choose([]*subject{s}, files, options{only: regexp.MustCompile("")})
		return len(s.mutants)
	}
	assert.Equal(t, 2, keep(files))
	assert.Equal(t, 3, keep(map[string]bool{"calc/record.go": true}), "those of another package")
}

func TestASampleIsDrawnBySeed(t *testing.T) {
	draw := func(seed uint64) string {
		var out bytes.Buffer
		require.NoError(t, check(t.Context(), &out, options{patterns: []string{"./testdata/sample"}, only: regexp.MustCompile(""), sample: 5, seed: seed, list: true}))
		assert.Equal(t, 5, strings.Count(out.String(), "\n"))
		return out.String()
	}
	assert.Equal(t, draw(1), draw(1))
	assert.NotEqual(t, draw(1), draw(2))
}

func TestEquivalentsNeedAReasonAndAPlaceInTheCode(t *testing.T) {
	const line = "sample\tFits\twidth < room\t< becomes <=\t1"
	for _, bad := range []string{line, line + "\t ", line + "\twhy\n" + line + "\twhy"} {
		_, err := equivalents(bad)
		assert.Error(t, err, bad)
	}
	listed, err := equivalents("# a comment\n\n" + line + "\twhy\nsample\tFits\twidth > room\t> becomes >=\t1\twhy\nother\tF\tx\ty\t1\twhy\n")
	require.NoError(t, err)
	subjects, err := load(t.TempDir(), []string{"./testdata/sample"})
	require.NoError(t, err)
	before := len(subjects[0].mutants)
	left, err := leaveOut(subjects, listed)
	assert.Equal(t, 1, left["sample"])
	assert.Len(t, subjects[0].mutants, before-1)
	assert.EqualError(t, err, "listed as equivalent, but not in the code: sample\tFits\twidth > room\t> becomes >=\t1")
}
