package telegram

import (
	"regexp"
	"slices"
	"strings"

	"sillbot/internal/phrase"
)

// joiner is a mark without width. The platform takes it for no part of a name, a number or
// an address, unlike the zero-width joiner and non-joiner, which an address may hold
// (TDLib, td/telegram/MessageEntity.cpp).
const joiner = "\u2060"

// phone is a number that may be one of a phone; figures of windows are shorter, or stand
// in twos and threes without a + or a 0 before them.
var phone = regexp.MustCompile(`(?:\+|\b0)[0-9][0-9 ()/.-]{6,}`)

// inertWords makes the words of messages: those of people can't become a mention, a
// command or a link in them. Only who is named above their part of a message to several
// is called, by their number.
type inertWords struct{ Renderer }

// Text is the text of a message, as HTML.
func (w inertWords) Text(lang string, t phrase.Text) string {
	if live(t) {
		t = inert(t)
	}
	if !slices.ContainsFunc(t.Lines["lines"], mentions) {
		return w.Renderer.Text(lang, t)
	}
	lines := make([]string, len(t.Lines["lines"]))
	for i, line := range t.Lines["lines"] {
		if lines[i] = w.Renderer.Text(lang, line); mentions(line) {
			lines[i] = mention(line.Num["user"], lines[i])
		}
	}
	return strings.Join(lines, "\n") // as the catalogue puts the lines of a message
}

// live says whether a text holds words of people that may become something to press.
// Most hold none, and need not be copied.
func live(t phrase.Text) bool {
	for place, said := range t.Say {
		if mayBePressed(place, said) {
			return true
		}
	}
	for _, sub := range t.Sub {
		if live(sub) {
			return true
		}
	}
	for _, lists := range []map[string][]phrase.Text{t.Lines, t.Row} {
		for _, list := range lists {
			if slices.ContainsFunc(list, live) {
				return true
			}
		}
	}
	return false
}

// mayBePressed leaves out the bot's own links and tokens, and most of what is said.
func mayBePressed(place, said string) bool {
	return place != "link" && place != "token" && strings.ContainsAny(said, "@#$/.+0")
}

// inert is a text in which nothing that a person said can be pressed. What is not changed
// is not copied: it is of the reply that is kept.
func inert(t phrase.Text) phrase.Text {
	t.Say = each(t.Say, func(place, said string) (string, bool) {
		if !mayBePressed(place, said) {
			return said, false
		}
		dead := deaden(said)
		return dead, dead != said
	})
	t.Sub = each(t.Sub, func(_ string, sub phrase.Text) (phrase.Text, bool) {
		dead := inert(sub)
		return dead, true
	})
	t.Lines, t.Row = each(t.Lines, inertList), each(t.Row, inertList)
	return t
}

func inertList(_ string, list []phrase.Text) ([]phrase.Text, bool) {
	dead := make([]phrase.Text, len(list))
	for i, t := range list {
		dead[i] = inert(t)
	}
	return dead, true
}

// each is a map with its values changed; the same where none is.
func each[V any](m map[string]V, change func(string, V) (V, bool)) map[string]V {
	var out map[string]V
	for name, v := range m {
		changed, is := change(name, v)
		if !is {
			continue
		}
		if out == nil {
			out = make(map[string]V, len(m))
			for name, v := range m {
				out[name] = v
			}
		}
		out[name] = changed
	}
	if out == nil {
		return m
	}
	return out
}

// deaden puts a joiner behind each sign by which the platform makes something to press:
// @name, name@host, /command, #tag, $TAG, http://, a.host, and in the numbers of phones
// (the kinds of MessageEntity, core.telegram.org/bots/api).
func deaden(said string) string {
	said = phone.ReplaceAllStringFunc(said, func(n string) string { return n[:2] + joiner + n[2:] })
	var b strings.Builder
	runes := []rune(said)
	for i, r := range runes {
		b.WriteRune(r)
		if i+1 == len(runes) {
			break
		}
		before, after := rune(' '), runes[i+1]
		if i > 0 {
			before = runes[i-1]
		}
		switch {
		case strings.ContainsRune("@#$", r) && wordRune(after),
			r == '/' && wordRune(after) && !wordRune(before),
			r == ':' && after == '/',
			r == '.' && wordRune(after) && (after < '0' || after > '9'):
			b.WriteString(joiner)
		}
	}
	return b.String()
}

// withoutJoiner is what a person sends, without what they copied of a message.
func withoutJoiner(text string) string { return strings.ReplaceAll(text, joiner, "") }
