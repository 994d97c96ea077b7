package main

import (
	"context"
	"fmt"

	"github.com/alicebob/miniredis/v2"

	"sillbot/internal/session"
)

// inMemory is a Redis inside the process, and the store on it. Nothing of it is kept.
func inMemory(ctx context.Context) (*miniredis.Miniredis, *session.Store, error) {
	memory, err := miniredis.Run()
	if err != nil {
		return nil, nil, fmt.Errorf("starting the store in memory: %w", err)
	}
	store, err := session.Open(ctx, "redis://"+memory.Addr())
	if err != nil {
		memory.Close()
		return nil, nil, err
	}
	return memory, store, nil
}
