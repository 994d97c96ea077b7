package telegram

import (
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/json"
	"io"
	"net/http"
	"time"
)

const (
	secretHeader = "X-Telegram-Bot-Api-Secret-Token"
	pushLimit    = 1 << 20  // bytes of one pushed update that is looked at
	drainLimit   = 64 << 20 // bytes of it that are read at all
	againAfter   = "1"      // seconds
)

// ServeHTTP handles one pushed update. 200 acknowledges it and is sent only
// when Handle returned nil; 503 asks for it again. What is too large would come
// again for ever, and goes to the dead list. Others: 401 wrong secret, 405 not a
// POST, 400 incomplete body.
func (r *Receiver) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	if req.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		http.Error(w, "POST only", http.StatusMethodNotAllowed)
		return
	}
	if !r.client.knows(req.Header.Get(secretHeader)) {
		http.Error(w, "wrong secret", http.StatusUnauthorized)
		return
	}
	ctx, cancel := context.WithTimeout(req.Context(), r.client.cfg.Deadline)
	defer cancel()
	// Not every connection can have a deadline; the server's own then holds.
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(r.client.cfg.Deadline))
	raw, err := io.ReadAll(io.LimitReader(req.Body, pushLimit+1))
	if err != nil {
		// An incomplete update is not acknowledged: it comes again whole.
		r.missed.Store(r.client.cfg.Clock().UnixMilli())
		http.Error(w, "the body broke off", http.StatusBadRequest)
		return
	}
	var back ride
	if len(raw) > pushLimit {
		// The rest is read, or who sends it would never see the answer.
		_, _ = io.CopyN(io.Discard, req.Body, drainLimit)
		err = r.bury(ctx, raw[:pushLimit], "too large")
	} else {
		err = r.handle(ctx, raw, &back)
	}
	if err != nil {
		r.missed.Store(r.client.cfg.Clock().UnixMilli())
		r.client.cfg.Log.Warn("a pushed update was not taken and will come again", "error", err)
		w.Header().Set("Retry-After", againAfter)
		http.Error(w, "not taken", http.StatusServiceUnavailable)
		return
	}
	r.pushed.Store(r.client.cfg.Clock().UnixMilli())
	if back.Method == "" {
		w.WriteHeader(http.StatusOK)
		return
	}
	// It saves a call. Whether it is carried out is not known, and nothing depends on it.
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(back)
}

// knows compares a secret in constant time. Without a configured secret it
// refuses everything.
func (c *Client) knows(secret string) bool {
	want, got := sha256.Sum256([]byte(c.cfg.WebhookSecret)), sha256.Sum256([]byte(secret))
	return subtle.ConstantTimeCompare(want[:], got[:]) == 1 && c.cfg.WebhookSecret != ""
}
