package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// perform does what is asked to the window, or to each of several.
func (c *command) perform(o op) outcome {
	if !c.each {
		return c.do(o)
	}
	return toEach(o, c.do)
}

// askSure asks before something is taken away from several windows: what goes is
// named, and the button holds no other windows than those that there are now.
func (t *turn) askSure(c *command, a Ask) {
	ids := a.Openings
	if a.All {
		if ids = t.Job.May(c.takes); len(ids) == 0 {
			t.say(phrase.Of("job.sure.none"))
			return
		}
	}
	here := slices.DeleteFunc(slices.Clone(ids), func(id int) bool { return !t.Job.Has(id) })
	if len(here) == 0 {
		t.say(phrase.Of("job.left.none").Saying("numbers", job.Numbers(ids)))
		return
	}
	ids = here
	typed := job.Numbers(ids)
	t.say(phrase.Of("job.sure."+string(c.takes)).WithInt("count", len(ids)).Saying("numbers", typed).WithRow("names", t.namesOf(ids)...))
	data := strings.Join([]string{talk.JobPress, t.Job.Ref, c.name, strings.ReplaceAll(typed, " ", "")}, ":")
	if len(data) <= talk.MostData {
		t.buttons = [][]Button{{{Label: phrase.Of("button.sure."+string(c.takes)).WithInt("count", len(ids)), Data: data}}}
	}
	t.quiet = true
}

// nothingNew says that what was asked has changed nothing.
func (c *command) nothingNew() phrase.Text {
	if c.already != "" {
		return phrase.Of(c.already)
	}
	return phrase.Of("job.already")
}
