package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"os"
	"reflect"
	"strings"
	"testing"

	written "github.com/invopop/jsonschema"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/schematest"
)

var update = flag.Bool("update", false, "write schema.json and its copy in docs anew")

const published = "../../docs/order-schema.json"

// The published schema says what the types, their comments and the columns say. With
// -update it is written.
func TestSchemaIsOfTheTypes(t *testing.T) {
	made := string(makeSchema(t))
	if *update {
		for _, name := range []string{"schema.json", published} {
			require.NoError(t, os.WriteFile(name, []byte(made), 0o644))
		}
		return
	}
	copied, err := os.ReadFile(published)
	require.NoError(t, err)
	require.Equal(t, string(Schema), string(copied))
	var told, now any
	require.NoError(t, json.Unmarshal(Schema, &told))
	require.NoError(t, json.Unmarshal([]byte(made), &now))
	stands(t, "", told, now)
}

// stands demands that all that was published is so still: a field or column may be
// added, and is then published with -update, but none may go or become another.
func stands(t *testing.T, at string, told, now any) {
	switch told := told.(type) {
	case map[string]any:
		others, ok := now.(map[string]any)
		require.True(t, ok, at)
		for key, value := range told {
			if key != "description" {
				require.Contains(t, others, key, "%s is published: keep %s", at, key)
				stands(t, at+"/"+key, value, others[key])
			}
		}
	case []any:
		require.Subset(t, now, told, at)
	default:
		require.Equal(t, told, now, at)
	}
}

func makeSchema(t *testing.T) []byte {
	found := map[string]string{}
	for _, dir := range []string{".", "../job"} {
		pkg := reflect.TypeFor[jsonOrder]().PkgPath()
		if dir != "." {
			pkg = reflect.TypeFor[job.Fitting]().PkgPath()
		}
		schematest.Comments(t, found, pkg, dir)
	}
	r := written.Reflector{Mapper: typeSchema, ExpandedStruct: true, AllowAdditionalProperties: true, CommentMap: found}
	schema := r.Reflect(&jsonOrder{})
	schema.ID, schema.Title = "", "Order of windows"
	schema.Definitions["csv_row"] = rowSchema()
	out, err := json.MarshalIndent(schema, "", "  ")
	require.NoError(t, err)
	return append(out, '\n')
}

// rowSchema is a row of the CSV as an object: every cell is text.
func rowSchema() *written.Schema {
	row := &written.Schema{Type: "object", Description: "One row of the CSV, one for each line of the order: the columns in their order. A cell that a spreadsheet would work out or take for a day begins with an apostrophe.",
		Properties: written.NewProperties()}
	stated := statedKeys()
	for _, column := range csvHead() {
		cell := &written.Schema{Type: "string", Description: columnMeans[column]}
		for _, key := range stated {
			if key == column {
				cell.Description = "what was said of the field " + key + ", empty: nothing"
			}
		}
		if cell.Description == "" {
			continue // not published before somebody says in columnMeans what it holds
		}
		cell.Pattern = columnForms[column]
		row.Properties.Set(column, cell)
		row.Required = append(row.Required, column)
	}
	row.Properties.Set("hold", &written.Schema{Type: "string", Description: "only on a sheet of plans from a file: why the window must not be made, or has no plan"})
	return row
}

const (
	aNumber = `^-?[0-9]+(\.[0-9]+)?$`
	maybe   = `^(-?[0-9]+(\.[0-9]+)?)?$`
	aBool   = `^(true|false)$`
)

// columnForms are the forms of cells that a program reads.
var columnForms = map[string]string{
	"line": `^[0-9]+$`, "quantity": `^[0-9]+$`, "width_mm": maybe, "height_mm": maybe, "sill_depth_mm": maybe, "price_each": maybe, "price_sum": maybe,
	"held": aBool, "weight_kg": maybe, "frame_depth_mm": maybe, "due": `^([0-9]{4}-[0-9]{2}-[0-9]{2})?$`,
	"window": `^[0-9]*$`, "seen_from": `^(outside)?$`, "glass_sizes_by": `^(crew|example)?$`,
}

// columnMeans says what each column holds.
var columnMeans = map[string]string{
	"ref": "the job's reference", "revision": "the order's revision, a letter", "held": "true: do not make, something was changed or stops it",
	"line": "number of the line on this order, from 1", "opening": "name of the window", "quantity": "windows alike",
	"width_mm": "of the frame, mm", "height_mm": "of the frame without its sill piece, mm", "seen_from": "the side from which left and right are meant: outside",
	"sill_depth_mm": "depth of the sill piece, mm; 0: none", "material": "of the frame, a code", "colour": "in the fitter's words",
	"mullions_mm": "centre lines from the frame's left edge, mm, with semicolons", "transoms_mm": "centre lines above the frame's bottom edge by column, mm, with semicolons; 0: none",
	"lights": "how each light opens; lights are numbered from the left, the lower row first", "glass": "sheets and spaces from outside, and the unit's thickness: 4-20-4, 28 mm thick",
	"panes_mm": "thickness of each sheet, mm, with semicolons", "safety_class": "class of BS EN 12600 by light", "safety_why": "what asks for that class",
	"old_vents": "true: the old window had vents", "old_vent_area_mm2": "their equivalent area, mm²; 0: not known", "asked": "what rules ask besides",
	"not_known": "what is not known of the window or house", "hardware": "of one window", "state": "how far the line is, a code", "confirmed": "who confirmed it and when",
	"due": "day of delivery, 2006-01-02", "price_each": "of one window, pounds and pence", "price_sum": "of the quantity, pounds and pence",
	"measured": "who measured and when", "checked": "who checked and when", "notes": "what fitter and desk wrote of the line", "label": "name of the job", "address": "if it was shared", "fitter": "name, if it was shared",
	"glass_sizes_mm": "size of the glass by light, mm, worked out", "glass_sizes_by": "whose profile the glass sizes go by: crew, or example: then they are nothing to cut by",
	"window":  "number of the window in its job, never used again; ref, revision and window say which line an answer is to",
	"confirm": "empty; the supplier writes yes, or no and why under words, and sends the file back", "price": "empty; the supplier writes the price of one window, pounds and pence, with a point or a comma",
	"day": "empty; the supplier writes the day of delivery, 2006-01-02", "order number": "empty; the supplier writes their own number of the order", "words": "empty; the supplier writes a question on the line",
	"frame_depth_mm": "as the crew gave it, mm; empty: not said", "weight_kg": "of one window, about, without hardware and sill piece",
}

// typeSchema is the schema of the types that reflection can't know. Decimals are
// strings: no reader makes binary floats of them.
func typeSchema(t reflect.Type) *written.Schema {
	if t == reflect.TypeFor[decimal.Decimal]() {
		return &written.Schema{Type: "string", Pattern: aNumber}
	}
	words := opening.WordsOf(t)
	if words == nil {
		return nil
	}
	s := &written.Schema{Type: "string"}
	for _, word := range words {
		s.Enum = append(s.Enum, word)
	}
	return s
}

// compiled is the published schema, or a part of it, as an independent library reads it.
func compiled(t testing.TB, part string) *jsonschema.Schema {
	t.Helper()
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("order.json", document))
	s, err := c.Compile("order.json" + part)
	require.NoError(t, err)
	return s
}

func holds(t testing.TB, s *jsonschema.Schema, raw []byte) error {
	t.Helper()
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	require.NoError(t, err)
	return s.Validate(value)
}

// rowsAsObjects are the rows of a CSV by the names of its columns.
func rowsAsObjects(t testing.TB, raw []byte) (rows [][]byte) {
	t.Helper()
	cells, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(string(raw), "\uFEFF"))).ReadAll()
	require.NoError(t, err)
	for _, row := range cells[1:] {
		by := map[string]string{}
		for i, cell := range row {
			by[cells[0][i]] = cell
		}
		object, err := json.Marshal(by)
		require.NoError(t, err)
		rows = append(rows, object)
	}
	return rows
}

// Every order that these tests write as JSON and CSV keeps to the schema: of all kinds,
// shared and not, before and after it was changed, and of plans from a file.
func TestEveryOrderKeepsToTheSchema(t *testing.T) {
	order, row := compiled(t, ""), compiled(t, "#/$defs/csv_row")
	told := revised(t, 24, true).OrderCopy()
	told.Lines[0].Worked = nil // sent before it was worked out
	priced := mm(310.5)
	told.Lines[1].Price, told.Lines[1].Quantity = &priced, 3
	told.Lines[2].NotKnown, told.Lines[2].DeskDecides = []opening.Key{"bath"}, []opening.Key{"glass"}
	held := revised(t, 6, false).OrderCopy()
	held.Held = true
	for name, s := range map[string]job.OrderSheet{"of all kinds": told, "not shared, held": held, "ordinary": ordinary(t, 6)} {
		raw, err := printer(english).JSON(s)
		require.NoError(t, err)
		require.NoError(t, holds(t, order, raw), name)
		rows, err := printer(english).CSV(s)
		require.NoError(t, err)
		objects := rowsAsObjects(t, rows)
		require.Len(t, objects, len(s.Lines))
		for _, object := range objects {
			require.NoError(t, holds(t, row, object), "%s: %s", name, object)
		}
	}
	require.Error(t, holds(t, order, []byte(`{"ref":"K7M4QP","lines":[{"line":1}]}`)), "a line without a size")
	require.Error(t, holds(t, order, bytes.Replace(mustJSON(t, told), []byte(`"hinge": "`), []byte(`"hinge": "un`), 1)))
	require.Error(t, holds(t, order, bytes.Replace(mustJSON(t, told), []byte(`"seen_from"`), []byte(`"seen"`), 1)))
}

// So do the sheets of openings from a file, with those that have no plan.
func TestSheetsOfPlansKeepToTheSchema(t *testing.T) {
	for form, part := range map[string]string{".json": "", ".csv": "#/$defs/csv_row"} {
		var out bytes.Buffer
		s, err := printer(english).Plans(&out, form)
		require.NoError(t, err)
		for i, r := range records() {
			p, err := plan.Make(r.Plan, calc.DefaultSettings())
			if err != nil {
				require.NoError(t, s.Refuse(i+1, r.Plan.Name, phrase.Of("sheet.no_glass")))
				continue
			}
			require.NoError(t, s.Add(i+1, p))
		}
		require.NoError(t, s.Refuse(99, "nowhere", phrase.Of("sheet.no_glass")))
		require.NoError(t, s.Close())
		if form == ".json" {
			require.NoError(t, holds(t, compiled(t, part), out.Bytes()))
			continue
		}
		for _, object := range rowsAsObjects(t, out.Bytes()) {
			require.NoError(t, holds(t, compiled(t, part), object), "%s", object)
		}
	}
}

func mustJSON(t testing.TB, s job.OrderSheet) []byte {
	raw, err := printer(english).JSON(s)
	require.NoError(t, err)
	return raw
}
