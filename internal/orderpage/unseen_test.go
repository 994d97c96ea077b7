package orderpage

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Unicode: 200D, 2060 and FEFF are format characters, 0301 is a mark on what stands before
// it, 3164 is a letter that is a filler. None is a name, nor a question.
func TestNobodyAgreesByANameThatCannotBeSeen(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "customer price 1 450", "invite customer")
	customer := r.browser().open()
	for _, name := range []string{"\u200d", "\u00a0\u2060\ufeff", "\u200d \u0301", "\u3164"} {
		customer.press("agree", 1, "words", name)
		require.Contains(t, customer.shows(), "Please write your name", "%+q", name)
		customer.get(customer.at)
	}
	require.NotContains(t, r.post.all(7), "Agreed by the customer")
	r.fitter("invite desk", "send 1 anyway")
	desk := r.browser().open()
	desk.press("query", 1, "words", "\u200d")
	require.Equal(t, 422, desk.status)
	require.NotContains(t, r.post.all(7), "the supplier desk asks")
	customer.press("agree", 1, "words", "Ní Dhomhnaill")
	r.hears("Agreed by the customer, Ní Dhomhnaill")
}

// A page of another place that somebody in the office has open must not use up the tries
// that their address has.
func TestAnotherPlaceSpendsNobodysTries(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk")
	for range 2 * toOpen.burst {
		for _, token := range []string{r.token(), "AAAAAAAAAAAAAAAAAAAAAA", "short"} {
			b := r.browser().ask(http.MethodPost, "/desk/o", url.Values{"token": {token}}, "Sec-Fetch-Site", "cross-site")
			require.Equal(t, http.StatusNotFound, b.status)
		}
	}
	r.browser().open()
}

// Somebody put a cookie of their own into a browser: what is opened there from then on is
// not theirs to see, and who has two links has both orders.
func TestACookieThatWasPutThereOpensNothing(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	attacker := r.browser().open()
	planted := attacker.cookie
	desk := r.as(attacker)
	r.fitter("new job", window, "job", "invite desk", "send 1 anyway")
	desk.open()
	require.NotEqual(t, planted, desk.cookie)
	require.Equal(t, "/desk/order/2", desk.at)
	require.Contains(t, desk.body, `href="/desk/order/1"`)
	require.Equal(t, http.StatusOK, desk.get("/desk/order/1").status, "what was open stays open")

	for _, look := range []func(){func() {}, func() { r.redis.FastForward(15 * time.Minute) }} {
		look()
		thief := r.browser()
		thief.cookie = planted
		require.Equal(t, http.StatusNotFound, thief.get("/desk/order/2").status)
		require.NotContains(t, thief.get("/desk/order/1").body, "/desk/order/2")
	}
	attacker.get("/desk/order/1")
	require.Equal(t, http.StatusNotFound, attacker.status)
	second := desk.cookie
	r.fitter("new job", window, "job", "invite desk")
	desk.open()
	require.NotEqual(t, second, desk.cookie)
	require.Equal(t, "/desk/order/3", desk.at)
}
