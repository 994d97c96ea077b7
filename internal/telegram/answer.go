package telegram

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/go-telegram/bot"
)

// answer is what the platform says to a call, as far as it is read.
type answer struct {
	OK          bool   `json:"ok"`
	Code        int    `json:"error_code"`
	Description string `json:"description"`
	Parameters  struct {
		RetryAfter int `json:"retry_after"`
		MigrateTo  int `json:"migrate_to_chat_id"`
	} `json:"parameters"`
	Result posted `json:"result"`
}

// posted is a message that was sent.
type posted struct {
	ID       int64  `json:"message_id"`
	Photo    []file `json:"photo"` // the largest last
	Document file   `json:"document"`
}

// file is the id of the picture or document in it; "": it has none.
func (m posted) file() string {
	if n := len(m.Photo); n > 0 {
		return m.Photo[n-1].ID
	}
	return m.Document.ID
}

type file struct {
	ID string `json:"file_id"`
}

// answerOf reads an answer; ok is false for what is none. A result of another shape, such
// as "true", is passed over.
func answerOf(raw []byte) (a answer, ok bool) {
	err := json.Unmarshal(raw, &a)
	if shape, is := errors.AsType[*json.UnmarshalTypeError](err); is && strings.HasPrefix(shape.Field, "result") {
		err = nil
	}
	return a, err == nil
}

// receipt records whether the server accepted a call; the library does not
// report that when it can't decode the rest of the answer.
type receipt struct {
	taken  bool
	edited bool     // the message that was there was changed
	msg    int64    // the number of the message; 0: the answer names none, or several
	files  []string // the ids of the pictures or documents, one a message; "": none
}

// note takes an answer in, and what it is made of. That of sendMediaGroup has a list of
// messages.
func (r *receipt) note(a answer, raw []byte) {
	r.taken, r.msg, r.files = a.OK, a.Result.ID, nil
	if a.Result.ID != 0 {
		r.files = []string{a.Result.file()}
		return
	}
	var album struct{ Result []posted }
	if a.OK && json.Unmarshal(raw, &album) == nil {
		for _, m := range album.Result {
			r.files = append(r.files, m.file())
		}
	}
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
