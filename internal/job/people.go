package job

import (
	"time"

	"sillbot/internal/opening"
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

// moment is a time as the record keeps it.
func moment(at time.Time) time.Time { return at.UTC().Truncate(time.Second) }

func (w Who) stamp(at time.Time) Stamp {
	name, _ := words(w.Name, longestLabel) // none where it is too long
	return Stamp{Role: w.Role, Name: name, Person: w.Person, At: moment(at)}
}

// writes is the stamp of the entries that who writes.
func (w Who) writes(at time.Time) opening.Stamp {
	return opening.Stamp{By: w.Person, Role: w.Role, At: at.Unix(), Msg: w.Msg, Turn: w.Turn}
}

// stampOf is who wrote an entry.
func stampOf(e *opening.Entry, people map[int64]string) Stamp {
	return Stamp{Role: e.Role, Name: people[e.By], Person: e.By, At: time.Unix(e.At, 0).UTC()}
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

// shown is the stamp for the desk's sheet; nil stays nil.
func (s *Stamp) shown(names bool) *Stamp {
	if s == nil {
		return nil
	}
	out := s.forRole(Desk, names)
	return &out
}

// Share is a link to the job for one chair. The first chat that uses it keeps
// it until it is revoked; Expires is until when it can be used first.
type Share struct {
	Token   string    `json:"token"`
	Role    Role      `json:"role"`
	Expires time.Time `json:"expires"`
	UsedBy  int64     `json:"used_by,omitempty"` // a chat; 0: nobody yet
	// Person is who used it. 0 in a share of before: the chat is private, and has
	// its person's number.
	Person  int64  `json:"person,omitempty"`
	Name    string `json:"name,omitempty"` // theirs
	Revoked bool   `json:"revoked,omitempty"`
	// Lost is since when nothing reaches the chat; zero: it can be reached.
	Lost time.Time `json:"lost,omitzero"`
	// Got is the revision of the order that reached it last; 0: none did.
	Got int `json:"got,omitempty"`
}

// Handing is a job on its way to another chat, or gone there. As long as it is on its
// way the owner's record stays whole, and nobody writes it: the other chat may have it
// already. Once it is there this is all that is left of it, so that letters are led on.
type Handing struct {
	To    int64     `json:"to"` // chat; 0: it is deleted there
	At    time.Time `json:"at"`
	There bool      `json:"there,omitempty"`
	// Asked: the other chat was asked whether it has the job, because it is to stay here
	// if not. Nothing more of it is sent.
	Asked bool `json:"asked,omitempty"`
	// Kept are the letters that came while it was on its way.
	Kept []KeptLetter `json:"kept,omitempty"`
}

// KeptLetter is a letter as it was written, and whose it is.
type KeptLetter struct {
	From int64  `json:"from"` // chat
	Mail string `json:"mail"`
}
