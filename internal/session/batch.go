package session

import (
	"context"
	"sync"

	"github.com/redis/go-redis/v9"
)

// A batch sends the scripts that are called at the same time in one write, and
// reads their answers in one go. A script waits for nothing: while the server
// is at work on one batch, the next one gathers. What that saves is what a
// turn costs most, the system calls of both sides.
//
// Of a cluster every script goes by itself, because a batch over several nodes
// would be as slow as the slowest of them.
type batch struct {
	rdb   redis.UniversalClient
	calls chan *call
	once  sync.Once
	over  chan struct{}
}

type call struct {
	script *redis.Script
	keys   []string
	args   []any
	cmd    *redis.Cmd
	done   chan struct{}
}

const (
	lanes     = 2 // batches on their way at once
	batchSize = 64
)

func newBatch(rdb redis.UniversalClient) *batch {
	b := &batch{rdb: rdb, over: make(chan struct{})}
	if _, single := rdb.(*redis.Client); !single {
		return b
	}
	b.calls = make(chan *call)
	for range lanes {
		go b.lane()
	}
	return b
}

func (b *batch) close() { b.once.Do(func() { close(b.over) }) }

// run runs a script. When ctx ends first, the script may run all the same.
func (b *batch) run(ctx context.Context, s *redis.Script, keys []string, args ...any) *redis.Cmd {
	if b.calls == nil {
		return s.Run(ctx, b.rdb, keys, args...)
	}
	if err := ctx.Err(); err != nil {
		return redis.NewCmdResult(nil, err)
	}
	c := &call{script: s, keys: keys, args: args, done: make(chan struct{})}
	select {
	case b.calls <- c:
	case <-ctx.Done():
		return redis.NewCmdResult(nil, ctx.Err())
	case <-b.over:
		return redis.NewCmdResult(nil, redis.ErrClosed)
	}
	select {
	case <-c.done:
	case <-ctx.Done():
		return redis.NewCmdResult(nil, ctx.Err())
	}
	if redis.HasErrorPrefix(c.cmd.Err(), "NOSCRIPT") {
		return s.Run(ctx, b.rdb, keys, args...)
	}
	return c.cmd
}

func (b *batch) lane() {
	for {
		var calls []*call
		select {
		case c := <-b.calls:
			calls = append(calls, c)
		case <-b.over:
			return
		}
	more:
		for len(calls) < batchSize {
			select {
			case c := <-b.calls:
				calls = append(calls, c)
			default:
				break more
			}
		}
		ctx := context.Background() // the client has time limits of its own
		if len(calls) == 1 {
			c := calls[0]
			c.cmd = c.script.EvalSha(ctx, b.rdb, c.keys, c.args...)
			close(c.done)
			continue
		}
		p := b.rdb.Pipeline()
		for _, c := range calls {
			c.cmd = c.script.EvalSha(ctx, p, c.keys, c.args...)
		}
		_, _ = p.Exec(ctx) // each command has its own error
		for _, c := range calls {
			close(c.done)
		}
	}
}
