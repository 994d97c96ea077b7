package main

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"sync"

	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/sheet"
	"sillbot/locales"
)

// planner writes the plans of the openings in a file, as they come.
type planner struct {
	out   *bufio.Writer
	errs  io.Writer
	words *locales.Catalogue
	text  bool
	cards string      // folder for pictures; "": none are drawn
	job   bool        // the job's sums come last
	sheet sheet.Plans // the order sheet; nil: none is made

	rooms rooms

	total         plan.Total
	read          int  // openings
	refused, held int  // of them
	whole         bool // the file was read to its end, and nothing but openings was wrong
}

func (p *planner) say(t phrase.Text) string { return p.words.Plain(locales.Default, t) }

// sums ends the file with what the whole job takes.
func (p *planner) sums() error {
	if p.text {
		lines, err := p.total.Lines()
		if err != nil {
			return p.refusedSums(err)
		}
		_, err = p.out.Write(p.paragraph(nil, lines))
		return err
	}
	report, err := p.total.Report(p.say)
	if err != nil {
		return p.refusedSums(err)
	}
	raw, err := plan.AppendJSON(nil, struct {
		Job plan.JobReport `json:"job"`
	}{report})
	if err != nil {
		return err
	}
	_, err = p.out.Write(raw)
	return err
}

// refusedSums explains why a job can't be added up.
func (p *planner) refusedSums(err error) error {
	if why, ok := plan.WhyRefused(err); ok {
		return fmt.Errorf("the job: %s", p.say(why))
	}
	return err
}

// paragraph is lines under each other and an empty one.
func (p *planner) paragraph(parts ...[]phrase.Text) []byte {
	var out bytes.Buffer
	for _, lines := range parts {
		for _, line := range lines {
			out.WriteString(p.say(line) + "\n")
		}
	}
	out.WriteByte('\n')
	return out.Bytes()
}

// rooms keeps the room of reports that were written for those to come.
type rooms struct{ pool sync.Pool }

func (r *rooms) get() []byte {
	if room, ok := r.pool.Get().(*[]byte); ok {
		return (*room)[:0]
	}
	return make([]byte, 0, 24<<10) // what a report takes in most cases
}

func (r *rooms) put(room []byte) { r.pool.Put(&room) }
