package tell

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// leftLines say once for the whole order, by question, what nobody said, what is not
// known and what the desk decides.
func leftLines(lines []job.SheetLine) []phrase.Text {
	var texts []phrase.Text
	for _, l := range []struct {
		key string
		of  func(job.SheetLine) []opening.Key
	}{
		{"job.order.decides", func(l job.SheetLine) []opening.Key { return l.DeskDecides }},
		{"job.order.unknown", func(l job.SheetLine) []opening.Key { return l.NotKnown }},
		{"job.order.unsaid", func(l job.SheetLine) []opening.Key { return l.NotSaid }},
	} {
		if left := job.BlanksOnLines(lines, l.of); len(left) > 0 {
			texts = append(texts, phrase.Of(l.key).WithRow("items", BlankNames(left, len(lines))...))
		}
	}
	return texts
}

// BlankNames name questions, each with its windows where it is not of all of them.
func BlankNames(left []job.Blank, all int) []phrase.Text {
	var names []phrase.Text
	for _, l := range left {
		name := Name(l.Key)
		if len(l.Openings) < all {
			name = phrase.Of("item.windows").Sub1("name", name).Saying("numbers", job.Spans(slices.Sorted(slices.Values(l.Openings)), "–", ", ")).WithInt("count", len(l.Openings))
		}
		names = append(names, name)
	}
	return names
}

// statedLine is what the maker needs besides the survey, in one line; the zero text
// where nothing was said.
func statedLine(key string, stated []opening.Pair, but []opening.Pair) (line phrase.Text, ok bool) {
	var items []phrase.Text
	for _, p := range stated {
		if isItem(p) && !slices.Contains(but, p) {
			items = append(items, phrase.Of("before.value").Sub1("name", Name(p.Key)).Sub1("value", job.StatedText(p)))
		}
	}
	return phrase.Of(key).WithRow("items", items...), len(items) > 0
}

// isItem says whether a pair is one that stands in the line of items. What nobody
// decided is said once for the whole order.
func isItem(p opening.Pair) bool {
	return opening.Find(p.Key).Is(opening.Maker) && p.Value != opening.Skipped && p.Value != opening.DeskSays
}
