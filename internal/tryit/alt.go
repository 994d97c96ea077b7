package tryit

import (
	"fmt"

	"sillbot/internal/calc"
	"sillbot/internal/dialog"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/scene"
)

// place is where a picture stands among those that go out together, from 1.
type place struct{ n, of int }

// altOf says what a picture shows to who doesn't see it: of a card which window it is
// and the figure that is ordered by, so that ten cards in a row can be told apart. The
// error is for a picture that can't be drawn either.
func (t *Trial) altOf(lang string, p dialog.Picture, at place) (phrase.Text, error) {
	if p.Reading != "" {
		f := opening.Find(p.Reading)
		if f == nil {
			return phrase.Text{}, fmt.Errorf("no reading %q", p.Reading)
		}
		return phrase.Of("web.alt.sketch").Sub1("name", scene.NameOf(f)), nil
	}
	drawn, err := plan.Make(p.Opening, calc.DefaultSettings())
	if err != nil {
		return phrase.Text{}, err
	}
	facts := append(t.whichWindow(lang, p), cardFacts(p, drawn)...)
	if at.of > 1 {
		return phrase.Of("web.alt.card.album").WithInt("n", at.n).WithInt("of", at.of).WithRow("facts", facts...), nil
	}
	return phrase.Of("web.alt.card").WithRow("facts", facts...), nil
}

// whichWindow is the number and the name of a window. One that nobody named is called by
// its number, which is said once.
func (t *Trial) whichWindow(lang string, p dialog.Picture) (facts []phrase.Text) {
	number := phrase.Of("job.window").WithInt("n", p.Window)
	if p.Window != 0 {
		facts = append(facts, number)
	}
	if name := p.Opening.Name; name != "" && (p.Window == 0 || name != t.Speaker.Plain(lang, number)) {
		facts = append(facts, phrase.Of("web.alt.name").Saying("name", name))
	}
	return facts
}

// cardFacts are what stands in the head of a card under its name, in its order, but the
// job last: it is the same on every card of an album.
func cardFacts(p dialog.Picture, drawn plan.Plan) (facts []phrase.Text) {
	if p.Opening.Room != "" {
		facts = append(facts, phrase.Of("card.room."+string(p.Opening.Room)))
	}
	if len(drawn.Holds()) > 0 {
		facts = append(facts, phrase.Of("card.stop"))
	}
	facts = append(facts, phrase.Of("web.alt.size").With("width", drawn.Order.Size.Width).With("height", drawn.Order.Size.Height))
	if p.Job != "" {
		facts = append(facts, phrase.Of("sheet.job").Saying("ref", p.Job))
	}
	return facts
}
