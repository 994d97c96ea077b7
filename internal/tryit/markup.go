package tryit

import (
	"html"
	"html/template"
	"regexp"
	"strings"
)

// tags are those that the catalogue may use and a page shows.
var tags = map[string]bool{
	"<b>": true, "</b>": true, "<i>": true, "</i>": true, "<u>": true, "</u>": true, "<s>": true, "</s>": true,
	"<code>": true, "</code>": true, "<pre>": true, "</pre>": true, "<blockquote>": true, "</blockquote>": true,
}

var (
	tagForm  = regexp.MustCompile(`<[^<>]*>`)
	linkForm = regexp.MustCompile(`https?://[^\s<>"']+[^\s<>"'.,;:!?)]`)
)

// shown makes HTML for the page of the catalogue's: what is none of tags is shown as
// it is written, and addresses become links. So nothing that somebody typed can
// become more than words, whatever the catalogue lets through.
func shown(text string) template.HTML {
	var b strings.Builder
	at := 0
	for _, m := range tagForm.FindAllStringIndex(text, -1) {
		words(&b, text[at:m[0]])
		if tag := text[m[0]:m[1]]; tags[tag] {
			b.WriteString(tag)
		} else {
			b.WriteString(html.EscapeString(tag))
		}
		at = m[1]
	}
	words(&b, text[at:])
	return template.HTML(b.String())
}

// words writes what stands between tags.
func words(b *strings.Builder, text string) {
	text = html.UnescapeString(text)
	at := 0
	for _, m := range linkForm.FindAllStringIndex(text, -1) {
		b.WriteString(html.EscapeString(text[at:m[0]]))
		address := html.EscapeString(text[m[0]:m[1]])
		b.WriteString(`<a href="` + address + `" rel="noopener noreferrer">` + address + `</a>`)
		at = m[1]
	}
	b.WriteString(html.EscapeString(text[at:]))
}
