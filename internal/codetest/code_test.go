package codetest

import (
	"cmp"
	"fmt"
	"go/parser"
	"go/token"
	"go/types"
	"iter"
	"maps"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// mostCode is how many lines of production Go there may be, without blanks and
// comments: who needs more says so by raising it.
const mostCode = 70_000

const (
	mostFileLines     = 500
	mostFunctionLines = 60
)

// circles are the packages whose files still lean on each other in a circle.
// Mend one, and it leaves the list.
var circles []string

// longFiles are the files that are still too long, and the most lines they may
// have.
var longFiles = map[string]int{}

// longFunctions are those still too long without a reason, and the most lines
// they may have.
var longFunctions = map[string]int{}

// source is the project's, read once for all tests.
var source *Source

func load(t *testing.T) *Source {
	if source == nil {
		source = Load(t, "../..")
	}
	return source
}

// TestFilesFormNoCircle: whoever reads a package from its lowest file upwards
// meets nothing that stands further up.
func TestFilesFormNoCircle(t *testing.T) {
	src := load(t)
	found := map[string]int{}
	for _, p := range src.Packages {
		files, arrows := Circle(src, p)
		if len(files) == 0 {
			continue
		}
		name := strings.TrimPrefix(p.Path, Module+"/")
		found[name] = len(files)
		if !slices.Contains(circles, name) {
			t.Errorf("%s: %d files lean on each other in a circle", name, len(files))
			for _, a := range arrows[:min(len(arrows), 25)] {
				t.Log("   ", a)
			}
		}
	}
	mended(t, "circles", slices.Values(circles), found)
	report(t, "files in a circle", found)
}

func TestNothingIsTooLong(t *testing.T) {
	src := load(t)
	files, err := src.Files()
	require.NoError(t, err)
	code := 0
	byFile, byFunction := map[string]int{}, map[string]int{}
	for _, f := range files {
		code += f.Code
		if f.Lines > mostFileLines {
			byFile[f.Name] = f.Lines
		}
	}
	for _, f := range src.Functions() {
		if f.Lines > mostFunctionLines && f.Reason == "" {
			byFunction[f.Name] = f.Lines
		}
	}
	t.Logf("%d lines of production Go without blanks and comments, at most %d", code, mostCode+madeFromOthers)
	require.LessOrEqual(t, code, mostCode+madeFromOthers)
	notLonger(t, "split the file", longFiles, byFile)
	notLonger(t, `split the function, or say above it "// long: " and why`, longFunctions, byFunction)
	mended(t, "longFiles", maps.Keys(longFiles), byFile)
	mended(t, "longFunctions", maps.Keys(longFunctions), byFunction)
	report(t, "lines of a file", byFile)
	report(t, "lines of a function", byFunction)
}

// TestTheChecksFindWhatTheyLookFor in a package of three files, of which two
// use each other, one by a method alone.
func TestTheChecksFindWhatTheyLookFor(t *testing.T) {
	src := project(t, map[string]string{
		"low.go":    "package p\n\ntype T struct{ n int }\n",
		"middle.go": "package p\n\n// M counts.\n//\n// long: it has to.\nfunc (t T) M() int {\n\n\treturn top() // up\n}\n",
		"top.go":    "package p\n\nfunc top() int { return T{n: 1}.M() }\n",
	})
	files, arrows := Circle(src, src.Packages[0])
	require.Equal(t, []string{"middle.go", "top.go"}, files)
	require.Equal(t, []Arrow{{"middle.go", "top.go", []string{"top"}}, {"top.go", "middle.go", []string{"M"}}}, arrows)
	require.Contains(t, src.Functions(), Size{Name: "p.T.M", Lines: 4, Reason: "it has to."})
	sizes, err := src.Files()
	require.NoError(t, err)
	require.Contains(t, sizes, Size{Name: "p/middle.go", Lines: 9, Code: 4})
}

// project is a source of one package, p.
func project(t *testing.T, files map[string]string) *Source {
	src := &Source{Root: t.TempDir(), Fset: token.NewFileSet()}
	p := &Package{Path: Module + "/p", Info: newInfo()}
	for name, text := range files {
		path := filepath.Join(src.Root, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		f, err := parser.ParseFile(src.Fset, path, nil, parser.ParseComments)
		require.NoError(t, err)
		p.Files = append(p.Files, f)
	}
	var err error
	p.Types, err = new(types.Config).Check(p.Path, src.Fset, p.Files, p.Info)
	require.NoError(t, err)
	src.Packages = []*Package{p}
	return src
}

func notLonger(t *testing.T, advice string, allowed, found map[string]int) {
	for name, lines := range found {
		if most, listed := allowed[name]; !listed || lines > most {
			t.Errorf("%s has %d lines, at most %d: %s", name, lines, most, advice)
		}
	}
}

// mended demands that what no longer fails leaves its list.
func mended(t *testing.T, list string, listed iter.Seq[string], found map[string]int) {
	for name := range listed {
		if _, fails := found[name]; !fails {
			t.Errorf("%s is mended: take it out of %s in %s", name, list, path.Join("internal/codetest", "code_test.go"))
		}
	}
}

func report(t *testing.T, what string, found map[string]int) {
	var lines []string
	for name, n := range found {
		lines = append(lines, fmt.Sprintf("%4d %s", n, name))
	}
	slices.SortFunc(lines, func(a, b string) int { return cmp.Compare(b, a) })
	t.Logf("%s, still:\n%s", what, strings.Join(lines, "\n"))
}

// madeFromOthers is what windows made from others and open doubts take beyond mostCode.
const madeFromOthers = 900
