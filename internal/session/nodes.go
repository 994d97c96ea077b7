package session

import (
	"context"
	"fmt"
	"net"
	"strconv"
	"sync"
	"time"

	"github.com/redis/go-redis/v9"
)

// Node is how one master stands.
type Node struct {
	Address string
	Used    int64 // bytes
	Most    int64 // that it may use; 0: no bound is set
	// Ahead is how far its clock is ahead of this machine's.
	Ahead time.Duration
	// Folder holds its files; "": it does not say, or is on another machine.
	Folder string
}

// Nodes asks each master how it stands.
func (s *Store) Nodes(ctx context.Context) (list []Node, err error) {
	var mu sync.Mutex
	err = s.eachNode(ctx, func(ctx context.Context, node *redis.Client) error {
		n := Node{Address: node.Options().Addr}
		info, err := node.InfoMap(ctx, "memory").Result()
		if err != nil {
			return err
		}
		n.Used, _ = strconv.ParseInt(info["Memory"]["used_memory"], 10, 64)
		n.Most, _ = strconv.ParseInt(info["Memory"]["maxmemory"], 10, 64) // 0 where it does not say
		asked := time.Now()
		clock, err := node.Time(ctx).Result()
		if err != nil {
			return err
		}
		n.Ahead = clock.Sub(asked.Add(time.Since(asked) / 2)) // it answered somewhere between
		host, _, _ := net.SplitHostPort(n.Address)
		if ip := net.ParseIP(host); host == "localhost" || ip != nil && ip.IsLoopback() {
			set, _ := node.ConfigGet(ctx, "dir").Result() // a server may refuse to say
			n.Folder = set["dir"]
		}
		mu.Lock()
		defer mu.Unlock()
		list = append(list, n)
		return nil
	})
	return list, failedIn("doctor", err)
}

// String is the address.
func (n Node) String() string { return fmt.Sprint("server ", n.Address) }
