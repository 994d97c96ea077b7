package session

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/redis/go-redis/v9"
)

// The settings without which Redis may lose what it has acknowledged, or throw
// it away when it is full.
var needed = []struct{ name, value, risk string }{
	{"appendonly", "yes", "a crash of the server loses what it acknowledged"},
	{"appendfsync", "always", "a crash of the machine may lose what was acknowledged last"},
	{"maxmemory-policy", "noeviction", "a full server may throw conversations away"},
}

// checkSettings says how each node's settings fall short of those needed.
func checkSettings(ctx context.Context, eachNode func(context.Context, func(context.Context, *redis.Client) error) error) []string {
	var mu sync.Mutex // nodes are asked at once
	var found []string
	err := eachNode(ctx, func(ctx context.Context, c *redis.Client) error {
		short := shortcomings(ctx, c)
		mu.Lock()
		defer mu.Unlock()
		for _, text := range short {
			if !slices.Contains(found, text) {
				found = append(found, text)
			}
		}
		return nil
	})
	if err != nil {
		found = append(found, "The settings of Redis could not be checked.")
	}
	slices.Sort(found)
	return found
}

func shortcomings(ctx context.Context, c *redis.Client) []string {
	var found []string
	for _, want := range needed {
		have, err := c.ConfigGet(ctx, want.name).Result()
		if err != nil || have[want.name] == "" {
			return append(found, "The settings of Redis could not be checked: the server does not tell them. It must run with "+wanted()+".")
		}
		if have[want.name] != want.value {
			found = append(found, fmt.Sprintf("Redis runs with %s %s, not %s: %s.", want.name, have[want.name], want.value, want.risk))
		}
	}
	return found
}

func wanted() string {
	var all []string
	for _, want := range needed {
		all = append(all, want.name+" "+want.value)
	}
	return strings.Join(all, ", ")
}
