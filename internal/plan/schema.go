package plan

import (
	"embed"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"reflect"
	"strings"

	"github.com/invopop/jsonschema"
	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// Schema is the JSON Schema of an opening, as Read takes it, and of a report.
func Schema() ([]byte, error) {
	type plan struct {
		Opening Opening `json:"opening"`
		Report  Report  `json:"report"`
		// The record that comes before the openings of a job, and the one that
		// follows them with --job.
		Job      Job       `json:"job"`
		JobTotal JobReport `json:"job_total"`
	}
	comments, err := comments()
	if err != nil {
		return nil, err
	}
	r := jsonschema.Reflector{Mapper: typeSchema, ExpandedStruct: true, CommentMap: comments}
	schema := r.Reflect(plan{})
	for _, name := range []string{"Crew", "JointSettings", "StoreSettings", "ClearSettings", "MoneySettings"} {
		if settings, ok := schema.Definitions[name]; ok {
			settings.Required = nil // what is left out keeps its default
		}
	}
	out, err := json.MarshalIndent(schema, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("writing the schema: %w", err)
	}
	return append(out, '\n'), nil
}

// sources are the files whose comments describe the fields of a report.
//
//go:embed file.go sash.go report.go total.go
var sources embed.FS

// comments are the comments beside or above the types and fields of a record
// and of a report, by the names that the schema's reflector looks for.
func comments() (map[string]string, error) {
	found := map[string]string{}
	for _, of := range []struct {
		path string
		fs   embed.FS
	}{{reflect.TypeFor[Opening]().PkgPath(), opening.Sources}, {reflect.TypeFor[Job]().PkgPath(), sources}} {
		if err := commentsOf(found, of.path, of.fs); err != nil {
			return nil, fmt.Errorf("reading the comments: %w", err)
		}
	}
	return found, nil
}

// commentsOf adds those of one package's files.
func commentsOf(found map[string]string, path string, sources embed.FS) error {
	entries, err := sources.ReadDir(".")
	if err != nil {
		return err
	}
	for _, e := range entries {
		raw, err := sources.ReadFile(e.Name())
		if err != nil {
			return err
		}
		file, err := parser.ParseFile(token.NewFileSet(), e.Name(), raw, parser.ParseComments)
		if err != nil {
			return err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			decl, ok := n.(*ast.GenDecl)
			if !ok {
				return true
			}
			for _, spec := range decl.Specs {
				if t, ok := spec.(*ast.TypeSpec); ok {
					describe(found, path+"."+t.Name.Name, t, decl.Doc)
				}
			}
			return false
		})
	}
	return nil
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

// typeSchema is the schema of the types that reflection can't know.
func typeSchema(t reflect.Type) *jsonschema.Schema {
	if t == reflect.TypeFor[decimal.Decimal]() {
		// Read takes both; a plan has strings, which no reader makes floats of.
		return &jsonschema.Schema{OneOf: []*jsonschema.Schema{
			{Type: "number"}, {Type: "string", Pattern: `^-?[0-9]+(\.[0-9]+)?$`},
		}}
	}
	words := opening.WordsOf(t)
	if words == nil {
		return nil
	}
	s := &jsonschema.Schema{Type: "string"}
	for _, word := range words {
		s.Enum = append(s.Enum, word)
	}
	return s
}
