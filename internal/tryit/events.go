package tryit

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"time"
)

const (
	mostStreams = 32
	// quietTime is how often a stream says that it lives.
	quietTime = 15 * time.Second
)

// change is one event: a message that came or was edited, a note, or the clock.
type change struct {
	Chair   string `json:"chair,omitempty"`
	Message string `json:"message,omitempty"` // the id of its element
	HTML    string `json:"html,omitempty"`
	Own     bool   `json:"own,omitempty"`
	Note    string `json:"note,omitempty"`
	Noted   bool   `json:"noted,omitempty"`
	Clock   string `json:"clock,omitempty"`
}

type numbered struct {
	at int64
	change
}

// events tells what changes, from the change on that the browser had last. What it
// had already and hears again takes its own place.
func (t *Trial) events(streams *atomic.Int32) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if streams.Add(1) > mostStreams {
			streams.Add(-1)
			http.Error(w, http.StatusText(http.StatusServiceUnavailable), http.StatusServiceUnavailable)
			return
		}
		defer streams.Add(-1)
		after, err := strconv.ParseInt(cmp.Or(r.Header.Get("Last-Event-ID"), r.URL.Query().Get("after")), 10, 64)
		if err != nil {
			after = 0
		}
		w.Header().Set("Content-Type", "text/event-stream")
		stream := http.NewResponseController(w)
		said := "retry: 500\n\n"
		for {
			s := t.book.since(after)
			after = s.last
			said += t.told(r, s)
			_ = stream.SetWriteDeadline(time.Now().Add(writeTime))
			if _, err := io.WriteString(w, said); err != nil {
				return
			}
			if stream.Flush() != nil {
				return
			}
			said = ""
			select {
			case <-s.news:
			case <-time.After(quietTime):
				said = ": quiet\n\n"
			case <-r.Context().Done():
				return
			}
		}
	}
}

// told is what has changed as events, each with the number of its change.
func (t *Trial) told(r *http.Request, s state) string {
	page := t.sight(r, state{last: s.last, ahead: s.ahead})
	var all []numbered
	for _, c := range chairs {
		for _, m := range s.messages[c.chat] {
			var b strings.Builder
			if err := templates.ExecuteTemplate(&b, "message", t.letter(page, c, m)); err != nil {
				panic(err)
			}
			all = append(all, numbered{m.changed, change{Chair: c.key, Message: fmt.Sprintf("m%d", m.Number), HTML: b.String(), Own: m.By != ""}})
		}
		if n, ok := s.notes[c.chat]; ok {
			all = append(all, numbered{n.changed, change{Chair: c.key, Note: n.Text, Noted: true}})
		}
	}
	if s.clocked {
		all = append(all, numbered{s.last, change{Clock: page.Clock}})
	}
	slices.SortStableFunc(all, func(a, b numbered) int { return cmp.Compare(a.at, b.at) })
	var said strings.Builder
	for _, n := range all {
		data, err := json.Marshal(n.change)
		if err != nil {
			panic(err)
		}
		fmt.Fprintf(&said, "id: %d\ndata: %s\n\n", n.at, data)
	}
	return said.String()
}
