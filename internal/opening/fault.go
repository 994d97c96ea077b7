package opening

import "strings"

// FieldError is a value in a file that no opening can have. Field is its name
// in the file.
type FieldError struct {
	Field string
	Why   string
}

func (e *FieldError) Error() string { return e.Field + ": " + e.Why }

// named is a place for people; the record itself has no name.
func named(at string) string {
	if at == "" {
		return "the record"
	}
	return at
}

// mostFieldErrors is how many are told of one record.
const mostFieldErrors = 100

// FieldErrors are all that is wrong with one record, in the order of the file,
// what is missing or goes beyond its bounds last.
type FieldErrors []*FieldError

func (es FieldErrors) Error() string {
	all := make([]string, len(es))
	for i, e := range es {
		all[i] = e.Error()
	}
	return strings.Join(all, "; ")
}

// Unwrap lets errors.As find the first one.
func (es FieldErrors) Unwrap() []error {
	all := make([]error, len(es))
	for i, e := range es {
		all[i] = e
	}
	return all
}

// orNil is no error for none.
func (es FieldErrors) orNil() error {
	if len(es) == 0 {
		return nil
	}
	return es[:min(len(es), mostFieldErrors)]
}

// about tells whether something is said of the field already, or of what it is
// a part of.
func (es FieldErrors) about(field string) bool {
	for _, e := range es {
		rest, ok := strings.CutPrefix(field, e.Field)
		if e.Field == named("") || ok && (rest == "" || rest[0] == '.' || rest[0] == '[') {
			return true
		}
	}
	return false
}
