package job

import (
	"cmp"
	"slices"
	"time"
)

// Offer makes a link by which whoever uses it first gets the job. One of before ends.
func (j Job) Offer(who Who, at time.Time, token string, expires time.Time) (Job, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, err
	}
	if len(token) < leastToken || j.share(token) >= 0 {
		return Job{}, refuse("share_token")
	}
	j.Shares = append(j.withoutOffers(), Share{Token: token, Role: Fitter, Expires: moment(expires)})
	return j, nil
}

func (j Job) withoutOffers() []Share {
	return slices.DeleteFunc(slices.Clone(j.Shares), func(s Share) bool { return s.Role == Fitter })
}

// HandTo sends the job on its way to who shows the token of an offer. The whole job is
// what is to be sent there.
func (j Job) HandTo(who Who, at time.Time, token string) (Job, error) {
	i := j.share(token)
	switch {
	case i < 0 || j.Shares[i].Role != Fitter:
		return Job{}, refuse("share_unknown")
	case j.Shares[i].Revoked:
		return Job{}, refuse("share_revoked")
	case who.Chat == j.Owner.Chat:
		return Job{}, refuse("share_taken")
	case at.After(j.Shares[i].Expires):
		return Job{}, refuse("share_expired")
	}
	j.Shares = j.withoutOffers()
	j.Hands++
	j.Handing = &Handing{To: who.Chat, At: moment(at)}
	return j, nil
}

// Whole is the job as it is stored, with every window and what is in the bin; false as
// long as some are not loaded.
func (j Job) Whole() (Stored, bool) {
	j.All()
	for _, b := range j.Bin {
		j.need(b.Opening)
	}
	if windows, all := j.Missing(); all || len(windows) > 0 {
		return Stored{}, false
	}
	s, err := j.Encode()
	return s, err == nil
}

// Received is a job that came from another chat, as its new owner's. A chair that they
// had in it ends: nobody checks their own measure.
func (j Job) Received(owner Who) Job {
	former := slices.DeleteFunc(append(slices.Clone(j.Former), j.Owner.Chat), func(c int64) bool { return c == owner.Chat })
	slices.Sort(former)
	j.Former, j.Handing = slices.Compact(former), nil
	owner.Role = Fitter
	j.Owner = owner
	j.Shares = slices.Clone(j.Shares)
	for i := range j.Shares {
		if s := &j.Shares[i]; s.UsedBy == owner.Chat {
			s.Revoked = true
		}
	}
	j.meet(owner)
	return j
}

// Note is what is left of a job that is in another chat.
func (j Job) Note() Job {
	h := *j.Handing
	h.There, h.Asked, h.Kept = true, false, nil
	return Job{Version: j.Version, Ref: j.Ref, Owner: Who{Chat: j.Owner.Chat, Role: Fitter}, Began: j.Began, Former: j.Former, Hands: j.Hands, Handing: &h}
}

// Chairs are the chats that have a chair in the job, each once, and the links of it that
// nobody has used yet.
func (j Job) Chairs() (chats []int64, unused []Share) {
	for _, s := range j.Shares {
		switch {
		case s.Revoked:
		case s.UsedBy == 0 && s.Role != Fitter:
			unused = append(unused, s)
		case s.UsedBy != 0 && !slices.Contains(chats, s.UsedBy):
			chats = append(chats, s.UsedBy)
		}
	}
	return chats, unused
}

// Named is the chat of somebody with a chair whose name, or first name, that is; 0 for
// none, or several.
func (j Job) Named(is func(name string) bool) (found int64) {
	for _, s := range j.Shares {
		if s.UsedBy == 0 || s.Revoked || s.UsedBy == found || !is(cmp.Or(s.Name, j.People[s.Person])) {
			continue
		}
		if found != 0 {
			return 0
		}
		found = s.UsedBy
	}
	return found
}
