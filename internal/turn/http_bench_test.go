package turn

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strconv"
	"testing"
	"time"

	"github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/session/sessiontest"
)

type webSender struct {
	url string
	c   *http.Client
}

func (w webSender) Send(ctx context.Context, m Message) error {
	data, _ := json.Marshal(m)
	req, _ := http.NewRequestWithContext(ctx, "POST", w.url, bytes.NewReader(data))
	r, err := w.c.Do(req)
	if err != nil {
		return err
	}
	io.Copy(io.Discard, r.Body)
	return r.Body.Close()
}

func BenchmarkHTTP(b *testing.B) {
	tr := &http.Transport{MaxIdleConnsPerHost: 200}
	c := &http.Client{Transport: tr}
	api := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		io.Copy(io.Discard, r.Body)
		io.WriteString(w, `{"ok":true,"result":{}}`)
	}))
	defer api.Close()
	sender := webSender{api.URL, c}
	for _, kind := range []string{"bare", "desk", "bare", "desk"} {
		b.Run(kind, func(b *testing.B) {
			o, err := redis.ParseURL(sessiontest.Node(b))
			require.NoError(b, err)
			rc := redis.NewClient(o)
			defer rc.Close()
			d := desk(b, sessiontest.Node(b), sender, Options{Rate: -1, Sweep: 5 * time.Second})
			run(b, d)
			hook := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
				var u Update
				if err := json.NewDecoder(r.Body).Decode(&u); err != nil {
					panic(err)
				}
				if kind == "desk" {
					if err := d.Take(ctx, u); err != nil {
						w.WriteHeader(503)
					}
					return
				}
				key := strconv.FormatInt(u.Chat, 10)
				if err := rc.Get(ctx, key).Err(); err != nil && !errors.Is(err, redis.Nil) {
					panic(err)
				}
				if err := rc.Set(ctx, key, `{"v":1,"c":7}`, time.Hour).Err(); err != nil {
					panic(err)
				}
				_, say := count(dialog.State{}, u.Input)
				if err := sender.Send(ctx, Message{Chat: u.Chat, Reply: say[0]}); err != nil {
					panic(err)
				}
			}))
			defer hook.Close()
			turns(b, 1000, func(u Update) error {
				data, _ := json.Marshal(u)
				r, err := c.Post(hook.URL, "application/json", bytes.NewReader(data))
				if err != nil {
					return err
				}
				io.Copy(io.Discard, r.Body)
				r.Body.Close()
				if r.StatusCode != 200 {
					return fmt.Errorf("status %d", r.StatusCode)
				}
				return nil
			})
			require.NoError(b, d.Drain(ctx))
		})
	}
}
