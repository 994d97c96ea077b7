package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/scene"
)

// Plans is the sheet of plans that belong to no job: without reference and
// revision, and with a note that nobody has checked or sent it. It is written
// as the plans come. Lines have the numbers of the openings in their file.
type Plans interface {
	// Add takes a plan, whose line says so if it must not be made.
	Add(position int, p plan.Plan) error
	// Refuse takes an opening that has no plan, and why.
	Refuse(position int, name string, why phrase.Text) error
	// Close ends the sheet. The error is ErrNoLines when nothing came.
	Close() error
}

// ErrNoForm is a sheet of a form that nobody makes.
var ErrNoForm = errors.New("a sheet is a file that ends in .pdf, .csv or .json")

// Plans begins a sheet of plans in a form: .pdf, .csv or .json. The error is
// ErrNoForm, ErrNoTime, or that of out.
func (p Printer) Plans(out io.Writer, form string) (Plans, error) {
	if p.At.IsZero() {
		return nil, ErrNoTime
	}
	o := &order{layout: newLayout(p), sheet: job.OrderSheet{SeenFrom: job.SeenFrom}}
	switch form {
	case ".pdf":
		return newPlanPDF(o, out), nil
	case ".csv":
		return newPlanCSV(o, out)
	case ".json":
		return newPlanJSON(o, out)
	}
	return nil, ErrNoForm
}

// planLine is the line of a plan. What holds it is noted for those who write
// the line.
func (o *order) planLine(position int, p plan.Plan) (job.SheetLine, error) {
	l := job.LineOf(p)
	l.Opening, l.Quantity = position, p.Count
	o.holds = nil
	for _, h := range p.Holds() {
		o.holds = append(o.holds, h.Text)
	}
	return job.SheetLine{Line: l, Room: p.Opening.Room, Against: job.AgainstPlan(p)}, checkLine(l)
}

// planPDF lays the lines out as they come. What stands before them says how
// many there are, so its pages are laid out last and put first.
type planPDF struct {
	lines    *order
	document *scene.Document
	pages    []scene.Page // of the lines
	rows     [][]string   // of the table of all lines
	refused  [][]string   // rows of those without a plan
}

func newPlanPDF(o *order, out io.Writer) *planPDF {
	p := &planPDF{lines: o, document: scene.NewDocument(out, o.made)}
	o.head = o.runningHead
	o.full = func(s *scene.Scene) { p.pages = append(p.pages, p.document.Add(s)) }
	return p
}

func (p *planPDF) Add(position int, made plan.Plan) error {
	l, err := p.lines.planLine(position, made)
	if err != nil {
		return err
	}
	if p.lines.begun == 0 {
		p.lines.newPage()
	}
	p.lines.line(position-1, l)
	p.rows = append(p.rows, p.lines.summaryRow(position-1, l))
	p.lines.note(position-1, l)
	return nil
}

func (p *planPDF) Refuse(position int, name string, why phrase.Text) error {
	p.refused = append(p.refused, []string{strconv.Itoa(position), clean(name), shortened(clean(p.lines.words(why)))})
	return nil
}

// mostWhy keeps a row of the table on one page, characters.
const mostWhy = 1000

func shortened(words string) string {
	if runes := []rune(words); len(runes) > mostWhy {
		return string(runes[:mostWhy]) + " …"
	}
	return words
}

func (p *planPDF) Close() error {
	if len(p.rows)+len(p.refused) == 0 {
		return ErrNoLines
	}
	p.lines.end()
	var first []scene.Page
	front := p.front(func(s *scene.Scene) { first = append(first, p.document.Add(s)) })
	pages := slices.Concat(first, p.pages)
	return p.document.Close(front.name(), pages, func(i int) *scene.Scene {
		front.Scene = &scene.Scene{}
		front.footOf(front.name(), i, len(pages))
		return front.Scene
	})
}

// front lays out what stands before the lines, and gives each page to full.
func (p *planPDF) front(full func(*scene.Scene)) *order {
	o := &order{layout: &layout{voice: p.lines.voice, head: func() {}, made: p.lines.made, full: full}, sheet: p.lines.sheet, all: p.lines.all,
		open: p.lines.open, shares: p.lines.shares, sum: p.lines.sum}
	o.newPage()
	o.front()
	o.head = o.runningHead
	o.noPlan(p.refused)
	if len(p.rows) > 0 {
		o.overview(p.rows)
	}
	o.end()
	return o
}

// noPlan is the table of the openings that are not on the sheet.
func (o *order) noPlan(rows [][]string) {
	if len(rows) == 0 {
		return
	}
	t := table{
		columns: []tableColumn{{"sheet.number", 11, true}, {"sheet.opening", 47, false}, {"sheet.no_plan.why", width - 58, false}},
		rows:    rows,
	}
	o.heading(o.words(phrase.Of("sheet.no_plan").WithInt("count", len(rows))), o.tableStart(t))
	o.table(t)
	o.y += 4
}

// planCSV writes a row for each opening. One without a plan has no sizes, a
// quantity of 0, and the reason in the last column, as one that is held has.
type planCSV struct {
	*order
	rows *csv.Writer
	some bool
}

func newPlanCSV(o *order, out io.Writer) (*planCSV, error) {
	if _, err := io.WriteString(out, "\uFEFF"); err != nil {
		return nil, err
	}
	c := &planCSV{order: o, rows: csv.NewWriter(out)}
	c.rows.UseCRLF = true
	return c, c.rows.Write(append(csvHead(), "hold"))
}

func (c *planCSV) Add(position int, made plan.Plan) error {
	l, err := c.planLine(position, made)
	if err != nil {
		return err
	}
	c.some = true
	return c.rows.Write(append(c.csvRow(position-1, l), c.reasons(c.holds)))
}

func (c *planCSV) reasons(why []phrase.Text) string {
	all := ""
	for i, t := range why {
		if i > 0 {
			all += " "
		}
		all += clean(c.words(t))
	}
	return inert(all)
}

func (c *planCSV) Refuse(position int, name string, why phrase.Text) error {
	row := make([]string, len(csvHead())+1)
	for column, cell := range map[string]string{
		"held": "true", "line": strconv.Itoa(position), "opening": inert(clean(name)), "quantity": "0", "state": "no_plan",
	} {
		row[slices.Index(csvColumns, column)] = cell
	}
	row[len(row)-1] = c.reasons([]phrase.Text{why})
	c.some = true
	return c.rows.Write(row)
}

func (c *planCSV) Close() error {
	if !c.some {
		return ErrNoLines
	}
	c.rows.Flush()
	return c.rows.Error()
}

// planJSON writes the lines into the middle of the order, and those without a
// plan behind them.
type planJSON struct {
	*order
	out     io.Writer
	lines   int
	refused []jsonNoPlan
}

var noLines = []byte(`"lines": [`)

func newPlanJSON(o *order, out io.Writer) (*planJSON, error) {
	raw, err := json.MarshalIndent(o.jsonHead(), "", "  ")
	if err != nil {
		return nil, fmt.Errorf("sheet: writing the JSON: %w", err)
	}
	at := bytes.LastIndex(raw, noLines) + len(noLines)
	_, err = out.Write(raw[:at])
	return &planJSON{order: o, out: out}, err
}

func (j *planJSON) Add(position int, made plan.Plan) error {
	l, err := j.planLine(position, made)
	if err != nil {
		return err
	}
	raw, err := json.MarshalIndent(j.jsonLine(position-1, l), "    ", "  ")
	if err != nil {
		return fmt.Errorf("sheet: writing the JSON: %w", err)
	}
	before := "\n    "
	if j.lines > 0 {
		before = ",\n    "
	}
	j.lines++
	_, err = j.out.Write(append([]byte(before), raw...))
	return err
}

func (j *planJSON) Refuse(position int, name string, why phrase.Text) error {
	j.refused = append(j.refused, jsonNoPlan{position, name, j.words(why)})
	return nil
}

func (j *planJSON) Close() error {
	if j.lines+len(j.refused) == 0 {
		return ErrNoLines
	}
	raw, err := json.MarshalIndent(j.refused, "  ", "  ")
	if err != nil {
		return fmt.Errorf("sheet: writing the JSON: %w", err)
	}
	end := "]"
	if j.lines > 0 {
		end = "\n  ]"
	}
	if len(j.refused) > 0 {
		end += ",\n  \"no_plan\": " + string(raw)
	}
	_, err = io.WriteString(j.out, end+"\n}\n")
	return err
}
