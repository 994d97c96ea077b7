package job

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
)

// schema is the version of Job that this program writes. In version 1 the head
// held the windows, the bin and the lines of the order.
const schema = 2

// ErrNewer is a job that was written by a later version of the program.
var ErrNewer = errors.New("job of a later schema")

// Stored is a job as it is stored: the head, and each of its windows by itself,
// so that a turn about one window need not write the others.
type Stored struct {
	Head  []byte
	Parts map[int][]byte // windows, by number
}

// storedHead is the JSON of a head: the job without its windows, and where each
// of them stands.
type storedHead struct {
	Job            // without Openings, Bin and Order.Lines
	List    []int  `json:"list,omitempty"`    // the openings, in their order
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

// Encode is the job as it is to be stored.
func (j Job) Encode() (Stored, error) {
	j.Version = schema
	windows := map[int]*storedWindow{}
	head := storedHead{Job: j}
	head.Openings, head.Bin, head.Order.Lines = nil, nil, nil
	for _, o := range j.Openings {
		head.List = append(head.List, o.ID)
		windows[o.ID] = &storedWindow{Opening: o}
	}
	for _, b := range j.Bin {
		head.Deleted = append(head.Deleted, gone{b.Opening.ID, b.Place, b.Seq})
		windows[b.Opening.ID] = &storedWindow{Opening: b.Opening}
	}
	for i := range j.Order.Lines {
		l := &j.Order.Lines[i]
		head.Lines = append(head.Lines, l.Opening)
		w := windows[l.Opening]
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
	var version struct {
		Version int `json:"v"`
	}
	if err := json.Unmarshal(s.Head, &version); err != nil {
		return storedHead{}, fmt.Errorf("reading a job: %w", err)
	}
	if version.Version < 1 {
		return storedHead{}, errors.New("reading a job: no schema version")
	}
	if version.Version > schema {
		return storedHead{}, fmt.Errorf("reading a job of schema %d: %w", version.Version, ErrNewer)
	}
	var h storedHead
	if err := json.Unmarshal(s.Head, &h); err != nil {
		return storedHead{}, fmt.Errorf("reading a job: %w", err)
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
	for _, id := range slices.Concat(h.List, h.Lines) {
		ids[id] = true
	}
	for _, g := range h.Deleted {
		ids[g.ID] = true
	}
	return slices.Sorted(maps.Keys(ids)), nil
}

// Decode reads a stored job. The error is ErrNewer for one that this program
// is too old for.
func (s Stored) Decode() (Job, error) {
	h, err := s.head()
	if err != nil {
		return Job{}, err
	}
	windows := make(map[int]storedWindow, len(s.Parts))
	for id, data := range s.Parts {
		var w storedWindow
		if err := json.Unmarshal(data, &w); err != nil {
			return Job{}, fmt.Errorf("reading window %d of a job: %w", id, err)
		}
		windows[id] = w
	}
	j := h.Job
	for _, id := range h.List {
		w, ok := windows[id]
		if !ok {
			return Job{}, missing(id)
		}
		j.Openings = append(j.Openings, w.Opening)
	}
	for _, g := range h.Deleted {
		w, ok := windows[g.ID]
		if !ok {
			return Job{}, missing(g.ID)
		}
		j.Bin = append(j.Bin, Binned{w.Opening, g.Place, g.Seq})
	}
	for _, id := range h.Lines {
		w := windows[id]
		if w.Line == nil {
			return Job{}, missing(id)
		}
		j.Order.Lines = append(j.Order.Lines, *w.Line)
	}
	return j, nil
}

func missing(id int) error { return fmt.Errorf("reading a job: window %d is not there", id) }
