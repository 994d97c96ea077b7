package dialog

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
	"sillbot/internal/tell"
	"sillbot/locales"
)

// turn is the working state of one Step: the state as it becomes and what is
// said.
type turn struct {
	State
	now      time.Time
	device   string // language of the person's device
	lines    []phrase.Text
	replies  []Reply
	buttons  [][]Button // instead of the open question's
	links    []Button   // under what is said of a link
	quiet    bool       // the open question is not shown again
	fresh    bool       // the chat's first message
	ordered  bool       // something that sizes the order was answered
	wasDone  bool       // the survey was complete before this turn
	itemised bool       // an item for all windows was said or taken back
	measured bool       // a reading was answered in this turn
	doubted  bool       // a width or a height was in doubt, so that no size was said

	chat, user int64
	group      bool
	topic      int64  // of the group, in which it was written; 0: none
	shared     string // the job of the group; "": it has none
	reply      int64  // the account that wrote, where that is known
	name, home string // what the person calls themself; where links begin
	page       string // where links to a page in a browser begin; "": there are none
	seed       []byte
	link       *Link
	access     *talk.Access // as what the person uses a closed bot; nil: it is open
	mails      []Reply      // what goes after the messages of this turn: mail, links, papers

	kind      Kind
	under     int64        // the message whose button was pressed
	replyTo   int64        // the message that is answered
	about     *Asked       // what that one, or the pressed one, was about
	inPlace   bool         // the answer to a press takes the place of the message it stands under
	toast     *phrase.Text // all that is to be said of a press
	pressSaid int          // how much was said before the press was looked at
	began     string       // the question that was open when the turn began
	doubtWas  *Doubt       // when the turn began
	failsWas  int
	heldWas   *Proposal
	aside     string // what the message before asked besides the open question
	msg       int64  // the message's number in the chat
	likening  bool   // what is read is how a window differs from the one it was copied from
	refused   bool   // said already that the window can't be changed
	// justPhoto: a photo was the last thing that the person sent before.
	justPhoto  bool
	photosBack int  // how many photos were taken back in this turn
	silent     bool // of an album something was said already

	before   *opening.Known // when the turn began
	folded   *opening.Known // of foldedOf
	foldedOf atHand
	ownKnown *opening.Known // of ownOf
	ownOf    *opening.Known
	openNext *question // of openOf
	openOf   asked
	orders   []workedOut

	doubtsNow []opening.Doubt // of doubtsOf
	doubtsOf  *opening.Known
}

// next is the open question, nil when the survey is complete. A second measure
// is of the opening alone.
func (s State) next(a *opening.Known) *question {
	if !s.Same {
		a = a.Own()
	}
	return (*question)(a.Next(s.Second != nil, s.Asking))
}

// next is the open question, worked out once for what is known.
func (t *turn) next(a *opening.Known) *question {
	if a != t.folded {
		return t.State.next(a)
	}
	now := asked{a, t.Asking, t.Second != nil, t.Same}
	if now != t.openOf {
		t.openOf, t.openNext = now, t.State.next(a)
	}
	return t.openNext
}

// asked tells one state of the open question from another.
type asked struct {
	known  *opening.Known
	asking string
	second bool
	same   bool
}

// atHand tells one state of the record at hand from another.
type atHand struct {
	conv, editing, last int
	second              bool
}

// answers is what is known. It is folded again only when something was said.
func (t *turn) answers() *opening.Known {
	now := atHand{t.Conv, t.Editing, t.said().LastSeq(), t.Second != nil}
	if t.folded == nil || t.foldedOf != now {
		t.folded, t.foldedOf = t.State.fold(), now
	}
	return t.folded
}

// own is what is known without what was measured at another opening.
func (t *turn) own() *opening.Known {
	if a := t.answers(); t.ownOf != a {
		t.ownOf, t.ownKnown = a, a.Own()
	}
	return t.ownKnown
}

// doubts are those over what was measured here.
func (t *turn) doubts() []opening.Doubt {
	if own := t.own(); t.doubtsOf != own {
		t.doubtsOf, t.doubtsNow = own, own.Doubted()
	}
	return t.doubtsNow
}

// taken is what counts as answered: what was measured at another opening does where it
// was kept.
func (t *turn) taken() *opening.Known {
	if t.Same {
		return t.answers()
	}
	return t.own()
}

// fellowOf is the next reading of the kind of one that was opened out of turn: those of
// the window that this one was copied from are measured anew together. "": none.
func (t *turn) fellowOf(k *opening.Known, key opening.Key) opening.Key {
	if key == "" {
		return ""
	}
	for _, fellow := range opening.Fellows(opening.Find(key).Change) {
		f := opening.Find(fellow)
		if !k.Has(fellow) && opening.OfTheTape(fellow) && t.answers().Source(fellow) != nil && (f.Asked == nil || f.Asked(k)) {
			return fellow
		}
	}
	return ""
}

// workedOut is an order that was asked for in a turn; most are asked for more than once.
type workedOut struct {
	of    *opening.Known // what was known when the turn began, or is
	order calc.Order
	err   error
}

// order works out an order by what is known.
func (t *turn) order(a *opening.Known) (calc.Order, error) {
	for _, known := range []*opening.Known{t.before, t.answers()} {
		if known != nil && *known == *a {
			a = known
			break
		}
	}
	for i := range t.orders {
		if o := &t.orders[i]; o.of == a {
			return o.order, o.err
		}
	}
	order, err := calc.OrderSize(a.Opening().OrderRequest(calc.DefaultSettings()))
	if a == t.before || a == t.answers() {
		t.orders = append(t.orders, workedOut{a, order, err})
	}
	return order, err
}

// lang is the language to speak: the chosen one, else the device's.
func (t *turn) lang() string {
	if t.Lang != "" {
		return t.Lang
	}
	if tag, ok := words().Known(t.device); ok {
		return tag
	}
	return locales.Default
}

// zone is that of the reader's clock.
func (s State) zone() string { return cmp.Or(s.Zone, homeZone) }

// clock is the zone of the reader's clock: a day is today, past or to come by it.
func (s State) clock() *time.Location { return tell.Clock(s.zone()) }

// homeZone is where people are taken to be until they say otherwise.
const homeZone = "Europe/London"

// who is the person of this turn as the owner of the job.
func (t *turn) who() job.Who {
	return job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: job.Fitter, Msg: t.msg, Turn: t.Turn}
}

// view is the open job as this chat looks at it.
func (t *turn) view() tell.View { return tell.View{Job: t.Job, Now: t.now, Zone: t.zone()} }

func (t *turn) say(lines ...phrase.Text) { t.lines = append(t.lines, lines...) }

// post sends a reply to another chat of a job.
func (t *turn) post(m Mail) {
	m.From = t.chat
	t.mails = append(t.mails, Reply{Lang: t.lang(), Mail: &m})
}

// out is all that leaves the turn, in order: links first, so that one leads to its job
// before anybody can see it, and which job is the group's, then what is said, then mail.
func (t *turn) out() []Reply {
	var links, rest []Reply
	for _, r := range t.mails {
		if r.Link != nil || r.Mail != nil && r.Mail.Ours {
			links = append(links, r)
		} else {
			rest = append(rest, r)
		}
	}
	return slices.Concat(links, t.replies, rest)
}

func (t *turn) done() bool {
	return t.elsewhere() || t.next(t.answers()) == nil && t.Doubt == nil && t.Proposed == nil
}

// open is the key of the open question.
func (t *turn) open() string {
	if t.Doubt != nil {
		return confirmKey
	}
	if q := t.next(t.answers()); q != nil && !t.elsewhere() {
		return q.Key
	}
	return ""
}

// message is the lines said so far as one reply.
func (t *turn) message() Reply {
	r := Reply{Text: phrase.Of("message").WithLines("lines", t.lines...), Lang: t.lang(), Buttons: t.buttons, Open: t.open()}
	if t.links != nil {
		r.Buttons = append([][]Button{t.links}, r.Buttons...)
	}
	t.lines, t.buttons, t.links = nil, nil, nil
	return r
}

// Button data is VERSION:CONVERSATION:QUESTION:CHOICE, at most 64 bytes. The
// question "do" is an action that is not tied to an open question.
const (
	pressVersion = "1"
	confirmKey   = "confirm"
)

// ownerMark stands in a group between the number of the conversation and whose it is.
const ownerMark = "."

// convMark is what a button says of the conversation that it belongs to.
func (t *turn) convMark() string {
	conv := strconv.FormatInt(int64(t.Conv), 36)
	if t.group {
		conv += ownerMark + strconv.FormatInt(t.user, 36)
	}
	return conv
}

func (t *turn) button(label, key, choice string) Button {
	return Button{
		Label: phrase.Of("button." + label),
		Data:  strings.Join([]string{pressVersion, t.convMark(), key, choice}, ":"),
	}
}

// seenOf is what can be seen of a person's own words, without the marks around them.
func seenOf(text string) string {
	seen := strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) {
			return ' '
		}
		return r
	}, text)
	seen = strings.Join(strings.Fields(seen), " ")
	return strings.TrimFunc(seen, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsNumber(r) })
}

// cut shortens a person's words for repeating them.
func cut(text string) string {
	const most = 40
	text = strings.Join(strings.Fields(text[:min(len(text), 400)]), " ")
	runes := []rune(strings.ToValidUTF8(text, ""))
	if len(runes) <= most {
		return string(runes)
	}
	return string(runes[:most]) + "…"
}

func sorry(p phrase.Text) *phrase.Text { return &p }
