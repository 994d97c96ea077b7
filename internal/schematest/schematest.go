// Package schematest gives the tests that write a published schema the comments of the
// types.
package schematest

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Comments adds the comments beside or above the types and fields of one
// package, by the names that the schema's reflector looks for.
func Comments(t testing.TB, found map[string]string, path, dir string) {
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	require.NoError(t, err)
	for _, name := range files {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
		require.NoError(t, err)
		ast.Inspect(file, func(n ast.Node) bool {
			decl, ok := n.(*ast.GenDecl)
			if !ok {
				return true
			}
			for _, spec := range decl.Specs {
				if typ, ok := spec.(*ast.TypeSpec); ok {
					describe(found, path+"."+typ.Name.Name, typ, decl.Doc)
				}
			}
			return false
		})
	}
}

// describe notes the comments of one type.
func describe(found map[string]string, name string, t *ast.TypeSpec, doc *ast.CommentGroup) {
	found[name] = oneLine(doc)
	fields, ok := t.Type.(*ast.StructType)
	if !ok {
		return
	}
	for _, f := range fields.Fields.List {
		text := oneLine(f.Doc)
		if text == "" {
			text = oneLine(f.Comment)
		}
		for _, id := range f.Names {
			found[name+"."+id.Name] = text
		}
	}
}

func oneLine(c *ast.CommentGroup) string { return strings.Join(strings.Fields(c.Text()), " ") }
