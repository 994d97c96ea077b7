package job

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
)

// schema is the version of Job that this program writes. In version 1 the head
// held the windows, the bin and the lines of the order.
const schema = 2

// ErrNewer is a job that was written by a later version of the program.
var ErrNewer = errors.New("job of a later schema")

// Stored is a job as it is stored: the head, and each of its windows by itself,
// so that a turn about one window need not write the others.
type Stored struct {
	Head []byte
	// Parts are the windows by number: all of them, or those that were loaded.
	// One that was looked for and is not there is nil.
	Parts map[int][]byte
}

// storedHead is the JSON of a head: the job without its windows, and where each
// of them stands.
type storedHead struct {
	Job            // without Openings, Bin and Order.Lines
	List    []Row  `json:"list,omitempty"`    // the openings, in their order
	Deleted []gone `json:"deleted,omitempty"` // what is in the bin
	Lines   []int  `json:"lines,omitempty"`   // the lines of the order, in theirs
}

// gone is the place in the bin of a deleted window.
type gone struct {
	ID    int `json:"id"`
	Place int `json:"place"`
	Seq   int `json:"seq,omitempty"`
}

// storedWindow is the JSON of a window: the opening, and its line as it was
// sent to the desk. The line of an opening that is not even in the bin any more
// stands by itself.
type storedWindow struct {
	Opening
	Line *Line `json:"line,omitempty"`
}

// Encode is the job as it is to be stored, with the windows that are loaded.
// The error is a window that was changed and was not.
func (j Job) Encode() (Stored, error) {
	j.Version = schema
	windows := map[int]*storedWindow{}
	head := storedHead{Job: j}
	head.Openings, head.Bin, head.Order.Lines = nil, nil, nil
	for _, o := range j.Openings {
		row := o.row()
		head.List = append(head.List, row)
		switch {
		case o.absent == nil:
			windows[o.ID] = &storedWindow{Opening: o}
		case o.State != row.State || o.Name != row.Name || o.Count != row.Count:
			return Stored{}, fmt.Errorf("window %d was changed and is not loaded", o.ID)
		}
	}
	for _, b := range j.Bin {
		head.Deleted = append(head.Deleted, gone{b.Opening.ID, b.Place, b.Seq})
		if b.Opening.absent == nil {
			windows[b.Opening.ID] = &storedWindow{Opening: b.Opening}
		}
	}
	for i := range j.Order.Lines {
		l := &j.Order.Lines[i]
		head.Lines = append(head.Lines, l.Opening)
		w := windows[l.Opening]
		if l.absent {
			continue
		}
		if w == nil {
			w = &storedWindow{Opening: Opening{ID: l.Opening}}
			windows[l.Opening] = w
		}
		w.Line = l
	}
	s := Stored{Parts: make(map[int][]byte, len(windows))}
	var err error
	if s.Head, err = json.Marshal(head); err != nil {
		return Stored{}, err
	}
	for id, w := range windows {
		if s.Parts[id], err = json.Marshal(w); err != nil {
			return Stored{}, err
		}
	}
	return s, nil
}

// head reads the head. The error is ErrNewer for one that this program is too
// old for.
func (s Stored) head() (storedHead, error) {
	var h storedHead
	if err := json.Unmarshal(s.Head, &h); err != nil {
		var newer struct {
			Version int `json:"v"`
		}
		if json.Unmarshal(s.Head, &newer) != nil || newer.Version <= schema {
			return storedHead{}, fmt.Errorf("reading a job: %w", err)
		}
		h.Version = newer.Version
	}
	switch {
	case h.Version < 1:
		return storedHead{}, errors.New("reading a job: no schema version")
	case h.Version > schema:
		return storedHead{}, fmt.Errorf("reading a job of schema %d: %w", h.Version, ErrNewer)
	}
	h.Version = schema
	return h, nil
}

// Windows are the numbers of the windows that the head counts on, in their
// order. Errors: as Decode.
func (s Stored) Windows() ([]int, error) {
	h, err := s.head()
	if err != nil {
		return nil, err
	}
	ids := map[int]bool{}
	for _, row := range h.List {
		ids[row.ID] = true
	}
	for _, id := range h.Lines {
		ids[id] = true
	}
	for _, g := range h.Deleted {
		ids[g.ID] = true
	}
	return slices.Sorted(maps.Keys(ids)), nil
}

// Decode reads a stored job. A window that is not among the parts stands there
// with what its row says; Missing tells whether that was not enough. The error
// is ErrNewer for a job that this program is too old for.
func (s Stored) Decode() (Job, error) {
	h, err := s.head()
	if err != nil {
		return Job{}, err
	}
	windows := make(map[int]storedWindow, len(s.Parts))
	for id, data := range s.Parts {
		if data == nil {
			continue
		}
		var w storedWindow
		if err := json.Unmarshal(data, &w); err != nil {
			return Job{}, fmt.Errorf("reading window %d of a job: %w", id, err)
		}
		windows[id] = w
	}
	j := h.Job
	j.missing = &missing{}
	opening := func(row Row) Opening {
		if w, ok := windows[row.ID]; ok {
			return w.Opening
		}
		_, lost := s.Parts[row.ID]
		if lost && err == nil {
			err = fmt.Errorf("reading window %d of a job: it is not there", row.ID)
		}
		return row.opening()
	}
	j.Openings = slices.Grow(j.Openings, len(h.List))
	for _, row := range h.List {
		j.Openings = append(j.Openings, opening(row))
	}
	for _, g := range h.Deleted {
		j.Bin = append(j.Bin, Binned{opening(Row{ID: g.ID}), g.Place, g.Seq})
	}
	j.Order.Lines = slices.Grow(j.Order.Lines, len(h.Lines))
	for _, id := range h.Lines {
		l := Line{Opening: id, absent: true}
		if w := windows[id]; w.Line != nil {
			l = *w.Line
		} else if _, looked := s.Parts[id]; looked {
			return Job{}, fmt.Errorf("reading window %d of a job: its line is not there", id)
		}
		j.Order.Lines = append(j.Order.Lines, l)
	}
	return j, err
}

// missing is what was looked into of a job without being loaded.
type missing struct {
	all     bool
	windows map[int]bool
}

// Missing says which windows have been looked into that were not loaded, since
// the job was decoded, by this Job or one made of it: those, or all. If there
// are any, what came of it is not to be used: load them and do it again.
func (j Job) Missing() (windows []int, all bool) {
	if j.missing == nil {
		return nil, false
	}
	return slices.Sorted(maps.Keys(j.missing.windows)), j.missing.all
}

// need notes that an opening is looked into beyond what its row says, and is
// whether that can't be done because it is not loaded.
func (j Job) need(o Opening) (absent bool) {
	if o.absent == nil || j.missing == nil {
		return false
	}
	if j.missing.windows == nil {
		j.missing.windows = map[int]bool{}
	}
	j.missing.windows[o.ID] = true
	return true
}

// All is every opening, each with all that is known of it, and none as long as
// some are not loaded. Openings is enough for their rows.
func (j Job) All() []Opening {
	absent := slices.ContainsFunc(j.Openings, func(o Opening) bool { return o.absent != nil }) ||
		slices.ContainsFunc(j.Order.Lines, func(l Line) bool { return l.absent })
	if absent && j.missing != nil {
		j.missing.all = true
		return nil
	}
	return j.Openings
}

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
}

// MarshalText writes the row with | between its parts, as
//
//	3|2|signed|room,light.1|copied|2026-06-01|lead|7|1764061200|7|kitchenAna
//
// which are number, count, state, what it lacks, copied, day of delivery, role,
// person and second of the signature, and the name of the window, its length
// in bytes before it, and the signer's. A head has up to 400 rows and is read
// at every turn, so they have to be short and quick to read.
func (r Row) MarshalText() ([]byte, error) {
	signed, copied := "||", ""
	signer := ""
	if s := r.Signed; s != nil {
		signed = fmt.Sprintf("%s|%d|%d", s.Role, s.Person, s.At.Unix())
		signer = s.Name
	}
	if r.Copied {
		copied = "copied"
	}
	return fmt.Appendf(nil, "%d|%d|%s|%s|%s|%s|%s|%d|%s%s",
		r.ID, r.Count, r.State, strings.Join(r.Lacks, ","), copied, r.Due, signed, len(r.Name), r.Name, signer), nil
}

// UnmarshalText reads what MarshalText wrote.
func (r *Row) UnmarshalText(text []byte) error {
	part := strings.SplitN(string(text), "|", 11)
	if len(part) < 11 {
		return errors.New("a row of a job is too short")
	}
	number := func(s string, into *int) error {
		n, err := strconv.Atoi(s)
		*into = n
		return err
	}
	var length int
	if err := errors.Join(number(part[0], &r.ID), number(part[1], &r.Count), number(part[9], &length)); err != nil {
		return err
	}
	if length < 0 || length > len(part[10]) {
		return errors.New("a row of a job has no name")
	}
	r.State, r.Copied, r.Due, r.Name = State(part[2]), part[4] != "", part[5], part[10][:length]
	if part[3] != "" {
		r.Lacks = strings.Split(part[3], ",")
	}
	if part[6] == "" {
		return nil
	}
	person, err1 := strconv.ParseInt(part[7], 10, 64)
	at, err2 := strconv.ParseInt(part[8], 10, 64)
	r.Signed = &Stamp{Role: Role(part[6]), Name: part[10][length:], Person: person, At: time.Unix(at, 0).UTC()}
	return errors.Join(err1, err2)
}

// row is the opening's line of the list.
func (o Opening) row() Row {
	if o.absent != nil {
		return *o.absent
	}
	r := Row{
		ID: o.ID, Name: o.Name, Count: o.Count, State: o.State, Lacks: Lacks(o.Record.Plan),
		Copied: o.CopiedFrom != 0, Due: o.Supply.Due,
	}
	if o.Signature != nil {
		r.Signed = &o.Signature.By
	}
	return r
}

// opening is what the row says of a window that is not loaded.
func (r Row) opening() Opening {
	o := Opening{ID: r.ID, Name: r.Name, Count: r.Count, State: r.State, Supply: Supply{Due: r.Due}, absent: &r}
	if r.Signed != nil {
		o.Signature = &Signature{By: *r.Signed}
	}
	return o
}

// List is the openings in their order, with what each still lacks.
func (j Job) List() []Row {
	rows := make([]Row, len(j.Openings))
	for i, o := range j.Openings {
		rows[i] = o.row()
	}
	return rows
}
