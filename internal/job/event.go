package job

import (
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/phrase"
)

// EventKind says what happened. The sentence is "job.event." + EventKind.
type EventKind string

// The kinds of event.
const (
	OpeningAdded    EventKind = "added"
	OpeningCopied   EventKind = "copied"
	OpeningChanged  EventKind = "changed"
	OpeningDeleted  EventKind = "deleted"
	OpeningRestored EventKind = "restored"
	Labelled        EventKind = "labelled"
	Addressed       EventKind = "addressed"
	AddressShared   EventKind = "address_shared"
	AddressHidden   EventKind = "address_hidden"
	ContactNoted    EventKind = "contact"
	ContactShared   EventKind = "contact_shared"
	ContactHidden   EventKind = "contact_hidden"
	NamesShared     EventKind = "names_shared"
	NamesHidden     EventKind = "names_hidden"
	PhotosShared    EventKind = "photos_shared"
	PhotosHidden    EventKind = "photos_hidden"

	CheckAsked       EventKind = "check_asked"
	CheckWithdrawn   EventKind = "check_withdrawn"
	CheckedDeleted   EventKind = "checked_deleted"  // an opening that the lead was asked to check
	CheckedRestored  EventKind = "checked_restored" // and is asked again
	FiguresOpened    EventKind = "figures_opened"
	ReadingsAgree    EventKind = "readings_agree"
	ReadingsDiffer   EventKind = "readings_differ"
	MeasuredBeside   EventKind = "measured_beside"   // by one lead, to another who has not seen figures
	MeasureAgrees    EventKind = "measure_agrees"    // one more measure, with what is signed
	SignatureDoubted EventKind = "signature_doubted" // one more measure differs from what is signed
	MeasureKept      EventKind = "measure_kept"      // it came while nobody waited for it
	ReadingSettled   EventKind = "settled"           // one reading, with its value
	ReadingAgain     EventKind = "measure_again"     // one reading is to be measured again
	AllSettled       EventKind = "all_settled"       // the last reading, with its value
	FiguresSigned    EventKind = "signed"
	SignatureVoid    EventKind = "signature_void"

	OrderSent      EventKind = "order_sent"    // revision A
	OrderRevised   EventKind = "order_revised" // revision B and on, with what changed
	OrderHeld      EventKind = "order_held"    // an opening was changed, so the revision no longer stands
	LineDeleted    EventKind = "line_deleted"  // an opening was deleted, so the revision no longer stands
	LineTakenBack  EventKind = "taken_back"    // an opening is to be measured again, so the revision no longer stands
	LineConfirmed  EventKind = "line_confirmed"
	LinesConfirmed EventKind = "lines_confirmed" // several at once, others are open
	OrderConfirmed EventKind = "order_confirmed" // every line
	LinesTold      EventKind = "lines_told"      // confirmed as somebody was told
	LinesUntold    EventKind = "lines_untold"    // and are not after all
	LineQueried    EventKind = "queried"
	QueryAnswered  EventKind = "answered"
	QueryWithdrawn EventKind = "query_withdrawn"
	LineRenamed    EventKind = "line_renamed"   // nothing else of it was changed
	OrderStands    EventKind = "order_stands"   // nothing differs from the revision, so it is no longer held
	LinePromised   EventKind = "promised"       // a date, a price or both
	LinesPromised  EventKind = "lines_promised" // of several, in an answer file
	WordsKept      EventKind = "words_kept"     // what the supplier says of lines in an answer file

	StepTaken     EventKind = "step"
	StepBack      EventKind = "step_back"
	FrameRejected EventKind = "rejected"
	HandedOver    EventKind = "handed_over"
	FaultFound    EventKind = "fault" // a frame is no good, and a remake of it is on the list

	RulesMoved EventKind = "rules_moved" // newer rules make another size or line of what was told

	CustomerAgreed   EventKind = "customer_agreed" // Due: the day
	CustomerVoid     EventKind = "customer_void"   // what they saw is another now
	CustomerWithdrew EventKind = "customer_withdrew"
	CustomerQuoted   EventKind = "customer_quoted"

	ShareGranted EventKind = "share_granted"
	ShareUsed    EventKind = "share_used"
	ShareRevoked EventKind = "share_revoked"
)

// whom says which chairs an event is for. Who did it is told too when the
// chair is in the list: the lead and the desk only learn from it that their
// answer was taken. Events of shares name their chats themselves.
var whom = map[EventKind][]Role{
	OpeningAdded: {Fitter}, OpeningCopied: {Fitter}, OpeningChanged: {Fitter}, OpeningDeleted: {Fitter}, OpeningRestored: {Fitter},
	Labelled: {Fitter}, Addressed: {Fitter}, ContactNoted: {Fitter}, ContactShared: {Fitter, Desk}, ContactHidden: {Fitter, Desk},
	AddressShared: {Fitter, Lead, Desk}, AddressHidden: {Fitter, Lead, Desk},
	NamesShared: {Fitter, Lead, Desk}, NamesHidden: {Fitter, Lead, Desk},
	PhotosShared: {Fitter, Lead, Desk}, PhotosHidden: {Fitter, Lead, Desk},

	CheckAsked: {Fitter, Lead}, CheckWithdrawn: {Fitter, Lead},
	CheckedDeleted: {Fitter, Lead}, CheckedRestored: {Fitter, Lead},
	FiguresOpened: {Lead}, ReadingsAgree: {Fitter, Lead}, ReadingsDiffer: {Fitter, Lead},
	MeasuredBeside: {Lead}, MeasureAgrees: {Fitter, Lead}, MeasureKept: {Fitter, Lead}, SignatureDoubted: {Fitter, Lead},
	ReadingSettled: {Fitter, Lead}, ReadingAgain: {Fitter, Lead}, AllSettled: {Fitter, Lead},
	FiguresSigned: {Fitter, Lead}, SignatureVoid: {Fitter, Lead},

	OrderSent: {Fitter, Desk}, OrderRevised: {Fitter, Desk}, OrderHeld: {Fitter, Desk}, LineDeleted: {Fitter, Desk}, LineTakenBack: {Fitter, Desk},
	LineConfirmed: {Fitter, Desk}, LinesConfirmed: {Fitter, Desk}, OrderConfirmed: {Fitter, Desk},
	LineQueried: {Fitter, Desk}, QueryAnswered: {Fitter, Desk}, QueryWithdrawn: {Fitter, Desk},
	LinesTold: {Fitter, Lead, Desk}, LinesUntold: {Fitter, Lead, Desk},
	LineRenamed: {Fitter, Desk}, OrderStands: {Fitter, Desk}, LinePromised: {Fitter, Desk}, LinesPromised: {Fitter, Desk}, FrameRejected: {Fitter, Desk}, WordsKept: {Fitter, Lead},

	StepTaken: {Fitter}, StepBack: {Fitter}, HandedOver: {Fitter}, FaultFound: {Fitter, Lead},
	RulesMoved: {Fitter}, CustomerAgreed: {Fitter}, CustomerVoid: {Fitter}, CustomerWithdrew: {Fitter}, CustomerQuoted: {Fitter},
	ShareGranted: {Fitter},
}

// figured are the events that tell of figures: a lead who has not seen those of
// the opening hears nothing of them.
var figured = []EventKind{FiguresOpened, ReadingsAgree, ReadingsDiffer, MeasureAgrees, ReadingSettled, ReadingAgain, AllSettled}

// Recipient is a chat that is told of an event, and the chair it is told in.
type Recipient struct {
	Chat int64 `json:"chat"`
	Role Role  `json:"role"`
}

// Event is one thing that happened, once. Seq numbers the events of a job, so
// that the reference, Seq and the chat together name one message.
type Event struct {
	Seq      int                        `json:"seq"`
	Kind     EventKind                  `json:"kind"`
	Ref      string                     `json:"ref"`
	At       time.Time                  `json:"at"`
	By       Role                       `json:"by"`
	To       []Recipient                `json:"to,omitempty"` // each chat once
	Openings []int                      `json:"openings,omitempty"`
	Reading  string                     `json:"reading,omitempty"` // width.top, … of a settled one
	Figures  map[string]decimal.Decimal `json:"figures,omitempty"`
	Words    map[string]string          `json:"words,omitempty"` // catalogue keys
	Say      map[string]string          `json:"say,omitempty"`   // people's own words
	Changes  []Change                   `json:"changes,omitempty"`
	Due      string                     `json:"due,omitempty"` // a day, 2006-01-02, for the edge to write
}

// Text is the event in words. Its changes are not in it, and the day in the
// place "due" is as stored: the edge may put another text there.
func (e Event) Text() phrase.Text {
	key := "job.event." + string(e.Kind)
	if e.Kind == LinePromised {
		key = "job.event.promised." + e.promise()
	}
	if _, some := e.Figures["pieces"]; some && e.Kind != FaultFound {
		key = "job.pieces." + string(e.Kind)
	}
	if e.Say["kept"] != "" {
		key = "job.event.kept." + string(e.Kind)
	}
	if e.ofMany() {
		key = "job.many." + string(e.Kind)
	}
	t := phrase.Filled(key, e.Figures, e.Words)
	t.Say = e.Say
	return t.Saying("ref", e.Ref).Saying("due", e.Due).Word("by", "role."+string(e.By))
}

// ofMany says whether the event tells of several windows in a sentence of its own.
func (e Event) ofMany() bool {
	return e.Say["numbers"] != "" && e.Kind != CheckAsked && e.Kind != HandedOver
}

// Reached is the state that the step of an event led to, "" where it was none.
func (e Event) Reached() State {
	state, ok := strings.CutPrefix(e.Words["state"], "job.state.")
	if !ok {
		return ""
	}
	return State(state)
}

// promise says which of day and price a LinePromised holds.
func (e Event) promise() string {
	_, priced := e.Figures["price"]
	switch {
	case e.Due == "":
		return "price"
	case priced:
		return "both"
	}
	return "day"
}

// plain tells of one opening and says nothing more.
func plain(kind EventKind) func(Opening) Event {
	return func(o Opening) Event { return about(kind, o) }
}

// about is an event of one opening.
func about(kind EventKind, o Opening) Event {
	return Event{Kind: kind, Openings: []int{o.ID}, Say: map[string]string{"name": o.Name}}
}

func (e Event) num(name string, n int) Event { return e.figure(name, decimal.NewFromInt(int64(n))) }

func (e Event) figure(name string, d decimal.Decimal) Event {
	e.Figures = with(e.Figures, name, d)
	return e
}

func (e Event) word(name, key string) Event {
	e.Words = with(e.Words, name, key)
	return e
}

func (e Event) say(name, words string) Event {
	e.Say = with(e.Say, name, words)
	return e
}
