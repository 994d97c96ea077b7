package plan

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"

	"sillbot/internal/opening"
)

// Job is what holds for all openings of a file: one record {"job": …} before
// them sets it.
type Job struct {
	Name string `json:"name,omitempty"`
	// Settings are the crew's; an opening's own change some of them.
	Settings *Crew   `json:"settings,omitempty"`
	Prices   []Price `json:"prices,omitempty"` // of the job as a whole, beside those of its windows
}

// Record is one opening of a file, cut out and not yet read.
type Record struct {
	Position int // among the openings of the file, from 1
	Line     int // of the file, where it begins

	raw      []byte
	settings *Crew
	why      *FieldError // why it can't be read
}

// Opening reads the record. The error is FieldErrors with all that is wrong;
// the opening has its name then too, where that can be read. Records may be
// read by many goroutines at once.
func (r Record) Opening() (Opening, error) {
	if r.why == nil {
		return opening.Parse(r.raw, r.settings)
	}
	return Opening{Name: opening.NameIn(r.raw)}, FieldErrors{r.why}
}

// Read calls do for each opening in r, one at a time, so that memory does not
// grow with their number, and begin for the job's record before them. r holds
// records one after another, or one array of them, in UTF-8 with or without a
// byte-order mark. An opening that can't be read does not end it: its Record
// says why. The error has all that is wrong with the file besides: a job's
// record that is wrong, comes twice or comes late, or no end. The openings after
// such a record are refused with it, as their settings are in doubt. An error of
// begin or do, or of r, ends it.
func Read(r io.Reader, begin func(Job) error, do func(Record) error) error {
	f := source{split: splitter{in: r}, begin: begin}
	for {
		p, err := f.split.next()
		if errors.Is(err, io.EOF) {
			return errors.Join(f.faults...)
		}
		if err != nil {
			return errors.Join(append(f.faults, err)...)
		}
		if isJob(p) {
			if err := f.job(p); err != nil {
				return err
			}
			continue
		}
		f.openings++
		if err := do(f.record(p)); err != nil {
			return errors.Join(append(f.faults, err)...)
		}
	}
}

// source is a file being read.
type source struct {
	split    splitter
	begin    func(Job) error
	openings int
	jobs     int
	settings *Crew
	lost     bool // the settings are in doubt
	faults   []error
}

func (f *source) record(p piece) Record {
	r := Record{Position: f.openings, Line: p.line, raw: p.raw, settings: f.settings}
	switch {
	case p.why != "":
		r.why = &FieldError{Field: "the record", Why: p.why}
	case f.lost:
		r.why = &FieldError{Field: "job", Why: "was refused, and the settings of this opening with it"}
	}
	return r
}

// job takes the job's record. The error is that of begin.
func (f *source) job(p piece) error {
	f.jobs++
	j, err := f.readJob(p)
	if err != nil {
		f.lost = true
		if len(f.faults) < mostBroken {
			f.faults = append(f.faults, fmt.Errorf("line %d: %w", p.line, err))
		}
		return nil
	}
	f.settings = j.Settings
	return f.begin(j)
}

func (f *source) readJob(p piece) (Job, error) {
	switch {
	case p.why != "":
		return Job{}, &FieldError{Field: "job", Why: p.why}
	case f.jobs > 1:
		return Job{}, &FieldError{Field: "job", Why: "stands there a second time: one file is one job"}
	case f.openings > 0:
		return Job{}, &FieldError{Field: "job", Why: fmt.Sprintf("comes after opening %d: it must be the first record", f.openings)}
	}
	var record struct {
		Job Job `json:"job"`
	}
	if err := opening.Strict(p.raw, reflect.TypeOf(record), ""); err != nil {
		return Job{}, err
	}
	if err := json.Unmarshal(p.raw, &record); err != nil {
		return Job{}, err
	}
	return record.Job, record.Job.check()
}

var jobForm = regexp.MustCompile(`^\{\s*"job"\s*:`)

// isJob tells whether a record has the field job, beside others or not.
func isJob(p piece) bool {
	var fields struct {
		Job json.RawMessage `json:"job"`
	}
	return bytes.Contains(p.raw, []byte(`"job"`)) &&
		(jobForm.Match(p.raw) || json.Unmarshal(p.raw, &fields) == nil && len(fields.Job) > 0)
}

func (j Job) check() error {
	var wrong FieldErrors
	if j.Settings != nil {
		errors.As(j.Settings.Check("job."), &wrong)
	}
	var prices FieldErrors
	errors.As(opening.CheckPrices("job.", j.Prices), &prices)
	if wrong = append(wrong, prices...); len(wrong) == 0 {
		return nil
	}
	return wrong
}
