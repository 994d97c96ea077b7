package plan

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// told is what Read makes of a file: the name of each opening and the fields
// that are wrong with it, and what is wrong with the file.
func told(in string) (openings []string, err error) {
	err = Read(strings.NewReader(in), func(Job) error { return nil }, func(r Record) error {
		o, err := r.Opening()
		said := fmt.Sprintf("%d %s", r.Position, o.Name)
		var wrong FieldErrors
		if errors.As(err, &wrong) {
			for _, e := range wrong {
				said += " " + e.Field
			}
		}
		openings = append(openings, said)
		return nil
	})
	return openings, err
}

// named is a good opening with that name, on one line.
func named(t require.TestingT, name string) string {
	o := oneLight()
	o.Name = name
	raw, err := json.Marshal(o)
	require.NoError(t, err)
	return string(raw)
}

func indented(t require.TestingT, raw string) string {
	var out bytes.Buffer
	require.NoError(t, json.Indent(&out, []byte(raw), "  ", "  "))
	return "  " + out.String()
}

func TestReadGoesOnAfterABadOpening(t *testing.T) {
	a, b, c := named(t, "a"), named(t, "b"), named(t, "c")
	bad := func(old, fresh string) string { return strings.Replace(b, old, fresh, 1) }
	for _, test := range []struct {
		name, record string
		wrong        string
	}{
		{"a field is wrong", bad(`"1804"`, "NaN"), " b widths[0]"},
		{"a colon is missing", bad(`"date":`, `"date" `), " b the record"},
		{"a brace is missing at the end", b[:len(b)-1], " b the record"},
		{"a bracket is missing", bad("]", ""), " b the record"},
		{"a bracket is too many", bad("]", "]]"), " b the record"},
		{"a quote is missing", bad(`"living"`, `"living`), " b the record"},
		{"it is no object", `"b"`, "  the record"},
		{"it is a number", `7`, "  the record"},
		{"it is too long", bad("{", "{"+strings.Repeat(" ", mostRecord)), "  the record"},
	} {
		want := []string{"1 a", "2" + test.wrong, "3 c"}
		openings, err := told(a + "\n" + test.record + "\n" + c + "\n")
		require.NoError(t, err, test.name)
		require.Equal(t, want, openings, test.name)
		openings, err = told("[" + a + ",\n" + test.record + ",\n" + c + "]")
		require.NoError(t, err, "in a list: %s", test.name)
		require.Equal(t, want, openings, "in a list: %s", test.name)
	}
	// Over many lines the next record is the one that stands as far out.
	broken := strings.Replace(indented(t, b), "],", ",", 1)
	openings, err := told("[\n" + indented(t, a) + ",\n" + broken + ",\n" + indented(t, c) + "\n]\n")
	require.NoError(t, err)
	require.Equal(t, []string{"1 a", "2 b the record", "3 c"}, openings)
	openings, err = told("[\n" + indented(t, a) + ",\n" + broken + "\n]\n")
	require.NoError(t, err, "the list ends in spite of it")
	require.Equal(t, []string{"1 a", "2 b the record"}, openings)
}

func TestFaultsOfAFile(t *testing.T) {
	a, b := named(t, "a"), named(t, "b")
	for _, test := range []struct {
		name, in string
		fault    error
		openings int
	}{
		{"nothing", "", errEmpty, 0},
		{"blanks", " \n\t\r\n", errEmpty, 0},
		{"only a mark", "\xEF\xBB\xBF", errEmpty, 0},
		{"UTF-16", "\xFF\xFE{\x00}\x00", errUTF16, 0},
		{"UTF-16 the other way", "\xFE\xFF\x00{\x00}", errUTF16, 0},
		{"a list without an end", "[" + a + "," + b, errNoEnd, 2},
		{"a list without an end, behind a comma", "[" + a + ",", errNoEnd, 1},
		{"something behind the list", "[" + a + "] x", errFollows, 1},
		{"a book", strings.Repeat("call me anything ", 100), errNotAFile, mostBroken},
		{"braces", strings.Repeat("{\n", 10_000), errNotAFile, mostBroken},
	} {
		openings, err := told(test.in)
		require.ErrorIs(t, err, test.fault, test.name)
		require.Len(t, openings, test.openings, test.name)
	}
	_, err := told("[" + a + " " + b + "]")
	require.NoError(t, err)
	openings, err := told("[" + a + " " + b + "]")
	require.NoError(t, err)
	require.Equal(t, []string{"1 a", "2 b the record"}, openings, "a comma is missing before the second")
	openings, err = told(a + ",\n" + b)
	require.NoError(t, err)
	require.Equal(t, []string{"1 a", "2 b"}, openings, "commas without brackets")
	broken := errors.New("no more")
	err = Read(io.MultiReader(strings.NewReader(a), iotest.ErrReader(broken)), nil, func(Record) error { return nil })
	require.ErrorIs(t, err, broken)
	err = Read(strings.NewReader(a), nil, func(Record) error { return broken })
	require.ErrorIs(t, err, broken)
}

func TestAByteOrderMarkIsTaken(t *testing.T) {
	for _, in := range []string{named(t, "a"), "[" + named(t, "a") + "]"} {
		openings, err := told("\uFEFF" + in)
		require.NoError(t, err)
		require.Equal(t, []string{"1 a"}, openings)
	}
}

func TestOneJobBeforeItsOpenings(t *testing.T) {
	job, a, b := `{"job":{"name":"x"}}`, named(t, "a"), named(t, "b")
	openings, err := told(job + a + b)
	require.NoError(t, err)
	require.Equal(t, []string{"1 a", "2 b"}, openings)
	for name, in := range map[string]string{
		"a second one":            job + job + a + b,
		"a wrong one":             `{"job":{"settings":{"waste":3}}}` + a + b,
		"one beside other fields": `{"name":"x","job":{}}` + a + b,
		"one without an end":      `{"job":{"settings":{}}` + "\n" + a + b,
	} {
		openings, err := told(in)
		var wrong *FieldError
		require.ErrorAs(t, err, &wrong, name)
		require.Equal(t, []string{"1 a job", "2 b job"}, openings, "%s: nobody knows their settings", name)
	}
	openings, err = told(a + job + b)
	require.EqualError(t, err, "line 1: job: comes after opening 1: it must be the first record")
	require.Equal(t, []string{"1 a", "2 b job"}, openings)
	stop := errors.New("no")
	require.ErrorIs(t, Read(strings.NewReader(job), func(Job) error { return stop }, nil), stop)
}

func TestRecordsKnowTheirLine(t *testing.T) {
	a := named(t, "a")
	broken := strings.Replace(a, "]", "", 1)
	in := "\n\n" + a + "\n" + indented(t, a) + a + "\n" + broken + "\n\n" + a + ` {"job":{}}`
	high := strings.Count(indented(t, a), "\n")
	var lines []int
	err := Read(strings.NewReader(in), nil, func(r Record) error { lines = append(lines, r.Line); return nil })
	require.ErrorContains(t, err, fmt.Sprintf("line %d: job", high+7))
	require.Equal(t, []int{3, 4, high + 4, high + 5, high + 7}, lines)
}

// Whatever stands between records, and however the reader cuts the file, they
// are found.
func TestRecordsAreFoundInAnyDress(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		blanks := func() string {
			return strings.Repeat(rapid.SampledFrom([]string{" ", "\n", "\t", "\r\n"}).Draw(t, "blank"), rapid.IntRange(0, 3).Draw(t, "n"))
		}
		var want []string
		var in strings.Builder
		list := rapid.Bool().Draw(t, "list")
		if rapid.Bool().Draw(t, "marked") {
			in.WriteString("\uFEFF")
		}
		in.WriteString(blanks())
		if list {
			in.WriteString("[")
		}
		for n := range rapid.IntRange(1, 5).Draw(t, "openings") {
			name := rapid.SampledFrom([]string{"a", `}`, `{\"`, `\"]`, "[,", `job`, `\\`}).Draw(t, "name")
			raw := strings.Replace(named(t, "@"), "@", name, 1)
			if rapid.Bool().Draw(t, "indented") {
				raw = indented(t, raw)
			}
			if n > 0 && list {
				in.WriteString(blanks() + ",")
			}
			in.WriteString(blanks() + raw)
			var said string
			require.NoError(t, json.Unmarshal([]byte(`"`+name+`"`), &said))
			want = append(want, fmt.Sprintf("%d %s", n+1, said))
		}
		in.WriteString(blanks())
		if list {
			in.WriteString("]" + blanks())
		}
		size := rapid.IntRange(1, 50).Draw(t, "size")
		var got []string
		err := Read(&sliced{[]byte(in.String()), size}, nil, func(r Record) error {
			o, err := r.Opening()
			require.NoError(t, err)
			got = append(got, fmt.Sprintf("%d %s", r.Position, o.Name))
			return nil
		})
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}

// sliced reads no more than n bytes at a time.
type sliced struct {
	left []byte
	n    int
}

func (s *sliced) Read(p []byte) (int, error) {
	n := copy(p[:min(len(p), s.n)], s.left)
	s.left = s.left[n:]
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// endless gives one byte over and over, n times.
type endless struct {
	c byte
	n int
}

func (e *endless) Read(p []byte) (int, error) {
	n := min(len(p), e.n)
	for i := range n {
		p[i] = e.c
	}
	if e.n -= n; n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// What a file holds in vain takes no room: nothing of it is kept.
func TestLongFilesTakeNoRoom(t *testing.T) {
	const long = 50_000_000
	for name, c := range map[string]byte{"blanks": ' ', "lines": '\n', "one word": 'x', "brackets": '['} {
		s := splitter{in: io.MultiReader(&endless{c, long}, strings.NewReader("\n{}"))}
		for {
			_, err := s.next()
			if errors.Is(err, io.EOF) || errors.Is(err, errNoEnd) || errors.Is(err, errNotAFile) {
				break
			}
			require.NoError(t, err, name)
		}
		require.LessOrEqual(t, cap(s.held), 2*(mostRecord+chunk), name)
	}
}

// Blanks take time by their length, and no room.
func TestBlanksAreAllowedAnywhere(t *testing.T) {
	a, b := named(t, "a"), named(t, "b")
	const long = 50_000_000
	blanks := func() io.Reader { return &endless{' ', long} }
	n := 0
	err := Read(io.MultiReader(blanks(), strings.NewReader("["), blanks(), strings.NewReader(a), blanks(), strings.NewReader(","), blanks(),
		strings.NewReader(b), blanks(), strings.NewReader("]"), blanks()), nil, func(r Record) error {
		n++
		_, err := r.Opening()
		return err
	})
	require.NoError(t, err)
	require.Equal(t, 2, n)
}

// BenchmarkSplit reads a file that is ten times as long in ten times the time.
func BenchmarkSplit(b *testing.B) {
	for _, size := range []int{1_000_000, 10_000_000} {
		for name, c := range map[string]string{"blanks": " ", "braces": "{\n", "text": "{\"name\":\"", "openings": named(b, "a")} {
			raw := strings.Repeat(c, size/len(c))
			b.Run(fmt.Sprintf("%s/%d", name, size), func(b *testing.B) {
				b.SetBytes(int64(len(raw)))
				for b.Loop() {
					_ = Read(strings.NewReader(raw), func(Job) error { return nil }, func(Record) error { return nil })
				}
			})
		}
	}
}
