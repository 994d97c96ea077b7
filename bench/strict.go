package main

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"golang.org/x/time/rate"
)

// newcomers write one message each, every one in a chat of its own.
type newcomers struct{ come atomic.Int64 }

func (n *newcomers) next() (chat int, text string) { return int(n.come.Add(1)) - 1, lines[0] }

func (*newcomers) done(int, bool) {}

// strict holds the model of sends against the program itself: so many people a second
// write for some time to a bot whose platform takes only the free messages, and says 429
// to the others. It says how long the queue of the model and the program's own took.
func strict(ctx context.Context, dir string, program []string, perSecond float64, lasts time.Duration) (r replayed, refused int64, err error) {
	b, err := paced(ctx, dir, program, 1, fmt.Sprint(freeSends))
	if err != nil {
		return r, 0, err
	}
	defer b.end()
	b.api.limit.Store(rate.NewLimiter(freeSends, freeSends))
	b.load.patience = ctxLeft(ctx)
	people := int(perSecond * lasts.Seconds())
	if r, err = b.replay(ctx, &newcomers{}, perSecond, lasts, people); err != nil {
		return r, 0, err
	}
	refused = b.api.refused.Load()
	// The model's hour is the time that people write for, so its room is that of as long.
	scale := float64(lasts) / float64(time.Hour)
	q := queued([]float64{float64(people) / scale}, freeSends)
	_, _, most := spread(r.turns)
	fmt.Printf("\n%d people, %.0f a second for %s, to a platform that takes %.0f a second:\n\n", people, perSecond, lasts, freeSends)
	fmt.Println("| | model | program |\n|---|---|---|")
	fmt.Printf("| the longest wait | %.1f s | %.1f s |\n", (time.Duration(float64(q.Wait) * scale)).Seconds(), most/1000)
	fmt.Printf("| nothing waits after | %.1f s | %.1f s |\n", max(lasts.Seconds(), (time.Duration(float64(q.Empty)*scale)).Seconds()), float64(len(r.turns))/r.rate)
	fmt.Printf("| calls that the platform refused, for each reply | 0 | %.3f |\n", float64(refused)/float64(len(r.turns)))
	fmt.Printf("| not answered | 0 | %d |\n", r.failed)
	if r.why != nil {
		fmt.Printf("\nOne that was not answered: %v\n", r.why)
	}
	return r, refused, nil
}

// ctxLeft is how long a context lasts.
func ctxLeft(ctx context.Context) time.Duration {
	if end, ok := ctx.Deadline(); ok {
		return time.Until(end)
	}
	return time.Hour
}
