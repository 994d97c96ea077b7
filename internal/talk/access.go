package talk

import "time"

// Standing is as what a person uses a bot that is not open to everybody.
type Standing string

// The standings.
const (
	Owner Standing = "owner" // named where the bot runs
	Mate  Standing = "mate"  // let into the crew
	Guest Standing = "guest" // has a chair in a job, and does nothing else
	Out   Standing = "out"   // was put out, or their time is over
)

// Access is a person's own access, and what is known of everybody's when the input
// asks for it.
type Access struct {
	As      Standing
	Number  int       // in the list; 0: none yet
	Invites bool      // may let others into the crew
	Until   time.Time // the last moment; zero: no end
	Owners  []int64   // the people named where the bot runs
	People  []Person  // by their numbers
	Trail   []Trace   // the newest first
}

// Person is one of the list of who may use the bot.
type Person struct {
	ID      int64
	Number  int
	As      Standing
	Name    string // as they are known; "": not at all
	By      int64  // who let them in, or put them out; 0: nobody knows
	ByName  string
	At      time.Time // when; zero: nobody knows
	Until   time.Time // the last moment; zero: no end
	Invites bool
	Chairs  []Seat // of a guest
}

// Trace is one change of somebody's access.
type Trace struct {
	At     time.Time
	What   What
	By     int64
	ByName string
	Who    int64
	Name   string
	Until  time.Time
	Refs   []string // of jobs
}

// What is a kind of change of somebody's access. It is storage.
type What string

// The kinds.
const (
	CameIn   What = "in"       // into the crew, by a link
	Seated   What = "seated"   // was given a chair as a guest
	Unseated What = "unseated" // lost the last chair
	PutOut   What = "out"
	Ended    What = "ended"   // the job of a guest's chair
	GoesOn   What = "goeson"  // a job that had ended
	Allowed  What = "invites" // may invite
	Forbade  What = "noinvites"
	Dated    What = "until"
	Endless  What = "always"
)

// Change is a change of somebody's access. A nil part stays as it is.
type Change struct {
	Who     int64
	Out     bool
	Invites *bool
	Until   *time.Time // zero: no end
}

// Let says who let whom in, of a chair.
type Let struct {
	Name   string `json:"name,omitempty"` // of who came
	By     int64  `json:"by,omitempty"`
	ByName string `json:"byname,omitempty"`
}
