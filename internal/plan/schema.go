package plan

import _ "embed"

// Schema is the JSON Schema of an opening, as Read takes it, and of a report.
// TestSchemaIsOfTheTypes writes it out of the types, their comments and the
// table of fields.
//
//go:embed schema.json
var Schema []byte
