package dialog

import (
	"slices"
	"strings"
	"time"

	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// Begun is a conversation of which nothing is known but the account that somebody
// writes from under its number: whose it is can't be read any more.
func Begun(chat, account int64) State {
	if account == 0 || account == chat {
		return State{}
	}
	return State{Phone: &phone{Now: account}}
}

// ofPhone takes what is about a person's account: a code that was opened, and all that
// comes of an account that is not used any more, which can do nothing else.
func (t *turn) ofPhone(in Input) bool {
	away := in.Elsewhere && t.group
	if !t.group && in.Account != 0 {
		away = in.Account != t.Phone.account(t.chat)
		t.reply = in.Account
	}
	if t.Phone != nil && t.Phone.Home != 0 && !t.group { // where it led is no more
		t.State = State{Lang: t.Lang}
	}
	switch {
	case t.link != nil && t.link.Role == talk.ToPhone:
		t.openPhone(in.Kind == Pressed || saysYes(t, in.Text))
	case away && (in.Text == talk.LinkPress+":back" || isWord(t, "notme", strings.TrimPrefix(in.Text, "/"))):
		notMe(t)
	case away:
		t.sayAway()
	default:
		return false
	}
	t.replies = append(t.replies, Reply{Text: phrase.Of("message").WithLines("lines", t.lines...), Lang: t.lang(), Buttons: t.buttons, Account: t.reply})
	return true
}

// saysYes is whether a yes stands beside a code.
func saysYes(t *turn, text string) bool {
	return slices.ContainsFunc(strings.Fields(text), func(word string) bool {
		code, rest, ok := words().Match(t.lang(), "answer", word)
		return ok && code == "yes" && rest == ""
	})
}

// sayAway says on an account that is not used any more that nothing can be done there.
func (t *turn) sayAway() {
	switch p := t.Phone; {
	case t.group:
		t.say(phrase.Of("phone.away.group"))
	case !p.knows(t.reply, t.chat):
		t.say(phrase.Of("phone.wait"))
	default:
		t.say(phrase.Of("phone.away").Sub1("when", t.view().When(time.Unix(p.At, 0))))
		t.offerBack(t.reply)
	}
}

// mayTakeBack is whether an account can take everything back.
func (t *turn) mayTakeBack(account int64) bool {
	p := t.Phone
	return p != nil && p.Back == account && account != p.account(t.chat) && t.now.Before(time.Unix(p.At, 0).Add(backFor))
}

// offerBack says what an account can do that is not used any more.
func (t *turn) offerBack(account int64) {
	if !t.mayTakeBack(account) {
		t.say(t.whoHelps())
		return
	}
	t.say(phrase.Of("phone.back.how").Sub1("until", t.view().When(time.Unix(t.Phone.At, 0).Add(backFor))))
	t.buttons = [][]Button{{{Label: phrase.Of("button.phone.back"), Data: talk.LinkPress + ":back"}}}
}

// whoHelps says who else can bring everything back: of a bot that is open to all nobody
// stands above the person.
func (t *turn) whoHelps() phrase.Text {
	if t.access == nil && t.reply != 0 {
		return phrase.Of("phone.ask_there")
	}
	return phrase.Of("phone.ask_owner")
}

// newPhone makes a code by which the person goes on in another account.
func newPhone(t *turn, rest string) {
	t.quiet = true
	switch {
	case t.group:
		t.say(phrase.Of("phone.group"))
		return
	case rest != "":
		t.say(phrase.Of("phone.how"))
		return
	}
	token, ok := t.newToken()
	if !ok {
		return
	}
	p := t.phoneNow()
	p.Code, p.Until, p.Lost = codeHash(token), t.now.Add(PhoneFor).Unix(), false
	t.mails = append(t.mails, Reply{Link: &Link{Token: token, Owner: t.chat, Role: talk.ToPhone, Jobs: t.Own, Chairs: t.chairs()}})
	t.say(t.linkOr("phone.link", "phone.code", token), phrase.Of("phone.secret"))
}

// newPhoneFor makes a code by which somebody of the crew list goes on in another account,
// for the bot's owner: their phone is lost, or somebody else has it.
func newPhoneFor(t *turn, number string) {
	if !t.owns() {
		return
	}
	p, rest, ok := t.personOf(number)
	switch {
	case !ok:
		return
	case rest != "":
		t.say(phrase.Of("phone.for.how"))
		return
	case p.As == talk.Out:
		t.say(phrase.Of("phone.for.out").Sub1("name", t.nameOf(p.Name, p.ID)))
		return
	}
	token, ok := t.newToken()
	if !ok {
		return
	}
	t.mails = append(t.mails, Reply{Link: &Link{Token: token, Owner: p.ID, Role: talk.ToPhone}})
	t.post(Mail{To: p.ID, Phone: &talk.Phone{Code: codeHash(token), Until: t.now.Add(PhoneFor).Unix()}})
	t.say(t.linkOr("phone.for.link", "phone.for.code", token).Sub1("name", t.nameOf(p.Name, p.ID)), phrase.Of("phone.for.sure"))
}

// phoneNow is the person's phone to be changed.
func (t *turn) phoneNow() *phone {
	var p phone
	if t.Phone != nil {
		p = *t.Phone
	}
	t.Phone = &p
	return &p
}

// chairs are the jobs of others that the chat has a chair in.
func (s State) chairs() []string {
	var refs []string
	for _, seat := range s.Seats {
		if seat.Role != "" {
			refs = append(refs, seat.Ref)
		}
	}
	return refs
}

// hasOwn is whether a chat has something of its own that another person's would lie on.
func (s State) hasOwn() bool {
	return len(s.Own) > 0 || len(s.chairs()) > 0 || len(s.Stood) > 0 || len(s.Crew) > 0 || s.Second != nil || s.Phone != nil || s.Version != 0 && s.started()
}

// openPhone takes a code that was opened, in the new phone, and asks first.
func (t *turn) openPhone(sure bool) {
	l := t.link
	own := l.Owner == t.chat
	switch {
	case t.group:
		t.say(phrase.Of("phone.group"))
	case own && (t.reply == 0 || t.reply == t.Phone.account(t.chat)) && t.Phone != nil && t.Phone.Code != codeHash(l.Token):
		t.say(phrase.Of("phone.here"))
	case own && (t.reply == 0 || t.reply == t.Phone.account(t.chat)):
		t.say(phrase.Of("phone.there"))
	case !own && t.hasOwn():
		t.say(phrase.Of("phone.taken"))
	case !sure:
		t.askPhone(*l)
	case own:
		t.showCode(l.Token, t.reply)
	default:
		t.State = State{Version: schema, Lang: t.Lang, Phone: &phone{Home: l.Owner}}
		t.post(Mail{To: l.Owner, Phone: &talk.Phone{Token: l.Token}})
		t.say(phrase.Of("phone.moving"))
	}
}

// askPhone asks whether to move everything, and names what.
func (t *turn) askPhone(l Link) {
	t.say(phrase.Of("phone.sure"))
	if len(l.Jobs) > 0 {
		t.say(named("phone.sure.jobs", l.Jobs))
	}
	if len(l.Chairs) > 0 {
		t.say(named("phone.sure.chairs", l.Chairs))
	}
	t.say(phrase.Of("phone.sure.rest"), phrase.Of("phone.sure.how").Saying("token", l.Token))
	t.buttons = [][]Button{{{Label: phrase.Of("button.phone.move"), Data: talk.LinkPress + ":" + l.Token}}}
}

// phoneMail takes what another account says: in the conversation that has everything a
// code, in that of the other account the answer.
func (t *turn) phoneMail(m *Mail) {
	switch led := t.Phone != nil && t.Phone.Home == m.From; {
	case m.Phone.Forgotten && led:
		t.State = State{}
		t.mails = append(t.mails, Reply{Forget: &Forget{}})
	case m.Phone.Refused && led:
		t.State = State{Version: schema, Lang: t.Lang}
		t.begin()
	case m.Phone.Code != "" && !led:
		p := t.phoneNow()
		p.Code, p.Until, p.Lost = m.Phone.Code, m.Phone.Until, true
		t.say(phrase.Of("phone.for.told"))
	case m.Phone.Token != "" && !led:
		t.showCode(m.Phone.Token, m.From)
	}
	if m.Show != nil {
		t.say(m.Show.Text)
	}
}

// showCode moves the person to the account that shows the code, if it is right.
func (t *turn) showCode(token string, account int64) {
	p := t.Phone
	if p == nil || p.Code != codeHash(token) || t.now.Unix() > p.Until {
		if account == t.Phone.account(t.chat) {
			return // the same letter again
		}
		refused := phrase.Of("phone.refused")
		if t.reply != 0 {
			t.say(refused)
			return
		}
		t.post(Mail{To: account, Phone: &talk.Phone{Refused: !p.knows(account, t.chat)}, Show: &Reply{Text: refused}})
		return
	}
	t.mails = append(t.mails, Reply{Unlink: token})
	before := p.account(t.chat)
	t.movePhone(account)
	if t.Phone.Lost {
		t.Phone.Back = 0
	}
	t.say(phrase.Of("phone.done"), phrase.Of("phone.done.next"))
	said, buttons := t.lines, t.buttons
	t.lines, t.buttons = nil, nil
	t.say(phrase.Of("phone.gone"))
	t.offerBack(before)
	t.mails = append(t.mails, Reply{Text: phrase.Of("message").WithLines("lines", t.lines...), Lang: t.lang(), Buttons: t.buttons, Account: before})
	t.lines, t.buttons = said, buttons
}

// movePhone makes another account the one that the person uses.
func (t *turn) movePhone(to int64) {
	p := t.phoneNow()
	before := p.account(t.chat)
	p.Was = slices.DeleteFunc(append(p.others(t.chat), before), func(a int64) bool { return a == to || a == t.chat })
	if p.Now = to; to == t.chat {
		p.Now = 0
	}
	p.At, p.Back, p.Code, p.Until = t.now.Unix(), before, "", 0
}

// notMe takes everything back to the account before, where somebody else moved it.
func notMe(t *turn) {
	t.quiet = true
	if t.group || !t.mayTakeBack(t.reply) {
		t.say(phrase.Of("phone.back.no"), t.whoHelps())
		return
	}
	other := t.Phone.account(t.chat)
	t.movePhone(t.reply)
	t.Phone.Back = 0
	t.say(phrase.Of("phone.back.done"))
	t.mails = append(t.mails, Reply{Text: phrase.Of("phone.back.gone"), Lang: t.lang(), Account: other})
}
