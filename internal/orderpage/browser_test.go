package orderpage

import (
	"net"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/browsertest"
)

// serve puts pages at an address that a browser on this machine can call.
func (r *rig) serve() (pages *Pages, link func() string) {
	listener, err := net.Listen("tcp", "localhost:0")
	require.NoError(r, err)
	address := "http://localhost:" + portOf(listener) + "/desk"
	pages = r.at(address)
	server := &httptest.Server{Listener: listener, Config: &http.Server{Handler: pages}}
	server.Start()
	r.Cleanup(func() {
		pages.Leave()
		server.CloseClientConnections()
		server.Close()
	})
	return pages, func() string { return address + "/o#" + r.token() }
}

func portOf(l net.Listener) string {
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return port
}

// TestADeskInARealBrowser: a link is opened, revision A confirmed, revision B comes by
// itself while a question is being typed, and is confirmed; then dark, narrow, printed and
// without scripts.
func TestADeskInARealBrowser(t *testing.T) {
	browser := browsertest.Start(t)
	r := newRig(t)
	_, link := r.serve()
	r.fitter(window, "job", "copy 1 hall", "1100 1100 1100 900 900 900 1421 1421", "invite desk", "send 1 anyway")

	p := browser.Open(link(), browsertest.Look{})
	p.Says("h1", "An order for you to see")
	require.Empty(t, browsertest.Eval[string](p, "location.hash"), "the token leaves the address")
	p.Picture("desk-open")
	p.Click("#open button")
	p.Says("h1", "revision A")
	p.Picture("desk-order")
	p.Sound()
	p.Click("section.all button")
	p.Says("main", "You confirmed this line")

	p.Click("#line1 details.query summary")
	p.Type("#query1words", "which handle")
	r.fitter("edit 1", "change widths", "1190 1190 1190", "change diagonals", "1588 1588", "send 1 anyway")
	p.Says("#alert", "something new")
	require.Equal(t, "which handle", browsertest.Eval[string](p, "document.getElementById('query1words').value"), "what was typed stays")
	p.Picture("desk-new")
	browsertest.Eval[any](p, "document.querySelector('#line1 form.query').requestSubmit()") // of revision A
	p.Says("[role=alert]", "Revision B takes its place")
	p.Picture("desk-kept")
	r.fitter("name 1 den")
	p.Says("#alert", "something new")
	require.Equal(t, "which handle", browsertest.Eval[string](p, "document.getElementById('query1words').value"), "what was typed stays")
	p.Click("#alert button")
	p.Says("main", "is called den now") // the page is put in by then
	p.Says("h1", "revision B")
	p.Says(".changes", "1180 mm, was 1192 mm")
	p.Picture("desk-revision")
	p.Click("#line1 form.confirm button")
	p.Says("#line1 .done", "You confirmed this line")
	r.hears("revision B is confirmed")

	has := browsertest.Eval[string](p, "page.dataset.kept = '1', page.dataset.has")
	r.fitter("customer price 1 450") // nothing to the desk
	p.Until("page.dataset.has !== '" + has + "'")
	require.Equal(t, "1", browsertest.Eval[string](p, "page.dataset.kept"), "put in anew, and reads the same")
	has = browsertest.Eval[string](p, "page.dataset.has")

	// An answer that never comes keeps no later one from the page.
	browsertest.Eval[bool](p, `real = fetch, after = AbortSignal.timeout, AbortSignal.timeout = () => AbortSignal.abort(), fetch = (to, how) => { fetch = real; AbortSignal.timeout = after; return new Promise((_, no) => { if (how.signal) no(how.signal.reason); }); }, true`)
	r.fitter("customer price 1 460")
	p.Until("fetch === real")
	r.fitter("customer price 1 470")
	p.Until("page.dataset.has !== '" + has + "'")

	// A page that can't be had for the moment does not take the place of the order, and is
	// fetched when the line stands again, though nothing else is new.
	p.Until("alertBox.textContent === ''")
	has = browsertest.Eval[string](p, "page.dataset.has")
	browsertest.Eval[bool](p, `fetch = async () => { fetch = real; return new Response('<main id="page"><h1>Later</h1></main>', { status: 503 }); }, true`)
	r.fitter("customer price 1 480")
	p.Says("#alert", "connection is lost")
	require.Contains(t, p.Text("h1"), "revision B")
	browsertest.Eval[bool](p, "source.dispatchEvent(new Event('open'))")
	p.Until("page.dataset.has !== '" + has + "'")
	require.Empty(t, p.Text("#alert"))

	p.Click("#line1 details.promise summary")
	p.Type("#promise1price", "310.50")
	p.Click("#line1 form.promise button")
	p.Says("#line1", "310.50")
	p.Reload()
	p.Says("h1", "revision B")
	r.fitter("answer 1 no question", "name 1 kitchen")
	p.Says("#line1 h2", "kitchen")
	r.fitter("revoke desk")
	p.Says("h1", "Nothing to see here")
	p.Troubles() // the browser notes that the page is gone
}

// TestPagesLookedAt: the desk's in the dark and on a phone, the customer's on a phone, and
// the desk's without scripts.
func TestPagesLookedAt(t *testing.T) {
	browser := browsertest.Start(t)
	r := newRig(t)
	_, link := r.serve()
	open := func(look browsertest.Look, says string) *browsertest.Page {
		p := browser.Open(link(), look)
		p.Click("#open button")
		p.Says("h1", says)
		return p
	}
	r.fitter(window, "job", "customer price 1 450", "send 1 anyway", "invite desk")
	p := open(browsertest.Look{Width: 360, Height: 740, Dark: true}, "revision A")
	p.Click("#line1 details.promise summary")
	p.Picture("desk-dark")
	p.Sound()

	r.fitter("invite customer")
	p = open(browsertest.Phone, "Your windows")
	p.Picture("customer-light")
	p.Sound()
	p.Type("#agree1words", "Mrs Hill")
	p.Click("#line1 form.agree button")
	p.Says("#line1 .done", "Agreed by Mrs Hill")
	p.Picture("customer-agreed")
	r.hears("Agreed by the customer, Mrs Hill")

	r.fitter("invite desk")
	p = browser.Open(link(), browsertest.Look{NoScript: true})
	p.Type("#token", r.token())
	p.Click("#open button")
	p.Says("h1", "revision A")
	p.Click("section.all button")
	p.Says("main", "You confirmed this line")
}
