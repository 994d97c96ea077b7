// Package talk is what passes between people, platforms and the conversation:
// types only. A step takes an Input and gives replies; mail goes from one
// chat's conversation to another's.
package talk

import (
	"encoding/json"
	"slices"
	"time"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// Kind says what arrived.
type Kind string

// The kinds of input.
const (
	Typed   Kind = "typed"   // a text message, commands included
	Pressed Kind = "pressed" // a button; Text is its data
	Edited  Kind = "edited"  // an edit of an earlier message; Text is the new text
	Photo   Kind = "photo"
	File    Kind = "file"  // a document, such as a PDF
	Voice   Kind = "voice" // sound or moving pictures
	Sticker Kind = "sticker"
	Place   Kind = "place"
	Other   Kind = "other"  // anything else that a person sent
	Mailed  Kind = "mailed" // another chat's conversation sent Mail
	// Undelivered: a reply to the chat was given up, or will be, see Lost. Returned:
	// somebody writes again in a group to which some were, or a person let the bot write
	// again.
	Undelivered Kind = "undelivered"
	Returned    Kind = "returned"
	// Moved: a group has another number, and something was written there before
	// that was known.
	Moved Kind = "moved"
	// Added: a person added the bot to the group.
	Added Kind = "added"
	// Due: it is time to look whether there is anything to remind people of.
	Due Kind = "due"
	// Nameless: somebody wrote as the group or as a channel. The engine says what to do; it
	// is no turn of any conversation.
	Nameless Kind = "nameless"
)

// Input is one thing that a person did.
type Input struct {
	Kind Kind
	Text string
	Now  time.Time // when the update was taken
	// Msg is the number of the message in the chat; 0: not known.
	Msg int64
	// Under is the number of the message that a pressed button stands under, and ReplyTo
	// that of the one that is answered; 0: none, or not known.
	Under, ReplyTo int64
	// Asked is what the message answered was about; nil: nobody knows any more. The engine
	// looks it up when the update is taken.
	Asked *Asked
	// Lang is the language that the person's device names, such as "en". It
	// only serves until the person chooses one.
	Lang string

	Chat int64
	User int64
	Name string // what the person calls themself, for stamps that are shared
	// Seed is 32 random bytes, for references and tokens made in this turn.
	Seed  []byte
	Group bool // more than one person writes in the chat
	// Topic is the part of a group that it was written in; 0: the group has none, or it is
	// the general one. GroupJob is the job of the group, "" for none; the engine looks it up.
	Topic    int64
	GroupJob string `json:"-"`
	// Home is the address that opens the bot with a token put after it; "":
	// the platform has none, and tokens are typed.
	Home string
	// Page is the same for the address that opens a page in a browser; "": there are none.
	Page string
	// Ask is what was pressed on such a page, in place of a button's data; nil: nothing.
	Ask *Ask
	// Link is where the token in the text leads, see Token; nil: nowhere.
	Link *Link
	Mail *Mail // of Kind Mailed
	// Table is what a small CSV of Kind File holds, as it came; nil: it is another
	// kind of file. Unfetched: it could not be had.
	Table     []byte
	Unfetched bool
	Shot      *Shot // of Kind Photo and Voice; nil: it has no file that could be sent again
	Spot      *Spot // of Kind Place; nil: none that can be
	// Album is what the messages of one album have in common; "": it came by itself.
	Album string
	Lost  *Lost // of Kind Undelivered
	// Jobs are all that the chat has, of Kind Due.
	Jobs []job.Job `json:"-"`
	// Access is as what the person uses a bot that is not open to everybody; nil: it is
	// open. It is looked up when the update is taken.
	Access *Access `json:"-"`

	// Account is the number of the account that it came from; User is the number that
	// the person has here, which is another one after a new phone. 0: the same.
	Account int64
	// Elsewhere: the person uses another account now.
	Elsewhere bool
}

// ByPerson reports whether a person did it, and not the engine.
func (in Input) ByPerson() bool {
	return in.Kind != Mailed && in.Kind != Undelivered && in.Kind != Returned && in.Kind != Moved && in.Kind != Due && in.Kind != Nameless
}

// Link is where a share's token leads. Whether it still holds is for the
// job's owner to say.
type Link struct {
	Token string   `json:"token"`
	Owner int64    `json:"owner"` // chat
	Ref   string   `json:"ref"`   // of the job
	Role  job.Role `json:"role"`
	// Of a link into the crew: who made it, and until when whoever comes by it is let in,
	// Unix seconds; 0: for good.
	User  int64  `json:"user,omitempty"`
	Name  string `json:"name,omitempty"`
	Until int64  `json:"until,omitempty"`
	// Jobs and Chairs are what a new phone takes over: references.
	Jobs   []string `json:"jobs,omitempty"`
	Chairs []string `json:"chairs,omitempty"`
}

// IntoCrew says whether a link lets a person into the crew.
func (l Link) IntoCrew() bool { return l.Role == Crew }

// ToPhone is the role of a link that takes a person to another account, and Crew of one
// that only admits to the bot, where it is not open to everybody.
const (
	ToPhone job.Role = "phone"
	Crew    job.Role = "crew"
)

// LinkPress begins the data of a button that uses a link: LinkPress:TOKEN.
const LinkPress = "l1"

// Mail goes from one chat's conversation to another's. It is delivered once:
// either it shows a reply there, or it asks the owner of a job for something.
type Mail struct {
	From int64  `json:"from"`
	To   int64  `json:"to"`
	Ref  string `json:"ref,omitempty"`  // the job it is about
	Show *Reply `json:"show,omitempty"` // shown in the language of that chat
	Ask  *Ask   `json:"ask,omitempty"`  // for the owner
	// Joined and Left change which jobs the chat has a chair in.
	Joined *Seat          `json:"joined,omitempty"`
	Let    *Let           `json:"let,omitempty"` // with Joined: who let whom in
	Left   bool           `json:"left,omitempty"`
	Glance *job.GlanceJob `json:"glance,omitempty"` // how the job stands, for the lead
	Tape   *Tape          `json:"tape,omitempty"`   // of a second measure that was begun
	// Order is the revision that Show shows; whoever gets it answers with Got
	// when it was put in front of people. 0: none.
	Order int `json:"order,omitempty"`
	Got   int `json:"got,omitempty"`
	// Lost is why what was sent to From did not arrive; "": it did. Back: From can
	// be reached again.
	Lost Why  `json:"lost,omitempty"`
	Back bool `json:"back,omitempty"`
	// For is who wrote a letter that From leads on, because the job was theirs.
	For  int64 `json:"for,omitempty"`
	Hand *Hand `json:"hand,omitempty"` // about a job that is handed over
	// Ours: Ref is the job of the group, which tells itself so.
	Ours bool `json:"ours,omitempty"`
	// Phone is about the account of a person, see Phone.
	Phone *Phone `json:"phone,omitempty"`
	// Remind is what the chat is to be reminded of in the job. Set is what somebody in a
	// group said of its reminders, to the group's own conversation.
	Remind []job.Reminder `json:"remind,omitempty"`
	Set    *RemindSet     `json:"set,omitempty"`
}

// RemindSet is what somebody said of the reminders of a chat.
type RemindSet struct {
	Do   RemindDo   `json:"do"`
	What job.Matter `json:"what,omitempty"` // to switch; "": all
	Zone string     `json:"zone,omitempty"`
}

// RemindDo says what is to be done about reminders.
type RemindDo string

// What can be done. It is storage.
const (
	RemindOff  RemindDo = "off"
	RemindOn   RemindDo = "on"
	RemindShow RemindDo = "show"
	RemindZone RemindDo = "zone" // by which clock they come
)

// Hand is what goes between the chats of a job that is handed over: to the one that gets
// it the whole job, or whether it has it; back that it has it, or not; and from then on
// to the chairs and to those that had it before where it is, 0 for deleted.
type Hand struct {
	Job   *Whole `json:"job,omitempty"`
	Turn  int    `json:"turn,omitempty"` // of the conversation that the job comes from
	Asked bool   `json:"asked,omitempty"`
	Taken bool   `json:"taken,omitempty"`
	Not   bool   `json:"not,omitempty"`
	To    int64  `json:"to,omitempty"` // chat
	Gone  bool   `json:"gone,omitempty"`
	Hands int    `json:"hands,omitempty"` // see job.Job
}

// Whole is a job as it is stored.
type Whole struct {
	Head  json.RawMessage         `json:"head"`
	Parts map[int]json.RawMessage `json:"parts,omitempty"`
}

// Phone is what two accounts of one person say to each other: the new one shows the
// token, the other answers that it was refused, or that all was forgotten.
type Phone struct {
	Token     string `json:"token,omitempty"`
	Refused   bool   `json:"refused,omitempty"`
	Forgotten bool   `json:"forgotten,omitempty"`
	// Code is a hash of a code that the crew's owner made, which holds until Until, Unix
	// seconds.
	Code  string `json:"code,omitempty"`
	Until int64  `json:"until,omitempty"`
}

// Letter is whose mail a reply shows, or brought about.
type Letter struct {
	From  int64  `json:"from"` // chat
	Ref   string `json:"ref"`
	Order int    `json:"order,omitempty"` // the revision that it shows, see Mail.Order
}

// Why says why a reply was given up.
type Why string

// The reasons.
const (
	Gone    Why = "gone"    // the chat can't be reached: blocked, left, closed
	Late    Why = "late"    // it was tried for too long
	Refused Why = "refused" // the platform does not take this message
	Barred  Why = "barred"  // who has the chat may not use the bot any more
	Left    Why = "left"    // blocked, or put out of the group, and nothing was lost by it yet
)

// Lost is a reply that was given up.
type Lost struct {
	Why Why     `json:"why"`
	Of  *Letter `json:"of,omitempty"` // nil: the bot's own answer, or of nothing, see Left
	// Chairs, of Left, are those of the chat's own jobs: who has one, and of which job. They
	// are looked up when the update is taken.
	Chairs []Letter `json:"-"`
}

// Tape is where to hold the tape at an opening that is measured again.
type Tape struct {
	Opening int    `json:"opening"`
	Name    string `json:"name,omitempty"`
	Sill    bool   `json:"sill,omitempty"` // heights start on the sill, for no sill piece goes on
	Not     bool   `json:"not,omitempty"`  // nobody is to measure it
}

// MostData is how many bytes the data of a button has at the most, and JobPress
// begins that of a button of a job: JobPress:REF:DO:ARGUMENTS.
const (
	MostData = 64
	JobPress = "j1"
)

// Button is one choice under a reply. Data is at most 64 bytes. One without does something
// on the person's own device, where the platform has such buttons; elsewhere it is left
// out, and the words of the reply have the same.
type Button struct {
	Label  phrase.Text `json:"label"`
	Data   string      `json:"data"`
	PassOn string      `json:"pass,omitempty"` // a link to be sent to somebody else
	Copy   string      `json:"copy,omitempty"` // a text to be copied, 256 characters at the most
}

// Picture is a picture to be drawn at the edge: the card of an opening, or a
// sketch of where the tape goes for one reading.
type Picture struct {
	Opening plan.Opening `json:"opening,omitzero"`
	Reading opening.Key  `json:"reading,omitempty"` // "": a card
	// Job is the reference of the job, Glass the make-up of the glass as it was
	// said; empty: none.
	Job   string `json:"job,omitempty"`
	Glass string `json:"glass,omitempty"`
	// Window is the window's number in the job; 0: it is in none. It is not drawn.
	Window int `json:"window,omitempty"`
	// Under: heights start under the old sill, for a new one goes on.
	Under bool `json:"under,omitempty"`
}

// Card is a picture with its caption.
type Card struct {
	Text    phrase.Text `json:"text"`
	Picture Picture     `json:"picture"`
}

// Reply is one message to send, or with More one album.
type Reply struct {
	Text    phrase.Text `json:"text"`
	Lang    string      `json:"lang"`
	Buttons [][]Button  `json:"buttons,omitempty"`
	Picture *Picture    `json:"picture,omitempty"` // with Text as its caption
	// More are pictures that go out together with Picture, ten in all at the most: see Apart.
	More []Card `json:"more,omitempty"`
	// Folded goes under Text in the same message where the platform can fold it and it
	// fits, and else not at all: what it says is had by asking.
	Folded []phrase.Text `json:"folded,omitempty"`
	// Open is the key of the question that is open after this reply; "" when
	// none is.
	Open string `json:"open,omitempty"`

	// Account is where it goes when that is not the account that the person uses now.
	Account int64 `json:"account,omitempty"`

	// Of is the mail that it comes of; nil: of what was done in this chat.
	Of *Letter `json:"of,omitempty"`
	// Burst: it is all that was said on a typed message of a private chat, and may
	// go out as one with its neighbours. nil: it goes out by itself.
	Burst *Burst `json:"burst,omitempty"`

	// For is who of a group is to read it; nil: everybody, or it is no group. Topic is as of
	// Input.
	For   *Addressee `json:"for,omitempty"`
	Topic int64      `json:"topic,omitempty"`

	// Asks is what the reply is about, see Asked; nil: no question of the survey.
	Asks *Asked `json:"asks,omitempty"`
	// Over is the number of the message that it takes the place of, for the person looks
	// at it: the one whose button was pressed; 0: it is a message of its own.
	Over int64 `json:"over,omitempty"`
	// Toast is shown for a moment at the button that was pressed, in place of Text, where
	// the platform can; nil: Text is to stay.
	Toast *phrase.Text `json:"toast,omitempty"`
	// A reply may instead be something for the engine to do, in its
	// order among the others: to bring mail to another chat, or to make a
	// token lead to its job or nowhere.
	Mail   *Mail  `json:"mail,omitempty"`
	Link   *Link  `json:"link,omitempty"`
	Unlink string `json:"unlink,omitempty"`
	// Unlist are links that are another chat's now.
	Unlist []string `json:"unlist,omitempty"`
	// Forget deletes everything held about the chat, or, in a group, about
	// the person; it goes last.
	Forget *Forget `json:"forget,omitempty"`
	// Access changes who may use the bot. The engine does it before the turn is written, so
	// that what is said of it is so; it is not stored.
	Access *Change `json:"-"`
	// Document is a file to be made at the edge, with Text as its caption.
	Document *Document `json:"document,omitempty"`
	// Shots are photos that people sent, to be shown again under Text. Protected: they
	// are not to be passed on or saved, as far as the platform can see to it.
	Shots     []Shot `json:"shots,omitempty"`
	Protected bool   `json:"protected,omitempty"`
}

// LinkOnButton is a reply in which a link that has a button does not stand in the
// sentence as well.
func (r Reply) LinkOnButton() Reply {
	for _, b := range slices.Concat(r.Buttons...) {
		if b.PassOn == "" || r.Text.Lines == nil {
			continue
		}
		lines := slices.Clone(r.Text.Lines["lines"])
		for i, line := range lines {
			if line.Sub["link"].Say["link"] == b.PassOn {
				lines[i] = line.Sub1("link", phrase.Of("link.button"))
			}
		}
		r.Text = r.Text.WithLines("lines", lines...)
	}
	return r
}

// Apart is a reply of several pictures as so many replies, for where they can't go out
// together. What is open and the buttons are with the last; one without More is itself.
func (r Reply) Apart() []Reply {
	more := r.More
	r.More = nil
	list := []Reply{r}
	for _, c := range more {
		last := &list[len(list)-1]
		last.Buttons, last.Open = nil, ""
		list = append(list, Reply{Text: c.Text, Lang: r.Lang, Picture: &c.Picture, Buttons: r.Buttons, Open: r.Open,
			For: r.For, Topic: r.Topic, Protected: r.Protected})
	}
	return list
}

// Addressee is who of a group a reply is for.
type Addressee struct {
	User int64  `json:"u"`
	Name string `json:"n,omitempty"` // what they call themself; "" where that is not known
	Msg  int64  `json:"m,omitempty"` // the number of their message that it answers; 0: none
}

// Spoken says whether a reply is to be put in front of people, and is not for the engine.
func (r Reply) Spoken() bool {
	return r.Mail == nil && r.Link == nil && r.Unlink == "" && r.Unlist == nil && r.Forget == nil && r.Access == nil
}

// Asked is what a message was about: the question under it, of which window of which
// survey, and in a group whose. It is kept with the message's number.
type Asked struct {
	Key    opening.Key `json:"k,omitempty"` // "": no question
	Conv   int         `json:"c"`
	Window int         `json:"w,omitempty"` // of the open job; 0: in no job
	User   int64       `json:"u,omitempty"` // in a group; 0: everybody's
	Name   string      `json:"n,omitempty"` // of whom the buttons are, as the message has it; "": not known
	// Ends: the buttons under it mean nothing once the next question is shown.
	Ends bool `json:"e,omitempty"`
}

// Burst says what of a reply another one right behind it takes the place of.
type Burst struct {
	// Asks counts the last lines of Text that are the open question; the buttons
	// are its. 0: the buttons belong to what was said.
	Asks int `json:"asks,omitempty"`
	// Stays: the question is about what was just typed, and is to be read even
	// when the next message has answered it.
	Stays bool `json:"stays,omitempty"`
}

// Forget says whose records are deleted. User 0 is the whole chat.
type Forget struct {
	// Ask: nothing is deleted yet; the reply asks whether to, and is to name what
	// others lose.
	Ask  bool  `json:"ask,omitempty"`
	User int64 `json:"user,omitempty"`
}

// Paper is a kind of document.
type Paper string

// The papers.
const (
	OrderPDF    Paper = "order.pdf"
	OrderCSV    Paper = "order.csv"
	OrderJSON   Paper = "order.json"
	CheckPDF    Paper = "check.pdf"
	CustomerPDF Paper = "customer.pdf"
	FilePDF     Paper = "file.pdf"
	QuotePDF    Paper = "quote.pdf"
	Held        Paper = "held.json" // everything held about the chat
)

// Document is a file to be made at the edge.
type Document struct {
	Paper    Paper              `json:"paper"`
	Order    *job.OrderSheet    `json:"order,omitempty"`
	Check    *job.CheckSheet    `json:"check,omitempty"`
	Customer *job.CustomerSheet `json:"customer,omitempty"`
	File     *job.FileSheet     `json:"file,omitempty"`
	Quote    *job.QuoteSheet    `json:"quote,omitempty"`
	// Both are the two measures of openings that were measured twice.
	Both map[int]job.Comparison `json:"both,omitempty"`
	At   time.Time              `json:"at"`             // when it was asked for
	User int64                  `json:"user,omitempty"` // of Held: the person in a group that it is about; 0: the chat
}
