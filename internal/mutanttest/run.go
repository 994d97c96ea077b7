package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// test is one of a package's tests, and the mutants whose place it comes by.
type test struct {
	name    string
	took    time.Duration
	reaches map[int]bool
}

// quick is what a test may take to be run before the slow ones.
const quick = 60 * time.Millisecond

// each runs f on every item, on so many at a time, and gives the first error.
func each[T any](workers int, items []T, f func(T) error) error {
	var wg sync.WaitGroup
	queue := make(chan T)
	errs := make([]error, workers)
	for w := range workers {
		wg.Go(func() {
			for item := range queue {
				if errs[w] == nil {
					errs[w] = f(item)
				}
			}
		})
	}
	for _, item := range items {
		queue <- item
	}
	close(queue)
	wg.Wait()
	return errors.Join(errs...)
}

// watch runs each test by itself, without a mutant, to see what it reaches and
// how long it takes.
func (s *subject) watch(ctx context.Context, workers int) error {
	c := exec.CommandContext(ctx, s.binary, "-test.list", "^(Test|Fuzz|Example)")
	c.Dir = s.dir
	out, err := c.Output()
	if err != nil {
		return err
	}
	names := strings.Fields(string(out))
	s.tests = make([]test, len(names))
	places := make([]int, len(names))
	for i := range places {
		places[i] = i
	}
	return each(workers, places, func(i int) error {
		note := filepath.Join(filepath.Dir(s.binary), "reached-"+names[i])
		begun := time.Now()
		killed, said, err := s.run(ctx, names[i:i+1], time.Minute, "MUTANT_REACHED="+note)
		if err != nil {
			return err
		}
		if killed {
			return fmt.Errorf("%s fails without a mutant:\n%s", names[i], said)
		}
		s.tests[i] = test{name: names[i], took: time.Since(begun), reaches: map[int]bool{}}
		ids, err := os.ReadFile(note)
		if err != nil && !os.IsNotExist(err) {
			return err
		}
		for _, id := range strings.Fields(string(ids)) {
			n, err := strconv.Atoi(id)
			if err != nil {
				return err
			}
			s.tests[i].reaches[n] = true
		}
		return nil
	})
}

// fate is what became of a mutant.
type fate string

const (
	killed     fate = "killed"
	alive      fate = "alive"
	notReached fate = "alive, not reached"
)

// try lets the tests that reach a mutant loose on it, the quick ones first.
func (s *subject) try(ctx context.Context, m mutant) (fate, error) {
	var groups [2][]string
	var takes [2]time.Duration
	for _, t := range s.tests {
		if t.reaches[m.id] {
			g := 0
			if t.took > quick {
				g = 1
			}
			groups[g] = append(groups[g], t.name)
			takes[g] += t.took
		}
	}
	if len(groups[0])+len(groups[1]) == 0 {
		return notReached, nil
	}
	for g, names := range groups {
		if len(names) == 0 {
			continue
		}
		dead, _, err := s.run(ctx, names, 5*time.Second+8*takes[g], "MUTANT="+strconv.Itoa(m.id))
		if dead || err != nil {
			return killed, err
		}
	}
	return alive, nil
}

// run starts the built tests; failed is true when one fails, panics, does not
// end or asks for more than 4 GB.
func (s *subject) run(ctx context.Context, names []string, limit time.Duration, env string) (failed bool, said []byte, err error) {
	limited, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	args := append([]string{"-c", `ulimit -v 4000000; exec "$0" "$@"`, s.binary,
		"-test.failfast", "-test.run", "^(" + strings.Join(names, "|") + ")$"}, s.flags...)
	c := exec.CommandContext(limited, "sh", args...)
	c.Dir = s.dir
	c.Env = append(slices.Clone(os.Environ()), env)
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	c.WaitDelay = time.Second
	err = c.Run()
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return false, nil, ctx.Err()
	case limited.Err() != nil || errors.As(err, &exit):
		return true, out.Bytes(), nil
	}
	return false, out.Bytes(), err
}
