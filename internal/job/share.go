package job

import (
	"crypto/subtle"
	"slices"
	"time"
)

// Who is somebody who does something: the chat it came from, the person, and
// the chair that is claimed. The job checks the claim.
type Who struct {
	Chat   int64  `json:"chat"`
	Person int64  `json:"person,omitempty"`
	Name   string `json:"name,omitempty"`
	Role   Role   `json:"role"`
	Msg    int64  `json:"msg,omitempty"` // the message it came in; 0: not known
	// Turn makes what is done in one turn one act; 0: each does by itself.
	Turn int `json:"-"`
}

// Stamp is who did something and when.
type Stamp struct {
	Role   Role      `json:"role"`
	Name   string    `json:"name,omitempty"`
	Person int64     `json:"person,omitempty"`
	At     time.Time `json:"at"`
}

func (w Who) stamp(at time.Time) Stamp {
	name, err := words(w.Name, longestLabel)
	if err != nil {
		name = ""
	}
	return Stamp{Role: w.Role, Name: name, Person: w.Person, At: moment(at)}
}

// forRole is the stamp as a copy for a role shows it: without numbers, and the
// name only if names are shared or it is that role's own.
func (s Stamp) forRole(role Role, names bool) Stamp {
	s.Person = 0
	if !names && s.Role != role {
		s.Name = ""
	}
	return s
}

// Share is a link to the job for one chair. The first chat that uses it keeps
// it until it is revoked; Expires is until when it can be used first.
type Share struct {
	Token   string    `json:"token"`
	Role    Role      `json:"role"`
	Expires time.Time `json:"expires"`
	UsedBy  int64     `json:"used_by,omitempty"` // a chat; 0: nobody yet
	Revoked bool      `json:"revoked,omitempty"`
}

// leastToken is 128 bits in an alphabet of 64.
const leastToken = 22

// Grant makes a share. The token is unguessable: at least 128 random bits.
func (j Job) Grant(who Who, at time.Time, token string, role Role, expires time.Time) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if role != Lead && role != Desk {
		return Job{}, nil, refuse("share_role")
	}
	if len(token) < leastToken || j.share(token) >= 0 {
		return Job{}, nil, refuse("share_token")
	}
	if len(j.Shares) >= mostShares {
		return Job{}, nil, refuse("too_many").num("most", mostShares)
	}
	if !expires.After(at) {
		return Job{}, nil, refuse("share_expired")
	}
	j.Shares = append(slices.Clip(j.Shares), Share{Token: token, Role: role, Expires: moment(expires)})
	return j.done(who, at, Event{Kind: ShareGranted}.word("role", "role."+string(role)))
}

// Use binds a share to the chat that uses it first. Again by the same chat is
// fine and tells nobody. The role of who is not looked at: it is the share's.
func (j Job) Use(who Who, at time.Time, token string) (Job, []Event, error) {
	i := j.share(token)
	if i < 0 {
		return Job{}, nil, refuse("share_unknown")
	}
	s := j.Shares[i]
	switch {
	case s.Revoked:
		return Job{}, nil, refuse("share_revoked")
	case who.Chat == j.Owner.Chat:
		return Job{}, nil, refuse("share_own").word("role", "role."+string(s.Role))
	case s.UsedBy == who.Chat:
		return j, nil, nil
	case s.UsedBy != 0:
		return Job{}, nil, refuse("share_taken")
	case at.After(s.Expires):
		return Job{}, nil, refuse("share_expired")
	}
	s.UsedBy = who.Chat
	j.Shares = slices.Clone(j.Shares)
	j.Shares[i] = s
	who.Role = s.Role
	e := Event{Kind: ShareUsed, To: []Recipient{{j.Owner.Chat, Fitter}, {who.Chat, s.Role}}}
	return j.done(who, at, e.word("role", "role."+string(s.Role)))
}

// Revoke ends a share, used or not. The chat that held it is told.
func (j Job) Revoke(who Who, at time.Time, token string) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	i := j.share(token)
	if i < 0 {
		return Job{}, nil, refuse("share_unknown")
	}
	s := j.Shares[i]
	if s.Revoked {
		return j, nil, nil
	}
	s.Revoked = true
	j.Shares = slices.Clone(j.Shares)
	j.Shares[i] = s
	e := Event{Kind: ShareRevoked, To: []Recipient{{j.Owner.Chat, Fitter}}}
	if s.UsedBy != 0 {
		e.To = append(e.To, Recipient{s.UsedBy, s.Role})
	}
	return j.done(who, at, e.word("role", "role."+string(s.Role)))
}

// share is the place of a token in the list, -1 when there is none. The time
// it takes says nothing about a token.
func (j Job) share(token string) int {
	found := -1
	for i, s := range j.Shares {
		if subtle.ConstantTimeCompare([]byte(s.Token), []byte(token)) == 1 {
			found = i
		}
	}
	return found
}

// admit checks that who may sit in the chair that is claimed, and that it is
// one of those asked for.
func (j Job) admit(who Who, roles ...Role) error {
	if !slices.Contains(roles, who.Role) {
		return refuse("not_your_part").word("role", "role."+string(roles[0]))
	}
	if who.Role == Fitter {
		if who.Chat == j.Owner.Chat {
			return nil
		}
		return refuse("not_yours")
	}
	for _, s := range j.Shares {
		if s.Role == who.Role && s.UsedBy == who.Chat && !s.Revoked {
			return nil
		}
	}
	return refuse("not_yours")
}

// chats are the chats that sit in a chair.
func (j Job) chats(role Role) []int64 {
	if role == Fitter {
		return []int64{j.Owner.Chat}
	}
	var out []int64
	for _, s := range j.Shares {
		if s.Role == role && s.UsedBy != 0 && !s.Revoked {
			out = append(out, s.UsedBy)
		}
	}
	return out
}

// Chair is the role that a chat has in the job, "" for none.
func (j Job) Chair(chat int64) Role {
	for _, s := range j.Shares {
		if s.UsedBy == chat && !s.Revoked {
			return s.Role
		}
	}
	return ""
}
