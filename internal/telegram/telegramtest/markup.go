package telegramtest

import (
	"html"
	"regexp"
	"strings"
	"unicode/utf16"
)

var known = map[string]bool{
	"a": true, "b": true, "strong": true, "i": true, "em": true, "u": true, "ins": true, "s": true, "strike": true,
	"del": true, "code": true, "pre": true, "blockquote": true, "span": true, "tg-spoiler": true, "tg-emoji": true,
}

// references are the only ones that the platform knows by name.
var references = regexp.MustCompile(`&(?:lt|gt|amp|quot|#[0-9]{1,7}|#x[0-9a-fA-F]{1,6});`)

var startTag = regexp.MustCompile(`^<([a-zA-Z-]*)((?:\s+[a-zA-Z-]+(?:=(?:"[^"<>]*"|'[^'<>]*'|[^\s"'<>]+))?)*)\s*>`)

// Read gives what an HTML text of the platform shows. Errors: the platform's
// own for a text that it would refuse: an unknown tag, one that is not closed
// or closed out of order.
func Read(text string) (string, error) {
	var shown strings.Builder
	var open []string
	for at := 0; at < len(text); {
		next := strings.IndexByte(text[at:], '<')
		if next < 0 {
			shown.WriteString(unescape(text[at:]))
			break
		}
		shown.WriteString(unescape(text[at : at+next]))
		at += next
		size, err := tag(text, at, &open)
		if err != nil {
			return "", err
		}
		at += size
	}
	if len(open) > 0 {
		return "", bad("can't parse entities: Can't find end tag corresponding to start tag %q", open[len(open)-1])
	}
	return shown.String(), nil
}

func unescape(s string) string { return references.ReplaceAllStringFunc(s, html.UnescapeString) }

// tag takes the tag at a place of text, and gives its length.
func tag(text string, at int, open *[]string) (int, error) {
	rest := text[at:]
	if strings.HasPrefix(rest, "</") {
		end := strings.IndexByte(rest, '>')
		if end < 0 || len(*open) == 0 {
			return 0, bad("can't parse entities: Unexpected end tag at byte offset %d", at)
		}
		last := (*open)[len(*open)-1]
		if name := strings.ToLower(strings.TrimSpace(rest[2:end])); name != last {
			return 0, bad("can't parse entities: Unmatched end tag at byte offset %d, expected \"</%s>\", found \"</%s>\"", at, last, name)
		}
		*open = (*open)[:len(*open)-1]
		return end + 1, nil
	}
	m := startTag.FindStringSubmatch(rest)
	if m == nil {
		return 0, bad("can't parse entities: Unclosed start tag at byte offset %d", at)
	}
	name := strings.ToLower(m[1])
	if !known[name] {
		return 0, bad("can't parse entities: Unsupported start tag %q at byte offset %d", name, at)
	}
	if name == "span" && !strings.Contains(m[2], "tg-spoiler") {
		return 0, bad("can't parse entities: Tag \"span\" must have class \"tg-spoiler\" at byte offset %d", at)
	}
	*open = append(*open, name)
	return len(m[0]), nil
}

// units is the length by which a text is measured.
func units(s string) int { return len(utf16.Encode([]rune(s))) }
