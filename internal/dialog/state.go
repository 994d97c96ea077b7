package dialog

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sillbot/internal/hear"
	"sillbot/internal/job"
	"sillbot/internal/opening"
)

// schema is the version of State that this program writes.
// In the first one the
// answers were kept as a list, and those of a window of a job beside its record.
const (
	schema      = 2
	firstSchema = 1
)

// skipped is the stored value of a question that the person passed over.
const skipped = opening.Skipped

// Answer is one answer as it is stored: a choice's code, a length in mm, a
// date, or skipped.
type Answer struct {
	Key   string
	Value string
	// Sure is set when the answer was questioned and confirmed; it is then
	// believed.
	Sure  bool
	Typed string // as the person wrote it, where that says more; not stored here
	// Assumed is set when nobody knew and the safe value was taken; not stored here.
	Assumed bool
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
	Msg    int64    `json:"m,omitempty"` // the message that brought it up; 0: not known
}

// State is one chat's conversation. It is stored as JSON, so the names are
// short. The open question is not in it: it follows from the answers.
type State struct {
	Version int    `json:"v"`
	Phone   *phone `json:"ph,omitempty"` // stays the second, see Account; nil: the person has one account
	Lang    string `json:"l,omitempty"`  // chosen by the person
	Unit    string `json:"u,omitempty"`  // of a bare number; "" for mm
	Zone    string `json:"y,omitempty"`  // of the reader's clock; "" for homeZone
	Conv    int    `json:"c"`            // which survey of this chat; older buttons are stale
	Seen    int64  `json:"t,omitempty"`  // when the person last wrote, Unix seconds

	Turn int `json:"tn,omitempty"` // how many turns there were: what is said in one is one act

	Hand opening.Record `json:"rec,omitzero"`   // what was said of a window that is in no job
	Was  *place         `json:"s,omitempty"`    // what was at hand before the last new, edit or cancel
	New  bool           `json:"new,omitempty"`  // nothing was said since then
	Gone bool           `json:"gone,omitempty"` // a window was deleted, and nothing said since
	Old  bool           `json:"old,omitempty"`  // of the first schema: Hand is newer than the window of the job
	Kept []Answer       `json:"k,omitempty"`    // what is asked once for the chat
	// Before is what is mostly as in the window before.
	Before []Answer `json:"r,omitempty"`

	// Proposed waits for a yes.
	Proposed *Proposal `json:"pr,omitempty"`

	Doubt   *Doubt `json:"d,omitempty"`
	Change  string `json:"i,omitempty"`  // the answer being changed, until a new one is there
	Asking  string `json:"q,omitempty"`  // an optional question that was opened on request
	Fails   int    `json:"f,omitempty"`  // failures in a row on the open question
	FailMsg int64  `json:"fm,omitempty"` // the message that failed last
	Aside   string `json:"as,omitempty"` // what was asked besides the open question, in the last message
	// Clearing is what was said so far of what a qualified person said, while it is asked for.
	Clearing *opening.Cleared `json:"cl,omitempty"`
	Items    bool             `json:"it,omitempty"` // what the maker needs is being asked
	Day      *dayTask         `json:"dy,omitempty"` // the part of the fitting day that is being asked; nil: none
	// FigureKept: readings that don't close were kept on purpose. It is read of states of
	// before; now what was kept is confirmed in the record.
	FigureKept bool `json:"g,omitempty"`
	// Same: the readings of the window that this one was copied from are kept, and not
	// asked for here.
	Same bool `json:"sm,omitempty"`

	// Told marks what was said once for the whole job or a room, ToldOf is that job;
	// ToldAt is the last entry of the record at hand when its answer was said.
	Told   []string `json:"x,omitempty"`
	ToldOf string   `json:"xo,omitempty"`
	ToldAt int      `json:"xa,omitempty"`

	// Crew is what the crew set, by the key of its setting. A window keeps what
	// was set when it was begun.
	Crew []Answer `json:"h,omitempty"`

	Own     []string `json:"b,omitempty"`  // the chat's own jobs, by reference, the newest last
	Ref     string   `json:"j,omitempty"`  // the job that is open, the chat's own
	Editing int      `json:"e,omitempty"`  // the window of it that is at hand; 0: none, see Hand
	Seats   []Seat   `json:"p,omitempty"`  // chairs in other chats' jobs
	Stood   []Seat   `json:"ps,omitempty"` // chairs lost, where words of the person stay until forget
	Second  *Measure `json:"m,omitempty"`  // a second measure under way
	Listed  *listed  `json:"lp,omitempty"` // the page of a list that was shown last

	// Sure is the question whether to forget everything; nil: it was not asked.
	Sure *Sure `json:"fg,omitempty"`

	// Putting is the question whether to put somebody out of the bot; nil: it was not asked.
	Putting *Putting `json:"po,omitempty"`

	// Shots are photos of which nobody said yet of which window they are; Shot is the one
	// that came last.
	Shots []waitingPhoto `json:"sw,omitempty"`
	Shot  *lastPhoto     `json:"sh,omitempty"`
	// Album is the one of which it was said last that it can't be kept or read.
	Album string `json:"al,omitempty"`

	// Missed is what could not be sent here of late; nil: nothing.
	Missed *Missed `json:"ms,omitempty"`

	// Reminders is what the chat is reminded of, and was; nil: of all, and nothing yet.
	Reminders *reminders `json:"rm,omitempty"`
	// Topic is where in a group the person wrote last; 0: in none. Shared is, in the group's
	// own conversation, the job of the group.
	Topic  int64  `json:"tp,omitempty"`
	Shared string `json:"gj,omitempty"`

	// Job is the record of Ref. It is stored by itself: the engine
	// loads it before Step and stores it after Step when it is another one.
	Job *job.Job `json:"-"`
}

// Measure is a second measure under way: whose, of which opening, and what was
// at hand before it. Its readings are in Hand.
type Measure struct {
	Ref     string         `json:"r"`
	Opening int            `json:"i"`
	Name    string         `json:"n,omitempty"`
	Waiting opening.Record `json:"h,omitzero"`
}

// dayTask is the part of the fitting day that is being asked: of which window.
type dayTask struct {
	Ref    string `json:"j"`
	Window int    `json:"e"`
	Part   string `json:"p,omitempty"` // "": it is done with
	Fails  int    `json:"f,omitempty"`
	Done   string `json:"d,omitempty"`  // the part that was done with last
	Told   bool   `json:"t,omitempty"`  // what is to be put right was said
	More   []int  `json:"m,omitempty"`  // windows that the part is asked of afterwards
	Last   int    `json:"l,omitempty"`  // the window of which something else was said last; 0: none
	Also   []int  `json:"al,omitempty"` // further windows of which it was said in the same message
}

// Sure is a question whether to forget: its number and when it was asked, Unix seconds.
type Sure struct {
	Code int   `json:"n"`
	At   int64 `json:"t"`
}

// sureFor is how long a yes to a question that asks first, whether to forget or to put somebody out, is taken. Common
// practice, no source.
const sureFor = 10 * time.Minute

// Putting is the question whether to put somebody out.
type Putting struct {
	Number int   `json:"n"`
	At     int64 `json:"t"` // Unix seconds
}

// Missed is what could not be sent to the chat since somebody wrote there.
type Missed struct {
	Count int      `json:"n"`
	Since int64    `json:"s"`           // Unix seconds
	From  []Letter `json:"f,omitempty"` // whose mail it was, each job of each chat once
}

// listed is the page of a list that was shown last.
type listed struct {
	Ref  string `json:"j"`
	Page int    `json:"n"`
}

// place is where the conversation was before it turned to another window.
type place struct {
	Ref    string         `json:"j,omitempty"`
	Window int            `json:"e,omitempty"`
	Hand   opening.Record `json:"r,omitzero"`
}

// inJob says whether a window of the open job is at hand.
func (s State) inJob() bool { return s.Editing != 0 && s.Second == nil }

// elsewhere says whether the window at hand is of a job that this turn is not
// about.
func (s State) elsewhere() bool { return s.inJob() && (s.Job == nil || s.Job.Ref != s.Ref) }

// said is the record at hand.
func (s State) said() opening.Record {
	if !s.inJob() || s.elsewhere() {
		return s.Hand
	}
	o, _ := s.Job.Find(s.Editing)
	return o.Said
}

// known is what is known of what is at hand.
func (s State) known() opening.Known { return *s.fold() }

func (s State) fold() *opening.Known {
	if !s.inJob() || s.elsewhere() {
		return s.Hand.Fold()
	}
	o, _ := s.Job.Find(s.Editing)
	known := o.Known()
	return &known
}

// window is the window of the open job that is at hand.
func (s State) window() (job.Opening, bool) {
	if !s.inJob() || s.elsewhere() {
		return job.Opening{}, false
	}
	return s.Job.Find(s.Editing)
}

// started says whether the person has said anything of what is at hand, or shown it.
func (s State) started() bool { return s.answered() || len(s.said().Photos()) > 0 }

// answered says whether the person has said anything of what is at hand.
func (s State) answered() bool {
	k := s.known()
	return k.Started()
}

// noteBefore keeps what the next window is offered as an answer.
func (s *State) noteBefore() {
	var list []Answer
	k := s.known()
	for _, key := range k.InOrder() {
		if find(key).is(opening.Repeats) {
			list = append(list, Answer{Key: key, Value: k.Value(key)})
		}
	}
	if list != nil {
		s.Before = list
	}
}

// begin turns to a new window, with what is asked once for the chat and the
// crew's settings.
func (s *State) begin() {
	s.Conv++
	s.noteBefore()
	if s.Ref == "" {
		s.Told, s.ToldOf = nil, ""
	}
	s.Editing, s.ToldAt, s.Gone, s.Same, s.Items, s.Day = 0, 0, false, false, false, nil
	s.Doubt, s.Proposed, s.Asking, s.Change, s.Fails = nil, nil, "", "", 0
	s.Hand = opening.Record{}.Put(opening.Stamp{Role: opening.Fitter, At: s.Seen, Turn: s.Turn}, append(s.usual(), s.crewEntries()...)...)
}

// usual is what is asked once for the chat.
func (s State) usual() []opening.Entry {
	var list []opening.Entry
	for _, ans := range s.Kept {
		how := opening.Assumed
		if f := opening.Find(ans.Key); f != nil && f.Is(opening.Maker) {
			how = opening.ForAll
		}
		list = append(list, opening.Entry{Act: opening.Set, Key: ans.Key, Value: ans.Value, How: how})
	}
	certifies := func(ans Answer) bool { return ans.Key == certifiesSetting }
	if i := slices.IndexFunc(s.Crew, certifies); i >= 0 && !slices.ContainsFunc(s.Kept, certifies) {
		list = append(list, opening.Entry{Act: opening.Set, Key: certifiesSetting, Value: s.Crew[i].Value, How: opening.Assumed})
	}
	return list
}

// certifiesSetting is a setting, and the field of the house that it is the usual value of.
const certifiesSetting = "certifies"

// crewEntries are the crew's settings for a window that has none of its own.
func (s State) crewEntries() []opening.Entry {
	var list []opening.Entry
	for _, set := range s.Crew {
		if f := setting(set.Key); f != nil && f.File != "" {
			list = append(list, opening.Entry{Act: opening.Set, Key: f.Key, Value: set.Value, How: opening.Assumed})
		}
	}
	return list
}

// setting is a setting of the crew by the name that it is stored under; nil
// for none.
func setting(name string) *opening.Field { return opening.Find(opening.CrewPrefix + name) }

// Proposal is what was read of a message and waits for a yes, because it can be
// meant otherwise.
type Proposal struct {
	Why   hear.Why   `json:"w"`
	Words string     `json:"t,omitempty"` // those that hold it back
	Ways  [][]Answer `json:"l"`
	Turn  int        `json:"n"`           // marks its buttons
	Msg   int64      `json:"m,omitempty"` // the message that brought it up; 0: not known
}
