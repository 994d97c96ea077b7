package session

import (
	"archive/tar"
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/redis/go-redis/v9"

	"sillbot/internal/session/rdb"
)

// A backup is one file: of one server its snapshot, which a redis-server can also be
// started on, of a cluster a tar of one for each master.

// Contents is what a backup holds.
type Contents struct {
	Bytes   int64
	Masters int
	Keys    map[string]int // by what they hold
	Records map[string]int
	// Unread are records that this program can't read, by kind. They are kept as they are.
	Unread map[string]int
	// Foreign are keys that are not the program's; they are in the file, and Restore
	// leaves them out.
	Foreign int
	DB      int // that the keys are in

	digest string
}

// Total is how many keys of the program there are.
func (c Contents) Total() (n int) {
	for _, count := range c.Keys {
		n += count
	}
	return n
}

// Backup writes all that the database holds to a file, which must not exist yet: first
// under another name in the same folder, and renamed when it is whole on the disk and
// was read again to its end. Nobody but the user can read it.
func (s *Store) Backup(ctx context.Context, path string, check Check) (c Contents, err error) {
	if _, err := os.Lstat(path); err == nil {
		return c, fmt.Errorf("%s exists: name a new file", path)
	}
	var mu sync.Mutex
	parts := map[int]string{}
	defer func() {
		for _, part := range parts {
			_ = os.Remove(part) // gone where all went well
		}
	}()
	temporary := func(n int) (*os.File, error) {
		f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*.part")
		if err == nil {
			mu.Lock()
			parts[n] = f.Name()
			mu.Unlock()
		}
		return f, err
	}
	if err := s.Snapshots(ctx, func(n int, from io.Reader) error {
		f, err := temporary(n)
		if err != nil {
			return err
		}
		_, err = io.Copy(f, from)
		return errors.Join(err, f.Sync(), f.Close())
	}); err != nil {
		return c, err
	}
	whole := parts[0]
	if len(parts) > 1 {
		f, err := temporary(-1)
		if err != nil {
			return c, err
		}
		if err := errors.Join(pack(f, parts), f.Sync(), f.Close()); err != nil {
			return c, err
		}
		whole = f.Name()
	}
	if c, err = s.Examine(whole, check); err != nil {
		return c, fmt.Errorf("the backup is not usable and was deleted: %w", err)
	}
	if err := os.Rename(whole, path); err != nil {
		return c, err
	}
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return c, err
	}
	return c, errors.Join(folder.Sync(), folder.Close())
}

// pack writes the parts from 0 on as a tar, and deletes each when it is in it.
func pack(to io.Writer, parts map[int]string) error {
	t, of := tar.NewWriter(to), len(parts)-1 // one is the whole
	for _, n := range slices.Sorted(maps.Keys(parts)) {
		if n < 0 {
			continue
		}
		f, err := os.Open(parts[n])
		if err != nil {
			return err
		}
		info, err := f.Stat()
		if err == nil {
			err = t.WriteHeader(&tar.Header{Name: partName(n+1, of), Mode: 0o600, Size: info.Size(), ModTime: info.ModTime()})
		}
		if err == nil {
			_, err = io.Copy(t, f)
		}
		if err = errors.Join(err, f.Close(), os.Remove(parts[n])); err != nil {
			return err
		}
	}
	return t.Close()
}

// partName is a part's name in the tar. It says how many there are, because a tar that
// is cut between two of its files is a whole one of fewer.
func partName(n, of int) string { return fmt.Sprintf("%d-of-%d.rdb", n, of) }

// eachKey reads a backup to its end.
func eachKey(path string, c *Contents, do func(rdb.Key) error) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	digest := sha256.New()
	counted := &counter{in: io.TeeReader(f, digest)}
	in := bufio.NewReader(counted)
	first, _ := in.Peek(5)
	if string(first) == "REDIS" {
		c.Masters, err = 1, eachKeyOf(in, do)
	} else {
		t := tar.NewReader(in)
		of := -1
		for c.Masters != of {
			head, next := t.Next()
			if next == nil && of < 0 {
				_, _ = fmt.Sscanf(head.Name, "1-of-%d.rdb", &of) // compared below
			}
			if c.Masters++; next != nil || head.Name != partName(c.Masters, of) {
				return fmt.Errorf("%w: it is no backup, or cut short", rdb.ErrBroken)
			}
			if err = eachKeyOf(t, do); err != nil {
				break
			}
		}
	}
	if err == nil {
		_, err = io.Copy(io.Discard, in)
	}
	c.Bytes, c.digest = counted.n, hex.EncodeToString(digest.Sum(nil))
	return err
}

type counter struct {
	in io.Reader
	n  int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.in.Read(p)
	c.n += int64(n)
	return n, err
}

func eachKeyOf(in io.Reader, do func(rdb.Key) error) error {
	r, err := rdb.New(in)
	if err != nil {
		return err
	}
	for {
		k, err := r.Next()
		if err == io.EOF {
			return nil
		}
		if err == nil {
			err = do(k)
		}
		if err != nil {
			return err
		}
	}
}

// Examine reads a backup to its end: checksums, every key, every record.
func (s *Store) Examine(path string, check Check) (Contents, error) {
	c := Contents{Keys: map[string]int{}, Records: map[string]int{}, Unread: map[string]int{}, DB: -1}
	dbs := map[int]bool{}
	err := eachKey(path, &c, func(k rdb.Key) error {
		if !strings.HasPrefix(k.Name, "sb:") {
			c.Foreign++
			return nil
		}
		dbs[k.DB] = true
		c.Keys[kindOfKey(k.Name)]++
		for _, r := range s.records(k.Name, k.Value, check) {
			c.Records[r.Kind]++
			if r.Err != nil {
				c.Unread[r.Kind]++
			}
		}
		return nil
	})
	switch {
	case err != nil:
		return c, err
	case len(dbs) > 1:
		return c, fmt.Errorf("the program's keys stand in %d databases of the server (numbers %v)", len(dbs), slices.Sorted(maps.Keys(dbs)))
	}
	for db := range dbs {
		c.DB = db
	}
	return c, nil
}

// guardKey stands in a database while it is being restored: the program does not start
// on it, and the same file may be restored again.
const guardKey = "sb:restore"

// ErrUnfinished is a database that was not restored to the end.
var ErrUnfinished = errors.New("a restore into this database was begun and did not end: run bot restore again with the same file")

// Whole is ErrUnfinished for a database that was not restored to the end.
func (s *Store) Whole(ctx context.Context) error {
	n, err := s.rdb.Exists(ctx, guardKey).Result()
	if err == nil && n > 0 {
		err = ErrUnfinished
	}
	return err
}

// othersConnected counts the connections of other programs of the kind.
func (s *Store) othersConnected(ctx context.Context) (n int, err error) {
	var mu sync.Mutex
	err = s.eachNode(ctx, func(ctx context.Context, node *redis.Client) error {
		list, err := node.ClientList(ctx).Result()
		mu.Lock()
		defer mu.Unlock()
		n += strings.Count(list, " name="+namePrefix) - strings.Count(list, " name="+s.name+" ")
		return err
	})
	return n, err
}

// timeOf is when a key goes in the form of RESTORE with ABSTTL and of PEXPIRETIME.
func timeOf(at time.Time, never int64) int64 {
	if at.IsZero() {
		return never
	}
	return at.UnixMilli()
}
