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
	"strings"

	"sillbot/internal/calc"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/locales"
)

// planner writes the plans of the openings in a file, one at a time.
type planner struct {
	out    *bufio.Writer
	words  *locales.Catalogue
	text   bool
	cards  string // folder for pictures; "": none are drawn
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
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *schema {
		raw, err := plan.Schema()
		if err != nil {
			return err
		}
		_, err = out.Write(raw)
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
	p := &planner{out: bufio.NewWriter(out), words: words, text: *text, cards: *cards}
	err = plan.Read(file, func(o plan.Opening) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		return p.opening(o)
	})
	return errors.Join(err, p.out.Flush())
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
	raw, err := json.Marshal(report)
	if err != nil {
		return fmt.Errorf("writing the plan: %w", err)
	}
	_, err = p.out.Write(append(raw, '\n'))
	return err
}

func (p *planner) people(made plan.Plan, refused *calc.RefusalError) error {
	var lines []phrase.Text
	if refused != nil {
		lines = []phrase.Text{plan.RefusalText(refused)}
	} else {
		lines = append(made.Lines(), made.WarningLines()...)
	}
	var b strings.Builder
	if made.Opening.Name != "" {
		b.WriteString(made.Opening.Name + "\n")
	}
	for _, line := range lines {
		b.WriteString(p.say(line) + "\n")
	}
	_, err := p.out.WriteString(b.String() + "\n")
	return err
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
