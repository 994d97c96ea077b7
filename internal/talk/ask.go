package talk

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
)

// Ask is one command with its arguments, whether it was typed, pressed or
// mailed by another chat. What has a name in JSON is mailed to a job's owner,
// with who asks, because the owner's record says what they may do.
type Ask struct {
	Who      job.Who          `json:"who"`
	Do       string           `json:"do"` // the name of a row of the table
	Token    string           `json:"token,omitempty"`
	Opening  int              `json:"opening,omitempty"`
	Version  string           `json:"version,omitempty"` // of the figures that are signed
	Revision string           `json:"revision,omitempty"`
	Reading  string           `json:"reading,omitempty"`
	Pick     job.Pick         `json:"pick,omitempty"`
	Value    *decimal.Decimal `json:"value,omitempty"`
	Words    string           `json:"words,omitempty"`
	Due      string           `json:"due,omitempty"`
	Lines    []int            `json:"lines,omitempty"`    // none: every line that waits
	Heard    *job.Heard       `json:"heard,omitempty"`    // of a confirmation off the messenger
	Question int              `json:"question,omitempty"` // its number on the line; 0: the one that is open
	Readings *calc.Readings   `json:"readings,omitempty"`
	Shown    map[int]string   `json:"versions,omitempty"` // opening → version of its figures
	Answers  []job.LineAnswer `json:"answers,omitempty"`  // of an answer file

	Openings []int `json:"openings,omitempty"` // several, instead of Opening
	All      bool  `json:"all,omitempty"`      // every window
	Page     int   `json:"page,omitempty"`     // of a list, from 1

	Ref    string     `json:"-"` // the job; in mail the letter names it
	Sure   bool       `json:"-"` // asked already whether to take it away
	Remake string     `json:"-"` // what a remake is called
	Count  int        `json:"-"`
	Step   job.Action `json:"-"`
}

// Seat is a chair: the role that a chat has in another chat's job.
type Seat struct {
	Ref   string   `json:"r"`
	Role  job.Role `json:"c"`
	Owner int64    `json:"o"` // chat
	// How the job stood when the owner last said, and the days on which frames
	// are due, for the lead's figures at a glance.
	Unsigned    int      `json:"u,omitempty"`
	Unconfirmed int      `json:"n,omitempty"`
	Done        bool     `json:"d,omitempty"`
	Due         []string `json:"t,omitempty"`
	// Lost is since when the owner can't be reached, in Unix seconds; 0: they can.
	Lost int64 `json:"l,omitempty"`
	// Points are what was open by window then, with all days that are due.
	Points []job.OpenPoint `json:"k,omitempty"`
	// Owed is what the chat is to be reminded of, and was not yet.
	Owed []job.Reminder `json:"w,omitempty"`
}

// Glance gives the job's figures as its owner last sent them, with the
// deliveries that are late today, 2006-01-02.
func (s Seat) Glance(today string) job.GlanceJob {
	g := job.GlanceJob{Ref: s.Ref, Open: !s.Done, Unsigned: s.Unsigned, Unconfirmed: s.Unconfirmed}
	for _, due := range s.Due {
		if due < today {
			g.Late = append(g.Late, job.Late{Due: due})
		}
	}
	for _, p := range s.Points {
		if p.Due < today { // it has a day when it is about one
			g.Points = append(g.Points, p)
		}
	}
	return g
}
