package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/phrase"
)

// joinGroup takes somebody who has no job open into the job of the group, which is the
// one that was begun first, as long as that is not handed over; unless they asked for
// something that has nothing to do with a job. The window at hand goes into it.
func (t *turn) joinGroup(in Input) {
	if t.shared == "" || t.Ref != "" || t.Job == nil || t.Job.Ref != t.shared {
		return
	}
	if t.guest() || t.link != nil || in.Kind != Typed && in.Kind != Photo || t.asksElse(in.Text) {
		t.Job = nil
		return
	}
	complete := t.answered() && t.done()
	t.Ref = t.shared
	t.keepHouse()
	t.keepPlace()
	t.say(phrase.Of("group.joined").Saying("ref", t.Ref).Saying("name", cut(seenOf(t.Job.Owner.Name))))
	switch {
	case complete:
		t.review()
	case !t.started() && !isWord(t, "new", strings.TrimPrefix(in.Text, "/")):
		t.begin()
		t.sayKept()
	}
}

// keepPlace takes the nation and the day of the work from the open job, for somebody who
// has said neither.
func (t *turn) keepPlace() {
	if len(t.Job.Openings) == 0 {
		return
	}
	o, ok := t.Job.Find(t.Job.Openings[len(t.Job.Openings)-1].ID)
	if !ok {
		return
	}
	k := o.Known()
	for _, key := range []string{"nation", "date"} {
		if k.Has(key) && !slices.ContainsFunc(t.Kept, func(ans Answer) bool { return ans.Key == key }) {
			t.Kept = append(t.Kept, Answer{Key: key, Value: k.Value(key)})
		}
	}
}

// letGroupGo forgets the job of the group for somebody who has none open, once there is
// nothing more to be done for it here: then the next is the group's.
func (t *turn) letGroupGo() {
	switch {
	case t.shared == "" || t.Ref != "":
	case t.Job == nil:
		t.shared = ""
	case t.Job.Ref == t.shared && (t.Job.Handing != nil || over(*t.Job)):
		t.shared, t.Job = "", nil
	}
}

// asksElse says whether a text is a command that needs no job of the chat's, or asks for
// another.
func (t *turn) asksElse(text string) bool {
	code, rest, ok := words().Match(t.lang(), "command", strings.TrimPrefix(strings.TrimSpace(text), "/"))
	switch {
	case !ok:
		return false
	case code == "job":
		return rest != ""
	}
	c := findCommand(code)
	return code != "new" && code != "list" && (c == nil || !c.own())
}
