package job

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// What stands on a line as it was said is read in the words of its field: a choice by its
// button, a day as a day, a figure with its unit, the rest as it was typed.
func TestWhatIsStatedIsReadInTheWordsOfItsField(t *testing.T) {
	day := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		key, value string
		want       phrase.Text
	}{
		{"opens", "out", phrase.Of("button.opens.out")},
		{"opens", opening.Skipped, phrase.Of("line.not_known")},
		{"opens", opening.DeskSays, phrase.Of("line.desk_decides")},
		{"opens", "", phrase.Of("job.none")},
		{"handle", "middle", phrase.Of("button.handle.middle")},
		{"handle", "450", phrase.Of("stated.handle").With("mm", mm(450))},
		{"handle", "knee high", phrase.Of("job.words").Saying("words", "knee high")},
		{"unload", "kerb", phrase.Of("button.unload.kerb")},
		{"unload", "behind the shed", phrase.Of("job.words").Saying("words", "behind the shed")},
		{"unload", "2026-06-01", phrase.Of("job.words").Saying("words", "2026-06-01")},
		{"unload", "7", phrase.Of("job.words").Saying("words", "7")},
		{"wanted", "2026-06-01", phrase.Day(day)},
		{"wanted", "in June", phrase.Of("job.words").Saying("words", "in June")},
		{"trickle.area", "4000", phrase.Of("job.words").Saying("words", "4000 mm²")},
		{"hardware", "2", phrase.Of("job.words").Saying("words", "2")},
		{opening.ByLight, "1 toughened, 2 laminated", phrase.Of("stated.panes").WithRow("panes",
			phrase.Of("stated.pane").With("n", mm(1)).Word("glass", "button.safeglass.toughened"),
			phrase.Of("stated.pane").With("n", mm(2)).Word("glass", "button.safeglass.laminated"),
		)},
		{opening.ByLight, "all the low ones", phrase.Of("job.words").Saying("words", "all the low ones")},
		{"no such field", "out", phrase.Of("job.words").Saying("words", "out")},
	} {
		require.Equal(t, c.want, StatedText(opening.Pair{Key: c.key, Value: c.value}), "%s %s", c.key, c.value)
	}
	require.Equal(t, "job.none", Value{Day: "June"}.text().Key)
}

// A changed item is named by its field on the next revision, beside what else changed.
func TestAChangedItemIsNamedByItsField(t *testing.T) {
	old := Line{Opening: 1, Stated: []opening.Pair{{Key: "opens", Value: "out"}, {Key: "packing", Value: "open"}}}
	now := Line{Opening: 1, Colour: "grey", Stated: []opening.Pair{{Key: "opens", Value: "in"}, {Key: "packing", Value: "open"}, {Key: "unload", Value: "kerb"}}}
	changes := Diff(old, now)
	require.Equal(t, []ChangeKind{ColourChanged, StatedChanged, StatedChanged}, kinds(changes))
	require.Equal(t, []string{"", "opens", "unload"}, []string{changes[0].Field, changes[1].Field, changes[2].Field})
	require.Equal(t, "button.opens.out", changes[1].Old.Word)
	require.Equal(t, "button.opens.in", changes[1].New.Word)
	require.Equal(t, "name.opens", changes[1].Text().Sub["field"].Key)
	require.Equal(t, "job.none", changes[2].Text().Sub["old"].Key)
}

// How a confirmation was told stands on every paper: the way, who said it, their number.
func TestAConfirmationAsToldInWords(t *testing.T) {
	day := phrase.Of("day")
	parts := func(c Confirmation) (key string, keys []string) {
		text := c.Text(day)
		for _, part := range text.Row["parts"] {
			keys = append(keys, part.Key)
		}
		return text.Key, keys
	}
	by := Stamp{Role: Lead}
	key, row := parts(Confirmation{By: by})
	require.Equal(t, "told.somehow", key)
	require.Equal(t, []string{"day"}, row)
	key, row = parts(Confirmation{By: by, Heard: Heard{Way: ByMail, By: "Anna", Order: "4711"}})
	require.Equal(t, "told.mail", key)
	require.Equal(t, []string{"job.words", "told.order", "day"}, row)
	_, row = parts(Confirmation{By: by, Heard: Heard{Order: "4711"}})
	require.Equal(t, []string{"told.order", "day"}, row)
	_, row = parts(Confirmation{By: by, Heard: Heard{By: "Anna"}})
	require.Equal(t, []string{"job.words", "day"}, row)

	require.Equal(t, []string{"way", "by", "order", "day"}, Heard{}.Missing(""))
	require.Empty(t, Heard{Way: ByMail, By: "Anna", Order: "4711"}.Missing("2026-06-01"))
	require.Equal(t, []string{"by", "day"}, Heard{Way: ByMail, Order: "4711"}.Missing(""))

	before := Heard{Way: ByMail, By: "Anna", Order: "4711"}
	require.Equal(t, before, Heard{}.over(before))
	now := Heard{Way: ByPhone, By: "Bea", Order: "4712"}
	require.Equal(t, now, now.over(before))
	require.Nil(t, (*Confirmation)(nil).shown(true))

	require.Equal(t, "customer.by.nobody", (&Agreement{}).Text(day).Key)
	named := (&Agreement{Name: "Mrs Hill"}).Text(day)
	require.Equal(t, "customer.by", named.Key)
	require.Equal(t, "Mrs Hill", named.Say["who"])
}

// The news of a promise say what was promised, those of some pieces how many, and those
// of several windows which.
func TestNewsAreInTheSentenceOfTheirKind(t *testing.T) {
	price := map[string]decimal.Decimal{"price": mm(400)}
	pieces := map[string]decimal.Decimal{"pieces": mm(2)}
	many := map[string]string{"numbers": "1-3"}
	for want, e := range map[string]Event{
		"job.event.promised.day":   {Kind: LinePromised, Due: "2026-06-01"},
		"job.event.promised.price": {Kind: LinePromised, Figures: price},
		"job.event.promised.both":  {Kind: LinePromised, Due: "2026-06-01", Figures: price},
		"job.event.signed":         {Kind: FiguresSigned},
		"job.many.signed":          {Kind: FiguresSigned, Say: many},
		"job.event.check_asked":    {Kind: CheckAsked, Say: many},
		"job.event.handed_over":    {Kind: HandedOver, Say: many},
		"job.pieces.step":          {Kind: StepTaken, Figures: pieces},
		"job.event.fault":          {Kind: FaultFound, Figures: pieces},
	} {
		require.Equal(t, want, e.Text().Key)
	}
}
