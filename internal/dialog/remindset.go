package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// remindPress begins the data of a button that switches reminders: r1:off:delivery.
const remindPress = "r1:"

func remindButton(do talk.RemindDo, what job.Matter) Button {
	label := phrase.Of("button.remind.off." + string(what))
	if do == talk.RemindOn {
		label = phrase.Of("button.remind.on." + string(what))
	}
	return Button{Label: label, Data: remindPress + string(do) + ":" + string(what)}
}

// allReminders stands for all of them in what is typed and on buttons.
const allReminders = "all"

// remindersCommand says what the chat is reminded of, or switches it.
func remindersCommand(t *turn, text string) {
	set := talk.RemindSet{Do: talk.RemindShow}
	if text != "" {
		do, what, _ := strings.Cut(text, " ")
		set.Do, set.What = talk.RemindDo(do), job.Matter(what)
		if what == allReminders {
			set.What = ""
		}
		known := set.What == "" || slices.Contains(job.Reminded, set.What)
		if !known || set.Do != talk.RemindOff && set.Do != talk.RemindOn {
			t.say(phrase.Of("reminders.how"))
			return
		}
	}
	if t.group { // they are the group's, which has a conversation of its own
		t.post(Mail{To: t.chat, Set: &set})
		t.quiet = true
		return
	}
	t.setReminders(set)
}

// pressReminders takes a button that switches them.
func (t *turn) pressReminders(data string) (done bool) {
	set, ok := strings.CutPrefix(data, remindPress)
	if ok {
		remindersCommand(t, strings.Replace(set, ":", " ", 1))
	}
	return ok
}

// setReminders does what somebody said of the reminders, and says how they are now.
func (t *turn) setReminders(set talk.RemindSet) {
	var r reminders
	if t.Reminders != nil {
		r = *t.Reminders
	}
	off := slices.DeleteFunc(slices.Clone(r.Off), func(m job.Matter) bool { return set.What == "" || m == set.What })
	switch {
	case set.Do == talk.RemindZone:
		t.Zone = set.Zone
		return
	case set.Do == talk.RemindShow:
		off = r.Off
	case set.Do == talk.RemindOff && set.What == "":
		off = slices.Clone(job.Reminded)
	case set.Do == talk.RemindOff:
		off = append(off, set.What)
	}
	if r.Off = off; set.Do != talk.RemindShow {
		t.Reminders = &r
	}
	line := r.line()
	if line.Key == "reminders.on" { // when they come is said below
		line = phrase.Of("reminders.on.here")
	}
	if t.say(line); len(off) < len(job.Reminded) {
		t.say(phrase.Of("reminders.when").Saying("zone", t.zone()))
	}
	for _, what := range job.Reminded {
		do := talk.RemindOff
		if slices.Contains(off, what) {
			do = talk.RemindOn
		}
		t.buttons = append(t.buttons, []Button{remindButton(do, what)})
	}
}

// showJob shows a job that a reminder names: the chat's own is opened, of another the
// owner says what waits.
func showJob(t *turn, a Ask) {
	if t.Job != nil && t.Job.Ref == a.Ref {
		openJob(t, a.Ref)
		return
	}
	t.quiet = true
	t.askOwner(Ask{Do: "show", Ref: a.Ref})
}
