package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// contestant is one of the programs that are compared; the first is the one that the
// others are held against.
type contestant struct {
	name    string
	command []string
	rounds  []figures
}

// compare plays surveys to the programs by turns.
func compare(ctx context.Context, dir string, list []contestant, chats, rounds, workers int) error {
	for range rounds {
		for i, c := range list {
			f, err := round(ctx, dir, c.command, chats, workers)
			if err != nil {
				return fmt.Errorf("%s: %w", c.name, err)
			}
			list[i].rounds = append(list[i].rounds, f)
		}
	}
	fmt.Printf("\nA survey of %d messages in %d chats, %d at once, %d rounds by turns; medians, the ratio's of each round's own:\n\n| |", len(lines), chats, workers, rounds)
	for i, c := range list {
		if fmt.Printf(" %s |", c.name); i > 0 {
			fmt.Print(" ratio |")
		}
	}
	fmt.Println("\n|---|---|" + strings.Repeat("---|---|", len(list)-1))
	row := func(name, unit string, of func(figures) float64) {
		first := all(list[0].rounds, of)
		fmt.Printf("| %s |", name)
		for i, c := range list {
			values := all(c.rounds, of)
			if fmt.Printf(" %.*f%s |", digits(median(values)), median(values), unit); i == 0 {
				continue
			}
			for n := range values {
				// Other load on the machine may change over time, but hardly
				// within a round.
				values[n] /= first[n]
			}
			fmt.Printf(" %.2f |", median(values))
		}
		fmt.Println()
	}
	ms := func(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
	row("turns a second", "", func(f figures) float64 { return f.rate })
	row("from message to reply, p50", " ms", func(f figures) float64 { return ms(f.p50) })
	row("from message to reply, p99", " ms", func(f figures) float64 { return ms(f.p99) })
	row("CPU of the program, a turn", " µs", func(f figures) float64 { return 1000 * ms(f.cpu) })
	row("CPU of Redis, a turn", " µs", func(f figures) float64 { return 1000 * ms(f.redisCPU) })
	row("in Redis, a conversation after the survey", " bytes", func(f figures) float64 { return f.bytes })
	fmt.Print("\nTurns a second, round by round:")
	for i, c := range list {
		if i > 0 {
			fmt.Print(";")
		}
		fmt.Printf(" %s %s", c.name, rates(c.rounds))
	}
	fmt.Println(".")
	return nil
}

func all(rounds []figures, of func(figures) float64) (values []float64) {
	for _, f := range rounds {
		values = append(values, of(f))
	}
	return values
}

func digits(v float64) int {
	if v < 100 {
		return 1
	}
	return 0
}

func rates(list []figures) string {
	var words []string
	for _, f := range list {
		words = append(words, fmt.Sprintf("%.0f", f.rate))
	}
	return strings.Join(words, ", ")
}

func median(values []float64) float64 {
	return slices.Sorted(slices.Values(values))[len(values)/2]
}
