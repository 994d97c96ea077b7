package orderpage

import (
	"bufio"
	"encoding/xml"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/engine"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

func TestADeskWithoutTheMessenger(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "address 3 Weir Lane", "copy 1 hall", "1100 1100 1100 900 900 900 1421 1421", "invite desk")
	desk := r.browser().open()
	require.Contains(t, desk.shows(), "No order was sent yet")
	r.fitter("send 1 anyway")
	desk.get(desk.at)
	require.Contains(t, desk.shows(), "revision A")
	require.Contains(t, desk.shows(), "1192 wide × 1040 high")
	require.Contains(t, desk.shows(), "Not said")
	require.Contains(t, desk.body, "<svg ")
	require.NotContains(t, desk.body, "Weir Lane", "the address was not shared")
	wellFormed(t, desk.body)

	desk.press("query", 1, "words", "which <handle> & where?\nleft")
	require.Contains(t, desk.shows(), "which &lt;handle&gt; &amp; where? left")
	r.hears("which <handle> & where? left")
	r.fitter("answer 1 the usual one")
	desk.get(desk.at)
	require.Contains(t, desk.shows(), "the usual one")
	desk.press("promise", 1, "price", "310.50", "due", time.Now().AddDate(0, 0, 20).Format(time.DateOnly))
	r.hears("£310.50 for one window")
	require.Contains(t, desk.body, `value="310.50"`)
	other := r.as(desk).get(desk.at).form("confirmall", 0) // in another tab
	desk.press("confirmall", 0)
	r.hears("revision A is confirmed")
	require.Contains(t, desk.shows(), "You confirmed this line")
	require.NotContains(t, desk.body, `value="confirmall"`)

	r.fitter("share address")
	require.Contains(t, desk.get(desk.at).shows(), "3 Weir Lane")
	r.fitter("edit 1", "change widths", "1190 1190 1190")
	require.Contains(t, desk.get(desk.at).shows(), "Stop: the fitter is changing this order")
	require.NotContains(t, desk.body, `value="confirm"`)
	r.fitter("change diagonals", "1588 1588", "send 1 anyway")
	desk.get(desk.at)
	require.Contains(t, desk.shows(), "What is different from revision A")
	require.Contains(t, desk.shows(), "order width 1180 mm, was 1192 mm")
	desk.ask(http.MethodPost, desk.at, other)
	require.NotContains(t, r.post.all(7), "revision B is confirmed", "what is confirmed is what was read")
	require.Contains(t, desk.shows(), "Revision B takes its place. Read it, then answer.")
	desk.press("confirm", 1)
	r.hears("revision B is confirmed")

	for name, begins := range map[string]string{"order.pdf": "%PDF", "order.csv": "", "order.json": "{"} {
		paper := r.browser()
		paper.cookie = desk.cookie
		paper.get(desk.at + "/paper/" + name)
		require.Equal(t, http.StatusOK, paper.status)
		require.True(t, strings.HasPrefix(paper.body, begins), name)
		require.Contains(t, paper.header.Get("Content-Disposition"), "attachment")
	}
	r.fitter("revoke desk")
	require.Equal(t, http.StatusNotFound, desk.get(desk.at).status)
	require.Eventually(t, func() bool {
		desk.get(desk.at)
		return !strings.Contains(strings.Join(r.redis.Keys(), " "), ":w:")
	}, 5*time.Second, 20*time.Millisecond, "what was said to it goes")
}

// wellFormed: each drawing is XML.
func wellFormed(t *testing.T, body string) {
	t.Helper()
	for _, part := range strings.Split(body, "<svg ")[1:] {
		d := xml.NewDecoder(strings.NewReader("<svg " + strings.Split(part, "</svg>")[0] + "</svg>"))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else {
				require.NoError(t, err)
			}
		}
	}
}

func TestTheCustomerAgreesAndDoesNothingElse(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "label Mill", "address 3 Weir Lane", "customer price 1 450", "invite customer")
	customer := r.browser().open()
	require.Contains(t, customer.shows(), "Your windows, job")
	require.Contains(t, customer.shows(), "£450.00 each")
	require.NotContains(t, customer.body, "Weir Lane")
	customer.press("agree", 1, "words", "")
	require.Contains(t, customer.shows(), "Please write your name")
	stale := customer.form("agree", 1)
	r.fitter("customer price 1 470")
	customer.get(customer.at)
	require.Contains(t, customer.shows(), "This window is being changed")
	stale.Set("words", "Mrs Hill")
	customer.ask(http.MethodPost, customer.at, stale)
	require.Contains(t, customer.shows(), "has changed since you opened the page")
	require.NotContains(t, r.post.all(7), "Agreed by the customer")
	r.fitter("customer 1")
	customer.get(customer.at).press("agree", 1, "words", "Mrs Hill")
	require.Contains(t, customer.shows(), "Agreed by Mrs Hill")
	r.hears("Agreed by the customer, Mrs Hill")

	for _, do := range []string{"confirm", "confirmall", "query", "promise", "delete", "order", "leave", "show", "join"} {
		form := url.Values{"csrf": {csrfOf(customer)}, "do": {do}, "line": {"1"}, "revision": {"A"}, "words": {"x"}, "price": {"5"}}
		before := r.post.all(7)
		customer.ask(http.MethodPost, "/desk/order/1", form)
		require.Equal(t, before, r.post.all(7), do)
	}
	for _, paper := range []string{"order.pdf", "order.csv", "check.pdf", "file.pdf", "held.json", "quote.pdf"} {
		require.Equal(t, http.StatusNotFound, customer.get("/desk/order/1/paper/"+paper).status, paper)
	}
	require.Equal(t, http.StatusOK, customer.get("/desk/order/1/paper/customer.pdf").status)
}

func csrfOf(b *person) string { return browser{secret: b.cookie}.csrf() }

// Programs that look at links in mail ask with GET and HEAD.
func TestLookingAtALinkDoesNotUseIt(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk")
	for range 3 {
		for _, method := range []string{http.MethodGet, http.MethodHead} {
			b := r.browser().ask(method, "/desk/o", nil)
			require.Equal(t, http.StatusOK, b.status)
			require.Empty(t, b.cookie)
		}
	}
	require.NotContains(t, r.browser().get("/desk/o").body, r.token())
	first := r.browser().open()
	second := r.browser()
	second.ask(http.MethodPost, "/desk/o", url.Values{"token": {r.token()}})
	require.Equal(t, http.StatusNotFound, second.status)
	require.Empty(t, second.cookie)
	first.ask(http.MethodPost, "/desk/o", url.Values{"token": {r.token()}})
	require.Equal(t, http.StatusOK, first.status, "whose link it was is led to the page")
}

// One answer for all that is not there: it tells nobody why.
func TestOneAnswerForWhatIsNotThere(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk")
	desk := r.browser().open()
	used := r.token()
	r.fitter("revoke desk", "invite customer")
	r.fitter("revoke customer")
	post := func(form url.Values, head ...string) *person {
		return r.browser().ask(http.MethodPost, "/desk/o", form, head...)
	}
	stranger := r.browser()
	stranger.cookie = newSecret()
	var answers []*person
	answers = append(answers,
		r.browser().get("/desk/order/1"), r.browser().get("/"), r.browser().get("/desk/zorb"), r.browser().get("/desk/order/1/live"),
		r.browser().get("/desk/order/1/paper/order.pdf"), r.browser().ask(http.MethodDelete, "/desk/o", nil), desk.get("/desk/order/1"),
		stranger.get("/desk/order/1"), desk.get("/desk/order/2"),
		post(url.Values{"token": {"AAAAAAAAAAAAAAAAAAAAAA"}}), post(url.Values{"token": {used}}), post(url.Values{"token": {r.token()}}),
		post(url.Values{"token": {"short"}}), post(url.Values{}), post(url.Values{"token": {used}}, "Sec-Fetch-Site", "cross-site"),
	)
	for i, b := range answers {
		require.Equal(t, http.StatusNotFound, b.status, i)
		require.Equal(t, answers[0].body, b.body, i)
		b.header.Del("Date")
		require.Equal(t, answers[0].header, b.header, i)
	}
}

func TestAFormOfAnotherPlaceIsRefused(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	form := func() url.Values { return desk.get("/desk/order/1").form("confirmall", 0) }
	other := newRig(t)
	other.fitter(window, "job", "invite desk")
	wrong := form()
	wrong.Set("csrf", csrfOf(other.browser().open()))
	none := form()
	none.Del("csrf")
	for _, try := range []url.Values{wrong, none} { // of this place: so it is said what to do
		desk.ask(http.MethodPost, "/desk/order/1", try)
		require.Equal(t, http.StatusUnprocessableEntity, desk.status)
		desk.ask(http.MethodPost, "/desk/order/1", try, "Sec-Fetch-Site", "cross-site")
		require.Equal(t, http.StatusNotFound, desk.status)
	}
	for i, try := range []func(){
		func() { desk.ask(http.MethodPost, "/desk/order/1", form(), "Sec-Fetch-Site", "cross-site") },
		func() { desk.ask(http.MethodPost, "/desk/order/1", form(), "Sec-Fetch-Site", "same-site") },
		func() {
			desk.ask(http.MethodPost, "/desk/order/1", form(), "Sec-Fetch-Site", "", "Origin", "https://evil.example")
		},
		func() { desk.ask(http.MethodPost, "/desk/order/1", form(), "Sec-Fetch-Site", "", "Origin", "null") },
	} {
		try()
		require.Equal(t, http.StatusNotFound, desk.status, i)
	}
	require.NotContains(t, r.post.all(7), "is confirmed")
	desk.ask(http.MethodPost, "/desk/order/1", form(), "Sec-Fetch-Site", "", "Origin", site)
	r.hears("is confirmed")
}

func TestTheHeadOfEveryAnswer(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	for _, path := range []string{"/desk/o", "/desk/order/1", "/desk/order/1/paper/order.csv", "/nothing"} {
		h := desk.get(path).header
		require.Equal(t, "no-store", h.Get("Cache-Control"), path)
		require.Contains(t, h.Get("X-Robots-Tag"), "noindex")
		require.Equal(t, "no-referrer", h.Get("Referrer-Policy"))
		require.NotEmpty(t, h.Get("Strict-Transport-Security"))
		require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
		csp := h.Get("Content-Security-Policy")
		for _, part := range []string{"default-src 'none'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"} {
			require.Contains(t, csp, part)
		}
		require.NotContains(t, csp, "unsafe")
	}
	set := r.browser()
	r.fitter("invite desk")
	set.ask(http.MethodPost, "/desk/o", url.Values{"token": {r.token()}})
	cookie := set.header.Get("Set-Cookie")
	for _, part := range []string{"__Host-", "Path=/;", "HttpOnly", "Secure", "SameSite=Strict", "Max-Age=1209600"} {
		require.Contains(t, cookie, part)
	}
	require.NotContains(t, cookie, "Domain")
}

func TestWhoAsksTooOftenWaits(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk")
	desk := r.browser().open()
	clock := time.Now()
	desk.to.limits.clock = func() time.Time { return clock }
	guess := func(token string) int {
		return r.browser().ask(http.MethodPost, "/desk/o", url.Values{"token": {token}}).status
	}
	tries := 0
	for guess("AAAAAAAAAAAAAAAAAAAAAA") == http.StatusNotFound {
		tries++
		require.Less(t, tries, 100)
	}
	require.Equal(t, http.StatusTooManyRequests, guess("BBBBBBBBBBBBBBBBBBBBBB"), "by address")
	r.ip = "192.0.2.2"
	guess("AAAAAAAAAAAAAAAAAAAAAA")
	require.Equal(t, http.StatusTooManyRequests, guess("AAAAAAAAAAAAAAAAAAAAAA"), "by link, whatever the address")
	require.Equal(t, http.StatusNotFound, guess("CCCCCCCCCCCCCCCCCCCCCC"))
	for range 200 {
		desk.get("/desk/order/1")
	}
	require.Equal(t, http.StatusTooManyRequests, desk.status)
	clock = clock.Add(time.Hour)
	require.Equal(t, http.StatusOK, desk.get("/desk/order/1").status)
	for range 2 * mostKnown {
		desk.to.limits.address(newSecret())
	}
	require.LessOrEqual(t, len(desk.to.limits.known), mostKnown)
}

func TestWhoCalls(t *testing.T) {
	call := func(proxies int, remote string, forwarded ...string) string {
		req := httptest.NewRequest(http.MethodGet, "/", nil)
		req.RemoteAddr = remote
		req.Header["X-Forwarded-For"] = forwarded
		return callerOf(req, proxies)
	}
	require.Equal(t, "192.0.2.9", call(0, "192.0.2.9:1", "198.51.100.7"), "nobody is believed unless it is said")
	require.Equal(t, "198.51.100.7", call(1, "192.0.2.9:1", "203.0.113.1, 198.51.100.7"), "what a caller wrote stands before")
	require.Equal(t, "203.0.113.1", call(2, "192.0.2.9:1", "203.0.113.1", "198.51.100.7"))
	require.Equal(t, "192.0.2.9", call(2, "192.0.2.9:1", "198.51.100.7"))
	require.Equal(t, "2001:db8:1:2::/64", call(0, "[2001:db8:1:2:3:4:5:6]:1"))
	require.Equal(t, "?", call(1, "192.0.2.9:1", "zorb"))
}

func TestABodyHasABound(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	form := desk.form("query", 1)
	form.Set("words", strings.Repeat("x", 2*mostBody))
	desk.ask(http.MethodPost, "/desk/order/1", form)
	require.Equal(t, http.StatusNotFound, desk.status)
	form.Set("words", strings.Repeat("x", 2000))
	desk.ask(http.MethodPost, "/desk/order/1", form)
	require.NotContains(t, r.post.all(7), "xxxxxxxxxx")
}

func TestTheSameFormTwiceHappensOnce(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	form := desk.form("query", 1)
	form.Set("words", "which handle?")
	desk.ask(http.MethodPost, "/desk/order/1", form)
	desk.ask(http.MethodPost, "/desk/order/1", form)
	require.Equal(t, 1, strings.Count(r.post.all(7), "which handle?"))
	form.Set("words", "and which colour?")
	desk.ask(http.MethodPost, "/desk/order/1", form)
	require.Equal(t, 1, strings.Count(r.post.all(7), "and which colour?"), "another question on the same page is one")
}

func TestPagesOutliveAProcessAndGoByAnyReplica(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	desk.to = r.replica()
	require.Contains(t, desk.get("/desk/order/1").shows(), "revision A")
	desk.press("confirmall", 0)
	r.hears("revision A is confirmed")
}

func TestOneBrowserHasPagesOfSeveralJobs(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	r.fitter("new job", window, "job", "invite desk")
	desk.open()
	require.Equal(t, "/desk/order/2", desk.at)
	require.Contains(t, desk.body, `href="/desk/order/1"`)
	desk.press("close", 0)
	require.Contains(t, desk.shows(), "The page is closed")
	require.Equal(t, http.StatusNotFound, desk.get("/desk/order/2").status)
	require.Contains(t, desk.get("/desk/order/1").shows(), "revision A")
}

// An order for a page that nobody opens any more is told back, as of every chat that can't
// be reached.
func TestAPageThatNobodyOpensIsNotReached(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk")
	r.browser().open()
	for _, key := range r.redis.Keys() {
		if strings.Contains(key, ":w:") {
			r.redis.Del(key)
		}
	}
	r.fitter("send 1 anyway")
	require.Eventually(t, func() bool {
		r.fitter("list")
		return strings.Contains(r.post.all(7), "can't be reached")
	}, 5*time.Second, 50*time.Millisecond, r.post.all(7))
}

func TestAClosedBotLetsAPageInByItsJobAlone(t *testing.T) {
	r := newRig(t, 7)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	require.Contains(t, desk.shows(), "revision A")
	desk.press("confirmall", 0)
	r.hears("revision A is confirmed")
	r.fitter("crew list", "put out 1", "put out 1 yes")
	r.hears("out")
	require.Equal(t, http.StatusNotFound, desk.get("/desk/order/1").status, r.post.all(7))

	r.fitter("invite crew")
	crew := r.token()
	require.NotEqual(t, http.StatusOK, r.browser().ask(http.MethodPost, "/desk/o", url.Values{"token": {crew}}).status, "a link into the crew is none of a page")
}

func TestNothingPrivateIsLogged(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open().press("query", 1, "words", "secretwords")
	r.redis.SetError("LOADING")
	desk.get("/desk/order/1")
	require.Equal(t, http.StatusServiceUnavailable, desk.status)
	r.redis.SetError("")
	for _, private := range []string{r.token(), desk.cookie, "secretwords", r.ip, csrfOf(desk)} {
		require.NotContains(t, r.log.String(), private)
	}
	for _, key := range r.redis.Keys() {
		require.NotContains(t, key, desk.cookie)
	}
	require.Contains(t, strings.Join(r.redis.Keys(), " "), "sb:web:")
}

// A new revision shows by itself, within a second.
func TestWhatIsNewComesByItself(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	server := httptest.NewServer(desk.to)
	defer func() {
		desk.to.Leave()
		server.CloseClientConnections()
		server.Close()
	}()
	nobody := func() bool { return len(desk.to.looking) == 0 }
	_, stamp, _ := strings.Cut(desk.body, `data-has="`)
	stamp, _, _ = strings.Cut(stamp, `"`)
	follow := func(has string) (*http.Response, *bufio.Scanner) {
		req, err := http.NewRequest(http.MethodGet, server.URL+"/desk/order/1/live", nil)
		require.NoError(t, err)
		req.Header.Set("Cookie", cookieName+"="+desk.cookie)
		req.Header.Set("Last-Event-ID", has)
		res, err := http.DefaultClient.Do(req)
		require.NoError(t, err)
		require.Equal(t, "text/event-stream", res.Header.Get("Content-Type"))
		return res, bufio.NewScanner(res.Body)
	}
	next := func(lines *bufio.Scanner) string {
		for lines.Scan() {
			if id, ok := strings.CutPrefix(lines.Text(), "id: "); ok {
				return id
			}
		}
		return ""
	}
	res, lines := follow(stamp)
	r.fitter("rename 1 kitchen")
	id := next(lines)
	require.NotEmpty(t, id)
	require.NotEqual(t, stamp, id)
	require.NoError(t, res.Body.Close())
	require.Eventually(t, nobody, 10*time.Second, 5*time.Millisecond, "who went away counts no more")
	var more []*http.Response
	for range mostOfOne {
		one, _ := follow(stamp)
		more = append(more, one)
	}
	require.Eventually(t, func() bool { return len(desk.to.looking) == mostOfOne }, 5*time.Second, 5*time.Millisecond)
	require.Equal(t, http.StatusTooManyRequests, r.as(desk).get("/desk/order/1/live").status, "one page does not take all that may follow")
	for _, one := range more {
		require.NoError(t, one.Body.Close())
	}
	require.Eventually(t, nobody, 10*time.Second, 5*time.Millisecond)
	res, lines = follow(stamp)
	require.NotEmpty(t, next(lines), "what was missed comes at once")
	desk.to.Leave()
	for lines.Scan() {
	}
	require.NoError(t, lines.Err(), "a process that leaves lets go of who follows")
	require.NoError(t, res.Body.Close())
}

func TestWhereThePagesAre(t *testing.T) {
	base, link, err := Base("https://orders.example/a/b/")
	require.NoError(t, err)
	require.Equal(t, "/a/b", base)
	require.Equal(t, "https://orders.example/a/b/o#", link)
	for _, bad := range []string{"", "orders.example", "http://orders.example", "https://u:p@orders.example", "https://o.example/?x", "https://o.example/#x", "ftp://o.example", ":"} {
		_, _, err := Base(bad)
		require.Error(t, err, bad)
	}
	_, _, err = Base("http://localhost:8080/desk")
	require.NoError(t, err)
}

func TestAPageGoesWithTime(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk")
	desk := r.browser().open()
	r.redis.FastForward(session.PageLasts - time.Hour)
	require.Equal(t, http.StatusOK, desk.get("/desk/order/1").status)
	r.redis.FastForward(session.PageLasts - time.Hour)
	require.Equal(t, http.StatusOK, desk.get("/desk/order/1").status, "it is used")
	r.redis.FastForward(session.PageLasts + time.Hour)
	require.Equal(t, http.StatusNotFound, desk.get("/desk/order/1").status)
}

// After hand-over the customer has the file.
func TestTheCustomerSeesItComeAndGetsTheFile(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "address 3 Weir Lane", "invite customer")
	customer := r.browser().open()
	for _, step := range []struct{ do, shows string }{
		{"send 1 anyway", "Ordered, not confirmed"}, {"confirmed 1 by phone, Anna at the works, 3 December 2027", "Confirmed by the maker"},
		{"step 1 delivered", "The new frame is here"}, {"step 1 out", "The new frame is here"}, {"step 1 fitted", "Fitted"},
		{"step 1 glazed", "Fitted"}, {"step 1 sealed", "Fitted"},
	} {
		r.fitter(step.do)
		require.Contains(t, customer.get("/desk/order/1").shows(), step.shows, step.do)
		require.NotContains(t, customer.body, "paper/file.pdf")
		require.Equal(t, step.shows == "Confirmed by the maker", strings.Contains(customer.shows(), "3 December 2027"))
	}
	r.fitter("hand over 1 anyway")
	require.Contains(t, customer.get("/desk/order/1").shows(), "Done and handed over", r.post.all(7))
	require.Contains(t, customer.body, "paper/file.pdf")
	customer.get("/desk/order/1/paper/file.pdf")
	require.Equal(t, http.StatusOK, customer.status)
	require.True(t, strings.HasPrefix(customer.body, "%PDF"))
}

// One link is one chair, in the messenger or on a page.
func TestWhoOpensALinkFirstHasTheChair(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	require.NoError(t, r.e.Take(ctx, engine.Update{ID: 1, Chat: 9, User: 9, Input: dialog.Input{Kind: dialog.Typed, Text: "/start " + r.token(), Now: time.Now()}}))
	require.Eventually(t, func() bool { return strings.Contains(r.post.all(9), "revision A") }, 5*time.Second, 5*time.Millisecond)
	late := r.browser().ask(http.MethodPost, "/desk/o", url.Values{"token": {r.token()}})
	require.Equal(t, http.StatusNotFound, late.status)

	r.fitter("invite desk")
	desk := r.browser().open()
	require.NoError(t, r.e.Take(ctx, engine.Update{ID: 2, Chat: 10, User: 10, Input: dialog.Input{Kind: dialog.Typed, Text: "/start " + r.token(), Now: time.Now()}}))
	require.Eventually(t, func() bool {
		return strings.Contains(r.post.all(10), "in use in another chat")
	}, 5*time.Second, 5*time.Millisecond, r.post.all(10))
	require.NotContains(t, r.post.all(10), "revision A")
	desk.press("confirmall", 0)
	r.hears("is confirmed")
}

// Two programs press the button of one link at the same moment.
func TestTwoOpenALinkAtOnce(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	token := r.token()
	var opened, refused atomic.Int64
	var all sync.WaitGroup
	for range 6 {
		b := r.browser()
		all.Go(func() {
			switch b.ask(http.MethodPost, "/desk/o", url.Values{"token": {token}}); b.status {
			case http.StatusOK:
				opened.Add(1)
			case http.StatusNotFound:
				refused.Add(1)
			}
		})
	}
	all.Wait()
	require.Equal(t, int64(1), opened.Load())
	require.Equal(t, int64(5), refused.Load())
}

// A job that is handed to a mate takes its pages along.
func TestAPageFollowsAJobThatIsHandedOver(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	desk := r.browser().open()
	r.fitter("hand job to")
	code := regexp.MustCompile(`start=([A-Za-z0-9_-]{22,})`).FindAllStringSubmatch(r.post.all(7), -1)
	require.NotEmpty(t, code, r.post.all(7))
	require.NoError(t, r.e.Take(ctx, engine.Update{ID: 1, Chat: 8, User: 8, Input: dialog.Input{Kind: dialog.Typed, Text: "/start " + code[len(code)-1][1], Now: time.Now()}}))
	require.Eventually(t, func() bool { return strings.Contains(r.post.all(8), "is yours now") }, 5*time.Second, 5*time.Millisecond, r.post.all(8))
	require.Eventually(t, func() bool { return desk.get("/desk/order/1").status == http.StatusOK }, 5*time.Second, 20*time.Millisecond)
	desk.press("confirmall", 0)
	require.Eventually(t, func() bool { return strings.Contains(r.post.all(8), "revision A is confirmed") }, 5*time.Second, 5*time.Millisecond)
}

// A fault right after a link was used up: the same browser presses again and is in.
func TestAFaultWhileALinkIsOpenedLocksNobodyOut(t *testing.T) {
	r := newRig(t)
	r.fitter(window, "job", "invite desk", "send 1 anyway")
	b := r.browser()
	token := r.token()
	_, opened, err := b.to.store.OpenPage(ctx, token, "", newSecretFor(b), session.Page{Chat: talk.PageChat(77), Ref: "X"})
	require.NoError(t, err)
	require.True(t, opened)
	require.Equal(t, http.StatusNotFound, b.get("/desk/order/1").status, "nobody has sat down")
	b.ask(http.MethodPost, "/desk/o", url.Values{"token": {token}})
	require.Equal(t, http.StatusOK, b.status)
	require.Contains(t, b.shows(), "revision A")
}

func newSecretFor(b *person) string {
	b.cookie = newSecret()
	return b.cookie
}

// Whatever a form holds, what it asks is of a row of the table or nothing.
func FuzzAsked(f *testing.F) {
	f.Add("do=confirm&line=1&revision=A")
	f.Add("do=promise&line=1&price=310.50&due=2026-12-01")
	f.Add("do=promise&line=-1&price=1e999999999&due=x")
	f.Add("do=agree&seen=1%3Dseen.a&seen=%3D&seen=99999999999999999999%3Dx&words=Mrs+Hill")
	f.Add("do=query&line=1&words=%00%ff%E2%80%AE")
	f.Add("do=withdrawquery&line=1&question=x")
	f.Fuzz(func(t *testing.T, body string) {
		form, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		ask, trouble := asked(form)
		require.NotEqual(t, ask == nil, trouble == nil)
		if ask != nil {
			require.Contains(t, []string{"confirm", "confirmall", "query", "withdrawquery", "promise", "agree"}, ask.Do)
			require.False(t, ask.Value != nil && !ask.Value.IsPositive())
		}
		id := idOf(form)
		require.Greater(t, id, int64(1))
		require.Less(t, id, int64(1)<<52)
	})
}
