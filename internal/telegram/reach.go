package telegram

import (
	"context"
	"net/url"
	"strings"
	"time"
)

// Reach is what the platform says of its way to the webhook.
type Reach struct {
	Elsewhere bool      // another address is set than the configured one, or none
	Pending   int       // updates that the platform holds for us
	Failed    time.Time // when bringing one last failed; zero: not that it knows
	Kind      Failure   // of that failure
}

// Failure is why the platform could not bring an update, in a word. Its own
// words may quote addresses and never leave this file.
type Failure string

// The kinds of failure.
const (
	NoFailure        Failure = ""
	NameUnknown      Failure = "name"       // the host name leads nowhere
	CertificateBad   Failure = "tls"        // no TLS that the platform trusts
	TimedOut         Failure = "timeout"    // it connected, or tried to, and waited in vain
	ConnectionFailed Failure = "connection" // nobody listens, or the connection broke
	Refused          Failure = "refused"    // an answer of 3xx or 4xx: another server, path or secret
	ServerFailed     Failure = "server"     // an answer of 5xx
	OtherFailure     Failure = "other"
)

// Failures are all of them but NoFailure.
var Failures = []Failure{NameUnknown, CertificateBad, TimedOut, ConnectionFailed, Refused, ServerFailed, OtherFailure}

// failureOf reads the platform's message: "Wrong response from the webhook: 503
// Service Unavailable", "Connection timed out", "Read timeout expired", "SSL
// error {…}" as people report them (github.com/tdlib/telegram-bot-api, issues
// 341 and 422), others as far as they could be given from memory.
func failureOf(message string) Failure {
	message = strings.ToLower(message)
	if message == "" {
		return NoFailure
	}
	if _, status, ok := strings.Cut(message, "wrong response from the webhook: "); ok {
		if strings.HasPrefix(status, "5") {
			return ServerFailed
		}
		return Refused
	}
	for _, f := range []struct {
		word string
		kind Failure
	}{
		{"resolve", NameUnknown}, {"ssl", CertificateBad}, {"certificate", CertificateBad}, {"timed out", TimedOut},
		{"timeout", TimedOut}, {"connection", ConnectionFailed}, {"unreachable", ConnectionFailed}, {"no route", ConnectionFailed},
	} {
		if strings.Contains(message, f.word) {
			return f.kind
		}
	}
	return OtherFailure
}

// Reach asks the platform how it gets on with the webhook. It makes a call every
// time. Errors: the platform can't be reached, or does not know the token.
func (c *Client) Reach(ctx context.Context) (Reach, error) {
	info, err := c.api.GetWebhookInfo(ctx)
	if err != nil {
		return Reach{}, c.plainError("getWebhookInfo", err)
	}
	r := Reach{Elsewhere: !sameAddress(info.URL, c.cfg.WebhookURL), Pending: info.PendingUpdateCount}
	if info.LastErrorDate > 0 {
		r.Failed, r.Kind = time.Unix(int64(info.LastErrorDate), 0), failureOf(info.LastErrorMessage)
		if r.Kind == NoFailure {
			r.Kind = OtherFailure
		}
	}
	return r, nil
}

// sameAddress compares two addresses by what they lead to: the platform may write
// one in its own way.
func sameAddress(a, b string) bool {
	x, err := url.Parse(a)
	if err != nil {
		return false
	}
	y, err := url.Parse(b)
	return err == nil && x.Scheme == y.Scheme && strings.EqualFold(x.Hostname(), y.Hostname()) &&
		portOf(x) == portOf(y) && x.Path == y.Path && x.RawQuery == y.RawQuery
}

func portOf(u *url.URL) string {
	if u.Port() == "" && u.Scheme == "https" {
		return "443"
	}
	return u.Port()
}
