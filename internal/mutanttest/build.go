package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"golang.org/x/tools/go/packages"
)

// A subject is one package, built once with all its mutants.
type subject struct {
	name    string
	dir     string
	binary  string
	mutants []mutant
	flags   []string // of the tests
	tests   []test
}

// load finds every mutant of the packages and writes the rewritten files below
// dir. The tree itself stays as it is.
func load(dir string, patterns []string) ([]*subject, error) {
	all, err := packages.Load(&packages.Config{Mode: packages.NeedName | packages.NeedFiles | packages.NeedCompiledGoFiles |
		packages.NeedImports | packages.NeedSyntax | packages.NeedTypes | packages.NeedTypesInfo}, patterns...)
	if err != nil {
		return nil, err
	}
	var out []*subject
	for _, p := range all {
		if len(p.Errors) > 0 {
			return nil, fmt.Errorf("%s: %w", p.PkgPath, p.Errors[0])
		}
		s, err := rewrite(filepath.Join(dir, p.Name), p)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.PkgPath, err)
		}
		out = append(out, s)
	}
	return out, nil
}

func rewrite(dir string, p *packages.Package) (*subject, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	f := &finder{pkg: p, short: p.Name, seen: map[string]int{}, source: map[string][]byte{}}
	replace := map[string]string{}
	put := func(original, text string) error {
		at := filepath.Join(dir, filepath.Base(original))
		replace[original] = at
		return os.WriteFile(at, []byte(text), 0o600)
	}
	home := filepath.Dir(p.CompiledGoFiles[0])
	for i, name := range p.CompiledGoFiles {
		source, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		f.source[name] = source
		f.start()
		f.find(p.Syntax[i])
		if err := put(name, f.rewritten(p.Syntax[i])); err != nil {
			return nil, err
		}
	}
	_, withDecimals := p.Imports[decimalPath]
	if err := put(filepath.Join(home, "zz_mutants.go"), helpers(p.Name, len(f.mutants), withDecimals)); err != nil {
		return nil, err
	}
	overlay, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return nil, err
	}
	if err := os.WriteFile(filepath.Join(dir, "overlay.json"), overlay, 0o600); err != nil {
		return nil, err
	}
	s := &subject{name: p.Name, dir: home, binary: filepath.Join(dir, "tests"), mutants: f.mutants}
	s.flags, err = rapidFlags(home)
	return s, err
}

// rapidFlags make random tests the same for every mutant and keep what they
// find out of the tree.
func rapidFlags(dir string) ([]string, error) {
	tests, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
	if err != nil {
		return nil, err
	}
	for _, t := range tests {
		text, err := os.ReadFile(t)
		if err != nil {
			return nil, err
		}
		if strings.Contains(string(text), `"pgregory.net/rapid"`) {
			return []string{"-rapid.seed=1", "-rapid.nofailfile", "-rapid.shrinktime=0s"}, nil
		}
	}
	return nil, nil
}

// build compiles the package's tests with all mutants in it.
func (s *subject) build(ctx context.Context) error {
	c := exec.CommandContext(ctx, "go", "test", "-c", "-overlay", filepath.Join(filepath.Dir(s.binary), "overlay.json"), "-o", s.binary, ".")
	c.Dir = s.dir
	out, err := c.CombinedOutput()
	if err != nil {
		return fmt.Errorf("building %s: %w\n%s", s.name, err, out)
	}
	return nil
}

// equivalents reads the mutants that no test can kill: the five names of each
// and the reason, between tabs.
func equivalents(text string) (map[string]string, error) {
	out := map[string]string{}
	for i, line := range strings.Split(text, "\n") {
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		at := strings.LastIndexByte(line, '\t')
		if strings.Count(line, "\t") != 5 || strings.TrimSpace(line[at:]) == "" {
			return nil, fmt.Errorf("line %d of the equivalent mutants: six fields between tabs, the last a reason", i+1)
		}
		if _, twice := out[line[:at]]; twice {
			return nil, fmt.Errorf("line %d of the equivalent mutants: listed twice", i+1)
		}
		out[line[:at]] = line[at+1:]
	}
	return out, nil
}

// leaveOut takes the listed mutants out and complains of those that are not
// there any more.
func leaveOut(subjects []*subject, listed map[string]string) (left map[string]int, err error) {
	left = map[string]int{}
	known, found := map[string]bool{}, map[string]bool{}
	for _, s := range subjects {
		known[s.name] = true
		s.mutants = slices.DeleteFunc(s.mutants, func(m mutant) bool {
			_, ok := listed[m.key()]
			if ok {
				found[m.key()] = true
				left[s.name]++
			}
			return ok
		})
	}
	var gone []error
	for key := range listed {
		if pkg, _, _ := strings.Cut(key, "\t"); known[pkg] && !found[key] {
			gone = append(gone, fmt.Errorf("listed as equivalent, but not in the code: %s", key))
		}
	}
	return left, errors.Join(gone...)
}
