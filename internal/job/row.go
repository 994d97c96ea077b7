package job

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/opening"
)

// Row is one line of the list of openings. The head of a job has a copy of it
// for each window; it follows from the window alone.
type Row struct {
	ID     int
	Name   string
	Count  int
	State  State
	Lacks  []string // what the survey still lacks, see Lacks
	Copied bool     // the readings are those of another opening
	Signed *Stamp
	Due    string // day of delivery, 2006-01-02
	// Questions is how many of the desk wait for an answer.
	Questions int
	Told      bool // the last confirmation is one that somebody was told of
	// Against is how many points stand against sending a window that is complete and that
	// the desk has not; unlooked where a row of before does not say.
	Against int

	items     int // how many of Against are what the maker needs, asked once a job
	made      pieces
	taken     State // where the steps led, see Opening
	confirmed int   // the revision that the desk confirmed last

	text string // as it was read; "": it was made here
}

// unlooked is Row.Against where nobody has looked yet.
const unlooked = -1

// rows are stored as one text, a line each: a head has up to 400 of them and is
// read at every turn.
type rows []Row

// MarshalText writes the rows.
func (rs rows) MarshalText() ([]byte, error) {
	b := make([]byte, 0, 80*len(rs))
	for i, r := range rs {
		if i > 0 {
			b = append(b, '\n')
		}
		b = r.append(b)
	}
	return b, nil
}

// UnmarshalText reads what MarshalText wrote.
func (rs *rows) UnmarshalText(text []byte) error {
	*rs = make(rows, 0, bytes.Count(text, []byte{'\n'})+1)
	for line := range strings.SplitSeq(string(text), "\n") {
		r, err := readRow(line)
		if err != nil {
			return err
		}
		*rs = append(*rs, r)
	}
	return nil
}

// append writes the row with | between its parts, as
//
//	3|2|signed|room,light.1|copied|2026-06-01|lead|7|1764061200|7|kitchenAna
//
// which are number, count, state, what it lacks, copied, day of delivery, role,
// person and second of the signature, and the name of the window, its length
// in bytes before it, and the signer's. After the state stand, where there are
// such, / and the state that the steps led to, @ and the revision that was
// confirmed, ~ where that was told by somebody else, ? and how many questions of the
// desk are open, * and how many pieces are here, see pieces, and last ! and Against,
// but in rows of before, with & and how many of those are what the maker needs.
func (r Row) append(b []byte) []byte {
	if r.text != "" {
		return append(b, r.text...)
	}
	signed, copied := "||", ""
	signer := ""
	if s := r.Signed; s != nil {
		signed = fmt.Sprintf("%s|%d|%d", s.Role, s.Person, s.At.Unix())
		signer = s.Name
	}
	if r.Copied {
		copied = "copied"
	}
	state := string(r.State)
	if r.taken != r.State {
		state += "/" + string(r.taken)
	}
	if r.confirmed != 0 {
		state += "@" + strconv.Itoa(r.confirmed)
	}
	if r.Told {
		state += "~"
	}
	if r.Questions != 0 {
		state += "?" + strconv.Itoa(r.Questions)
	}
	state += r.made.text()
	if r.Against != unlooked {
		state += "!" + strconv.Itoa(r.Against)
	}
	if r.items != 0 {
		state += "&" + strconv.Itoa(r.items)
	}
	return fmt.Appendf(b, "%d|%d|%s|%s|%s|%s|%s|%d|%s%s",
		r.ID, r.Count, state, strings.Join(r.Lacks, ","), copied, r.Due, signed, len(r.Name), r.Name, signer)
}

// readRow reads what append wrote.
func readRow(text string) (Row, error) {
	r := Row{text: text}
	var part [10]string
	rest, more := text, true
	for i := range part {
		if !more {
			return r, errors.New("a row of a job is too short")
		}
		part[i], rest, more = strings.Cut(rest, "|")
	}
	var err error
	number := func(s string) (n int) {
		if s != "" && err == nil {
			n, err = strconv.Atoi(s)
		}
		return n
	}
	r.ID, r.Count = number(part[0]), number(part[1])
	state, against, looked := strings.Cut(part[2], "!")
	against, items, _ := strings.Cut(against, "&")
	r.items = number(items)
	if r.Against = number(against); !looked {
		r.Against = unlooked
	}
	state, made, _ := strings.Cut(state, "*")
	r.made = readPieces(made)
	state, questions, _ := strings.Cut(state, "?")
	state, r.Told = strings.CutSuffix(state, "~")
	state, confirmed, _ := strings.Cut(state, "@")
	state, taken, _ := strings.Cut(state, "/")
	r.State, r.taken, r.confirmed = State(state), State(cmp.Or(taken, state)), number(confirmed)
	r.Questions = number(questions)
	r.Copied, r.Due = part[4] != "", part[5]
	if part[3] != "" {
		r.Lacks = strings.Split(part[3], ",")
	}
	length := number(part[9])
	if length < 0 || length > len(rest) {
		return r, errors.New("a row of a job has no name")
	}
	r.Name = rest[:length]
	if part[6] != "" {
		at := time.Unix(int64(number(part[8])), 0).UTC()
		r.Signed = &Stamp{Role: Role(part[6]), Name: rest[length:], Person: int64(number(part[7])), At: at}
	}
	return r, err
}

// forget is the row of a window that can't be read without the person who signed it.
func (r *Row) forget(person int64) *Row {
	if r.Signed == nil || r.Signed.Person != person {
		return r
	}
	without, by := *r, *r.Signed
	by.Name, by.Person = "", opening.Former
	without.Signed, without.text = &by, ""
	return &without
}

// pieces are how many pieces of a window stand at each state from Delivered on.
// The others stand where the window stood before.
type pieces map[State]int

func (p pieces) sum() int {
	n := 0
	for _, count := range p {
		n += count
	}
	return n
}

// text writes pieces as *delivered:2,out:1 behind a row's state.
func (p pieces) text() string {
	var parts []string
	for _, s := range States {
		if n := p[s]; n > 0 {
			parts = append(parts, string(s)+":"+strconv.Itoa(n))
		}
	}
	if parts == nil {
		return ""
	}
	return "*" + strings.Join(parts, ",")
}

// readPieces reads what text wrote, without the star; what it can't read is no
// piece.
func readPieces(text string) pieces {
	if text == "" {
		return nil
	}
	p := pieces{}
	for part := range strings.SplitSeq(text, ",") {
		state, count, _ := strings.Cut(part, ":")
		if n, err := strconv.Atoi(count); err == nil {
			p[State(state)] = n
		}
	}
	return p
}
