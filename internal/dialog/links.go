package dialog

import (
	"encoding/base64"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// shareLasts is how long a link can wait for its first use.
const shareLasts = 14 * 24 * time.Hour

// newToken is the secret of a link to be made; where there is none to make it of, the
// person is told so.
func (t *turn) newToken() (token string, ok bool) {
	if len(t.seed) < 32 {
		t.say(phrase.Of("job.notnow"))
		return "", false
	}
	return base64.RawURLEncoding.EncodeToString(t.seed[16:32]), true
}

// invite makes a link for a role, unless one was made that still holds.
func invite(t *turn, role job.Role) {
	for _, s := range t.Job.Shares {
		if s.Role == role && !s.Revoked && (s.UsedBy != 0 || t.now.Before(s.Expires)) {
			return
		}
	}
	grant(t, role)
}

func grant(t *turn, role job.Role) {
	if role == job.Customer && t.page == "" {
		t.say(phrase.Of("page.none"))
		return
	}
	if t.guest() {
		t.refuseGuest()
		return
	}
	token, ok := t.newToken()
	if !ok || !t.took(t.Job.Grant(t.who(), t.now, token, role, t.now.Add(shareLasts))) {
		return
	}
	t.mails = append(t.mails, Reply{Link: &Link{Token: token, Owner: t.chat, Ref: t.Job.Ref, Role: role}})
	if role == job.Customer {
		linkCustomer(t, token)
		return
	}
	sayLink(t, role, token)
	if role == job.Desk && t.page != "" {
		t.say(phrase.Of("page.link.desk").Saying("link", t.page+token))
	}
}

// inviteAgain makes another link for a role.
func inviteAgain(t *turn, a Ask) {
	if role := job.Role(a.Words); role == Crew {
		inviteCrew(t, a.Due)
	} else if t.ownJob() {
		grant(t, role)
	}
}

// linkCustomer shows the customer every window that is complete, and says how their link
// is used.
func linkCustomer(t *turn, token string) {
	if ids := t.complete(); len(ids) > 0 {
		j, _, err := t.Job.CustomerPage(t.who(), t.now, ids...)
		if !t.took(j, nil, err) {
			return
		}
		t.say(phrase.Of("page.link.customer").Saying("link", t.page+token), phrase.Of("page.link.shows").WithInt("count", len(ids)).Saying("numbers", job.Spans(ids, "-", " ")))
		return
	}
	t.say(phrase.Of("page.link.customer").Saying("link", t.page+token), phrase.Of("page.link.empty"))
}

// Crew is the role of a link that only admits a person to the bot, where the bot
// is not open to everybody.
const Crew = talk.Crew

// inviteCrew makes a link by which one more person may use the bot, until the end of a
// day if one is named.
func inviteCrew(t *turn, day string) {
	if !t.mayInvite() {
		return
	}
	token, ok := t.newToken()
	if !ok {
		return
	}
	l := Link{Token: token, Owner: t.chat, Role: Crew, User: t.user, Name: t.name}
	last := time.Time{}
	if day != "" {
		var trouble *phrase.Text
		if last, trouble = t.lastDay(day); trouble != nil {
			t.say(*trouble)
			return
		}
		l.Until = last.Unix()
	}
	t.mails = append(t.mails, Reply{Link: &l})
	sayLink(t, Crew, token)
	if day != "" {
		t.say(phrase.Of("crew.invite.until").Sub1("day", t.dayOf(last)))
	}
}

// sayLink shows how a link is used.
func sayLink(t *turn, role job.Role, token string) {
	t.say(t.linkOr("job.invite.link", "job.invite", token).Word("role", "role."+string(role)))
}

// linkOr says a link by one key, with the buttons to send it on and to copy it, or, where
// the platform has no links to the bot, its token by the other.
func (t *turn) linkOr(link, code, token string) phrase.Text {
	if t.home == "" {
		return phrase.Of(code).Saying("token", token)
	}
	t.links = []Button{
		{Label: phrase.Of("button.link.passon"), PassOn: t.home + token},
		{Label: phrase.Of("button.link.copy"), Copy: t.home + token},
	}
	return phrase.Of(link).Sub1("link", phrase.Of("link.words").Saying("link", t.home+token))
}

// passOn puts what was said of a link into a message of its own: whoever answers the
// question below changes that message, and the link must stay.
func (t *turn) passOn() {
	if t.links != nil {
		t.replies = append(t.replies, t.message())
	}
}

// revoke takes back every link of a role.
func revoke(t *turn, code string) {
	found := false
	for _, s := range t.Job.Shares {
		if s.Role != job.Role(code) || s.Revoked {
			continue
		}
		found = true
		if t.took(t.Job.Revoke(t.who(), t.now, s.Token)) {
			t.mails = append(t.mails, Reply{Unlink: s.Token})
			if s.UsedBy != 0 {
				t.post(Mail{To: s.UsedBy, Ref: t.Job.Ref, Left: true})
			}
		}
	}
	if !found {
		t.say(phrase.Of("job.revoke.none"))
	}
}
