package job

import (
	"crypto/subtle"
	"maps"
	"slices"
	"time"

	"sillbot/internal/opening"
)

// leastToken is 128 bits in an alphabet of 64.
const leastToken = 22

// Grant makes a share. The token is unguessable: at least 128 random bits.
func (j Job) Grant(who Who, at time.Time, token string, role Role, expires time.Time) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if role != Lead && role != Desk && role != Customer {
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
	s.UsedBy, s.Person = who.Chat, who.Person
	s.Name, _ = words(who.Name, longestLabel) // none where it is too long
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

// SetLabel names the job.
func (j Job) SetLabel(who Who, at time.Time, label string) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	label, err := words(label, longestLabel)
	if err != nil {
		return Job{}, nil, err
	}
	j.Label = label
	e := Event{Kind: Labelled, Say: map[string]string{"label": label}}
	if j.ShareAddress {
		e.To = j.recipients([]Role{Fitter, Lead, Desk})
	}
	return j.done(who, at, e)
}

// SetAddress notes where the job is and whether the lead and the desk may know
// it. They may then see the label too. An empty address takes it away.
func (j Job) SetAddress(who Who, at time.Time, address string, share bool) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	address, err := words(address, longestWords)
	if err != nil {
		return Job{}, nil, err
	}
	kind := Addressed
	switch {
	case address == j.Address && share == j.ShareAddress:
		return j, nil, nil
	case share:
		kind = AddressShared
	case j.ShareAddress:
		kind = AddressHidden
	}
	j.Address, j.ShareAddress = address, share
	return j.done(who, at, Event{Kind: kind})
}

// SetContact notes who takes the delivery and whether the desk may know it. No words
// take it away.
func (j Job) SetContact(who Who, at time.Time, contact string, share bool) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	contact, err := words(contact, longestLabel)
	if err != nil {
		return Job{}, nil, err
	}
	kind := ContactNoted
	switch {
	case contact == j.Contact && share == j.ShareContact:
		return j, nil, nil
	case share:
		kind = ContactShared
	case j.ShareContact:
		kind = ContactHidden
	}
	j.Contact, j.ShareContact = contact, share
	return j.done(who, at, Event{Kind: kind})
}

// SetShareNames says whether the copies name the people.
func (j Job) SetShareNames(who Who, at time.Time, share bool) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if share == j.ShareNames {
		return j, nil, nil
	}
	kind := NamesHidden
	if share {
		kind = NamesShared
	}
	j.ShareNames = share
	return j.done(who, at, Event{Kind: kind})
}

// Forget takes a person's number, name and words out of the job and of every
// record in it. What they measured stays, as a former member's.
func (j Job) Forget(person int64) Job {
	if person == 0 {
		return j
	}
	j.Former = slices.DeleteFunc(slices.Clone(j.Former), func(chat int64) bool { return chat == person })
	j.People = maps.Clone(j.People)
	delete(j.People, person)
	if j.Owner.Person == person {
		j.Owner.Name, j.Owner.Person, j.Owner.Msg = "", opening.Former, 0
		j.Contact = ""
	}
	j.Shares = slices.Clone(j.Shares)
	for i := range j.Shares {
		if s := &j.Shares[i]; s.Revoked && s.UsedBy == person {
			s.UsedBy = 0 // a private chat has its person's number
		}
		if s := &j.Shares[i]; s.Person == person {
			s.Person, s.Name = 0, ""
		}
	}
	j.Order.Sent = slices.Clone(j.Order.Sent)
	for i := range j.Order.Sent {
		if by := &j.Order.Sent[i].By; by.Person == person {
			by.Name, by.Person = "", opening.Former
		}
	}
	j.Openings = slices.Clone(j.Openings)
	for i, o := range j.Openings {
		if j.need(o) {
			j.Openings[i].absent = o.absent.forget(person)
			continue
		}
		o.Said = o.Said.Forget(person)
		j.Openings[i] = j.derive(o)
	}
	j.Bin = slices.Clone(j.Bin)
	for i, b := range j.Bin {
		if !j.need(b.Opening) {
			b.Opening.Said = b.Opening.Said.Forget(person)
			j.Bin[i].Opening = j.derive(b.Opening)
		}
	}
	j.supersede()
	return j
}
