package dialog

import (
	"strings"

	"sillbot/internal/phrase"
)

// placeAside begins what the question whether a place is the job's address leaves for its
// answer, which is the next message or press.
const placeAside = "place="

// place asks whether a place that somebody sent is the address of the open job. Where it
// has no address, its figures are the address, or stand behind the one there is. Nobody
// looks them up elsewhere.
func (t *turn) place(in Input) {
	switch {
	case in.Spot == nil || t.group || t.Second != nil || t.atChair() || t.guest():
		t.quiet = t.atChair() || t.guest()
		t.say(phrase.Of("kind.unknown"))
		return
	case t.Job == nil || t.Job.Ref != t.Ref:
		t.say(phrase.Of("place.job"))
		return
	}
	address := in.Spot.Address
	if address == "" {
		address = in.Spot.Figures
		if before := t.Job.Address; before != "" && !strings.HasPrefix(before, address) {
			before, _, _ = strings.Cut(before, placeMark)
			address = before + placeMark + address
		}
	}
	t.Aside = placeAside + address
	ask := phrase.Of("place.ask")
	if t.Job.ShareAddress {
		ask = phrase.Of("place.ask.shared")
	}
	t.say(ask.Saying("address", address))
	t.buttons, t.quiet = [][]Button{{t.button("answer.yes", "do", "place=yes"), t.button("answer.no", "do", "place=no")}}, true
}

// placeMark stands between an address and figures.
const placeMark = " · "

// answersPlace takes yes or no to that question, typed or pressed right after it.
func (t *turn) answersPlace(text string) bool {
	address, asked := strings.CutPrefix(t.aside, placeAside)
	code, rest, ok := words().Match(t.lang(), "answer", text)
	if !asked || !ok || rest != "" || code != "yes" && code != "no" || t.Job == nil {
		return false
	}
	if code == "no" {
		t.say(phrase.Of("place.no"))
		return true
	}
	before := t.Job.Address
	if t.took(t.Job.SetAddress(t.who(), t.now, address, t.Job.ShareAddress)) && t.Job.Address == before {
		t.say(phrase.Of("job.already"))
	}
	return true
}

// pressPlace takes a button of it.
func (t *turn) pressPlace(code string) {
	if !t.answersPlace(code) {
		t.say(phrase.Of("place.old"))
	}
}

// other takes what is neither words nor a picture, a note or a file.
func (t *turn) other(in Input) {
	switch in.Kind {
	case Sticker:
		t.say(phrase.Of("kind.sticker"))
	case Place:
		t.place(in)
	default:
		t.sayKind(in, phrase.Of("kind.unknown"))
	}
}
