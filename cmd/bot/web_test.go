package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestTheProgramShowsAPageAndLeaves: the address that it prints is that of a page which
// begins as the bot does, on this machine, and nobody listens there afterwards.
func TestTheProgramShowsAPageAndLeaves(t *testing.T) {
	ctx, leave := context.WithCancel(t.Context())
	out, printed := io.Pipe()
	ended := make(chan error, 1)
	go func() { ended <- run(ctx, []string{"web"}, strings.NewReader(""), printed, io.Discard) }()
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	address := strings.TrimSpace(line)
	require.Regexp(t, `^http://127\.0\.0\.1:\d+/[a-z0-9]{26}/$`, address)
	answer, err := http.Get(address)
	require.NoError(t, err)
	page, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Contains(t, string(page), "Nation and day of the work?")
	require.Contains(t, string(page), "nothing is kept when the program ends")
	leave()
	select {
	case err := <-ended:
		require.NoError(t, err)
	case <-time.After(5 * time.Second):
		t.Fatal("it stays")
	}
	_, err = http.Get(address)
	require.Error(t, err)
}

func TestAPortThatCannotBeHadIsSaid(t *testing.T) {
	for _, port := range []string{"-1", "70000"} {
		require.ErrorContains(t, run(t.Context(), []string{"web", "--port", port}, nil, io.Discard, io.Discard), "listening for the page")
	}
}
