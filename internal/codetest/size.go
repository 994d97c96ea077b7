package codetest

import (
	"go/ast"
	"go/types"
	"os"
	"path/filepath"
	"strings"
)

// Size is how long a file or a function is.
type Size struct {
	Name  string // internal/job/job.go, or internal/job.Job.Store
	Lines int    // all of them, from the first to the last
	// Code is the lines without blanks and comments; of files only.
	Code int
	// Reason is what a comment "// long: reason" above a function says.
	Reason string
}

// Files are the sizes of all production files.
func (s *Source) Files() ([]Size, error) {
	var sizes []Size
	for _, p := range s.Packages {
		for _, f := range p.Files {
			path := s.Fset.Position(f.Package).Filename
			raw, err := os.ReadFile(path)
			if err != nil {
				return nil, err
			}
			size := Size{Name: s.below(p, filepath.Base(path))}
			for _, line := range strings.SplitAfter(string(raw), "\n") {
				if line == "" {
					continue
				}
				size.Lines++
				if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "//") {
					size.Code++
				}
			}
			sizes = append(sizes, size)
		}
	}
	return sizes, nil
}

func (s *Source) below(p *Package, name string) string {
	return strings.TrimPrefix(p.Path, Module+"/") + "/" + name
}

// Functions are the sizes of all production functions, from the word func to
// the closing brace.
func (s *Source) Functions() []Size {
	var sizes []Size
	for _, p := range s.Packages {
		for _, f := range p.Files {
			for _, d := range f.Decls {
				if fn, ok := d.(*ast.FuncDecl); ok {
					name := strings.TrimPrefix(p.Path, Module+"/") + "." + nameOf(p, fn)
					lines := s.Fset.Position(fn.End()).Line - s.Fset.Position(fn.Type.Func).Line + 1
					sizes = append(sizes, Size{Name: name, Lines: lines, Reason: reason(fn.Doc)})
				}
			}
		}
	}
	return sizes
}

// nameOf is Type.Method, or the function's name.
func nameOf(p *Package, fn *ast.FuncDecl) string {
	if fn.Recv == nil {
		return fn.Name.Name
	}
	of := p.Info.TypeOf(fn.Recv.List[0].Type)
	if pointer, ok := of.(*types.Pointer); ok {
		of = pointer.Elem()
	}
	return types.TypeString(of, func(*types.Package) string { return "" }) + "." + fn.Name.Name
}

func reason(doc *ast.CommentGroup) string {
	if doc == nil {
		return ""
	}
	for _, line := range doc.List {
		if why, ok := strings.CutPrefix(line.Text, "// long: "); ok {
			return strings.TrimSpace(why)
		}
	}
	return ""
}
