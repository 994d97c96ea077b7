// Package sheet makes the paper of a job: the order sheet for the supplier
// desk as PDF, CSV and JSON, and the check sheet on which a lead writes the
// second measure by hand.
//
// The order sheet is made from what the desk may see, so an address or a name
// stands on it only when it was shared. The PDF is A4 in black and greys, with
// a drawing of each window to scale, seen from outside, in the marks of the
// card. Its fonts are embedded and subset and its text can be searched and
// copied. The same job, words and moment give the same bytes.
//
// Figures are printed as the decimals they are. Binary floating point only
// says where on the page a mark goes.
package sheet

import (
	"errors"

	"sillbot/internal/job"
	"sillbot/internal/scene"
)

// Errors of a sheet that can't be made.
var (
	ErrNoLines = errors.New("sheet: there is no line to print")
	ErrNoFrame = errors.New("sheet: a line has no order size")
	ErrNoTime  = errors.New("sheet: the moment it is made is not given")
)

// Order is the order sheet as PDF. The error is ErrNoLines, ErrNoFrame or
// ErrNoTime when there is nothing that can be printed.
func (p Printer) Order(s job.OrderSheet) ([]byte, error) {
	if err := p.check(s); err != nil {
		return nil, err
	}
	return p.pdf(p.orderLayout(s))
}

// Check is the check sheet for the lead as PDF. Each opening has room for the
// second readings and none of the first; an opening in both has the
// comparison of the two measures instead. The keys of both are the openings'
// numbers. The error is ErrNoLines or ErrNoTime when there is nothing that can
// be printed.
func (p Printer) Check(s job.CheckSheet, both map[int]job.Comparison) ([]byte, error) {
	switch {
	case p.At.IsZero():
		return nil, ErrNoTime
	case len(s.Openings) == 0:
		return nil, ErrNoLines
	}
	return p.pdf(p.checkLayout(s, both))
}

func (p Printer) check(s job.OrderSheet) error {
	if p.At.IsZero() {
		return ErrNoTime
	}
	if len(s.Lines) == 0 {
		return ErrNoLines
	}
	for _, l := range s.Lines {
		if err := checkLine(l.Line); err != nil {
			return err
		}
	}
	return nil
}

func checkLine(l job.Line) error {
	if !l.Size.Width.IsPositive() || !l.Size.Height.IsPositive() {
		return ErrNoFrame
	}
	return nil
}

// pdf writes a layout.
func (p Printer) pdf(l *layout) ([]byte, error) { return scene.PDF(l.pages, l.title, p.At) }

// Customer is the paper on which a customer sees what is to be ordered, one page a
// window, without what only fitters and makers need. The error is ErrNoLines,
// ErrNoFrame or ErrNoTime when there is nothing that can be printed.
func (p Printer) Customer(s job.CustomerSheet) ([]byte, error) {
	switch {
	case p.At.IsZero():
		return nil, ErrNoTime
	case len(s.Windows) == 0:
		return nil, ErrNoLines
	}
	for _, w := range s.Windows {
		if err := checkLine(customerLine(w)); err != nil {
			return nil, err
		}
	}
	return p.pdf(p.customerLayout(s))
}
