package dialog

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// anothers says whether a button stands under a question to somebody else. It says
// itself whose it is; one of before does not, and is known by the message where that is.
func anothers(in Input) bool {
	rest, ok := strings.CutPrefix(in.Text, pressVersion+":")
	if !ok {
		return false // of a job, which is everybody's here
	}
	conv, _, _ := strings.Cut(rest, ":")
	if _, owner, marked := strings.Cut(conv, ownerMark); marked {
		return owner != strconv.FormatInt(in.User, 36)
	}
	return askedAnother(in)
}

// askedAnother says whether the message that is answered, or whose button was pressed,
// asks somebody else.
func askedAnother(in Input) bool {
	return in.Asked != nil && in.Asked.User != 0 && in.Asked.User != in.User
}

// forAnother says that a button is somebody else's, and whose where that is known: of a
// message that went long ago it is not.
func forAnother(asked *Asked) phrase.Text {
	if asked == nil || asked.Name == "" {
		return phrase.Of("group.another")
	}
	return phrase.Of("group.another.named").Saying("name", asked.Name)
}

// addressee is who is to read what is said on what they did in a group.
func addressee(in Input) *talk.Addressee {
	return &talk.Addressee{User: cmp.Or(in.Account, in.User), Name: cut(seenOf(in.Name)), Msg: in.Msg}
}

// address names who a reply is for, in its first line and beside it.
func address(r *Reply, in Input) {
	if !r.Spoken() {
		return
	}
	r.For, r.Topic = addressee(in), in.Topic
	if r.For.Name != "" && r.Text.Key == "message" {
		name := phrase.Of(nameLine).Saying("name", r.For.Name)
		r.Text = phrase.Of("message").WithLines("lines", slices.Insert(slices.Clone(r.Text.Lines["lines"]), 0, name)...)
	}
}

// nameLine is the line of a reply in a group that says who it is for.
const nameLine = "group.for"

// withoutName is the lines of a reply without the one that names who it is for.
func withoutName(lines []phrase.Text) []phrase.Text {
	if len(lines) > 0 && lines[0].Key == nameLine {
		return lines[1:]
	}
	return lines
}

// joinOthers makes one reply of those to two people of a group. The first has no buttons,
// so that those of the next stand under the next's own question, and each of the two is
// named above what is theirs, with their number: the message answers one of them only, and
// the other is to hear of it too.
func joinOthers(first, next Reply) (joined Reply, ok bool) {
	if first.For == nil || next.For == nil || first.For.Name == "" || next.For.Name == "" || len(first.Buttons) > 0 {
		return Reply{}, false
	}
	burst := *next.Burst
	joined = next
	joined.Burst = &burst
	joined.Asks = &Asked{Name: next.For.Name} // either may answer it, and only next has buttons
	joined.Text = phrase.Of("message").WithLines("lines", slices.Concat(called(first), called(next))...)
	return joined, true
}

// called is the lines of a reply, with the number of whoever they name in the place user,
// which no sentence has: a platform calls them by it.
func called(r Reply) []phrase.Text {
	lines := slices.Clone(r.Text.Lines["lines"])
	for i, line := range lines {
		if line.Key == nameLine && line.Num == nil && r.For.User != 0 {
			lines[i] = line.WithInt("user", int(r.For.User))
		}
	}
	return lines
}

// forSeveral says whether a reply was made of those to several people of a group.
func forSeveral(r Reply) bool { return r.For != nil && r.Asks != nil && r.Asks.User == 0 }

// readerOf is who a reply of a group is for; 0: everybody.
func readerOf(r Reply) int64 {
	if r.For == nil {
		return 0
	}
	return r.For.User
}

// over says whether nothing more is to be done for a job.
func over(j job.Job) bool {
	stage := j.Stage()
	return stage == job.Handed || stage == job.Replaced
}

// takesGroup says whether a job that a person begins becomes the job of the group: the
// first does, and then that of who began the one before.
func (t *turn) takesGroup() bool {
	return t.group && (t.shared == "" || t.Job != nil && t.Job.Ref == t.shared && t.Job.Owner.Person == t.user)
}

// shareWithGroup tells the group's own conversation which job is the group's. The engine
// takes it with the commit of the turn, so that who writes next finds it.
func (t *turn) shareWithGroup(ref string) {
	t.shared = ref
	t.mails = append(t.mails, Reply{Lang: t.lang(), Mail: &Mail{From: t.chat, To: t.chat, Ref: ref, Ours: true}})
}
