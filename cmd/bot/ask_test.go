package main

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/session/sessiontest"
	"sillbot/internal/telegram/telegramtest"
)

func TestBotReadyFailsWithWhatIsNot(t *testing.T) {
	r := newRig(t, false)
	ctx := within(t, 2*time.Minute)
	env := r.env()
	port := sessiontest.Port(t)
	env["LISTEN"], env["LISTEN_OPS"] = "", fmt.Sprintf(":%d", port)
	get := func(name string) string { return env[name] }
	var out bytes.Buffer
	require.ErrorContains(t, askReady(ctx, get, &out), "nobody answers")
	p := launch(t, env, "serve")
	require.NoError(t, p.ready(ctx), "%s", p.log)
	require.NoError(t, askReady(ctx, get, &out))
	require.Equal(t, "ready\n", out.String())
	r.server.FailWhen(func(c telegramtest.Call) *telegramtest.Fault { return &telegramtest.Failing })
	require.Eventually(t, func() bool {
		err := askReady(ctx, get, &out)
		return err != nil && strings.HasPrefix(err.Error(), "platform_away: ")
	}, time.Minute, 50*time.Millisecond)
	require.ErrorContains(t, askReady(ctx, func(string) string { return "" }, &out), "LISTEN_OPS")
	p.terminate(t)
}

// The files for containers pin what they take, ask for the crew, and check health by
// the answer, not by redis-cli's status, which is 0 for an error too.
func TestTheComposeFileAsksForWhatMatters(t *testing.T) {
	compose, err := os.ReadFile("../../compose.yaml")
	require.NoError(t, err)
	image, err := os.ReadFile("../../Dockerfile")
	require.NoError(t, err)
	full := regexp.MustCompile(`^[a-z]+:\d+\.\d+\.\d+[a-z0-9-]*$`)
	for _, found := range regexp.MustCompile(`(?m)^\s*(?:image:|FROM) (\S+)`).FindAllStringSubmatch(string(compose)+string(image), -1) {
		if found[1] != "scratch" {
			require.Regexp(t, full, found[1], "a tag that moves is not pinned")
		}
	}
	require.Contains(t, string(compose), "CREW: ${CREW:?")
	require.Contains(t, string(compose), `test "$$(redis-cli ping)" = PONG`)
	require.Contains(t, string(compose), `LISTEN_OPS: ":8081"`)
	require.Contains(t, string(image), "LISTEN_OPS=:8081")
}
