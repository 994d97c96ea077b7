package plan

import (
	"bytes"
	"encoding/json"
	"os"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
)

// part is a compiled part of the published schema, read by an independent
// library.
func part(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema))
	require.NoError(t, err)
	compiler := jsonschema.NewCompiler()
	require.NoError(t, compiler.AddResource("plan.json", document))
	s, err := compiler.Compile("plan.json#/properties/" + name)
	require.NoError(t, err)
	return s
}

func holds(t *testing.T, s *jsonschema.Schema, raw []byte) error {
	t.Helper()
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	require.NoError(t, err)
	return s.Validate(value)
}

func TestSchemaHoldsTheShownJobAndItsPlans(t *testing.T) {
	raw, err := os.ReadFile(show)
	require.NoError(t, err)
	var records []json.RawMessage
	require.NoError(t, json.Unmarshal(raw, &records))
	var first struct{ Job json.RawMessage }
	require.NoError(t, json.Unmarshal(records[0], &first))
	require.NoError(t, holds(t, part(t, "job"), first.Job))
	require.Error(t, holds(t, part(t, "job"), []byte(`{"nam": "x"}`)))
	opening := part(t, "opening")
	for _, record := range records[1:] {
		require.NoError(t, holds(t, opening, record), "%s", record)
	}

	say := english(t)
	plans, total := shown(t)
	report := part(t, "report")
	for name, p := range plans {
		raw, err := json.Marshal(p.Report(say))
		require.NoError(t, err)
		require.NoError(t, holds(t, report, raw), name)
	}
	sums, err := total.Report(say)
	require.NoError(t, err)
	raw, err = json.Marshal(sums)
	require.NoError(t, err)
	require.NoError(t, holds(t, part(t, "job_total"), raw))
}

func TestSchemaDescribesItsFieldsAndWords(t *testing.T) {
	raw := Schema
	var schema struct {
		Defs map[string]struct {
			Properties map[string]struct {
				Description string
				Enum        []string
			}
		} `json:"$defs"`
	}
	require.NoError(t, json.Unmarshal(raw, &schema))
	opening := schema.Defs["Opening"].Properties
	require.Equal(t, "day of the work, 2006-01-02", opening["date"].Description)
	require.Contains(t, opening["rising"].Description, "diagonals")
	require.ElementsMatch(t, []string{"left", "right", "head", "sill"}, opening["tight_to"].Enum)
	require.Contains(t, schema.Defs["Sash"].Properties["heel_toe"].Description, "hinge side")
}
