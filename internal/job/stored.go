package job

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"sillbot/internal/plan"
)

// ErrNewer is a job that was written by a later version of the program.
var ErrNewer = errors.New("job of a later schema")

// Stored is a job as it is stored: the head, and each of its windows by itself,
// so that a turn about one window need not write the others.
type Stored struct {
	Head []byte
	// Parts are the windows by number: all of them, or those that were loaded.
	// One that was looked for and is not there is nil: it is a window that has only
	// what its row says.
	Parts map[int][]byte
	// Unread are windows that can't be read. The row stands for each, whatever rules
	// it was made by; what looks into one finds it missing.
	Unread map[int]bool
}

// storedHead is the JSON of a head: the job without its windows, and where each
// of them stands.
type storedHead struct {
	Job
	Rules   int    `json:"rules"`             // by which the rows were made
	List    rows   `json:"list,omitempty"`    // the openings, in their order
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
	head.List = make(rows, 0, len(j.Openings))
	s := Stored{Parts: map[int][]byte{}}
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

// head reads the head; of a job of the first schema only its version. The error
// is ErrNewer for one that this program is too old for.
func (s Stored) head() (storedHead, error) {
	var h storedHead
	err := json.Unmarshal(s.Head, &h)
	if err != nil || h.Version != schema {
		var other struct {
			Version int `json:"v"`
		}
		_ = json.Unmarshal(s.Head, &other) // err says what is wrong
		h = storedHead{Job: Job{Version: other.Version}}
	}
	switch {
	case h.Version > schema:
		return h, fmt.Errorf("reading a job of schema %d: %w", h.Version, ErrNewer)
	case h.Version == firstSchema:
		return h, nil
	case err != nil:
		return h, fmt.Errorf("reading a job: %w", err)
	case h.Version < firstSchema:
		return h, errors.New("reading a job: no schema version")
	}
	return h, nil
}

// Windows are the numbers of the windows that the head counts on, in their
// order. Errors: as Decode.
func (s Stored) Windows() ([]int, error) {
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
	h, err := s.head()
	switch {
	case err != nil:
		return Job{}, err
	case h.Version == firstSchema:
		return migrated(s.Head)
	}
	j := h.Job
	j.missing = &missing{unread: s.Unread}
	j.Openings = make([]Opening, 0, len(h.List))
	for _, row := range h.List {
		o, err := s.window(j, row)
		if err != nil {
			return Job{}, err
		}
		// A row that was made by other rules may say what no longer holds.
		j.missing.all = j.missing.all || o.absent != nil && !s.Unread[row.ID] && (h.Rules != plan.Rules || row.Against == unlooked)
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
		return j.derive(Opening{ID: row.ID}), nil
	}
	var o Opening
	if err := json.Unmarshal(data, &o); err != nil {
		return Opening{}, fmt.Errorf("reading window %d of a job: %w", row.ID, err)
	}
	return j.derive(o), nil
}
