package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/go-telegram/bot"
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
	var a answer
	err = json.Unmarshal(raw, &a)
	if shape, ok := errors.AsType[*json.UnmarshalTypeError](err); ok && strings.HasPrefix(shape.Field, "result") {
		err = nil // such as "true"; the rest was read
	}
	if err != nil {
		return 0, &transportError{status: resp.StatusCode}
	}
	if r, ok := ctx.Value(receiptKey{}).(*receipt); ok {
		r.taken, r.msg = a.OK, int64(a.Result.ID)
	}
	return a.Result.ID, a.refusal()
}

// answer is what the platform says to a call.
type answer struct {
	OK          bool   `json:"ok"`
	Code        int    `json:"error_code"`
	Description string `json:"description"`
	Parameters  struct {
		RetryAfter int `json:"retry_after"`
		MigrateTo  int `json:"migrate_to_chat_id"`
	} `json:"parameters"`
	Result struct {
		ID int `json:"message_id"`
	} `json:"result"`
}

// refusal is the library's error for an answer; nil for one that says yes.
func (a answer) refusal() error {
	if a.OK {
		return nil
	}
	kinds := map[int]error{
		http.StatusForbidden: bot.ErrorForbidden, http.StatusBadRequest: bot.ErrorBadRequest, http.StatusUnauthorized: bot.ErrorUnauthorized,
		http.StatusNotFound: bot.ErrorNotFound, http.StatusConflict: bot.ErrorConflict,
	}
	switch kind := kinds[a.Code]; {
	case a.Code == http.StatusTooManyRequests:
		return &bot.TooManyRequestsError{Message: bot.ErrorTooManyRequests.Error() + ", " + a.Description, RetryAfter: a.Parameters.RetryAfter}
	case a.Code == http.StatusBadRequest && a.Parameters.MigrateTo != 0:
		return &bot.MigrateError{Message: a.Description, MigrateToChatID: a.Parameters.MigrateTo}
	case kind != nil:
		return fmt.Errorf("%w, %s", kind, a.Description)
	}
	return fmt.Errorf("the platform answered %d", a.Code)
}
