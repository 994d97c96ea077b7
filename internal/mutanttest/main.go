// Mutanttest changes one expression at a time in a package and sees whether
// the package's own tests notice.
//
//	go run ./internal/mutanttest                  all mutants of all packages
//	go run ./internal/mutanttest -sample 200      so many, drawn by -seed
//	go run ./internal/mutanttest -func 'Survey' ./internal/calc ./internal/opening/record.go
//
// Comparisons, integer sums, decimal operations, conditions and returned errors
// are changed. All mutants of a package are in one build of its tests, and the
// environment says which one is active; the tree is not written to. A mutant
// that changes nothing anyone can see stands in equivalent.txt with the reason.
//
// It fails when fewer than 90 % of the others are killed: of a full run in any
// package, of a sample over all packages.
package main

import (
	"context"
	_ "embed"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/signal"
	"path"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// wanted is the part in per cent of the mutants that the tests must kill.
const wanted = 90

// usual are the packages that decide what is made, and the record's files.
var usual = []string{
	"./internal/calc", "./internal/reading", "./internal/safety", "./internal/job",
	"./internal/opening/record.go", "./internal/opening/codec.go", "./internal/opening/known.go", "./internal/opening/differ.go",
}

//go:embed equivalent.txt
var equivalentText string

type options struct {
	patterns []string
	sample   int
	seed     uint64
	only     *regexp.Regexp
	list     bool
	workers  int
}

func main() {
	var o options
	only := flag.String("func", "", "only functions that this regular expression matches")
	flag.IntVar(&o.sample, "sample", 0, "try only so many mutants; 0: all")
	flag.Uint64Var(&o.seed, "seed", 1, "what the sample is drawn by")
	flag.BoolVar(&o.list, "list", false, "list the mutants by the names that equivalent.txt uses, and try none")
	flag.IntVar(&o.workers, "workers", runtime.GOMAXPROCS(0), "tests that run at a time")
	flag.Parse()
	o.patterns = flag.Args()
	if len(o.patterns) == 0 {
		o.patterns = usual
	}
	var err error
	if o.only, err = regexp.Compile(*only); err == nil {
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		err = check(ctx, os.Stdout, o)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func check(ctx context.Context, out io.Writer, o options) error {
	dir, err := os.MkdirTemp("", "mutants")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	patterns, files := byFile(o.patterns)
	subjects, err := load(dir, patterns)
	if err != nil {
		return err
	}
	listed, err := equivalents(equivalentText)
	if err != nil {
		return err
	}
	left, err := leaveOut(subjects, listed)
	if err != nil {
		return err
	}
	choose(subjects, files, o)
	if o.list {
		for _, s := range subjects {
			for _, m := range s.mutants {
				fmt.Fprintln(out, m.key())
			}
		}
		return nil
	}
	var tried, dead int
	short := false
	for _, s := range subjects {
		fates, err := s.tryAll(ctx, o.workers)
		if err != nil {
			return err
		}
		n := report(out, s, fates, left[s.name])
		tried, dead = tried+len(s.mutants), dead+n
		short = short || o.sample == 0 && 100*n < wanted*len(s.mutants)
	}
	fmt.Fprintf(out, "all: %d tried, %d killed, %s\n", tried, dead, share(dead, tried))
	if short || 100*dead < wanted*tried {
		return fmt.Errorf("fewer than %d %% killed", wanted)
	}
	return nil
}

// byFile parts the names of single files from the packages. A package named
// by its files is one pattern.
func byFile(named []string) (patterns []string, files map[string]bool) {
	files = map[string]bool{}
	for _, n := range named {
		if dir, file := path.Split(n); strings.HasSuffix(file, ".go") {
			n = path.Clean(dir)
			files[path.Base(n)+"/"+file] = true
			if !path.IsAbs(n) {
				n = "./" + n
			}
		}
		if !slices.Contains(patterns, n) {
			patterns = append(patterns, n)
		}
	}
	return patterns, files
}

// choose keeps the functions and files that are asked for and draws the sample
// over all packages.
func choose(subjects []*subject, files map[string]bool, o options) {
	var all []string
	for _, s := range subjects {
		asked := func(m mutant) bool { return files[filepath.Base(s.dir)+"/"+m.file()] }
		byFile := slices.ContainsFunc(s.mutants, asked)
		s.mutants = slices.DeleteFunc(s.mutants, func(m mutant) bool {
			return !o.only.MatchString(m.fn) || byFile && !asked(m)
		})
		for _, m := range s.mutants {
			all = append(all, m.key())
		}
	}
	if o.sample == 0 || o.sample >= len(all) {
		return
	}
	r := rand.New(rand.NewPCG(o.seed, o.seed))
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	drawn := map[string]bool{}
	for _, key := range all[:o.sample] {
		drawn[key] = true
	}
	for _, s := range subjects {
		s.mutants = slices.DeleteFunc(s.mutants, func(m mutant) bool { return !drawn[m.key()] })
	}
}

func (s *subject) tryAll(ctx context.Context, workers int) (map[int]fate, error) {
	if err := s.build(ctx); err != nil {
		return nil, err
	}
	if err := s.watch(ctx, workers); err != nil {
		return nil, err
	}
	var mu sync.Mutex
	fates := map[int]fate{}
	err := each(workers, s.mutants, func(m mutant) error {
		f, err := s.try(ctx, m)
		mu.Lock()
		defer mu.Unlock()
		fates[m.id] = f
		return err
	})
	return fates, err
}

// report names the mutants that are alive and gives the number of the killed.
func report(out io.Writer, s *subject, fates map[int]fate, equivalent int) (dead int) {
	for _, m := range s.mutants {
		if fates[m.id] == killed {
			dead++
			continue
		}
		fmt.Fprintf(out, "%s %v: %s\n", s.name, m, fates[m.id])
	}
	fmt.Fprintf(out, "%s: %d tried, %d listed as equivalent, %d killed, %s\n",
		s.name, len(s.mutants), equivalent, dead, share(dead, len(s.mutants)))
	return dead
}

func share(part, of int) string {
	return fmt.Sprintf("%.1f %%", 100*float64(part)/float64(max(of, 1)))
}
