package hear

import (
	"errors"
	"regexp"
	"strconv"
	"strings"

	"sillbot/internal/reading"
)

// A pane and a space are no thinner and no thicker than this, mm; common
// practice, no source.
const (
	thinnestPane, thickestPane       = 3, 25
	narrowestSpace, widestGlassSpace = 4, 36
)

var notDigits = regexp.MustCompile(`\D+`)

// glassCode is a make-up as it is stored, 4-20-4; ok is false for one that no
// unit has.
func glassCode(text string) (code string, ok bool) {
	parts := notDigits.Split(strings.TrimSpace(text), -1)
	for len(parts) > 0 && parts[len(parts)-1] == "" {
		parts = parts[:len(parts)-1]
	}
	if len(parts) != 1 && len(parts) != 3 && len(parts) != 5 {
		return "", false
	}
	for i, part := range parts {
		n, err := strconv.Atoi(part)
		pane := i%2 == 0
		if err != nil || pane && (n < thinnestPane || n > thickestPane) || !pane && (n < narrowestSpace || n > widestGlassSpace) {
			return "", false
		}
		parts[i] = strconv.Itoa(n)
	}
	return strings.Join(parts, "-"), true
}

// dateError is the error of a day that was named but can't be taken; ok is
// false where no day was named.
func dateError(err error) (*reading.DateError, bool) {
	var found *reading.DateError
	if !errors.As(err, &found) || errors.Is(err, reading.ErrNoDate) {
		return nil, false
	}
	return found, true
}
