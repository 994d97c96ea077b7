package main

import (
	"log/slog"
	"strings"
)

// hush logs what net/http would print by itself: what happened, and nothing of the
// line, which may quote what was sent.
type hush struct{ log *slog.Logger }

func (h hush) Write(line []byte) (int, error) {
	text := string(line)
	what := "net/http reports something else"
	for _, known := range []struct{ says, what string }{
		{"Unsolicited response", "a server answered without being asked"},
		{"panic serving", "a request made the program panic"},
		{"Accept error", "a connection could not be taken"},
		{"TLS handshake error", "a caller speaks TLS, or something else, to a plain port"},
	} {
		if strings.Contains(text, known.says) {
			what = known.what
			break
		}
	}
	h.log.Warn(what, "bytes", len(line))
	return len(line), nil
}
