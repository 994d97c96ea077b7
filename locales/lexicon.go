package locales

import (
	"strings"
)

// lexicon is what people may type: for each group of words, the meaning of
// each word or group of words.
type lexicon struct {
	meanings map[string]map[string]string // group → words → code
	longest  map[string]int               // group → most words in one entry
	entries  []entry                      // all of them: some words mean several things
}

// entry is one of the words that mean a code.
type entry struct{ group, code, phrase string }

// newLexicon takes the entries "words.GROUP.CODE" = "word, several words, …"
// of the language, and those of the default language beside them: on site
// people mix them. The language's own meaning wins.
func newLexicon(fallback, own map[string]any) lexicon {
	l := lexicon{meanings: map[string]map[string]string{}, longest: map[string]int{}}
	l.add(fallback)
	l.add(own)
	return l
}

func (l *lexicon) add(entries map[string]any) {
	for key, value := range entries {
		list, isText := value.(string)
		rest, isWords := strings.CutPrefix(key, "words.")
		group, code, cut := strings.Cut(rest, ".")
		if !isText || !isWords || !cut {
			continue
		}
		if l.meanings[group] == nil {
			l.meanings[group] = map[string]string{}
		}
		for _, words := range strings.Split(list, ",") {
			fields := strings.Fields(strings.ToLower(words))
			l.meanings[group][strings.Join(fields, " ")] = code
			l.longest[group] = max(l.longest[group], len(fields))
			l.entries = append(l.entries, entry{group, code, strings.Join(fields, " ")})
		}
	}
}

// nextWord gives the next word after pos in lower case without the
// punctuation around it, and where it ends. Only the first 400 bytes are
// looked at: no choice is longer.
func nextWord(text string, pos int) (string, int) {
	limit := min(len(text), 400)
	for pos < limit && strings.IndexByte(" \t\r\n,;", text[pos]) >= 0 {
		pos++
	}
	end := pos
	for end < limit && strings.IndexByte(" \t\r\n,;", text[end]) < 0 {
		end++
	}
	if pos >= end {
		return "", end
	}
	return strings.ToLower(strings.Trim(text[pos:end], ".:!?/\"'`()")), end
}
