package dialog

import (
	"strconv"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/talk"
)

// mailed takes what another chat's conversation sent.
func (t *turn) mailed(m *Mail) {
	t.quiet = true
	switch {
	case m == nil:
		return
	case m.Phone != nil:
		t.phoneMail(m)
		return
	case m.Hand != nil:
		t.handMail(m)
		return
	case m.Ours:
		if m.From == t.chat {
			t.Shared = m.Ref
		}
		return
	case t.Job != nil && t.Job.Ref == m.Ref && t.Job.Handing != nil:
		t.leadOn(m)
		return
	case m.Ask != nil:
		t.asked(m)
		return
	case m.Lost != "":
		t.lost(m)
		return
	case m.Got != 0:
		t.arrived(m)
		return
	case m.Back:
		t.back(m)
		return
	case m.Set != nil && m.From == t.chat:
		t.setReminders(*m.Set)
		return
	}
	if m.Joined != nil && m.Joined.Owner == m.From {
		t.sit(*m.Joined)
	}
	if m.Glance != nil {
		t.noteGlance(m.From, *m.Glance)
	}
	if m.Remind != nil {
		t.owe(m.From, m.Ref, m.Remind)
	}
	if m.Tape != nil {
		holdTape(t, m.From, m.Ref, *m.Tape)
	}
	if seat, ok := t.seat(m.Ref); m.Left && ok && seat.Owner == m.From {
		t.nameReadings(m.Ref)
		t.stand(m.Ref)
	}
	if m.Show != nil {
		shown := *m.Show
		shown.Lang, shown.Open = t.lang(), t.open()
		t.replies = append(t.replies, shown)
		noteShown(t, m)
	}
}

// noteShown tells the owner which figures were shown here with a button to sign
// them. This mail keeps its order with what is typed afterwards, so a sign typed
// before the figures came does not sign them.
func noteShown(t *turn, m *Mail) {
	seat, ok := t.seat(m.Ref)
	if !ok || seat.Owner != m.From || seat.Role != job.Lead {
		return
	}
	shown := map[int]string{}
	for _, row := range m.Show.Buttons {
		for _, b := range row {
			if id, version, ok := signs(b.Data, m.Ref); ok {
				shown[id] = version
			}
		}
	}
	if len(shown) == 0 {
		return
	}
	a := Ask{Who: job.Who{Chat: t.chat, Role: seat.Role}, Do: "shown", Shown: shown}
	t.post(Mail{To: seat.Owner, Ref: m.Ref, Ask: &a})
}

// signs is the opening and the version that the button of a job signs.
func signs(data, ref string) (id int, version string, ok bool) {
	args, ok := strings.CutPrefix(data, talk.JobPress+":"+ref+":sign:")
	first, version, two := strings.Cut(args, ":")
	id, err := strconv.Atoi(first)
	return id, version, ok && two && err == nil
}
