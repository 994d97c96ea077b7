package opening

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// A stored record is one line of text, an entry after the other with | between
// them. An entry says only in what it differs from the one before:
//
//	.width.top=1204;t7;m1
//
// A point begins the next act. Then comes what is done: KEY=VALUE sets a field,
// $PART=FILE is a photo, anything else is the act's letter with its key or its value. The rest stands
// behind semicolons, each with a letter, see attribute.

// MarshalText writes the record as it is stored.
func (r Record) MarshalText() ([]byte, error) {
	var b strings.Builder
	var last Entry
	for i := range r.Entries {
		if i > 0 {
			b.WriteByte('|')
		}
		r.Entries[i].write(&b, &last)
		last = r.Entries[i]
	}
	return []byte(b.String()), nil
}

func (e *Entry) write(b *strings.Builder, last *Entry) {
	turns := e.Turn - last.Turn
	if turns == 1 {
		b.WriteByte('.')
	}
	switch e.Act {
	case Set:
		b.WriteString(string(e.Key) + "=" + escape(e.Value))
	case Clear, Sure, Again:
		b.WriteString(string(e.Act) + string(e.Key))
	case Pictured:
		b.WriteString(string(e.Act) + string(e.Key) + "=" + escape(e.Value))
	default:
		b.WriteString(string(e.Act) + escape(e.Value))
	}
	number := func(letter string, n int64) {
		if n != 0 {
			b.WriteString(letter + strconv.FormatInt(n, 10))
		}
	}
	words := func(letter, text string) {
		if text != "" {
			b.WriteString(letter + escape(text))
		}
	}
	if turns != 1 {
		number(";n", int64(turns))
	}
	number(";s", int64(e.Seq-last.Seq-1))
	number(";t", e.At-last.At)
	number(";m", e.Msg-last.Msg)
	number(";p", e.By-last.By)
	if e.Role != last.Role {
		b.WriteString(";r" + string(e.Role))
	}
	words(";h", string(e.How))
	words(";y", e.Typed)
	number(";o", int64(e.Of))
	if e.Told != nil {
		b.WriteString(";v" + escape(e.Told.Version))
		number(";g", int64(e.Told.Rules))
		words(";f", e.Told.Figures)
	}
}

var (
	// A quotation mark is a backtick: the record is stored within JSON.
	escapes   = strings.NewReplacer("%", "%25", "|", "%7C", ";", "%3B", "`", "%60", `"`, "`")
	unescapes = strings.NewReplacer("%25", "%", "%7C", "|", "%3B", ";", "%60", "`", "`", `"`)
)

// escape and unescape leave alone what has nothing to replace, as most has.
func escape(s string) string {
	if !strings.ContainsAny(s, "%|;`\"") {
		return s
	}
	return escapes.Replace(s)
}

func unescape(s string) string {
	if !strings.ContainsAny(s, "%`") {
		return s
	}
	return unescapes.Replace(s)
}

// UnmarshalText reads what MarshalText wrote.
func (r *Record) UnmarshalText(text []byte) error {
	r.Entries = nil
	if len(text) == 0 {
		return nil
	}
	parts := strings.Split(string(text), "|")
	r.Entries = make([]Entry, len(parts))
	last := Entry{}
	for i, part := range parts {
		e := &r.Entries[i]
		*e = Entry{Stamp: last.Stamp, Seq: last.Seq + 1}
		if err := e.read(part); err != nil {
			r.Entries = nil
			return fmt.Errorf("stored entry %d: %w", i+1, err)
		}
		last = *e
	}
	return nil
}

// read takes what the text says into an entry that holds what it says not.
func (e *Entry) read(text string) error {
	head, rest, more := strings.Cut(text, ";")
	if after, next := strings.CutPrefix(head, "."); next {
		e.Turn++
		head = after
	}
	if head == "" {
		return errors.New("it says nothing")
	}
	e.Act = Act(head[0])
	key, value, equals := strings.Cut(head, "=")
	switch {
	case e.Act == Clear, e.Act == Sure, e.Act == Again:
		e.Key = Key(head[1:])
	case e.Act == Pictured && equals:
		e.Key, e.Value = Key(key[1:]), unescape(value)
	case strings.IndexByte("^@*+:#", head[0]) >= 0:
		e.Value = unescape(head[1:])
	case equals && isLetter(head[0]):
		e.Act, e.Key, e.Value = Set, Key(key), unescape(value)
	default:
		return errors.New("an act that is not known")
	}
	for more {
		var one string
		one, rest, more = strings.Cut(rest, ";")
		if err := e.attribute(one); err != nil {
			return err
		}
	}
	return nil
}

func isLetter(b byte) bool { return b >= 'a' && b <= 'z' }

// attribute takes one attribute: n turns later, s entries left out before, t
// seconds later, m messages later, p persons' numbers apart, r role, h how
// known, y as typed, o of which turn or entry, v version, g number of the rules
// and f figures of what was told.
func (e *Entry) attribute(text string) error {
	if text == "" {
		return errors.New("an attribute without a letter")
	}
	value := text[1:]
	switch text[0] {
	case 'r':
		e.Role = Role(value)
		return nil
	case 'h':
		e.How = How(unescape(value))
		return nil
	case 'y':
		e.Typed = unescape(value)
		return nil
	case 'v':
		e.told().Version = unescape(value)
		return nil
	case 'f':
		e.told().Figures = unescape(value)
		return nil
	}
	n, err := strconv.ParseInt(value, 10, 64)
	if err != nil {
		return fmt.Errorf("attribute %c: no number", text[0])
	}
	switch text[0] {
	case 'n':
		e.Turn += int(n)
	case 's':
		e.Seq += int(n)
	case 't':
		e.At += n
	case 'm':
		e.Msg += n
	case 'p':
		e.By += n
	case 'o':
		e.Of = int(n)
	case 'g':
		e.told().Rules = int(n)
	default:
		return fmt.Errorf("attribute %c is not known", text[0])
	}
	return nil
}

// told is what the entry told, begun if there is nothing yet.
func (e *Entry) told() *Told {
	if e.Told == nil {
		e.Told = &Told{}
	}
	return e.Told
}
