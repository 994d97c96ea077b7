package dialog

import (
	"fmt"
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/opening"
)

// schema is the version of State that this program writes.
const schema = 1

// skipped is the stored value of a question that the person passed over.
const skipped = opening.Skipped

// Answer is one answer as it is stored: a choice's code, a length in mm, a
// date, or skipped.
type Answer struct {
	Key   string
	Value string
	// Sure is set when the answer was questioned and confirmed; it is then
	// believed.
	Sure bool
}

// MarshalText writes KEY=VALUE, or KEY=!VALUE for a sure answer: a stored
// conversation has to stay small.
func (a Answer) MarshalText() ([]byte, error) {
	between := "="
	if a.Sure {
		between = "=!"
	}
	return []byte(a.Key + between + a.Value), nil
}

// UnmarshalText reads what MarshalText wrote.
func (a *Answer) UnmarshalText(text []byte) error {
	key, value, ok := strings.Cut(string(text), "=")
	if !ok {
		return fmt.Errorf("stored answer %q has no =", key)
	}
	a.Key = key
	a.Value, a.Sure = strings.CutPrefix(value, "!")
	return nil
}

// Doubt is one thing that must be settled before the conversation goes on.
type Doubt struct {
	Key    string   `json:"k"`           // the answer in doubt
	Why    string   `json:"w"`           // unit, swap, outlier or figure
	Given  string   `json:"g"`           // as typed, or the value in mm
	Others []string `json:"o,omitempty"` // the other values it may have been, in mm
	Rest   string   `json:"r,omitempty"` // what of the message is still to be taken
	Rests  []string `json:"s,omitempty"` // the same for each of Others, where they differ
}

// State is one chat's conversation. It is stored as JSON, so the names are
// short. The open question is not in it: it follows from the answers.
type State struct {
	Version int    `json:"v"`
	Lang    string `json:"l,omitempty"` // chosen by the person
	Unit    string `json:"u,omitempty"` // of a bare number; "" for mm
	Zone    string `json:"y,omitempty"` // of the reader's clock; "" for homeZone
	Conv    int    `json:"c"`           // which survey of this chat; older buttons are stale
	Seen    int64  `json:"t,omitempty"` // when the person last wrote, Unix seconds

	Answers []Answer `json:"a,omitempty"` // in the order they were given
	Kept    []Answer `json:"k,omitempty"` // what is asked once for the chat
	Before  []Answer `json:"r,omitempty"` // what is mostly as in the window before
	Undo    []Answer `json:"z,omitempty"` // the answers before the last cancel, new, change or edit
	UndoOf  int      `json:"w,omitempty"` // the opening of UndoRef that they are of; 0: a new one
	UndoRef string   `json:"o,omitempty"` // the job that was open

	Doubt      *Doubt `json:"d,omitempty"`
	Change     string `json:"i,omitempty"` // the answer being changed, until a new one is there
	Asking     string `json:"q,omitempty"` // an optional question that was opened on request
	Fails      int    `json:"f,omitempty"` // failures in a row on the open question
	FigureKept bool   `json:"g,omitempty"` // readings that don't close were kept on purpose

	// Told marks the warnings that were said of the window at hand.
	Told []string `json:"x,omitempty"`

	// Crew is what the crew set, by the key of its setting, and Set what the
	// window at hand goes by: one that is kept in a job keeps its own.
	Crew []Answer `json:"h,omitempty"`
	Set  []Answer `json:"n,omitempty"`

	Own     []string `json:"b,omitempty"` // the chat's own jobs, by reference, the newest last
	Ref     string   `json:"j,omitempty"` // the job that is open, the chat's own
	Editing int      `json:"e,omitempty"` // the opening of it that the survey is of; 0: a new one
	Seats   []Seat   `json:"p,omitempty"` // chairs in other chats' jobs
	Second  *Measure `json:"m,omitempty"` // a second measure under way

	// Job is the record of Ref. It is stored by itself: the engine
	// loads it before Step and stores it after Step when it is another one.
	Job *job.Job `json:"-"`
}

// Measure is a second measure under way: whose, of which opening, and the
// answers of the survey that waits meanwhile.
type Measure struct {
	Ref     string   `json:"r"`
	Opening int      `json:"i"`
	Name    string   `json:"n,omitempty"`
	Waiting []Answer `json:"w,omitempty"`
}

// answers is what the answers and the settings make known.
func (s State) answers() *opening.Known {
	entries := make([]opening.Entry, 0, len(s.Answers)+len(s.Set))
	for _, ans := range s.Answers {
		entries = append(entries, opening.Entry{Act: opening.Set, Key: ans.Key, Value: ans.Value})
	}
	return known(entries, s.Set)
}

// known is what entries make known together with a crew's settings.
func known(entries []opening.Entry, crew []Answer) *opening.Known {
	for _, set := range crew {
		entries = append(entries, opening.Entry{Act: opening.Set, Key: opening.CrewPrefix + set.Key, Value: set.Value})
	}
	k := opening.Record{Entries: entries}.Known()
	return &k
}

// record puts an answer at the end, in place of an earlier one to the same
// question. The list is copied so that the caller's state stays as it was.
func (s *State) record(ans Answer) {
	list := slices.DeleteFunc(slices.Clone(s.Answers), func(old Answer) bool { return old.Key == ans.Key })
	s.Answers = append(list, ans)
	if q := find(ans.Key); q != nil && q.Scope == opening.House {
		kept := slices.DeleteFunc(slices.Clone(s.Kept), func(old Answer) bool { return old.Key == ans.Key })
		s.Kept = append(kept, Answer{Key: ans.Key, Value: ans.Value})
	}
	if isReading(ans.Key) {
		s.FigureKept = false
	}
}

// drop takes answers out and says which of the keys had one.
func (s *State) drop(keys ...string) []string {
	var gone []string
	s.Answers = slices.DeleteFunc(slices.Clone(s.Answers), func(ans Answer) bool {
		if !slices.Contains(keys, ans.Key) {
			return false
		}
		gone = append(gone, ans.Key)
		return true
	})
	return gone
}

// noteBefore keeps what the next window is offered as an answer.
func (s *State) noteBefore() {
	var list []Answer
	for _, ans := range s.Answers {
		if q := find(ans.Key); q != nil && q.is(opening.Repeats) {
			list = append(list, Answer{Key: ans.Key, Value: ans.Value})
		}
	}
	if list != nil {
		s.Before = list
	}
}

// begin starts a new survey that keeps what is asked once for the chat.
func (s *State) begin() {
	s.Conv++
	s.Editing, s.Told = 0, nil
	s.noteBefore()
	s.Answers = slices.Clone(s.Kept)
	s.Doubt, s.Asking, s.Change, s.Fails, s.FigureKept = nil, "", "", 0, false
	s.Set = slices.Clone(s.Crew)
}

// remember keeps the survey at hand for undo.
func (s *State) remember() { s.Undo, s.UndoOf, s.UndoRef = s.Answers, s.Editing, s.Ref }
