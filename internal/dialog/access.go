package dialog

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
)

// aboutPeople are the rows that are about who may use the bot.
var aboutPeople = []string{"people", "putout", "let", "trail", "phonefor"}

// numberFirst is how somebody is allowed to invite, with their number first.
var numberFirst = regexp.MustCompile(`(?i)^/?([0-9]+)[.:]? (may (?:not )?invite)$`)

const putOutPress = "putout="

// NeedsPeople says whether Step needs the list of who may use the bot, in
// Input.Access: a second step is not needed, for the words alone say so.
func NeedsPeople(s State, in Input) bool {
	if in.Kind == Pressed {
		return strings.Contains(in.Text, ":do:"+putOutPress)
	}
	if in.Kind != Typed && in.Kind != Photo {
		return false
	}
	text := strings.TrimSpace(in.Text)
	if numberFirst.MatchString(text) {
		return true
	}
	name, slash := strings.CutPrefix(text, "/")
	code, _, ok := words().Match(s.Lang, "command", name)
	if first, _, _ := strings.Cut(name, " "); slash && slices.Contains(aboutPeople, first) {
		return true
	}
	return ok && slices.Contains(aboutPeople, code)
}

// owns says whether the person may see and change who may use the bot, and says why
// not: that is for its owners, alone with the bot, for the list names people.
func (t *turn) owns() bool {
	t.quiet = true
	switch {
	case t.access == nil:
		t.say(phrase.Of("crew.open").Saying("number", strconv.FormatInt(t.user, 10)))
	case t.access.As != talk.Owner:
		t.say(phrase.Of("crew.owners"))
	case t.group:
		t.say(phrase.Of("crew.alone"))
	default:
		return true
	}
	return false
}

// onPage is how many lines of a list of people one message has.
const onPage = 20

// listPeople lists who may use the bot, to an owner; to others, their own line.
func listPeople(t *turn, a Ask) {
	if t.access != nil && t.access.As != talk.Owner && !t.group {
		t.quiet = true
		me := talk.Person{As: t.access.As, Until: t.access.Until, Invites: t.access.Invites}
		t.say(phrase.Of("crew.list.you").WithInt("n", t.access.Number).WithRow("parts", t.partsOf(me)...), phrase.Of("crew.owners"))
		return
	}
	if !t.owns() {
		return
	}
	list := t.access.People
	from, to, pages := pageOf(a.Page, len(list))
	t.say(phrase.Of("crew.list").WithInt("count", len(t.access.Owners)))
	for _, p := range list[from:to] {
		t.say(phrase.Of("crew.list.person").WithInt("n", p.Number).Sub1("name", t.nameOf(p.Name, p.ID)).WithRow("parts", t.partsOf(p)...))
	}
	if len(list) == 0 {
		t.say(phrase.Of("crew.list.nobody"))
	}
	if page := from/onPage + 1; page < pages {
		t.say(phrase.Of("crew.list.more").WithInt("page", page+1).WithInt("pages", pages))
	}
	t.say(phrase.Of("crew.list.how"))
}

// pageOf is the part of a list that a page has, the first where none was asked for.
func pageOf(page, count int) (from, to, pages int) {
	pages = max(1, (count+onPage-1)/onPage)
	page = max(1, min(page, pages))
	return (page - 1) * onPage, min(page*onPage, count), pages
}

// nameOf is somebody as they are known, or their number at the messenger.
func (t *turn) nameOf(name string, id int64) phrase.Text {
	switch name = cut(seenOf(name)); {
	case id != 0 && id == t.user:
		return phrase.Of("crew.you")
	case name != "":
		return phrase.Of("job.words").Saying("words", name)
	case talk.IsPage(id):
		return phrase.Of("crew.page")
	case id != 0:
		return phrase.Of("crew.unnamed").Saying("number", strconv.FormatInt(id, 10))
	}
	return phrase.Of("crew.somebody")
}

// partsOf is as what somebody may use the bot, by whom, since when and until when.
func (t *turn) partsOf(p talk.Person) []phrase.Text {
	parts := []phrase.Text{phrase.Of("crew.as." + string(p.As))}
	for _, c := range p.Chairs {
		key := "crew.chair"
		if c.Done {
			key = "crew.chair.over"
		}
		parts = append(parts, phrase.Of(key).Saying("ref", c.Ref).Word("role", "role."+string(c.Role)))
	}
	if !p.At.IsZero() {
		key := "crew.letin"
		if p.As == talk.Out {
			key = "crew.putout"
		}
		parts = append(parts, phrase.Of(key).Sub1("name", t.nameOf(p.ByName, p.By)).Sub1("when", t.view().When(p.At)))
	}
	if !p.Until.IsZero() {
		key := "crew.until"
		if t.now.After(p.Until) {
			key = "crew.over"
		}
		parts = append(parts, phrase.Of(key).Sub1("day", t.dayOf(p.Until)))
	}
	if p.As == talk.Mate && p.Invites {
		parts = append(parts, phrase.Of("crew.invites"))
	}
	return parts
}

func (t *turn) dayOf(at time.Time) phrase.Text {
	return tell.StoredDay(at.In(t.clock()).Format(opening.DateForm))
}

// personOf takes the number of somebody in the list from the front of a text.
func (t *turn) personOf(text string) (p talk.Person, rest string, ok bool) {
	n, rest, ok := openingNumber(text)
	if !ok {
		t.say(phrase.Of("crew.which"))
		return p, "", false
	}
	i := slices.IndexFunc(t.access.People, func(p talk.Person) bool { return p.Number == n })
	if i < 0 {
		t.say(phrase.Of("crew.nosuch").WithInt("n", n))
		return p, "", false
	}
	return t.access.People[i], rest, true
}

func (t *turn) change(c talk.Change) { t.mails = append(t.mails, Reply{Access: &c}) }

// putOut asks first, with the name. A number of the list is never used again, so a yes
// that comes late or twice can't put out somebody else.
func putOut(t *turn, text string) {
	if !t.owns() {
		return
	}
	p, rest, ok := t.personOf(text)
	if !ok {
		return
	}
	code, more, _ := words().Match(t.lang(), "answer", rest)
	t.putOut(p, code == "yes" && more == "")
}

// pressPutOut takes the button under that question.
func pressPutOut(t *turn, number string) {
	if !t.owns() {
		return
	}
	if p, _, ok := t.personOf(number); ok {
		t.putOut(p, true)
	}
}

func (t *turn) putOut(p talk.Person, sure bool) {
	name := t.nameOf(p.Name, p.ID)
	asked := t.Putting != nil && t.Putting.Number == p.Number && t.now.Sub(time.Unix(t.Putting.At, 0)) <= sureFor
	switch {
	case p.As == talk.Out:
		t.say(phrase.Of("crew.out.already").Sub1("name", name))
	case sure && asked:
		t.Putting = nil
		t.change(talk.Change{Who: p.ID, Out: true})
		t.say(phrase.Of("crew.out.done").Sub1("name", name))
	default:
		t.Putting = &Putting{Number: p.Number, At: t.now.Unix()}
		button := t.button("do.putout", "do", putOutPress+strconv.Itoa(p.Number))
		button.Label = button.Label.Sub1("name", name)
		t.buttons = [][]Button{{button}}
		ask := phrase.Of("crew.out.sure")
		if p.As == talk.Guest {
			ask = phrase.Of("crew.out.sure.guest")
		}
		t.say(ask.WithInt("n", p.Number).Sub1("name", name).WithRow("parts", t.partsOf(p)...))
	}
}

// let changes whether somebody may invite, or until when they may use the bot.
func let(t *turn, text string) {
	if !t.owns() {
		return
	}
	p, rest, ok := t.personOf(text)
	if !ok {
		return
	}
	name := t.nameOf(p.Name, p.ID)
	code, rest, known := words().Match(t.lang(), "let", rest)
	switch {
	case !known || rest != "" && code != "until":
		t.say(phrase.Of("crew.let.how"))
	case p.As == talk.Out:
		t.say(phrase.Of("crew.let.out").Sub1("name", name))
	case code == "until":
		t.letUntil(p, rest)
	case code == "always":
		t.change(talk.Change{Who: p.ID, Until: &time.Time{}})
		t.say(phrase.Of("crew.let.always").Sub1("name", name))
	case p.As == talk.Guest:
		t.say(phrase.Of("crew.let.guest").Sub1("name", name))
	default:
		may := code == "invite"
		t.change(talk.Change{Who: p.ID, Invites: &may})
		t.say(phrase.Of("crew.let."+code).Sub1("name", name))
	}
}

func (t *turn) letUntil(p talk.Person, text string) {
	last, trouble := t.lastDay(text)
	if trouble != nil {
		t.say(*trouble)
		return
	}
	t.change(talk.Change{Who: p.ID, Until: &last})
	t.say(phrase.Of("crew.let.until").Sub1("name", t.nameOf(p.Name, p.ID)).Sub1("day", t.dayOf(last)))
}

// lastDay is the last moment of a day to come, by the reader's clock.
func (t *turn) lastDay(text string) (time.Time, *phrase.Text) {
	var a Ask
	if _, trouble := dueDay(t, &a, text); trouble != nil {
		return time.Time{}, trouble
	}
	day, err := time.ParseInLocation(opening.DateForm, a.Due, t.clock())
	if err != nil {
		return time.Time{}, sorry(phrase.Of("fail.date").Saying("given", cut(text)))
	}
	return day.AddDate(0, 0, 1).Add(-time.Second), nil
}

// trailCommand lists who changed whose access.
func trailCommand(t *turn, a Ask) {
	if !t.owns() {
		return
	}
	list := t.access.Trail
	from, to, pages := pageOf(a.Page, len(list))
	if len(list) == 0 {
		t.say(phrase.Of("crew.trail.none"))
		return
	}
	t.say(phrase.Of("crew.trail"))
	for _, line := range list[from:to] {
		said := phrase.Of("crew.did."+string(line.What)).Sub1("when", t.view().When(line.At)).
			Sub1("by", t.nameOf(line.ByName, line.By)).Sub1("name", t.nameOf(line.Name, line.Who))
		if !line.Until.IsZero() {
			said = said.Sub1("day", t.dayOf(line.Until))
		}
		var refs []phrase.Text
		for _, ref := range line.Refs {
			refs = append(refs, phrase.Of("job.ref").Saying("ref", ref))
		}
		t.say(said.WithRow("refs", refs...))
	}
	if page := from/onPage + 1; page < pages {
		t.say(phrase.Of("crew.trail.more").WithInt("page", page+1).WithInt("pages", pages))
	}
}

// mayInvite says whether the person may let others into the crew, and says why not. A
// link is shown to one person alone: in a group a stranger could be the first to use it.
func (t *turn) mayInvite() bool {
	switch a := t.access; {
	case a == nil:
		t.say(phrase.Of("crew.open").Saying("number", strconv.FormatInt(t.user, 10)))
	case t.group:
		t.say(phrase.Of("crew.alone"))
	case a.As == talk.Owner || a.As == talk.Mate && a.Invites:
		return true
	case a.As == talk.Mate:
		t.say(phrase.Of("crew.noinvite").WithInt("n", a.Number))
	default:
		t.say(phrase.Of("crew.guest"))
	}
	t.quiet = true
	return false
}

// until is the day that ends what was typed before it, if one was named.
func until(t *turn, a *Ask, text string) (string, *phrase.Text) {
	code, rest, ok := words().Match(t.lang(), "let", text)
	if !ok || code != "until" {
		return text, nil
	}
	if job.Role(a.Words) != talk.Crew {
		return text, sorry(phrase.Of("crew.invite.chair"))
	}
	return dueDay(t, a, rest)
}
