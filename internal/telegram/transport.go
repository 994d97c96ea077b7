package telegram

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/go-telegram/bot"

	"sillbot/internal/engine"
)

const (
	callTimeout = 30 * time.Second // of one call; a long poll has its own
	answerLimit = 64 << 20         // bytes of one answer of the server
)

// transportError is a call that got no usable answer: the connection failed,
// or something that is not the platform answered in its place. Its text holds
// no address and nothing of the body.
type transportError struct {
	status int   // HTTP status; 0: no answer came
	unsent bool  // the request surely never reached the server
	cause  error // already scrubbed; nil when an answer came
}

func (e *transportError) Error() string {
	if e.cause != nil {
		return e.cause.Error()
	}
	return fmt.Sprintf("the server answered %d", e.status)
}

func (e *transportError) Unwrap() error { return e.cause }

// calling is a call of one of the library's methods, of which only the error
// counts.
func calling[P, R any](method func(context.Context, P) (R, error), params P) func(context.Context) error {
	return func(ctx context.Context) error {
		_, err := method(ctx, params)
		return err
	}
}

// careful is the HTTP client given to the library. It sends every request with
// its length, so that one lost on a closed connection can be sent again. It
// turns every answer that is not the platform's JSON into a transportError,
// because the library would put the body into its error. None of its errors
// holds the token, which is part of the address.
type careful struct {
	client *http.Client
	token  string
}

type receiptKey struct{}

func withReceipt(ctx context.Context) (context.Context, *receipt) {
	r := &receipt{}
	return context.WithValue(ctx, receiptKey{}, r), r
}

func (c *careful) Do(req *http.Request) (*http.Response, error) {
	if err := buffer(req); err != nil {
		return nil, err
	}
	body, resp, err := c.fetch(req)
	if err != nil {
		return nil, err
	}
	a, ok := answerOf(body)
	if !ok {
		return nil, &transportError{status: resp.StatusCode}
	}
	if r, ok := req.Context().Value(receiptKey{}).(*receipt); ok {
		r.note(a, body)
	}
	resp.Body = io.NopCloser(bytes.NewReader(body))
	return resp, nil
}

// fetch makes one call and reads its answer, whatever that is below 500.
func (c *careful) fetch(req *http.Request) ([]byte, *http.Response, error) {
	ctx, cancel := context.WithTimeout(req.Context(), callTimeout)
	defer cancel()
	if err := engine.MaySend(ctx); err != nil {
		return nil, nil, &transportError{unsent: true, cause: err}
	}
	if puts(req.URL.Path) {
		engine.Counts(ctx)
	}
	resp, err := c.client.Do(req.WithContext(ctx))
	if err != nil {
		return nil, nil, noAnswer(c.token, err)
	}
	body, err := readAnswer(c.token, resp)
	return body, resp, err
}

// puts says whether a call puts or changes a message, which the platform's limits count.
func puts(path string) bool {
	method := path[strings.LastIndexByte(path, '/')+1:]
	return strings.HasPrefix(method, "edit") || strings.HasPrefix(method, "send") && method != "sendChatAction"
}

// buffer reads the request's body, which the library makes as a stream.
func buffer(req *http.Request) error {
	if req.Body == nil {
		return nil
	}
	body, err := io.ReadAll(req.Body)
	req.Body.Close()
	if err != nil {
		return fmt.Errorf("building the request: %w", err)
	}
	req.ContentLength = int64(len(body))
	if len(body) == 0 { // a length of 0 says "unknown" of any other body
		req.Body, req.GetBody = http.NoBody, nil
		req.Header.Del("Content-Type")
		return nil
	}
	req.GetBody = func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(body)), nil }
	req.Body, err = req.GetBody()
	return err
}

// readAnswer reads and closes the body of an answer. An answer of 500 and
// above is an error, whatever it holds.
func readAnswer(token string, resp *http.Response) ([]byte, error) {
	defer resp.Body.Close()
	body, err := io.ReadAll(io.LimitReader(resp.Body, answerLimit))
	if err != nil {
		return nil, noAnswer(token, err)
	}
	if resp.StatusCode >= 500 {
		return nil, &transportError{status: resp.StatusCode}
	}
	return body, nil
}

// noAnswer says why no answer came.
func noAnswer(token string, err error) error {
	var op *net.OpError
	return &transportError{unsent: errors.As(err, &op) && op.Op == "dial", cause: scrub(token, err)}
}

// scrubbed is an error whose text is safe to log. errors.Is finds only the
// causes in this list.
type scrubbed struct {
	text string
	kind error
}

func (e *scrubbed) Error() string { return e.text }
func (e *scrubbed) Unwrap() error { return e.kind }

// scrub is err with a text without token, address or people's words.
func scrub(token string, err error) error {
	if err == nil {
		return nil
	}
	if tr, ok := errors.AsType[*transportError](err); ok {
		return tr
	}
	if tooMany, ok := errors.AsType[*bot.TooManyRequestsError](err); ok {
		return &scrubbed{fmt.Sprintf("too many requests, again in %d s", tooMany.RetryAfter), tooMany}
	}
	for _, kind := range []error{
		context.Canceled, context.DeadlineExceeded, io.ErrUnexpectedEOF, io.EOF,
		bot.ErrorForbidden, bot.ErrorBadRequest, bot.ErrorUnauthorized, bot.ErrorNotFound, bot.ErrorConflict,
	} {
		if errors.Is(err, kind) {
			return &scrubbed{kind.Error() + detail(token, err, kind), kind}
		}
	}
	return &scrubbed{cause(token, err), nil}
}

// detail is the platform's description of one of its own errors, up to the
// first quotation mark, after which it repeats what was sent.
func detail(token string, err, kind error) string {
	_, after, ok := strings.Cut(err.Error(), kind.Error()+", ")
	if !ok {
		return ""
	}
	after, _, _ = strings.Cut(after, `"`)
	if len(after) > 100 {
		after = after[:100]
	}
	return ": " + hide(token, strings.ToValidUTF8(after, ""))
}

// cause is the innermost reason of a failed connection.
func cause(token string, err error) string {
	if dns, ok := errors.AsType[*net.DNSError](err); ok {
		return "name lookup: " + dns.Err
	}
	if op, ok := errors.AsType[*net.OpError](err); ok {
		return op.Op + ": " + hide(token, op.Err.Error())
	}
	if u, ok := errors.AsType[*url.Error](err); ok {
		return hide(token, unquoted(u.Err.Error()))
	}
	return "unexpected answer"
}

// unquoted is net/http's description of what went wrong, without what it quotes of
// the answer: after a quotation mark, or after what it calls malformed.
func unquoted(text string) string {
	text, _, _ = strings.Cut(text, `"`)
	if before, _, ok := strings.Cut(text, "malformed"); ok {
		text = before + "malformed answer"
	}
	return strings.TrimSpace(text)
}

func hide(token, s string) string {
	s = strings.ReplaceAll(s, token, "***")
	return strings.ReplaceAll(s, url.QueryEscape(token), "***")
}

// newTransport keeps enough connections open for a burst of replies. It closes
// idle ones earlier than a server would, so that a reply seldom meets a
// connection that has just been closed.
func newTransport() *http.Transport {
	t := http.DefaultTransport.(*http.Transport).Clone()
	t.MaxIdleConns = 128
	t.MaxIdleConnsPerHost = 128
	t.IdleConnTimeout = 30 * time.Second
	t.TLSHandshakeTimeout = 10 * time.Second
	return t
}
