package telegram

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/sheet"
	"sillbot/internal/telegram/telegramtest"
)

// A CSV that somebody sends is fetched, up to its limit; of any other file nothing is.
// One that can't be had is said, and the update is taken all the same.
func TestACSVIsFetched(t *testing.T) {
	table := []byte("ref,revision,window,confirm\nQ3ATR7,A,1,yes\n")
	large := bytes.Repeat([]byte("x"), sheet.MostAnswerBytes*2)
	for name, tc := range map[string]struct {
		file, kind string
		holds      []byte
		method     string // that fails
		fault      telegramtest.Fault
		want       []byte
		unfetched  bool
	}{
		"by its type":         {file: "a", kind: "text/csv", holds: table, want: table},
		"by its name":         {file: "Order.CSV", kind: "application/vnd.ms-excel", holds: table, want: table},
		"another file":        {file: "order.pdf", kind: "application/pdf", holds: table},
		"a picture":           {file: "order.csv", kind: "image/png", holds: table},
		"too large":           {file: "a.csv", holds: large, want: large[:sheet.MostAnswerBytes+1]},
		"refused":             {file: "a.csv", holds: table, method: "getfile", fault: telegramtest.Fault{Status: 400}, unfetched: true},
		"failing":             {file: "a.csv", holds: table, method: "getfile", fault: telegramtest.BadGateway, unfetched: true},
		"not served":          {file: "a.csv", holds: table, method: "file", fault: telegramtest.Failing, unfetched: true},
		"cut off":             {file: "a.csv", holds: table, method: "file", fault: telegramtest.CutBefore, unfetched: true},
		"sent somewhere else": {file: "a.csv", holds: table, method: "file", fault: telegramtest.Fault{Status: 302}, unfetched: true},
	} {
		t.Run(name, func(t *testing.T) {
			server := telegramtest.Start(t)
			server.SendFile(7, tc.file, tc.kind, tc.holds)
			for range 3 { // a transport may try one that was cut off again
				if tc.method != "" {
					server.Fail(tc.method, tc.fault)
				}
			}
			var d fakeEngine
			var g graves
			var log ledger
			c := config(server)
			c.Log = slog.New(slog.NewTextHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
			r := connect(t, c).Receiver(&d, &g)
			raw := json.RawMessage(fmt.Sprintf(`{"update_id":11,"message":{"message_id":1,%s,"document":{"file_id":"file1","file_name":%q,"mime_type":%q}}}`, private, tc.file, tc.kind))
			require.NoError(t, r.Handle(within(t), raw))
			require.Empty(t, g.raw)
			require.Len(t, d.taken, 1)
			in := d.taken[0].Input
			require.Equal(t, tc.want, in.Table)
			require.Equal(t, tc.unfetched, in.Unfetched)
			if tc.kind != "image/png" {
				require.Equal(t, dialog.File, in.Kind)
			}
			require.NotContains(t, log.String(), telegramtest.Token)
			require.NotContains(t, log.String(), strings.Split(telegramtest.Token, ":")[1])
			require.Equal(t, tc.unfetched, strings.Contains(log.String(), "was not fetched"))
		})
	}
}

// What somebody sends who may not use the bot is handed over without its file.
func TestNoFileOfAStrangerIsFetched(t *testing.T) {
	server := telegramtest.Start(t)
	server.SendFile(7, "a.csv", "text/csv", []byte("ref,revision,window,confirm\n"))
	var d fakeEngine
	var g graves
	r := connect(t, config(server)).Receiver(&d, &g)
	raw := json.RawMessage(fmt.Sprintf(`{"update_id":11,"message":{"message_id":1,%s,"document":{"file_id":"file1","file_name":"a.csv","mime_type":"text/csv"}}}`, private))
	may, failing := false, errors.New("out of reach")
	var asked error
	r.Admits = func(context.Context, int64, bool) (bool, error) { return may, asked }
	require.NoError(t, r.Handle(within(t), raw))
	require.Len(t, d.taken, 1)
	require.Nil(t, d.taken[0].Input.Table)
	require.False(t, d.taken[0].Input.Unfetched)
	asked = failing
	require.ErrorIs(t, r.Handle(within(t), raw), failing, "it is offered again")
	require.Len(t, d.taken, 1)
	may, asked = true, nil
	require.NoError(t, r.Handle(within(t), json.RawMessage(strings.Replace(string(raw), `:11,`, `:12,`, 1))))
	require.NotNil(t, d.taken[1].Input.Table)
}
