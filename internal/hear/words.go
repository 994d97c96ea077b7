package hear

import (
	"cmp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"sillbot/internal/opening"
)

// meaning is one thing that words can mean: a code of a group of the catalogue.
type meaning struct{ group, code string }

// Words are all that people may type in one language: phrases and their
// meanings. Safe for concurrent use.
type Words struct {
	phrases map[string][]meaning
	heads   map[string]bool // every beginning of a phrase
	single  map[string]bool // every word that stands in a phrase
	near    map[string][]string
	items   itemWords
	bones   map[string][]string // the words by their letters without vowels
}

// mostWords is how many words of a phrase are looked at.
const mostWords = 12

// leastSlip is how long a word must be for a slip in it to be mended. What was
// typed may be a letter shorter; then it is asked whether that word was meant.
const leastSlip = 5

// longSlip is from how many letters on a wrong letter seldom makes another word.
const longSlip = 7

// NewWords takes the phrases that each calls do with: group, code and phrase as
// they stand in the catalogue.
func NewWords(each func(do func(group, code, phrase string))) *Words {
	w := &Words{phrases: map[string][]meaning{}, heads: map[string]bool{}, single: map[string]bool{}, near: map[string][]string{}, bones: map[string][]string{}}
	each(func(group, code, phrase string) {
		if ofItem(group, code) {
			w.items.add(meaning{group, code}, phrase)
			return
		}
		if !heardGroup(group) {
			return
		}
		var list []string
		for _, a := range atoms(phrase) {
			if a.kind == word || a.kind == digits {
				list = append(list, a.text)
			}
		}
		joined := ""
		for i, s := range list {
			w.single[s] = true
			joined = strings.TrimPrefix(joined+" "+s, " ")
			if i < len(list)-1 {
				w.heads[joined] = true
			}
		}
		if m := (meaning{group, code}); joined != "" && !slices.Contains(w.phrases[joined], m) {
			w.phrases[joined] = append(w.phrases[joined], m)
		}
	})
	for _, means := range w.phrases {
		slices.SortFunc(means, func(a, b meaning) int { return cmp.Or(cmp.Compare(a.group, b.group), cmp.Compare(a.code, b.code)) })
	}
	for s := range w.single {
		if w.filler(s) {
			continue
		}
		if bone := boneOf(s); len(s) > leastBone && bone != s && !w.only(s, "real") && !w.alias(s) {
			w.bones[bone] = append(w.bones[bone], s)
			if short := undoubled(bone); short != bone {
				w.bones[short] = append(w.bones[short], s)
			}
		}
		if len(s) >= leastSlip && !w.only(s, "real") && !w.empty(s) && !w.alias(s) {
			for _, v := range withoutOne(s) {
				w.near[v] = append(w.near[v], s)
			}
		}
	}
	return w
}

// heardGroup leaves out the groups of commands, which are read before.
func heardGroup(group string) bool {
	switch group {
	case "command", "setting", "usual", "here", "share", "role", "step", "sure", "language", "unit", "capacity", "nobody", "topic", "right", "told", "toldwhen", "customer", "every", "joins", "lines", "windows", "send", "like", "likewhich", "likebut", "likethe", "liketail", "likelead", "ownname", "photoof", "let", "snag", "termunit", "remindon", "remindoff":
		return false
	}
	return !ofItem(group, "") && !strings.HasPrefix(group, "day") // those of the fitting day are read by package day
}

// withoutOne is the word and the word without each of its letters.
func withoutOne(s string) []string {
	list := []string{s}
	for i := range s {
		list = append(list, s[:i]+s[i+1:])
	}
	return list
}

// only says whether the word by itself is nothing but that marker.
func (w *Words) only(s, code string) bool {
	means := w.phrases[s]
	return len(means) == 1 && means[0] == meaning{"hear", code}
}

// fills says whether the meaning only fills a clause that says whether something is there.
func (m meaning) fills() bool {
	return m.group == "hear" && slices.Contains([]string{"thing", "there", "absent", "asking"}, m.code)
}

// filler says whether the word by itself only fills.
func (w *Words) filler(s string) bool {
	means := w.phrases[s]
	return len(means) > 0 && !slices.ContainsFunc(means, func(m meaning) bool { return !m.fills() })
}

// empty says whether the word by itself says nothing.
func (w *Words) empty(s string) bool {
	means := w.phrases[s]
	return len(means) > 0 && !slices.ContainsFunc(means, func(m meaning) bool { return !m.fills() && m != meaning{"hear", "harmless"} })
}

// alias says whether the word is only another for a word.
func (w *Words) alias(s string) bool {
	return len(w.phrases[s]) == 1 && w.phrases[s][0].group == "alias"
}

// leastBone is how long a word without its vowels must be to be known by.
const leastBone = 3

// boneOf is the word without its vowels but for a first one: ktchn.
func boneOf(s string) string {
	return s[:1] + strings.Map(func(r rune) rune {
		if strings.ContainsRune("aeiou", r) {
			return -1
		}
		return r
	}, s[1:])
}

// undoubled is the word with one of each two like letters that stand together: mdl.
func undoubled(s string) string { return string(slices.Compact([]byte(s))) }

// boned gives the only known word whose vowels were left out: brck, grnd.
func (w *Words) boned(s string) (string, bool) {
	if len(s) < leastBone || boneOf(s) != s {
		return "", false
	}
	found := ""
	for _, known := range w.bones[s] {
		switch {
		case found == "" || w.holds(known, found) && w.phrases[found] != nil:
			found = known
		case !w.holds(found, known):
			return "", false
		}
	}
	return found, found != ""
}

// mend gives the only known word that s is one slip away from: a letter wrong,
// missing, too many, or two that changed places. A wrong letter makes other real
// words, so that is doubtful.
func (w *Words) mend(s string) (found string, doubtful, ok bool) {
	if known, ok := w.boned(s); ok {
		return known, false, true
	}
	if len(s) < leastSlip-1 || len(s) > 24 {
		return "", false, false
	}
	clear := true
	for _, v := range withoutOne(s) {
		for _, known := range w.near[v] {
			switch {
			case known == found || !oneSlip(s, known):
			case found == "", wrongLetter(s, found) && !wrongLetter(s, known):
				found, clear = known, true
			case wrongLetter(s, known) && !wrongLetter(s, found):
			case w.holds(known, found) && !(len(known) < len(found) && w.holds(found, known)):
				found = known // of two spellings the longer one
			case !w.holds(found, known):
				clear = false
			}
		}
	}
	if !clear {
		return "", false, false
	}
	return found, len(s) < leastSlip || len(s) < longSlip && wrongLetter(s, found), found != ""
}

// wrongLetter says whether a and b differ in one letter that is another.
func wrongLetter(a, b string) bool { return len(a) == len(b) && othersOf(a, b) == 1 }

// othersOf is how many letters of two words of one length are others.
func othersOf(a, b string) int {
	n := 0
	for i := range len(a) {
		if a[i] != b[i] {
			n++
		}
	}
	return n
}

// holds says whether a means all that b means, such as another spelling.
func (w *Words) holds(a, b string) bool {
	for _, m := range w.phrases[b] {
		if !slices.Contains(w.phrases[a], m) {
			return false
		}
	}
	return len(w.phrases[b]) > 0
}

// oneSlip says whether one slip makes b of a.
func oneSlip(a, b string) bool {
	i := 0
	for i < len(a) && i < len(b) && a[i] == b[i] {
		i++
	}
	switch ra, rb := a[i:], b[i:]; {
	case len(ra) == len(rb)+1:
		return ra[1:] == rb
	case len(ra)+1 == len(rb):
		return ra == rb[1:]
	case len(ra) != len(rb) || ra == "":
		return false
	case ra[1:] == rb[1:]:
		return true
	default:
		return len(ra) > 1 && ra[0] == rb[1] && ra[1] == rb[0] && ra[2:] == rb[2:]
	}
}

// atom is the smallest part of a message: a run of letters, a run of digits, or
// one other character.
type atom struct {
	kind     atomKind
	text     string // lower case, without accents
	from, to int    // in the message
	glued    bool   // nothing stands before it
	owner    bool   // 's was at its end
	doubtful bool   // text is what may have been meant
}

type atomKind byte

const (
	word atomKind = iota
	digits
	mark
	lineEnd
)

// atoms cuts a message. An apostrophe inside a word is left out of it.
func atoms(text string) []atom {
	var list []atom
	glued := false
	add := func(kind atomKind, from, to int) {
		if n := len(list); n > 0 && glued && list[n-1].kind == kind && (kind == word || kind == digits) {
			list[n-1].to = to
			return
		}
		list = append(list, atom{kind: kind, from: from, to: to, glued: glued})
		glued = true
	}
	for i, r := range text {
		end := i + utf8.RuneLen(max(r, 0))
		if r == utf8.RuneError {
			_, size := utf8.DecodeRuneInString(text[i:])
			end = i + size
		}
		switch {
		case r == '\n' || r == '\r':
			glued = false
			add(lineEnd, i, end)
			glued = false
		case unicode.IsSpace(r) || unicode.IsControl(r) || unicode.Is(unicode.Cf, r):
			glued = false
		case '0' <= r && r <= '9':
			add(digits, i, end)
		case unicode.Is(unicode.Mn, r): // an accent by itself
		case unicode.IsLetter(r):
			add(word, i, end)
		case isApostrophe(r) && glued && len(list) > 0 && list[len(list)-1].kind == word && letterAt(text, end):
		case r == '&':
			glued = false
			add(word, i, end)
			glued = false
		default:
			add(mark, i, end)
		}
	}
	for i := range list {
		said := text[list[i].from:list[i].to]
		list[i].text = folded(said)
		n := len(said)
		list[i].owner = n > 2 && (said[n-1] == 's' || said[n-1] == 'S') && (said[n-2] == '\'' || strings.HasSuffix(said[:n-1], "’"))
	}
	return list
}

// folded is a word in lower case without accents and apostrophes; the sign for
// and is the word.
func folded(s string) string {
	if s == "&" {
		return "and"
	}
	plain := true
	for i := range len(s) {
		plain = plain && s[i] < utf8.RuneSelf && s[i] != '\'' && s[i] != '`'
	}
	if plain {
		return strings.ToLower(s)
	}
	return strings.Map(func(r rune) rune {
		if len(s) > 1 && isApostrophe(r) || unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, norm.NFD.String(strings.ToLower(s)))
}

func isApostrophe(r rune) bool { return strings.ContainsRune("'’‘´`", r) }

func letterAt(text string, i int) bool {
	for _, r := range text[i:] {
		return unicode.IsLetter(r)
	}
	return false
}

// openOnly ends the name of a group whose words only answer their own question
// when it is open or named; doubtful ends that of one whose words are proposed.
const (
	openOnly = "-open"
	doubtful = "-ask"
)

// base is a group's name without how far its words go.
func base(group string) string {
	return strings.TrimSuffix(strings.TrimSuffix(group, openOnly), doubtful)
}

// itemWords are the words of items: phrases and their meanings.
type itemWords struct {
	phrases map[string][]meaning
	single  map[string]bool
}

// fillers and deskWords are groups of words that go with items: those that say
// nothing, and those that leave one to the desk.
const (
	fillers   = "itemfill"
	deskWords = "itemdesk"
	// lightWords stand before the number of a light.
	lightWords = "itemlight"
)

// itemGroups are the groups of words that answer items, and itemNames the names of
// items and of their groups.
var (
	itemGroups = sync.OnceValue(func() map[string]bool {
		list := map[string]bool{fillers: true, deskWords: true, lightWords: true}
		for f := range opening.Fields {
			if f.Scope == opening.OfJob && f.Group != "" {
				list[f.Group] = true
			}
		}
		return list
	})
	itemNames = sync.OnceValue(func() map[string]bool {
		list := map[string]bool{}
		for f := range opening.Fields {
			if f.Scope == opening.OfJob {
				list[f.Key], list[f.Change] = true, true
			}
		}
		return list
	})
)

// ofItem says whether the words of a group and a code are of an item.
func ofItem(group, code string) bool {
	return itemGroups()[base(group)] || group == "name" && itemNames()[code]
}

func (w *itemWords) add(m meaning, phrase string) {
	if w.phrases == nil {
		w.phrases, w.single = map[string][]meaning{}, map[string]bool{}
	}
	var list []string
	for _, a := range atoms(phrase) {
		if a.kind == word || a.kind == digits {
			list = append(list, a.text)
			w.single[a.text] = true
		}
	}
	joined := strings.Join(list, " ")
	w.phrases[joined] = append(w.phrases[joined], m)
}

// mended is the word, or the only word of items that one slip makes of it.
func (w *Words) mended(s string) string {
	if w.items.single[s] || w.single[s] || len(s) < leastSlip {
		return s
	}
	found := ""
	for known := range w.items.single {
		if len(known) >= leastSlip && oneSlip(s, known) {
			if found != "" {
				return s
			}
			found = known
		}
	}
	if found == "" {
		return s
	}
	return found
}
