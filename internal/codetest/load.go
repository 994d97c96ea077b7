// Package codetest looks at the project's own source, by types: which files of
// a package lean on which, how long files and functions are, and which
// sentences of the catalogue the code names. It is used by tests only.
package codetest

import (
	"bytes"
	"encoding/json"
	"errors"
	"go/ast"
	"go/constant"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Module is the path of the project's module.
const Module = "sillbot"

// Package is one production package with its syntax and types.
type Package struct {
	Path  string
	Types *types.Package
	Info  *types.Info
	Files []*ast.File
}

// Source is the production packages of the module. An object has one identity
// in all of them.
type Source struct {
	Root     string
	Fset     *token.FileSet
	Packages []*Package // what is imported stands before what imports it
}

// listed is what the go command says of a package.
type listed struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
}

// Load reads and checks the module's production packages. root is the
// directory of go.mod, as seen from the test.
func Load(t *testing.T, root string) *Source {
	t.Helper()
	watch(t, root)
	src := &Source{Root: root, Fset: token.NewFileSet()}
	exports, checked := map[string]string{}, map[string]*types.Package{}
	outside := importer.ForCompiler(src.Fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	imports := importFunc(func(path string) (*types.Package, error) {
		if p := checked[path]; p != nil {
			return p, nil
		}
		return outside.Import(path)
	})
	for _, l := range list(t, root) {
		exports[l.ImportPath] = l.Export
		if l.ImportPath != Module && !strings.HasPrefix(l.ImportPath, Module+"/") || !Production(strings.TrimPrefix(l.ImportPath, Module+"/")+"/") {
			continue
		}
		p := &Package{Path: l.ImportPath, Info: newInfo()}
		for _, name := range l.GoFiles {
			f, err := parser.ParseFile(src.Fset, filepath.Join(l.Dir, name), nil, parser.ParseComments|parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			p.Files = append(p.Files, f)
		}
		var err error
		if p.Types, err = (&types.Config{Importer: imports}).Check(l.ImportPath, src.Fset, p.Files, p.Info); err != nil {
			t.Fatal(err)
		}
		checked[l.ImportPath] = p.Types
		src.Packages = append(src.Packages, p)
	}
	if len(src.Packages) < 10 {
		t.Fatalf("only %d packages were found", len(src.Packages))
	}
	return src
}

func newInfo() *types.Info {
	return &types.Info{
		Types: map[ast.Expr]types.TypeAndValue{}, Defs: map[*ast.Ident]types.Object{}, Uses: map[*ast.Ident]types.Object{},
		Selections: map[*ast.SelectorExpr]*types.Selection{}, Implicits: map[ast.Node]types.Object{},
		Instances: map[*ast.Ident]types.Instance{}, Scopes: map[ast.Node]*types.Scope{}, FileVersions: map[*ast.File]string{},
	}
}

type importFunc func(path string) (*types.Package, error)

func (f importFunc) Import(path string) (*types.Package, error) { return f(path) }

// list asks the go command for all packages of the module and what they
// import, in the order of imports.
func list(t *testing.T, root string) []listed {
	cmd := exec.Command("go", "list", "-deps", "-export", "-json=ImportPath,Dir,Export,GoFiles", "./...")
	cmd.Dir = root
	var trouble bytes.Buffer
	cmd.Stderr = &trouble
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, trouble.String())
	}
	var all []listed
	for from := json.NewDecoder(bytes.NewReader(out)); ; {
		var l listed
		err := from.Decode(&l)
		if errors.Is(err, io.EOF) {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, l)
	}
}

// Production reports whether a path below the module's root is code that
// ships: no test, no helper of tests, no benchmark.
func Production(path string) bool {
	return !strings.HasSuffix(path, "_test.go") && !strings.Contains(path, "test/") && !strings.HasPrefix(path, "bench/")
}

// watch looks at the files that the go command reads for us, so that go test
// knows when a result that it kept is out of date.
func watch(t *testing.T, root string) {
	err := filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(path, ".go") {
			_, err = os.Stat(path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Constants are the values of the constants of a type, such as
// internal/job.State.
func (s *Source) Constants(t *testing.T, of string) []string {
	t.Helper()
	dot := strings.LastIndexByte(of, '.')
	var values []string
	for _, p := range s.Packages {
		if p.Path != Module+"/"+of[:dot] {
			continue
		}
		for _, name := range p.Types.Scope().Names() {
			c, ok := p.Types.Scope().Lookup(name).(*types.Const)
			if ok && strings.TrimPrefix(types.TypeString(c.Type(), nil), Module+"/") == of {
				values = append(values, constant.StringVal(c.Val()))
			}
		}
	}
	if len(values) == 0 {
		t.Fatalf("there are no constants of %s", of)
	}
	return values
}

// Rows are the literals of a struct, such as internal/dialog.command: of each
// the fields that are given, as they are written, constants by their value.
func (s *Source) Rows(t *testing.T, of string) []map[string]string {
	t.Helper()
	var rows []map[string]string
	for _, p := range s.Packages {
		for _, f := range p.Files {
			ast.Inspect(f, func(n ast.Node) bool {
				lit, ok := n.(*ast.CompositeLit)
				if !ok || strings.TrimPrefix(types.TypeString(p.Info.TypeOf(lit), nil), Module+"/") != of {
					return true
				}
				row := map[string]string{}
				for _, e := range lit.Elts {
					if kv, ok := e.(*ast.KeyValueExpr); ok {
						row[types.ExprString(kv.Key)] = written(p, kv.Value)
					}
				}
				rows = append(rows, row)
				return true
			})
		}
	}
	if len(rows) == 0 {
		t.Fatalf("there are no literals of %s", of)
	}
	return rows
}

func written(p *Package, e ast.Expr) string {
	if v := p.Info.Types[e].Value; v != nil && v.Kind() == constant.String {
		return constant.StringVal(v)
	}
	return types.ExprString(e)
}
