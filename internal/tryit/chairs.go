// Package tryit is the conversation in a page of a browser on the same machine: a
// fitter, a crew lead, a supplier desk and a group, played by whoever sits there. All
// of it is in memory and goes with the program.
//
// From its lowest file upwards: chairs.go says who writes, markup.go makes HTML of
// what the catalogue says, book.go is what was said in each chat, guard.go keeps others
// out, trial.go is all that the rest works on, alt.go says in words what a picture
// shows, send.go puts replies into the book,
// turn.go takes what a person does, page.go shows it, events.go tells the page what is
// new, post.go takes forms, and serve.go is the server.
package tryit

import (
	"slices"

	"sillbot/internal/phrase"
)

// person is one who writes. In a private chat the platform's number of the chat is
// the person's.
type person struct {
	key  string
	user int64
	name phrase.Text
}

// chair is one chat of the page.
type chair struct {
	key   string
	chat  int64
	group bool
	title phrase.Text
	hint  phrase.Text
	who   []person // the first writes unless another is chosen
}

// chairs are all, in the order in which they stand in the page.
var chairs = func() []chair {
	fitter := person{"fitter", 1, phrase.Of("web.chair.fitter")}
	lead := person{"lead", 2, phrase.Of("web.chair.lead")}
	desk := person{"desk", 3, phrase.Of("web.chair.desk")}
	return []chair{
		{key: "fitter", chat: 1, title: fitter.name, hint: phrase.Of("web.hint.fitter"), who: []person{fitter}},
		{key: "lead", chat: 2, title: lead.name, hint: phrase.Of("web.hint.lead"), who: []person{lead}},
		{key: "desk", chat: 3, title: desk.name, hint: phrase.Of("web.hint.desk"), who: []person{desk}},
		{key: "group", chat: -4, group: true, title: phrase.Of("web.chair.group"), hint: phrase.Of("web.hint.group"), who: []person{fitter, lead}},
	}
}()

// chairOf finds a chair by its key.
func chairOf(key string) (chair, bool) {
	i := slices.IndexFunc(chairs, func(c chair) bool { return c.key == key })
	if i < 0 {
		return chair{}, false
	}
	return chairs[i], true
}

// chairIn finds the chair of a chat.
func chairIn(chat int64) (chair, bool) {
	i := slices.IndexFunc(chairs, func(c chair) bool { return c.chat == chat })
	if i < 0 {
		return chair{}, false
	}
	return chairs[i], true
}

// writes finds who of a chair writes: "" is the first.
func (c chair) writes(key string) (person, bool) {
	if key == "" {
		return c.who[0], true
	}
	i := slices.IndexFunc(c.who, func(p person) bool { return p.key == key })
	if i < 0 {
		return person{}, false
	}
	return c.who[i], true
}
