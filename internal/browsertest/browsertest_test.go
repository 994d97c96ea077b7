package browsertest

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

const sound = `<!doctype html><html lang="en"><head><title>A page</title><meta name="viewport" content="width=device-width">
<style>body{background:#fff;color:#111}@media (prefers-color-scheme:dark){body{background:#111;color:#fff}}</style></head>
<body><main><h1>A page</h1><label>Name <input id="name"></label><input type="file" id="file" aria-label="File">
<button id="b">Press</button><p id="out">.</p></main>
<script nonce="x">b.onclick=()=>{out.textContent="hello "+document.getElementById("name").value}</script></body></html>`

const faulty = `<!doctype html><html><head><meta name="viewport" content="width=device-width"></head><body>
<p style="width:900px;color:#ccc;background:#fff">pale</p><img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">
<script>var not="allowed"</script><script nonce="x">console.error("wrong"); setTimeout(()=>{throw new Error("thrown")})</script></body></html>`

func serve(t *testing.T) string {
	t.Helper()
	mux := http.NewServeMux()
	for path, page := range map[string]string{"/sound": sound, "/faulty": faulty} {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Security-Policy", "default-src 'none'; script-src 'nonce-x'; style-src 'unsafe-inline'; img-src data:")
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			fmt.Fprint(w, page)
		})
	}
	mux.HandleFunc("GET /favicon.ico", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	return server.URL
}

// TestAPageIsUsedAndLookedAt as a person does it, and a fault of each kind is found.
func TestAPageIsUsedAndLookedAt(t *testing.T) {
	browser, address := Start(t), serve(t)
	folder := t.TempDir()
	t.Setenv("SILLBOT_SCREENSHOTS", folder)

	for _, look := range []Look{{Dark: true}, Phone} {
		p := browser.Open(address+"/sound", look)
		p.Type("#name", "Ann")
		p.Click("#b")
		p.Says("#out", "hello Ann")
		p.Sound()
		require.Equal(t, look.Dark, Eval[bool](p, "matchMedia('(prefers-color-scheme: dark)').matches"))
		require.True(t, Eval[bool](p, "matchMedia('(prefers-reduced-motion: reduce)').matches"))
		if look.Width != 0 {
			require.Equal(t, look.Width, Eval[int](p, "innerWidth"))
		}
		p.Picture("sound")
	}
	png, err := os.ReadFile(filepath.Join(folder, "sound.png"))
	require.NoError(t, err)
	require.Equal(t, "\x89PNG", string(png[:4]))

	p := browser.Open(address+"/sound", Look{})
	p.Choose("#file", filepath.Join(folder, "sound.png"))
	require.Equal(t, "sound.png", Eval[string](p, "document.getElementById('file').files[0].name"))
	p.Press("\t\t\t\r") // by the keyboard to the button
	p.Says("#out", "hello")
	p.Reload()
	require.Equal(t, ".", p.Text("#out"))

	p = browser.Open(address+"/sound", Look{NoScript: true})
	p.Click("#b")
	require.Equal(t, ".", p.Text("#out"), "its script ran")

	p = browser.Open(address+"/faulty", Phone)
	require.Contains(t, p.Sideways(), "pale")
	var ids []string
	for _, barrier := range p.Barriers() {
		ids = append(ids, barrier[:4])
	}
	require.Subset(t, ids, []string{"colo", "imag", "html"}, "contrast, a picture without words, no language")
	p.Until("true")
	troubles := fmt.Sprint(p.Troubles())
	for _, want := range []string{"wrong", "thrown", "Content Security Policy"} {
		require.Contains(t, troubles, want)
	}
	require.Empty(t, p.Troubles())
}
