package session

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/redis/go-redis/v9"
)

// snapshot is that of one master under way. Read gives the bytes as the server sends
// them to a replica.
type snapshot struct {
	node  *redis.Client
	conn  net.Conn
	in    *bufio.Reader
	forks int64 // of the server, when writing was paused
}

// silence is how long a master may send nothing. While it prepares a snapshot it sends
// a blank line every second.
const silence = time.Minute

// openSnapshot connects to a master to ask it for a snapshot, as a replica does that has nothing and wants no
// more than that: it never counts as one, and the server keeps nothing for it.
func openSnapshot(ctx context.Context, node *redis.Client) (*snapshot, error) {
	o := node.Options()
	conn, err := o.Dialer(ctx, o.Network, o.Addr)
	if err != nil {
		return nil, err
	}
	s := &snapshot{node: node, conn: conn}
	s.in = bufio.NewReaderSize(s, 1<<16)
	var asks [][]string
	switch {
	case o.Username != "":
		asks = append(asks, []string{"AUTH", o.Username, o.Password})
	case o.Password != "":
		asks = append(asks, []string{"AUTH", o.Password})
	}
	asks = append(asks, []string{"REPLCONF", "rdb-only", "1"}, []string{"REPLCONF", "capa", "eof"})
	for _, ask := range asks {
		answer, err := s.ask(ask...)
		if err == nil && !strings.HasPrefix(answer, "+") {
			err = fmt.Errorf("%s: %s", ask[0], answer)
		}
		if err != nil {
			conn.Close()
			return nil, err
		}
	}
	return s, nil
}

// Read reads from the server, and gives up when it is silent for too long.
func (s *snapshot) Read(p []byte) (int, error) {
	if err := s.conn.SetReadDeadline(time.Now().Add(silence)); err != nil {
		return 0, err
	}
	return s.conn.Read(p)
}

func (s *snapshot) send(words ...string) error {
	b := fmt.Appendf(nil, "*%d\r\n", len(words))
	for _, w := range words {
		b = fmt.Appendf(b, "$%d\r\n%s\r\n", len(w), w)
	}
	_, err := s.conn.Write(b)
	return err
}

func (s *snapshot) ask(words ...string) (string, error) {
	if err := s.send(words...); err != nil {
		return "", err
	}
	return s.line()
}

// line is the next line that is not blank.
func (s *snapshot) line() (string, error) {
	for {
		line, err := s.in.ReadString('\n')
		if err != nil {
			return "", err
		}
		if line = strings.TrimRight(line, "\r\n"); line != "" {
			return line, nil
		}
	}
}

// begun waits until the snapshot begins, and gives it. The server has forked then, and
// what is written since is not in it.
func (s *snapshot) begun() (io.Reader, error) {
	line, err := s.line()
	if err == nil && !strings.HasPrefix(line, "+FULLRESYNC ") {
		err = fmt.Errorf("the server does not give its data: %s", line)
	}
	if err == nil {
		line, err = s.line()
	}
	if err != nil {
		return nil, err
	}
	if mark, ok := strings.CutPrefix(line, "$EOF:"); ok && len(mark) == 40 {
		return &untilMark{in: s.in, mark: []byte(mark)}, nil
	}
	n, err := strconv.ParseInt(strings.TrimPrefix(line, "$"), 10, 64)
	if err != nil || n <= 0 {
		return nil, fmt.Errorf("the server does not give its data: %s", line)
	}
	return &exactly{io.LimitedReader{R: s.in, N: n}}, nil
}

// exactly is an error where the bytes end too early.
type exactly struct{ io.LimitedReader }

func (e *exactly) Read(p []byte) (int, error) {
	n, err := e.LimitedReader.Read(p)
	if err == io.EOF && e.N > 0 {
		err = io.ErrUnexpectedEOF
	}
	return n, err
}

// untilMark reads up to a mark of random bytes.
type untilMark struct {
	in   io.Reader
	mark []byte
	buf  []byte
	over bool
}

func (u *untilMark) Read(p []byte) (int, error) {
	for !u.over && len(u.buf) < len(u.mark) {
		part := make([]byte, 1<<16)
		n, err := u.in.Read(part)
		u.buf = append(u.buf, part[:n]...)
		if i := bytes.Index(u.buf, u.mark); i >= 0 {
			u.buf, u.over = u.buf[:i], true
			break
		}
		if err != nil {
			return 0, cmp.Or(map[bool]error{true: io.ErrUnexpectedEOF}[err == io.EOF], err)
		}
	}
	free := len(u.buf)
	if !u.over {
		free -= len(u.mark) - 1
	}
	if free == 0 && u.over {
		return 0, io.EOF
	}
	n := copy(p, u.buf[:free])
	u.buf = u.buf[n:]
	return n, nil
}

// Snapshots gives what every master holds, to save called once for each, at once. What
// is in them is of one moment: of one server because it forks, of several because
// nothing is written to any of them between the first fork and the last. Nothing that
// the servers are set to is changed. The pause has a time limit on the servers, of
// pauseFor: also after a kill of this program it ends by itself.
func (s *Store) Snapshots(ctx context.Context, save func(n int, from io.Reader) error) error {
	for try := 1; ; try++ {
		err := s.snapshotsOnce(ctx, save)
		if !errors.Is(err, errTorn) || try == tornTries {
			return err
		}
	}
}

// errTorn is masters that did not begin within one pause.
var errTorn = errors.New("the masters did not begin their snapshots within one pause of writing; a server that is rewriting its file begins late, try again when it is done")

// pauseFor is the longest pause of writing. A turn that meets it is late, or fails and is
// brought again by the platform; mostly it takes under two seconds.
const pauseFor = 5 * time.Second

// tornTries is how often the masters are asked to begin together.
const tornTries = 5

func (s *Store) snapshotsOnce(ctx context.Context, save func(n int, from io.Reader) error) (err error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var mu sync.Mutex
	var all []*snapshot
	defer func() {
		for _, part := range all {
			part.conn.Close()
		}
	}()
	delay := time.Hour
	if err := s.eachNode(ctx, func(ctx context.Context, node *redis.Client) error {
		part, err := openSnapshot(ctx, node)
		mu.Lock()
		defer mu.Unlock()
		if err == nil {
			all = append(all, part)
			delay = min(delay, forkDelay(ctx, node))
		}
		return err
	}); err != nil {
		return fmt.Errorf("snapshot: %w", err)
	}
	defer context.AfterFunc(ctx, func() { // ends what waits for a server
		for _, part := range all {
			part.conn.Close()
		}
	})()
	readers, err := beginTogether(ctx, all, delay)
	if err != nil {
		return err
	}
	return inEach(len(all), func(n int) error { return save(n, readers[n]) })
}

// forkDelay is how long a master waits for other replicas before it forks.
func forkDelay(ctx context.Context, node *redis.Client) time.Duration {
	const usual = 5 * time.Second
	set, err := node.ConfigGet(ctx, "repl-diskless-sync-delay").Result()
	seconds, err2 := strconv.Atoi(set["repl-diskless-sync-delay"])
	if err != nil || err2 != nil {
		return usual
	}
	return time.Duration(seconds) * time.Second
}

// early is how much before the delay a master may fork: it counts whole seconds.
const early = 1100 * time.Millisecond

// beginTogether asks for the snapshots and waits until every one has begun; of several
// masters while none of them takes writes. The masters fork delay after they are asked.
func beginTogether(ctx context.Context, all []*snapshot, delay time.Duration) (readers []io.Reader, err error) {
	ask := func() error {
		return inEach(len(all), func(n int) error { return all[n].send("PSYNC", "?", "-1") })
	}
	paused, late := time.Time{}, len(all) > 1 && delay <= early
	if !late {
		if err := ask(); err != nil {
			return nil, fmt.Errorf("snapshot: %w", err)
		}
	}
	if len(all) > 1 {
		select {
		case <-time.After(delay - early):
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		paused = time.Now()
		defer unpause(ctx, all)
		if err := pause(ctx, all); err != nil {
			return nil, fmt.Errorf("snapshot: writing could not be paused: %w", err)
		}
	}
	if late {
		if err := ask(); err != nil {
			return nil, fmt.Errorf("snapshot: %w", err)
		}
	}
	readers = make([]io.Reader, len(all))
	if err := inEach(len(all), func(n int) (err error) {
		readers[n], err = all[n].begun()
		return err
	}); err != nil {
		return nil, fmt.Errorf("snapshot: %w", err)
	}
	if len(all) == 1 {
		return readers, nil
	}
	if time.Since(paused) >= pauseFor {
		return nil, errTorn
	}
	return readers, inEach(len(all), func(n int) error {
		now, err := forks(ctx, all[n].node)
		if err == nil && now <= all[n].forks {
			err = errTorn // it had begun before the pause
		}
		return err
	})
}

// pause keeps all masters from taking writes, for pauseFor at the most.
func pause(ctx context.Context, all []*snapshot) error {
	if err := inEach(len(all), func(n int) error {
		return all[n].node.Do(ctx, "CLIENT", "PAUSE", pauseFor.Milliseconds(), "WRITE").Err()
	}); err != nil {
		return err
	}
	return inEach(len(all), func(n int) (err error) {
		all[n].forks, err = forks(ctx, all[n].node)
		return err
	})
}

// unpause lets writing go on, whatever became of ctx. A master that it does not reach
// goes on by itself.
func unpause(ctx context.Context, all []*snapshot) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), pauseFor)
	defer cancel()
	_ = inEach(len(all), func(n int) error { return all[n].node.Do(ctx, "CLIENT", "UNPAUSE").Err() })
}

// forks is how often a server has forked since its start.
func forks(ctx context.Context, node *redis.Client) (int64, error) {
	info, err := node.InfoMap(ctx, "stats").Result()
	if err != nil {
		return 0, err
	}
	n, err := strconv.ParseInt(info["Stats"]["total_forks"], 10, 64)
	return n, failedIn("snapshot: total_forks", err)
}

// inEach does it for 0 to n-1 at once.
func inEach(n int, do func(int) error) error {
	errs := make([]error, n)
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() { errs[i] = do(i) })
	}
	all.Wait()
	return errors.Join(errs...)
}
