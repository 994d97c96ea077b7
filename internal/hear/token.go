package hear

import (
	"slices"
	"strings"
	"time"
)

// token is a part of a message that means something by itself.
type token struct {
	kind     tokenKind
	means    []meaning // of a phrase
	day      time.Time // of a day
	days     []time.Time
	code     string // of a glass make-up
	text     string // the message's own
	from, to int
	doubtful bool // a short word with a slip
}

type tokenKind byte

const (
	phrase  tokenKind = iota
	lengths           // one or more figures in a row
	day
	glass
	comma
	stop // a line end, a full stop, a semicolon
	slash
	asks    // a question mark
	unknown // a word that the catalogue does not have
)

// has says whether the token can mean a code of the group.
func (t token) has(group string) bool { return t.codeOf(group) != "" }

// codeOf is the code of the group that the token can mean; "" for none.
func (t token) codeOf(group string) string {
	for _, m := range t.means {
		if m.group == group {
			return m.code
		}
	}
	return ""
}

// marker says whether the token is that marker.
func (t token) marker(code string) bool {
	return slices.Contains(t.means, meaning{"hear", code})
}

// lexer cuts a message into tokens.
type lexer struct {
	ctx   Context
	text  string
	atoms []atom
	list  []token
}

// add appends the token that atoms i to end make, and gives end.
func (l *lexer) add(t token, i, end int) int {
	t.from, t.to = l.atoms[i].from, l.atoms[end-1].to
	if t.text == "" {
		t.text = l.text[t.from:t.to]
	}
	for _, a := range l.atoms[i:end] {
		t.doubtful = t.doubtful || a.doubtful
	}
	l.list = append(l.list, t)
	return end
}

// phraseAt is the longest phrase that begins with atom i, and where it ends. A
// dash or a slash inside a word is passed over.
func (l *lexer) phraseAt(i int) (means []meaning, end int) {
	joined := ""
	for n, j := 0, i; n < mostWords && j < len(l.atoms); j++ {
		a := l.atoms[j]
		if a.kind == mark && n > 0 && a.glued && (a.text == "-" || a.text == "/" || a.text == ".") && j+1 < len(l.atoms) && l.atoms[j+1].glued {
			continue
		}
		if a.kind != word && a.kind != digits {
			break
		}
		joined = strings.TrimPrefix(joined+" "+a.text, " ")
		n++
		if found := l.ctx.Words.phrases[joined]; found != nil {
			means, end = found, j+1
		}
		if !l.ctx.Words.heads[joined] {
			break
		}
	}
	return means, end
}

// alone is what an atom means by itself.
func (l *lexer) alone(a atom) token { return token{means: l.ctx.Words.phrases[a.text]} }

// unit is the code of the unit that a word is; "" for none.
func (l *lexer) unit(a atom) string {
	if a.kind != word {
		return ""
	}
	return l.alone(a).codeOf("measure")
}
