package plan

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
)

const (
	// mostRecord is the longest that one record may be, bytes: far beyond any
	// opening with all of its fields.
	mostRecord = 1 << 20
	// mostBroken is how many records without an end a file may have before it is
	// no file of openings. Each costs a second look at no more than mostRecord.
	mostBroken = 100

	chunk = 64 << 10 // bytes read at a time
)

// Faults of a file as a whole.
var (
	errEmpty    = errors.New("the file is empty")
	errUTF16    = errors.New("the file is UTF-16: save it as UTF-8")
	errNoEnd    = errors.New("the list of openings does not end")
	errFollows  = errors.New("something follows the list of openings")
	errNotAFile = fmt.Errorf("more than %d records can't be told apart: this is no file of openings", mostBroken)
)

// splitter cuts a file into its records, in time linear in its size and with
// room for one record.
type splitter struct {
	in   io.Reader
	held []byte // read and not yet taken
	pos  int    // in held
	end  error  // why in gives no more

	line    int  // of pos, from 1
	indent  int  // blanks before the first mark of that line
	fresh   bool // no mark of the line was passed
	started bool
	array   bool
	comma   bool // one stood before pos
	records int
	broken  int
}

// piece is one record as it stands in the file.
type piece struct {
	line int
	raw  []byte
	why  string // why it has no end, "" when it has
}

// next is the next record. At the end of the file the error is io.EOF, or what
// is wrong with the file as a whole.
func (s *splitter) next() (piece, error) {
	if !s.started {
		if err := s.start(); err != nil {
			return piece{}, err
		}
	}
	for {
		c, err := s.blanks()
		switch {
		case err != nil:
			return piece{}, s.atEnd(err)
		case s.array && c == ']':
			return piece{}, s.close()
		case c == ',' && !s.comma && s.records > 0:
			s.pos, s.comma = s.pos+1, true
			continue
		}
		p, err := s.take(c)
		lost := p.why != ""
		if err == nil && p.why == "" && s.array && s.records > 0 && !s.comma {
			p.why = "must follow a comma"
		}
		s.records, s.comma = s.records+1, lost // passed over with the rest
		return p, err
	}
}

// start takes the byte-order mark and the bracket of a list.
func (s *splitter) start() error {
	s.started, s.line, s.fresh = true, 1, true
	for len(s.held) < 3 && s.more() {
	}
	switch {
	case bytes.HasPrefix(s.held, []byte("\xEF\xBB\xBF")):
		s.pos = 3
	case bytes.HasPrefix(s.held, []byte("\xFF\xFE")), bytes.HasPrefix(s.held, []byte("\xFE\xFF")):
		return errUTF16
	}
	c, err := s.blanks()
	if errors.Is(err, io.EOF) {
		return errEmpty
	}
	if c == '[' {
		s.array, s.pos = true, s.pos+1
	}
	return err
}

func (s *splitter) atEnd(err error) error {
	if errors.Is(err, io.EOF) && s.array {
		return errNoEnd
	}
	return err
}

// close wants nothing after a list.
func (s *splitter) close() error {
	s.pos++
	_, err := s.blanks()
	if err == nil {
		return errFollows
	}
	return err
}

// more reads on; false when there is no more. What was taken makes room.
func (s *splitter) more() bool {
	if s.end != nil {
		return false
	}
	if s.pos > 0 {
		s.held, s.pos = append(s.held[:0], s.held[s.pos:]...), 0
	}
	n := len(s.held)
	s.held = slices.Grow(s.held, chunk)
	read, err := s.in.Read(s.held[n : n+chunk])
	s.held = s.held[:n+read]
	if s.end = err; err != nil && !errors.Is(err, io.EOF) {
		s.end = fmt.Errorf("reading the openings: %w", err)
	}
	return read > 0 || err == nil
}

// blanks passes over them and gives the character behind.
func (s *splitter) blanks() (byte, error) {
	for {
		c, ok := s.peek()
		if !ok {
			return 0, s.end
		}
		switch c {
		case '\n':
			s.line, s.indent, s.fresh = s.line+1, 0, true
		case ' ', '\t':
			if s.fresh {
				s.indent++
			}
		case '\r':
		default:
			s.fresh = false
			return c, nil
		}
		s.pos++
	}
}

// take takes one record that begins with c.
func (s *splitter) take(c byte) (piece, error) {
	p := piece{line: s.line}
	n, why := s.measure(c == '{' || c == '[')
	if why != "" || c != '{' {
		if s.broken++; s.broken > mostBroken {
			return p, errNotAFile
		}
	}
	if why == "" {
		p.raw = bytes.Clone(s.held[s.pos : s.pos+n])
		s.pass(p.raw)
		return p, nil
	}
	head := bytes.Clone(s.held[s.pos : s.pos+min(n, mostShown)])
	p.raw, p.why = head[:min(len(head), s.resync())], why
	return p, nil
}

// mostShown is how much is kept of a record that has no end: its name stands
// at the front.
const mostShown = 4 << 10

// pass goes behind a record.
func (s *splitter) pass(raw []byte) {
	s.pos += len(raw)
	if last := bytes.LastIndexByte(raw, '\n'); last >= 0 {
		s.line += bytes.Count(raw, []byte{'\n'})
		s.indent = len(raw[last+1:]) - len(bytes.TrimLeft(raw[last+1:], " \t"))
	}
}

// measure is how long the record is that begins at pos, or how much of it was
// looked at when it proved to have no end.
func (s *splitter) measure(bracketed bool) (n int, why string) {
	var scan scanner
	for n = 0; n < mostRecord; n++ {
		if s.pos+n == len(s.held) && !s.more() {
			if bracketed {
				return n, "has no end"
			}
			return n, ""
		}
		c := s.held[s.pos+n]
		switch {
		case !bracketed:
			if n > 0 && bytes.IndexByte(separators, c) >= 0 {
				return n, ""
			}
		default:
			if why = scan.next(c); why != "" {
				return n, why
			}
			if scan.ended() {
				return n + 1, ""
			}
		}
	}
	return n, fmt.Sprintf("is longer than %d characters", mostRecord)
}

var separators = []byte(" \t\r\n,[]{}")

// resync passes over a record that has no end, to the first line that opens a
// brace and stands no further in than the line where the record began. It gives
// how long that was.
func (s *splitter) resync() (n int) {
	most := s.indent
	s.pos, n = s.pos+1, 1
	for {
		c, ok := s.peek()
		if !ok {
			return n
		}
		s.pos, n = s.pos+1, n+1
		if c != '\n' {
			continue
		}
		s.line++
		for s.indent = 0; ; s.indent++ {
			if c, ok = s.peek(); c != ' ' && c != '\t' || !ok {
				break
			}
			s.pos, n = s.pos+1, n+1
		}
		if s.indent <= most && (c == '{' || s.array && c == ']') {
			return n
		}
	}
}

// peek is the character at pos; false at the end.
func (s *splitter) peek() (byte, bool) {
	for s.pos == len(s.held) {
		if !s.more() {
			return 0, false
		}
	}
	return s.held[s.pos], true
}

// scanner follows brackets and quotes.
type scanner struct {
	open    []byte // the closing brackets that are wanted
	quoted  bool
	escaped bool
}

func (s *scanner) ended() bool { return len(s.open) == 0 }

// next takes a character and says why it can't stand there.
func (s *scanner) next(c byte) (why string) {
	if s.quoted {
		switch {
		case c == '\n':
			return "has text without a closing quote"
		case s.escaped:
			s.escaped = false
		case c == '\\':
			s.escaped = true
		case c == '"':
			s.quoted = false
		}
		return ""
	}
	switch c {
	case '"':
		s.quoted = true
	case '{':
		s.open = append(s.open, '}')
	case '[':
		s.open = append(s.open, ']')
	case '}', ']':
		if s.open[len(s.open)-1] != c {
			return "has brackets that do not match"
		}
		s.open = s.open[:len(s.open)-1]
	}
	return ""
}
