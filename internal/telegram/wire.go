package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
)

// post calls a method with parameters of the library's that hold no file, such as
// *bot.SendMessageParams, and gives the number of the message in the answer, 0 for none.
//
// It sends JSON, which the platform takes as it takes the forms that the library makes
// of everything (core.telegram.org/bots/api, Making requests), and reads no more of the
// answer than that: a form costs more than all else of a call. Its errors are the
// library's, or a transportError.
func (c *Client) post(ctx context.Context, method string, params any) (message int, err error) {
	body, err := json.Marshal(params)
	if err != nil {
		return 0, fmt.Errorf("building the request: %w", err)
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, c.cfg.API+"/bot"+c.cfg.Token+"/"+method, bytes.NewReader(body))
	if err != nil {
		return 0, scrub(c.cfg.Token, err)
	}
	req.Header.Set("Content-Type", "application/json")
	raw, resp, err := c.calls.fetch(req)
	if err != nil {
		return 0, err
	}
	a, ok := answerOf(raw)
	if !ok {
		return 0, &transportError{status: resp.StatusCode}
	}
	if r, ok := ctx.Value(receiptKey{}).(*receipt); ok {
		r.note(a, raw)
	}
	return int(a.Result.ID), a.refusal()
}
