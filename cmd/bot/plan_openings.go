package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"sillbot/internal/calc"
	"sillbot/internal/card"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/locales"
)

// mostWorkers bounds how many openings are planned at once: each takes memory.
const mostWorkers = 8

// entry is one opening on its way from the file to the output.
type entry struct {
	record  plan.Record
	opening plan.Opening
	made    plan.Plan
	refused error // why it has no plan
	failed  error // why nothing more can be done
	out     []byte
	ready   chan struct{} // closed when the rest is filled in
}

// openings plans all openings of a file, some at once, and takes them in the
// order of the file. Few are at hand at a time, however long the file is.
func (p *planner) openings(ctx context.Context, in io.Reader) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	workers := min(runtime.GOMAXPROCS(0), mostWorkers)
	todo, order := make(chan *entry, 4*workers), make(chan *entry, 4*workers)
	var group sync.WaitGroup
	for range workers {
		group.Go(func() {
			for e := range todo {
				p.plan(e)
			}
		})
	}
	var read error
	group.Go(func() {
		defer close(order)
		defer close(todo)
		read = plan.Read(in, func(j plan.Job) error { p.total.Begin(j); return nil }, func(r plan.Record) error {
			e := &entry{record: r, ready: make(chan struct{})}
			select {
			case <-ctx.Done():
				return ctx.Err()
			case order <- e:
				todo <- e
				return nil
			}
		})
	})
	for {
		select {
		case <-ctx.Done(): // the reader may wait for input that never comes
			return ctx.Err()
		case e, more := <-order:
			if !more {
				group.Wait()
				return read
			}
			<-e.ready
			if err := p.take(e); err != nil {
				return fmt.Errorf("opening %d: %w", e.record.Position, err)
			}
		}
	}
}

// plan works one opening out. It is called by many goroutines at once.
func (p *planner) plan(e *entry) {
	defer close(e.ready)
	e.opening, e.refused = e.record.Opening()
	if e.refused == nil {
		e.made, e.failed = plan.Make(e.opening, calc.DefaultSettings())
		if refused, ok := errors.AsType[*calc.RefusalError](e.failed); ok {
			e.refused, e.failed = refused, nil
		}
	}
	if e.failed == nil && e.refused == nil && p.cards != "" {
		e.failed = p.card(e)
	}
	if e.failed == nil {
		e.failed = p.write(e)
	}
}

// write makes the output of one opening.
func (p *planner) write(e *entry) (err error) {
	if p.text {
		e.out = p.people(e)
		return nil
	}
	var report plan.Report
	if e.refused != nil {
		report = plan.Refusal(e.opening, e.refused, p.say)
	} else {
		report = e.made.Report(p.say)
	}
	report.Position = e.record.Position
	e.out, err = plan.AppendJSON(p.rooms.get(), report)
	return err
}

// take adds one opening to the output, in the order of the file.
func (p *planner) take(e *entry) error {
	if e.failed != nil {
		return e.failed
	}
	if e.refused == nil {
		var wrong plan.FieldErrors
		if err := p.total.Add(e.made); errors.As(err, &wrong) {
			e.refused = wrong
			if err := p.write(e); err != nil {
				return err
			}
		} else if err != nil {
			return err
		}
	}
	p.read++
	if err := errors.Join(p.count(e), p.paper(e)); err != nil {
		return err
	}
	_, err := p.out.Write(e.out)
	p.rooms.put(e.out)
	return err
}

// count tells of an opening that was refused or must not be ordered.
func (p *planner) count(e *entry) error {
	key, reasons := "plan.entry.refused", []phrase.Text(nil)
	if e.refused != nil {
		p.refused++
		p.total.Refuse()
		why, _ := plan.WhyRefused(e.refused)
		reasons = append(reasons, why)
	} else if holds := e.made.Holds(); len(holds) > 0 {
		p.held++
		key = "plan.entry.held"
		for _, h := range holds {
			reasons = append(reasons, h.Text)
		}
	}
	for _, why := range reasons {
		if _, err := fmt.Fprintln(p.errs, p.say(phrase.Of(key).Sub1("entry", e.name()).Sub1("reason", why))); err != nil {
			return err
		}
	}
	return nil
}

// paper puts an opening on the sheet.
func (p *planner) paper(e *entry) error {
	if p.sheet == nil {
		return nil
	}
	if why, ok := plan.WhyRefused(e.refused); ok {
		return p.sheet.Refuse(e.record.Position, e.opening.Name, why)
	}
	if err := p.sheet.Add(e.record.Position, e.made); err != nil {
		return fmt.Errorf("making the sheet: %w", err)
	}
	return nil
}

// name is what the opening is called: its place in the file, and its name.
func (e *entry) name() phrase.Text {
	if e.opening.Name == "" {
		return phrase.Of("plan.entry").WithInt("n", e.record.Position)
	}
	return phrase.Of("plan.name").WithInt("n", e.record.Position).Saying("name", e.opening.Name)
}

func (p *planner) people(e *entry) []byte {
	if why, ok := plan.WhyRefused(e.refused); ok {
		return p.paragraph([]phrase.Text{e.name()}, []phrase.Text{phrase.Of("refused").Sub1("reason", why)})
	}
	return p.paragraph([]phrase.Text{e.name()}, e.made.TextLines())
}

func (p *planner) card(e *entry) error {
	png, err := drawCard(p.words, locales.Default, e.made, card.Of{})
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(p.cards, fmt.Sprintf("card-%d.png", e.record.Position)), png, 0o600)
}
