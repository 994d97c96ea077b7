package orderpage

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"net/http"
	"strings"
)

// mostBody is the largest body that is read: a question has 500 characters at the most.
const mostBody = 16 << 10

//go:embed page.html page.css page.js
var files embed.FS

func file(name string) string {
	data, err := files.ReadFile(name)
	if err != nil {
		panic(err) // it is in the program
	}
	return string(data)
}

var (
	style, script = strings.TrimSpace(file("page.css")), strings.TrimSpace(file("page.js"))

	pages = template.Must(template.New("page").Funcs(template.FuncMap{
		"style":  func() template.CSS { return template.CSS(style) },
		"args":   func(f any, v *view) map[string]any { return map[string]any{"Form": f, "Page": v} },
		"script": func() template.JS { return template.JS(script) },
	}).Parse(file("page.html")))
)

// policy lets a page run its own script and have its own style, by their hashes, and
// nothing else from anywhere. A hash and no nonce, so that the answer for what is not
// there is the same to the byte.
var policy = strings.Join([]string{
	"default-src 'none'", "script-src " + hashOf(script), "style-src " + hashOf(style), "connect-src 'self'", "img-src data:",
	"form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'",
}, "; ")

func hashOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// head is what stands before each answer.
func head(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("Cache-Control", "no-store")
	h.Set("X-Robots-Tag", "noindex, nofollow, noarchive")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Strict-Transport-Security", "max-age=31536000")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
}
