package sheet

import (
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// againstParts are what stands against a line, each with who took it on. What nobody said
// for the maker stands once for all lines, see noteOpen.
func (o *order) againstParts(l job.SheetLine) []part {
	var parts []part
	for _, t := range l.Against {
		if t.By == nil && t.About == job.AboutItems {
			continue
		}
		parts = append(parts, part{o.againstWords(t), loud})
	}
	return parts
}

func (o *order) againstWords(t job.TakenOn) string {
	words := strings.TrimSuffix(o.words(t.Text), ".")
	if t.By == nil {
		return o.words(phrase.Of("sheet.against.open").Saying("point", words))
	}
	return o.words(phrase.Of("sheet.against.taken").Saying("point", words).Saying("by", o.by(*t.By)))
}

// jsonPoint is what stands against a line, for a program.
type jsonPoint struct {
	Code    string `json:"code"`  // stop, misfit, missed, copied, unseen, needed, …
	About   string `json:"about"` // the key of a field, a rule, readings, or copied and a number
	Text    string `json:"text"`
	TakenOn string `json:"taken_on,omitempty"` // by whom and when; "": by nobody
}

func (o *order) jsonAgainst(l job.SheetLine) []jsonPoint {
	var all []jsonPoint
	for _, t := range l.Against {
		all = append(all, jsonPoint{t.Code, t.About, o.words(t.Text), o.byWords(t.By)})
	}
	return all
}
