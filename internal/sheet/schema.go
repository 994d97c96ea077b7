package sheet

import _ "embed"

// Schema is the JSON Schema of an order as JSON writes it, and under $defs, as
// csv_row, of a row of the CSV: its columns in their order. TestSchemaIsOfTheTypes
// writes it out of the types, their comments and the list of columns, here and
// into docs.
//
//go:embed schema.json
var Schema []byte
