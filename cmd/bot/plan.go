package main

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"io"
	"os"
	"runtime/debug"
	"time"

	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/sheet"
	"sillbot/locales"
)

// planMemory is from where on the memory is collected more often, bytes. What a
// plan holds is far less, however long the file is.
const planMemory = 40 << 20

// planFile reads openings and writes their plans: a line of JSON for each, or
// text for people. An opening that is refused or must not be ordered does not
// end it; the error says how many there were.
func planFile(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) error {
	flags := flag.NewFlagSet("plan", flag.ContinueOnError)
	flags.SetOutput(errs)
	schema := flags.Bool("schema", false, "print the JSON Schema of openings and plans")
	orders := flags.Bool("order-schema", false, "print the JSON Schema of the order sheet as JSON, and of a row of its CSV")
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
	if *orders {
		_, err := out.Write(sheet.Schema)
		return err
	}
	if flags.NArg() != 1 {
		return errors.New("plan takes one file, or - for standard input")
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		defer debug.SetMemoryLimit(debug.SetMemoryLimit(planMemory))
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
	p := &planner{out: bufio.NewWriter(out), errs: errs, words: words, text: *text, cards: *cards, job: *job}
	if *paper == "" {
		return errors.Join(p.file(ctx, file), p.out.Flush())
	}
	return errors.Join(p.withSheet(*paper, time.Now(), func() error { return p.file(ctx, file) }), p.out.Flush())
}

// file plans a whole file.
func (p *planner) file(ctx context.Context, in io.Reader) error {
	if p.cards != "" {
		if err := os.MkdirAll(p.cards, 0o700); err != nil {
			return err
		}
	}
	wrong := p.openings(ctx, in)
	if ctx.Err() != nil {
		return wrong
	}
	p.whole = wrong == nil
	if p.whole && p.job {
		wrong = p.sums()
	}
	if p.refused+p.held > 0 {
		ended := phrase.Of("plan.ended").WithInt("count", p.read).WithInt("refused", p.refused).WithInt("held", p.held)
		wrong = errors.Join(wrong, errors.New(p.say(ended)))
	}
	return wrong
}

func openInput(name string, in io.Reader) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(in), nil
	}
	return os.Open(name)
}
