package job

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/plan"
)

// schema is the version of Job that this program writes. In the first one the
// job was stored whole, with what follows from a window's record beside it.
const (
	schema      = 2
	firstSchema = 1
)

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
	Job
	Rules   int    `json:"rules"`             // by which the rows were made
	List    []Row  `json:"list,omitempty"`    // the openings, in their order
	Deleted []gone `json:"deleted,omitempty"` // what is in the bin
}

// gone is the place in the bin of a deleted window.
type gone struct {
	ID    int `json:"id"`
	Place int `json:"place"`
	Seq   int `json:"seq,omitempty"`
}

// Encode is the job as it is to be stored, with the windows that are loaded.
func (j Job) Encode() (Stored, error) {
	j.Version = schema
	head := storedHead{Job: j, Rules: plan.Rules}
	s := Stored{Parts: make(map[int][]byte, len(j.Openings)+len(j.Bin))}
	var err error
	for _, o := range j.Openings {
		head.List = append(head.List, o.row())
		if o.absent != nil {
			continue
		}
		if s.Parts[o.ID], err = json.Marshal(o); err != nil {
			return Stored{}, err
		}
	}
	for _, b := range j.Bin {
		head.Deleted = append(head.Deleted, gone{b.Opening.ID, b.Place, b.Seq})
		if b.Opening.absent != nil {
			continue
		}
		if s.Parts[b.Opening.ID], err = json.Marshal(b.Opening); err != nil {
			return Stored{}, err
		}
	}
	s.Head, err = json.Marshal(head)
	return s, err
}

// version is the schema of a stored job. The error is ErrNewer for one that
// this program is too old for.
func (s Stored) version() (int, error) {
	var head struct {
		Version int `json:"v"`
	}
	if err := json.Unmarshal(s.Head, &head); err != nil {
		return 0, fmt.Errorf("reading a job: %w", err)
	}
	switch {
	case head.Version < firstSchema:
		return 0, errors.New("reading a job: no schema version")
	case head.Version > schema:
		return 0, fmt.Errorf("reading a job of schema %d: %w", head.Version, ErrNewer)
	}
	return head.Version, nil
}

// head reads the head of a job of the present schema.
func (s Stored) head() (storedHead, error) {
	var h storedHead
	if err := json.Unmarshal(s.Head, &h); err != nil {
		return storedHead{}, fmt.Errorf("reading a job: %w", err)
	}
	return h, nil
}

// Windows are the numbers of the windows that the head counts on, in their
// order. Errors: as Decode.
func (s Stored) Windows() ([]int, error) {
	version, err := s.version()
	if err != nil || version == firstSchema {
		return nil, err
	}
	h, err := s.head()
	if err != nil {
		return nil, err
	}
	var ids []int
	for _, row := range h.List {
		ids = append(ids, row.ID)
	}
	for _, g := range h.Deleted {
		ids = append(ids, g.ID)
	}
	slices.Sort(ids)
	return slices.Compact(ids), nil
}

// Decode reads a stored job. A window that is not among the parts stands there
// with what its row says; Missing tells whether that was not enough. The error
// is ErrNewer for a job that this program is too old for.
func (s Stored) Decode() (Job, error) {
	version, err := s.version()
	if err != nil {
		return Job{}, err
	}
	if version == firstSchema {
		return migrated(s.Head)
	}
	h, err := s.head()
	if err != nil {
		return Job{}, err
	}
	j := h.Job
	j.missing = &missing{}
	j.Openings = make([]Opening, 0, len(h.List))
	for _, row := range h.List {
		o, err := s.window(j, row)
		if err != nil {
			return Job{}, err
		}
		// A row that was made by other rules may say what no longer holds.
		j.missing.all = j.missing.all || o.absent != nil && h.Rules != plan.Rules
		j.Openings = append(j.Openings, o)
	}
	for _, g := range h.Deleted {
		o, err := s.window(j, Row{ID: g.ID, State: Deleted})
		if err != nil {
			return Job{}, err
		}
		j.Bin = append(j.Bin, Binned{o, g.Place, g.Seq})
	}
	j.supersede()
	return j, nil
}

// window reads a window of a job, or takes its row when it was not loaded.
func (s Stored) window(j Job, row Row) (Opening, error) {
	data, looked := s.Parts[row.ID]
	if !looked {
		return row.opening(), nil
	}
	if data == nil {
		return Opening{}, fmt.Errorf("reading window %d of a job: it is not there", row.ID)
	}
	var o Opening
	if err := json.Unmarshal(data, &o); err != nil {
		return Opening{}, fmt.Errorf("reading window %d of a job: %w", row.ID, err)
	}
	return j.derive(o), nil
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
	absent := slices.ContainsFunc(j.Openings, func(o Opening) bool { return o.absent != nil })
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

	taken     State // where the steps led, see Opening
	confirmed int   // the revision that the desk confirmed last
}

// MarshalText writes the row with | between its parts, as
//
//	3|2|signed|room,light.1|copied|2026-06-01|lead|7|1764061200|7|kitchenAna
//
// which are number, count, state, what it lacks, copied, day of delivery, role,
// person and second of the signature, and the name of the window, its length
// in bytes before it, and the signer's. After the state stand, where there are
// such, / and the state that the steps led to, and @ and the revision that was
// confirmed. A head has up to 400 rows and is read at every turn, so they have
// to be short and quick to read.
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
	state := string(r.State)
	if r.taken != r.State {
		state += "/" + string(r.taken)
	}
	if r.confirmed != 0 {
		state += "@" + strconv.Itoa(r.confirmed)
	}
	return fmt.Appendf(nil, "%d|%d|%s|%s|%s|%s|%s|%d|%s%s",
		r.ID, r.Count, state, strings.Join(r.Lacks, ","), copied, r.Due, signed, len(r.Name), r.Name, signer), nil
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
	state, confirmed, _ := strings.Cut(part[2], "@")
	if confirmed != "" {
		if err := number(confirmed, &r.confirmed); err != nil {
			return err
		}
	}
	state, taken, _ := strings.Cut(state, "/")
	r.State, r.taken = State(state), State(cmp.Or(taken, state))
	r.Copied, r.Due, r.Name = part[4] != "", part[5], part[10][:length]
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

// row is the opening's line of the list, by itself: whether the order still
// stands is another question.
func (o Opening) row() Row {
	if o.absent != nil {
		return *o.absent
	}
	r := Row{
		ID: o.ID, Name: o.Name, Count: o.Count, State: o.stands(), Lacks: o.Lacks(),
		Copied: o.CopiedFrom != 0, Due: o.Supply.Due, taken: o.taken,
	}
	if o.Signature != nil {
		r.Signed = &o.Signature.By
	}
	if o.Supply.Confirmed != nil {
		r.confirmed = o.Supply.Confirmed.Revision
	}
	return r
}

// opening is what the row says of a window that is not loaded.
func (r Row) opening() Opening {
	o := Opening{ID: r.ID, Name: r.Name, Count: r.Count, State: r.State, Supply: Supply{Due: r.Due}, taken: r.taken, absent: &r}
	if r.Signed != nil {
		o.Signature = &Signature{By: *r.Signed}
	}
	if r.confirmed != 0 {
		o.Supply.Confirmed = &Confirmation{Revision: r.confirmed}
	}
	return o
}

// List is the openings in their order, with what each still lacks.
func (j Job) List() []Row {
	rows := make([]Row, len(j.Openings))
	for i, o := range j.Openings {
		rows[i] = o.row()
		rows[i].State = o.State
	}
	return rows
}
