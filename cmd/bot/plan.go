package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/sheet"
	"sillbot/locales"
)

// planner writes the plans of the openings in a file, one at a time.
type planner struct {
	out    *bufio.Writer
	words  *locales.Catalogue
	text   bool
	cards  string // folder for pictures; "": none are drawn
	job    bool   // the job's sums come last
	sheet  string // file for the order sheet; "": none is made
	sheets []plan.Plan
	total  plan.Total
	number int
}

// planFile reads openings and writes their plans: a line of JSON for each, or
// text for people.
func planFile(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) error {
	flags := flag.NewFlagSet("plan", flag.ContinueOnError)
	flags.SetOutput(errs)
	schema := flags.Bool("schema", false, "print the JSON Schema of openings and plans")
	text := flags.Bool("text", false, "write for people")
	cards := flags.String("card", "", "folder for a card picture of each opening")
	job := flags.Bool("job", false, "end with the sums of the whole job")
	paper := flags.String("sheet", "", "file for the order sheet: .pdf, .csv or .json")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *schema {
		_, err := out.Write(plan.Schema)
		return err
	}
	if flags.NArg() != 1 {
		return errors.New("plan takes one file, or - for standard input")
	}
	file, err := openInput(flags.Arg(0), in)
	if err != nil {
		return err
	}
	defer file.Close()
	words, err := locales.Load()
	if err != nil {
		return err
	}
	p := &planner{out: bufio.NewWriter(out), words: words, text: *text, cards: *cards, job: *job, sheet: *paper}
	err = plan.Read(file, p.begin, func(o plan.Opening) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		return p.opening(o)
	})
	if err == nil && p.job {
		err = p.sums()
	}
	if err == nil && p.sheet != "" {
		err = p.paper(time.Now())
	}
	return errors.Join(err, p.out.Flush())
}

// paper writes the order sheet of all openings as PDF, CSV or JSON, by the
// file's extension.
func (p *planner) paper(at time.Time) error {
	printer, order := sheet.Printer{Say: p.say, At: at}, sheet.PlanSheet(p.sheets)
	var data []byte
	var err error
	switch filepath.Ext(p.sheet) {
	case ".pdf":
		data, err = printer.Order(order)
	case ".csv":
		data, err = printer.CSV(order)
	case ".json":
		data, err = printer.JSON(order)
	default:
		err = errors.New("--sheet takes a file that ends in .pdf, .csv or .json")
	}
	if err != nil {
		return fmt.Errorf("making the sheet: %w", err)
	}
	return os.WriteFile(p.sheet, data, 0o644)
}

func (p *planner) begin(j plan.Job) error {
	p.total.Begin(j)
	return nil
}

func openInput(name string, in io.Reader) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(in), nil
	}
	return os.Open(name)
}

func (p *planner) say(t phrase.Text) string { return p.words.Plain(locales.Default, t) }

func (p *planner) opening(o plan.Opening) error {
	p.number++
	made, err := plan.Make(o, calc.DefaultSettings())
	var refused *calc.RefusalError
	if err != nil && !errors.As(err, &refused) {
		return err
	}
	if refused != nil {
		p.total.Refuse()
	} else if err := p.total.Add(made); err != nil {
		return err
	}
	if refused == nil && p.sheet != "" {
		p.sheets = append(p.sheets, made)
	}
	if refused == nil && p.cards != "" {
		if err := p.card(made); err != nil {
			return err
		}
	}
	if p.text {
		return p.people(made, refused)
	}
	report := plan.Refusal(o, refused, p.say)
	if refused == nil {
		report = made.Report(p.say)
	}
	return p.write(report)
}

// write puts one record on a line.
func (p *planner) write(record any) error {
	if err := json.NewEncoder(p.out).Encode(record); err != nil {
		return fmt.Errorf("writing the plan: %w", err)
	}
	return nil
}

// sums ends the file with what the whole job takes.
func (p *planner) sums() error {
	if p.text {
		lines, err := p.total.Lines()
		if err != nil {
			return p.refusedSums(err)
		}
		return p.lines(lines)
	}
	report, err := p.total.Report(p.say)
	if err != nil {
		return p.refusedSums(err)
	}
	return p.write(struct {
		Job plan.JobReport `json:"job"`
	}{report})
}

// refusedSums explains why a job can't be added up.
func (p *planner) refusedSums(err error) error {
	if refused, ok := errors.AsType[*calc.RefusalError](err); ok {
		return fmt.Errorf("the job: %s", p.say(plan.ReasonText(refused.Reason)))
	}
	return err
}

func (p *planner) people(made plan.Plan, refused *calc.RefusalError) error {
	var lines []phrase.Text
	if refused != nil {
		lines = []phrase.Text{plan.RefusalText(refused)}
	} else {
		lines = made.TextLines()
	}
	if name := made.Opening.Name; name != "" {
		lines = append([]phrase.Text{phrase.Of("plan.name").Saying("name", name)}, lines...)
	}
	return p.lines(lines)
}

// lines writes a paragraph.
func (p *planner) lines(lines []phrase.Text) error {
	for _, line := range lines {
		if _, err := p.out.WriteString(p.say(line) + "\n"); err != nil {
			return err
		}
	}
	return p.out.WriteByte('\n')
}

func (p *planner) card(made plan.Plan) error {
	png, err := drawCard(p.words, locales.Default, made)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(p.cards, 0o755); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(p.cards, fmt.Sprintf("card-%d.png", p.number)), png, 0o644)
}
