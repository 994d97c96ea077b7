package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"sillbot/internal/sheet"
)

// withSheet makes the order sheet of the openings that work takes. It stands
// in the place of an older one when it is whole: not when openings may be missing.
func (p *planner) withSheet(path string, at time.Time, work func() error) (err error) {
	file, err := os.CreateTemp(filepath.Dir(path), ".sheet-*")
	if err != nil {
		return fmt.Errorf("making the sheet: %w", err)
	}
	defer os.Remove(file.Name()) // nothing is there once it has its own name
	defer file.Close()
	out := bufio.NewWriter(file)
	if p.sheet, err = (sheet.Printer{Say: p.say, At: at}).Plans(out, filepath.Ext(path)); err != nil {
		return fmt.Errorf("--sheet: %w", err)
	}
	wrong := work()
	if !p.whole {
		return errors.Join(wrong, fmt.Errorf("no sheet was made: %s may lack openings", path))
	}
	if err := errors.Join(p.sheet.Close(), out.Flush(), file.Chmod(permissions(path)), file.Close()); err != nil {
		return errors.Join(wrong, fmt.Errorf("making the sheet: %w", err))
	}
	return errors.Join(wrong, os.Rename(file.Name(), path))
}

// permissions are those of the file in whose place a new one is put; where there
// is none, its owner's alone: an order says who lives where.
func permissions(path string) os.FileMode {
	if old, err := os.Stat(path); err == nil {
		return old.Mode().Perm()
	}
	return 0o600
}
