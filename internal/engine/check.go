package engine

import (
	"encoding/json"
	"errors"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/session"
)

// CheckRecord opens the data of a stored record as a turn would, without a turn. The
// error is session.ErrNewer for one of a later program, else session.ErrBroken.
func CheckRecord(r session.Record) error {
	var err error
	switch r.Kind {
	case "conversation":
		var s dialog.State
		if err = json.Unmarshal(r.Data, &s); s.Newer() {
			return session.ErrNewer
		}
	case "head":
		_, err = job.Stored{Head: r.Data}.Decode()
	case "window":
		err = json.Unmarshal(r.Data, &job.Opening{})
	case "reply":
		err = json.Unmarshal(r.Data, &Message{})
	case "update":
		err = json.Unmarshal(r.Data, &Update{})
	}
	switch {
	case err == nil:
		return nil
	case errors.Is(err, job.ErrNewer):
		return session.ErrNewer
	}
	return session.ErrBroken
}

// GoesLate says whether a reply or an update that was set aside is still to be carried
// out: letters and what the engine itself does. What a person reads or typed is too late.
func GoesLate(r session.Record) bool {
	var m Message
	var u Update
	switch r.Kind {
	case "reply":
		return json.Unmarshal(r.Data, &m) == nil && !m.Reply.Spoken()
	case "update":
		return json.Unmarshal(r.Data, &u) == nil && !u.Input.ByPerson()
	}
	return false
}
