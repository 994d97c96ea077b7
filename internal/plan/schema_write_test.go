package plan

import (
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"strings"
	"testing"

	"github.com/invopop/jsonschema"
	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/schematest"
)

var update = flag.Bool("update", false, "write schema.json anew")

// The published schema says what the types, their comments and the table of
// fields say. With -update it is written.
func TestSchemaIsOfTheTypes(t *testing.T) {
	made := makeSchema(t)
	if *update {
		require.NoError(t, os.WriteFile("schema.json", made, 0o644))
		return
	}
	require.Equal(t, string(made), string(Schema), "run with -update when the change is meant")
}

func makeSchema(t *testing.T) []byte {
	type plan struct {
		Opening Opening `json:"opening"`
		Report  Report  `json:"report"`
		// The record that comes before the openings of a job, and the one that
		// follows them with --job.
		Job      Job       `json:"job"`
		JobTotal JobReport `json:"job_total"`
	}
	found := map[string]string{}
	schematest.Comments(t, found, reflect.TypeFor[Opening]().PkgPath(), "../opening")
	schematest.Comments(t, found, reflect.TypeFor[Job]().PkgPath(), ".")
	r := jsonschema.Reflector{Mapper: typeSchema, ExpandedStruct: true, CommentMap: found}
	schema := r.Reflect(plan{})
	for _, name := range []string{"Crew", "JointSettings", "StoreSettings", "ClearSettings", "MoneySettings"} {
		if settings, ok := schema.Definitions[name]; ok {
			settings.Required = nil // what is left out keeps its default
		}
	}
	for f := range opening.All {
		if f.File != "" && (f.Least != 0 || f.Most != 0) {
			bound(t, schema, f)
		}
	}
	for _, name := range []string{"Opening", "Layout", "Patch", "Job"} { // what a file says
		for field := schema.Definitions[name].Properties.Oldest(); field != nil; field = field.Next() {
			if list := field.Value; list.Type == "array" && list.MaxItems == nil {
				most := uint64(opening.MostItems(field.Key))
				list.MaxItems = &most
			}
		}
	}
	out, err := json.MarshalIndent(schema, "", "  ")
	require.NoError(t, err)
	return append(out, '\n')
}

// bound writes what the table says that a file may have into the schema.
func bound(t *testing.T, schema *jsonschema.Schema, f *opening.Field) {
	at := schema.Definitions["Opening"]
	for _, name := range strings.Split(strings.NewReplacer("[", ".[", "]", "").Replace(f.File), ".") {
		var next *jsonschema.Schema
		switch {
		case name == "*":
			next = at.AdditionalProperties
		case strings.HasPrefix(name, "["):
			next = at.Items
		default:
			next, _ = at.Properties.Get(name)
		}
		require.NotNil(t, next, "%s of %s", name, f.File)
		if ref := strings.TrimPrefix(next.Ref, "#/$defs/"); ref != "" {
			if ref == "Size" || ref == "Coat" {
				return // many fields have that type, each with its own bounds
			}
			next = schema.Definitions[ref]
		}
		at = next
	}
	least, most := json.Number(decimal.New(f.Least, 0).String()), json.Number(decimal.New(f.Most, 0).String())
	if f.Kind == opening.Words {
		length := uint64(f.Most)
		at.MaxLength = &length
		return
	}
	if at.OneOf != nil {
		at = at.OneOf[0]
	}
	at.Maximum, at.Minimum = most, least
	if f.Is(opening.Above) {
		at.Minimum, at.ExclusiveMinimum = "", least
	}
}

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
