package session

import (
	"bytes"
	"context"
	"fmt"
	"regexp"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
)

// BenchmarkBytes prints what a chat costs in Redis after a survey of 20 turns
// with a state of so many bytes, all sent: conversation and seen marks.
func BenchmarkBytes(b *testing.B) {
	const chats, turns = 1000, 20
	for _, size := range []int{300, 1000, 2000} {
		b.Run(fmt.Sprintf("state of %d", size), func(b *testing.B) {
			for b.Loop() {
				server := sessiontest.Start(b)
				s := open(b, server.URL())
				survey(b, s, 1<<40, 1, 1) // scripts
				before := used(b, server)
				var all sync.WaitGroup
				for worker := range int64(20) {
					all.Go(func() {
						for chat := worker; chat < chats; chat += 20 {
							survey(b, s, 5_000_000_000+chat, turns, size)
						}
					})
				}
				all.Wait()
				b.ReportMetric(float64(used(b, server)-before)/chats, "bytes/chat")
				server.Kill()
			}
		})
	}
}

func survey(b *testing.B, s *Store, chat int64, turns, size int) {
	ctx := context.Background()
	var last Conversation
	for i := range int64(turns) {
		r, err := s.Commit(ctx, Turn{
			Update: 800_000_000 + chat%1000*100 + i, Key: Key{Chat: chat}, From: last, Data: bytes.Repeat([]byte("x"), size),
			Say: say("reply"), Owner: "me", Lease: time.Minute,
		})
		if err != nil || r.Outcome != Committed {
			b.Errorf("%v %v", r.Outcome, err)
			return
		}
		last = r.Now
		if _, err := remove(s, chat, []string{r.Items[0].ID}, "me", 0); err != nil {
			b.Error(err)
			return
		}
	}
}

var usedMemory = regexp.MustCompile(`used_memory:(\d+)`)

func used(b *testing.B, server *sessiontest.Server) int {
	found := usedMemory.FindStringSubmatch(server.Do(b, "INFO", "memory"))
	require.NotNil(b, found)
	n, err := strconv.Atoi(found[1])
	require.NoError(b, err)
	return n
}
