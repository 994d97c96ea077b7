package orderpage

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
)

// A form that was open when another link was opened in the same browser is of the secret
// of before: what was typed stays.
func TestAFormOfBeforeAnotherLinkKeepsWhatWasTyped(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	before := desk.form("query", 1)
	before.Set("words", "which <handle>?")
	r.fitter("new job", window, "job", "invite desk")
	desk.open()
	desk.ask(http.MethodPost, "/desk/order/1", before)
	require.Equal(t, http.StatusUnprocessableEntity, desk.status)
	require.Contains(t, desk.shows(), "Another link was opened in this browser")
	require.Contains(t, desk.body, ">which &lt;handle&gt;?</textarea>")
	require.NotContains(t, r.post.all(7), "which <handle>?")
	desk.at = "/desk/order/1"
	desk.press("query", 1, "words", "which <handle>?")
	r.hears("which <handle>?")
}

// What is asked is asked of what was read: else it is said, and the words stay.
func TestAQuestionIsOfTheRevisionThatWasRead(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "copy 1 hall", "1100 1100 1100 900 900 900 1421 1421", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	stale := desk.form("query", 1)
	stale.Set("words", "which <handle>?")
	r.fitter("edit 1", "change widths", "1190 1190 1190")
	r.fitter("change diagonals", "1588 1588", "send 1 anyway")
	unknown, none := desk.get("/desk/order/1").form("query", 1), desk.form("query", 1)
	unknown.Set("revision", "Q")
	none.Del("revision")
	for says, form := range map[string]map[string][]string{
		"Revision B takes its place": stale, "No revision Q was sent": unknown, "It is not known which revision you read": none,
	} {
		form["words"] = []string{"which <handle>?"}
		desk.ask(http.MethodPost, "/desk/order/1", form)
		require.Equal(t, http.StatusUnprocessableEntity, desk.status)
		require.Contains(t, desk.shows(), says)
		require.Contains(t, desk.shows(), "still in its field")
		require.Contains(t, desk.body, ">which &lt;handle&gt;?</textarea>")
		require.Contains(t, desk.body, `<details class="query" open>`)
	}
	require.NotContains(t, r.post.all(7), "which <handle>?")
	desk.at = "/desk/order/1"
	desk.press("query", 1, "words", "which <handle>?")
	r.hears("which <handle>?")
}

func TestALineHasSoManyOpenQuestions(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	form := desk.form("query", 1)
	for n := range job.MostQuestions {
		desk.to.limits = newLimits()
		desk.get("/desk/order/1").press("query", 1, "words", fmt.Sprint("question ", n, "?"))
		r.hears(fmt.Sprint("question ", n, "?"))
	}
	desk.get("/desk/order/1")
	require.NotContains(t, desk.body, `<details class="query"`)
	require.Contains(t, desk.shows(), "20 questions about Window 1 wait for an answer")
	form.Set("words", "one more?")
	desk.ask(http.MethodPost, "/desk/order/1", form)
	require.Equal(t, http.StatusUnprocessableEntity, desk.status)
	require.Contains(t, desk.shows(), "You wrote: “one more?”")
	require.NotContains(t, r.post.all(7), "one more?")
	r.fitter("answer 1.1 yes")
	desk.get("/desk/order/1").press("query", 1, "words", "one more?")
	r.hears("one more?")
}

// No field of a form is longer than a page's own.
func TestAFieldHasABound(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "customer price 1 450", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	for name, do := range map[string]string{"revision": "confirm", "line": "confirm", "once": "query", "csrf": "query", "do": "query", "due": "promise"} {
		form := desk.get("/desk/order/1").form(do, 1)
		form.Set("words", "which handle?")
		form.Set(name, strings.Repeat("9", 9000))
		desk.ask(http.MethodPost, "/desk/order/1", form)
		require.Equal(t, http.StatusNotFound, desk.status, name)
		require.NotContains(t, desk.get("/desk/order/1").body, "9999999999", name)
	}
	for do, typed := range map[string][]string{
		"query":   {"words", strings.Repeat("é", longestWords+1)},
		"promise": {"price", strings.Repeat("1", longestPrice+1)},
	} {
		desk.get("/desk/order/1").press(do, 1, typed...)
		require.Equal(t, http.StatusUnprocessableEntity, desk.status, do)
		require.Contains(t, desk.body, typed[1], "what was typed stays")
	}
	desk.get("/desk/order/1").press("query", 1, "words", strings.Repeat("é", longestWords))
	r.hears(strings.Repeat("é", longestWords))

	r.fitter("invite customer")
	customer := r.browser().open()
	customer.press("agree", 1, "words", strings.Repeat("x", longestName+1))
	require.Equal(t, http.StatusUnprocessableEntity, customer.status)
	require.Contains(t, customer.shows(), "At most 60 characters")
	require.Contains(t, customer.body, `value="`+strings.Repeat("x", longestName+1))
	require.NotContains(t, r.post.all(7), "Agreed by the customer")
}

// Pictures in a mail, and calls with cookies of nobody: who was let in goes on, from the
// same address too, and a link can be opened.
func TestWhatHasNoCookieLocksNobodyOut(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	clock := time.Now()
	desk.to.limits.clock = func() time.Time { return clock }
	for range 5 * byAddress.burst {
		for _, path := range []string{"/desk/o", "/desk/order/1", "/desk/zorb"} {
			r.browser().ask(http.MethodGet, path, nil, "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "no-cors")
			r.browser().get(path)
		}
	}
	require.Equal(t, http.StatusOK, desk.get("/desk/order/1").status)
	require.Equal(t, http.StatusOK, r.browser().get("/desk/o").status)
	for range 2 * byBrowser.burst { // of a page whose place is the same one to a browser
		desk.ask(http.MethodGet, "/desk/order/1", nil, "Sec-Fetch-Site", "same-site", "Sec-Fetch-Mode", "no-cors")
		require.Equal(t, http.StatusNotFound, desk.status)
	}
	require.Equal(t, http.StatusOK, desk.ask(http.MethodGet, "/desk/order/1", nil, "Sec-Fetch-Site", "same-site", "Sec-Fetch-Mode", "navigate").status)

	stranger := func() *person {
		b := r.browser()
		b.cookie = newSecret()
		return b.get("/desk/order/1")
	}
	for stranger().status == http.StatusNotFound {
	}
	require.Equal(t, http.StatusTooManyRequests, stranger().status)
	require.Equal(t, http.StatusOK, desk.get("/desk/order/1").status, "who was let in of late goes on")
	r.fitter("invite desk")
	r.browser().open()
}
