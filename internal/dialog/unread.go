package dialog

import (
	"strings"

	"sillbot/internal/talk"
)

// Newer says that a later program wrote the conversation. What it knows and this one
// does not would be lost.
func (s State) Newer() bool { return s.Version > schema }

// Leaving is what becomes of an input when what the chat has stored, or its open job,
// can't be read.
type Leaving string

// What an input can do without them.
const (
	Stays  Leaving = ""      // nothing
	Begins Leaving = "begin" // it begins anew: the step is made without them
	Reads  Leaving = "read"  // it shows what is stored, and changes nothing
)

// Leaves says what an input can do without what can't be read. New, start, cancel and
// forget always work, and so does another job in place of the open one.
func Leaves(s State, in Input) Leaving {
	switch asksFor(s, in) {
	case "new", "start", "cancel", "forget", "job":
		return Begins
	case "mydata":
		return Reads
	}
	return Stays
}

// Removes says that the input takes windows out of the job, for which they need not be
// read.
func Removes(s State, in Input) bool { return asksFor(s, in) == "delete" }

// asksFor is the name of the command that an input asks for, as far as that can be told
// without the conversation; "": none.
func asksFor(s State, in Input) string {
	switch in.Kind {
	case Typed:
		text := strings.TrimSpace(in.Text)
		if after, slash := strings.CutPrefix(text, "/"); slash {
			name, _, _ := strings.Cut(after, " ")
			text, _, _ = strings.Cut(name, "@")
			if findCommand(text) != nil {
				return text
			}
		}
		code, rest, _ := words().Match(s.Lang, "command", text)
		if c := findCommand(code); c != nil && c.meant(rest) {
			return code
		}
	case Pressed:
		place := 3 // 1:CONVERSATION:do:NAME
		if strings.HasPrefix(in.Text, talk.JobPress+":") {
			place = 2
		}
		if parts := strings.Split(in.Text, ":"); len(parts) > place {
			name, _, _ := strings.Cut(parts[place], "=")
			return name
		}
	}
	return ""
}
