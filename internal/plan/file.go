package plan

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"

	"sillbot/internal/opening"
)

// Job is what holds for all openings of a file. A record {"job": …} sets it
// for those that follow.
type Job struct {
	Name string `json:"name,omitempty"`
	// Settings are the crew's; an opening's own change some of them.
	Settings *Crew   `json:"settings,omitempty"`
	Prices   []Price `json:"prices,omitempty"` // of the job as a whole, beside those of its windows
}

// Read calls do for each opening in r, one at a time, so that memory does not
// grow with their number, and begin for each job record before its openings.
// r holds records one after another, or one array of them. Unknown fields and
// impossible values are refused with a FieldError of the field's name and the
// opening's number. An error of begin or do ends it.
func Read(r io.Reader, begin func(Job) error, do func(Opening) error) error {
	in := bufio.NewReader(r)
	array, err := startsArray(in)
	if err != nil {
		return err
	}
	decoder := json.NewDecoder(in)
	if array {
		if _, err := decoder.Token(); err != nil {
			return fmt.Errorf("reading the list of openings: %w", err)
		}
	}
	var settings *Crew
	for n := 1; ; {
		if array && !decoder.More() {
			return closeArray(decoder)
		}
		var raw json.RawMessage
		err := decoder.Decode(&raw)
		if errors.Is(err, io.EOF) && !array {
			return nil
		}
		var job *Job
		var o Opening
		if err == nil {
			job, o, err = parse(raw, settings)
		}
		if err != nil {
			return fmt.Errorf("opening %d: %w", n, err)
		}
		if job != nil {
			settings = job.Settings
			if err := begin(*job); err != nil {
				return err
			}
			continue
		}
		if err := do(o); err != nil {
			return fmt.Errorf("opening %d: %w", n, err)
		}
		n++
	}
}

// parse reads one record: a job, or an opening with the job's settings.
func parse(raw []byte, settings *Crew) (*Job, Opening, error) {
	var o Opening
	if isJob(raw) {
		var record struct {
			Job Job `json:"job"`
		}
		if err := opening.Strict(raw, reflect.TypeOf(record), ""); err != nil {
			return nil, o, err
		}
		if err := json.Unmarshal(raw, &record); err != nil {
			return nil, o, err
		}
		return &record.Job, o, record.Job.check()
	}
	if err := opening.Strict(raw, reflect.TypeFor[Opening](), ""); err != nil {
		return nil, o, err
	}
	if settings != nil {
		own := *settings
		o.Settings = &own
	}
	if err := json.Unmarshal(raw, &o); err != nil {
		return nil, o, err
	}
	return nil, o, o.Check()
}

func isJob(raw []byte) bool {
	var fields struct {
		Job json.RawMessage `json:"job"`
	}
	return bytes.Contains(raw, []byte(`"job"`)) && json.Unmarshal(raw, &fields) == nil && len(fields.Job) > 0
}

func (j Job) check() error {
	if j.Settings != nil {
		if err := j.Settings.Check("job."); err != nil {
			return err
		}
	}
	return opening.CheckPrices("job.", j.Prices)
}

// startsArray looks at the first character that is not a space.
func startsArray(in *bufio.Reader) (bool, error) {
	for {
		c, err := in.ReadByte()
		if errors.Is(err, io.EOF) {
			return false, errors.New("the file is empty")
		}
		if err != nil {
			return false, fmt.Errorf("reading the openings: %w", err)
		}
		if c == ' ' || c == '\t' || c == '\r' || c == '\n' {
			continue
		}
		return c == '[', in.UnreadByte()
	}
}

// closeArray wants nothing after the array.
func closeArray(d *json.Decoder) error {
	if _, err := d.Token(); err != nil {
		return fmt.Errorf("the list of openings does not end: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows the list of openings")
	}
	return nil
}
