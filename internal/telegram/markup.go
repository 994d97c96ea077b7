package telegram

import (
	"html"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// piece is the smallest part of an HTML text that is not broken up: a tag, a
// reference such as &lt;, or one character. width is what it shows, in UTF-16
// code units, by which the platform counts; a tag shows nothing.
type piece struct {
	text  string
	width int
	open  string // name of the tag that it opens
	shut  bool   // it closes the tag that was opened last
}

// nextPiece cuts the first piece off s, which must not be empty. Anything that
// is not markup counts as a character.
func nextPiece(s string) piece {
	switch s[0] {
	case '<':
		if end := strings.IndexByte(s, '>'); end > 1 && tagStart(s[1]) {
			tag := s[:end+1]
			if tag[1] == '/' {
				return piece{text: tag, shut: true}
			}
			name := strings.TrimSuffix(tag[1:end], "/")
			name, _, _ = strings.Cut(name, " ")
			return piece{text: tag, open: name}
		}
	case '&':
		if end := strings.IndexByte(s, ';'); end > 1 && end < 12 && !strings.ContainsAny(s[1:end], "& <>\n") {
			return piece{text: s[:end+1], width: units(html.UnescapeString(s[:end+1]))}
		}
	}
	_, size := utf8.DecodeRuneInString(s)
	return piece{text: s[:size], width: units(s[:size])}
}

func tagStart(c byte) bool { return c == '/' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

// units is the length of s in UTF-16 code units.
func units(s string) (n int) {
	for _, r := range s { // what is no UTF-8 is one letter a byte
		n += utf16.RuneLen(r)
	}
	return n
}

// fits says whether an HTML text shows at most so many UTF-16 code units: none shows
// more of them than it has bytes.
func fits(text string, limit int) bool { return len(text) <= limit || shown(text) <= limit }

// shown is the length of what an HTML text shows, in UTF-16 code units.
func shown(text string) int {
	n := 0
	for text != "" {
		p := nextPiece(text)
		n += p.width
		text = text[len(p.text):]
	}
	return n
}

// plain is an HTML text without its markup.
func plain(text string) string {
	if !strings.ContainsAny(text, "<&") {
		return text
	}
	var b strings.Builder
	for text != "" {
		p := nextPiece(text)
		if p.width > 0 {
			b.WriteString(html.UnescapeString(p.text))
		}
		text = text[len(p.text):]
	}
	return b.String()
}

// split cuts an HTML text into parts that show at most limit UTF-16 code units
// each. It cuts after the last line end that fits, else after the last space,
// else at the limit. Tags open at a cut are closed there and opened again in
// the next part. Parts that show nothing are left out.
func split(text string, limit int) []string {
	if fits(text, limit) {
		return visible(nil, text)
	}
	var parts []string
	var carried []piece // tags open where the part begins
	for text != "" {
		cut, open := breakAt(text, limit, carried)
		parts = visible(parts, joined(carried, text[:cut], open))
		text, carried = text[cut:], open
	}
	return parts
}

func visible(parts []string, part string) []string {
	if blank(part) {
		return parts
	}
	return append(parts, strings.TrimSpace(part))
}

// blank says whether an HTML text shows nothing.
func blank(text string) bool {
	for text != "" {
		p := nextPiece(text)
		if p.width > 0 && strings.TrimSpace(html.UnescapeString(p.text)) != "" {
			return false
		}
		text = text[len(p.text):]
	}
	return true
}

// breakAt gives the length in bytes of the first part of text, and the tags
// that are open at its end.
func breakAt(text string, limit int, carried []piece) (int, []piece) {
	type mark struct {
		at   int
		open []piece
	}
	var line, space mark
	open := carried
	at, width := 0, 0
	for at < len(text) {
		p := nextPiece(text[at:])
		if width+p.width > limit {
			switch {
			case line.at > 0:
				return line.at, line.open
			case space.at > 0:
				return space.at, space.open
			case at > 0:
				return at, open
			}
			// One piece is wider than a part may be; it is sent as it is.
			return len(p.text), open
		}
		at, width = at+len(p.text), width+p.width
		open = after(open, p)
		switch p.text {
		case "\n":
			line = mark{at, open}
		case " ":
			space = mark{at, open}
		}
	}
	return at, open
}

// after returns the tags that are open after p. It does not change open.
func after(open []piece, p piece) []piece {
	switch {
	case p.shut && len(open) > 0:
		return open[: len(open)-1 : len(open)-1]
	case p.open != "":
		return append(open[:len(open):len(open)], p)
	}
	return open
}

func joined(carried []piece, body string, open []piece) string {
	var b strings.Builder
	for _, tag := range carried {
		b.WriteString(tag.text)
	}
	b.WriteString(body)
	for i := len(open) - 1; i >= 0; i-- {
		b.WriteString("</" + open[i].open + ">")
	}
	return b.String()
}
