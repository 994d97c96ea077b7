package day

import (
	"strings"
	"unicode"

	"unicode/utf8"

	"sillbot/internal/phrase"
	"sillbot/internal/reading"
	"sillbot/locales"
)

// Value is what was heard of one field.
type Value struct {
	Field *Field
	Value string // as it is stored
	Typed string
}

// Heard is what a message says of a part: all that was said, or why nothing is
// taken of it.
type Heard struct {
	Said []Value
	// Left is what of the message nobody understood.
	Left string
	// Trouble says what is wrong with a figure; nil: nothing.
	Trouble *phrase.Text
}

// mostWords is the longest thing that is said of a tick, in characters.
const mostWords = 120

// Ear reads what people type of a part.
type Ear struct {
	Words *locales.Catalogue
	Lang  string
	// Length reads one length from the front of a text.
	Length func(text string, usual reading.Range) (reading.Length, string, error)
}

// listening is one message being read.
type listening struct {
	Ear
	part     *Part
	window   *Window
	said     []Value
	named    []*Field // that the next values are of
	bare     string   // the text from a name on of which nothing was said yet; "": none
	bareOf   string   // the same of the name that the value being read is of
	wasNamed bool     // a name stood somewhere before
	guessed  bool     // no name stands before the value being read
	trouble  *phrase.Text
}

// open says whether the field is still to be said.
func (l *listening) open(f *Field) bool {
	for _, v := range l.said {
		if v.Field == f {
			return false
		}
	}
	return l.part.asked(l.window, f) && !l.window.Has(l.part, f.Name)
}

func startsFigure(text string) bool {
	r, n := utf8.DecodeRuneInString(text)
	if r == '.' {
		r, _ = utf8.DecodeRuneInString(text[n:])
		return unicode.IsDigit(r)
	}
	return unicode.IsDigit(r) || r == '-' || r == '−' || r == '½' || r == '¼' || r == '¾'
}

func (l *listening) take(f *Field, value, typed string) {
	for i := range l.said {
		if l.said[i].Field == f {
			l.said[i].Value, l.said[i].Typed = value, typed
			return
		}
	}
	l.said = append(l.said, Value{f, value, typed})
}

// skip leaves out what says nothing between two things. A point before a digit stays:
// it is of the figure.
func (l *listening) skip(text string) string {
	for {
		text = strings.TrimLeftFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(",;:=×", r) })
		if strings.HasPrefix(text, ".") && !startsFigure(text) {
			text = text[1:]
			continue
		}
		if text != "" && strings.Contains("xX*/", text[:1]) && startsFigure(text[1:]) { // 1192x1010
			return text[1:]
		}
		if _, _, named := l.Words.Match(l.Lang, "day"+l.part.Name, text); named {
			return text
		}
		_, rest, ok := l.Words.Match(l.Lang, "dayfill", text)
		if !ok || rest == text {
			return text
		}
		text = rest
	}
}

// degrees is the field of a temperature, where the text begins with one; nil else.
func (l *listening) degrees(text string) *Field {
	rest := strings.TrimLeft(text, "-−0123456789.")
	_, _, ok := l.Words.Match(l.Lang, "daydegree", strings.TrimLeft(rest, " °"))
	if !ok || rest == text {
		return nil
	}
	for i := range l.part.Fields {
		if l.part.Fields[i].Kind == Degree {
			return &l.part.Fields[i]
		}
	}
	return nil
}

// flat takes that there is no twist.
func (l *listening) flat(text string) (rest string, ok bool) {
	_, after, ok := l.Words.Match(l.Lang, "dayflat", text)
	if !ok || len(l.named) > 0 {
		return text, false
	}
	for _, name := range []string{"twist", "strings"} {
		if f := l.part.field(name); f != nil && f.Kind == Length {
			l.take(f, "0", "")
			return after, true
		}
	}
	return text, false
}

// withThing is a clause with the name before it, where that name is the thing itself: gas
// pipe inside the wall. The file has to say that it is gas.
func (l *listening) withThing(clause, text string) string {
	if _, _, thing := l.Words.Match(l.Lang, "daything", l.bareOf); !thing || l.guessed {
		return clause
	}
	return strings.TrimSuffix(l.bareOf, text) + clause
}
