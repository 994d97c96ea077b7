package session

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"github.com/redis/go-redis/v9"
)

// A batch sends the scripts that are called at the same time in one write, and
// reads their answers in one go. A script waits for nothing: while the server
// is at work on one batch, the next one gathers. What that saves is what a
// turn costs most, the system calls of both sides.
//
// Of a cluster every script goes by itself, because a batch over several nodes
// would be as slow as the slowest of them.
//
// A batch may wait until replicas have it (see acks): then it is never sent a
// second time by itself, and what comes of it is known when they have.
type batch struct {
	rdb   redis.UniversalClient
	acks  acks
	calls chan *call
	once  sync.Once
	over  chan struct{}
}

type call struct {
	script *redis.Script // nil: what was written before is only waited for
	whole  bool          // the script is sent as text: the server does not know its hash
	keys   []string
	args   []any
	got    *redis.Cmd
	done   chan struct{} // closed when got is set
}

const (
	lanes     = 2 // batches on their way at once
	batchSize = 64
)

func newBatch(rdb redis.UniversalClient, lanes int, a acks) *batch {
	b := &batch{rdb: rdb, acks: a, over: make(chan struct{})}
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
	cmd := b.call(ctx, &call{script: s, keys: keys, args: args})
	switch {
	case !redis.HasErrorPrefix(cmd.Err(), "NOSCRIPT"):
		return cmd
	case b.acks.n > 0:
		return b.call(ctx, &call{script: s, whole: true, keys: keys, args: args})
	}
	return s.Run(ctx, b.rdb, keys, args...)
}

// call sends a call with the next batch.
func (b *batch) call(ctx context.Context, c *call) *redis.Cmd {
	if err := ctx.Err(); err != nil {
		return redis.NewCmdResult(nil, err)
	}
	c.done = make(chan struct{})
	select {
	case b.calls <- c:
	case <-ctx.Done():
		return redis.NewCmdResult(nil, ctx.Err())
	case <-b.over:
		return redis.NewCmdResult(nil, redis.ErrClosed)
	}
	select {
	case <-c.done:
		return c.got
	case <-ctx.Done():
		return redis.NewCmdResult(nil, ctx.Err())
	}
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
		b.send(calls)
		for _, c := range calls {
			close(c.done)
		}
	}
}

func (b *batch) send(calls []*call) {
	ctx := context.Background() // the client has time limits of its own
	if len(calls) == 1 && b.acks.n == 0 {
		c := calls[0]
		c.got = c.on(ctx, b.rdb)
		return
	}
	p := b.rdb.Pipeline()
	for _, c := range calls {
		c.got = c.on(ctx, p)
	}
	if b.acks.n == 0 {
		_, _ = p.Exec(ctx) // each command has its own error
		return
	}
	err := b.acks.wait(ctx, p)
	for _, c := range calls {
		if c.got == nil || err != nil && c.got.Err() == nil {
			c.got = redis.NewCmdResult(nil, err)
		}
	}
}

// on runs the call's script; nil where there is none.
func (c *call) on(ctx context.Context, r redis.Scripter) *redis.Cmd {
	switch {
	case c.script == nil:
		return nil
	case c.whole:
		return c.script.Eval(ctx, r, c.keys, c.args...)
	}
	return c.script.EvalSha(ctx, r, c.keys, c.args...)
}

// ErrTooFew: what was written stands, but fewer replicas than asked for have
// said in time that they have it, so that a failover may lose it. What was read
// with it must not be acted on.
var ErrTooFew = errors.New("too few replicas have acknowledged the write")

const (
	// ackPatience is how long replicas may take: less than the client waits for
	// an answer, so that the answer "too few" is heard.
	ackPatience = time.Second
	// ackLanes is how many batches wait for replicas at once. A batch does
	// nothing while it waits, and another one goes meanwhile.
	ackLanes = 8
)

// acks are the replicas that must acknowledge a batch: n of them (0: none need
// to) within patience.
type acks struct {
	n        int
	patience time.Duration
}

// WAIT is about what its own connection has written: later servers than 7.0 do
// not wait after commands that wrote nothing, as of a turn that was taken
// before. So each batch writes, and its wait is for all that was written to the
// server before it, over whatever connection. A full server lets a script write
// whose first command makes room.
const ackMark = `
redis.call('DEL', KEYS[1])
return redis.call('SET', KEYS[1], '1')
`

const ackKey = "sb:{acks}:a"

// wait sends a batch with the wait as its last command. The error is of the
// wait alone; each command of the batch has its own.
func (a acks) wait(ctx context.Context, p redis.Pipeliner) error {
	mark := p.Eval(ctx, ackMark, []string{ackKey})
	wait := p.Do(ctx, "WAIT", a.n, a.patience.Milliseconds())
	_, _ = p.Exec(ctx) // each command has its own error
	have, err := wait.Int()
	switch {
	case mark.Err() != nil:
		return mark.Err()
	case err != nil:
		return err
	case have < a.n:
		return fmt.Errorf("%w: %d of %d", ErrTooFew, have, a.n)
	}
	return nil
}
