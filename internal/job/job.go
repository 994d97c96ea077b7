// Package job is a job with many openings and three chairs: the fitter who
// began it, the crew lead who measures again and signs, and the supplier desk
// that makes the windows.
//
// The fitter's chat owns the job's record and is the only writer. The other
// chats hold copies and send their answers back; the owner applies them. So
// every operation is a method of the owner's Job that takes who did it, when,
// and what. It gives the new Job, and events that say what happened and which
// chats are to be told, each chat once. The job it was called on is not
// changed. What may not be done gives a *Refusal and no new job.
//
// An opening goes through the trade's own steps; state.go has the one table
// of what may happen when. The order as a whole has a revision, A, B, …; what
// was sent under one revision never changes, see order.go.
//
// There is no clock, no text, no randomness and no input or output here. Left
// and right are seen from outside and lengths are millimetres.
package job

import (
	"cmp"
	"errors"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// Settings are the crew's own figures for a job.
type Settings struct {
	// Tolerance is how far, in mm, two readings of one length may be apart and
	// still count as the same.
	Tolerance decimal.Decimal `json:"tolerance"`
	// Customer: that the customer has not agreed stands against ordering a window.
	Customer bool `json:"customer,omitempty"`
}

// DefaultSettings has a tolerance of 3 mm. Common practice, no source.
func DefaultSettings() Settings { return Settings{Tolerance: decimal.NewFromInt(3)} }

// Job is the record of one job.
type Job struct {
	Version int    `json:"v"`
	Ref     string `json:"ref"`
	Label   string `json:"label,omitempty"`
	Address string `json:"address,omitempty"`
	// Contact is who takes the delivery, in the fitter's words: a name, a number.
	Contact  string    `json:"contact,omitempty"`
	Owner    Who       `json:"owner"`
	Began    time.Time `json:"began"`
	Settings Settings  `json:"settings"`
	// ShareAddress lets the label and the address into the copies for the lead
	// and the desk, ShareNames the names of the people.
	ShareAddress bool `json:"share_address,omitempty"`
	ShareNames   bool `json:"share_names,omitempty"`
	// ShareContact lets who takes the delivery into the desk's copy, as ShareNames does.
	ShareContact bool `json:"share_contact,omitempty"`
	// SharePhotos lets the lead and the desk see the photos.
	SharePhotos bool `json:"share_photos,omitempty"`

	// Topic is the part of a group in which it was begun; 0: none.
	Topic int64 `json:"topic,omitempty"`

	Openings []Opening        `json:"-"` // stored by themselves, see Encode
	Bin      []Binned         `json:"-"` // deleted, the last one last
	LastID   int              `json:"last_id,omitempty"`
	Order    Order            `json:"order,omitzero"`
	Shares   []Share          `json:"shares,omitempty"`
	Rules    int              `json:"told_rules,omitempty"` // notice was given of what rules up to these changed
	Seq      int              `json:"seq,omitempty"`        // number of the last event
	People   map[int64]string `json:"people,omitempty"`     // who wrote in the records, by name

	// Paid is what the customer paid, in the order in which it was written down.
	Paid []Payment `json:"paid,omitempty"`
	// Quoted is what the job came to, with VAT, when it was last quoted, and that day.
	Quoted *Payment `json:"quoted,omitempty"`

	// Handing is where the job goes, or went; nil: nowhere. Former are the chats that had
	// it before, which lead letters on, and Hands counts how often it was handed over.
	Handing *Handing `json:"handing,omitempty"`
	Former  []int64  `json:"former,omitempty"`
	Hands   int      `json:"hands,omitempty"`

	missing *missing
}

// New is a job that owner has just begun.
func New(ref string, owner Who, at time.Time, s Settings) Job {
	owner.Role = Fitter
	return Job{Version: schema, Ref: ref, Owner: owner, Began: moment(at), Settings: s, Rules: plan.Rules}
}

// Find is the opening with that number.
func (j Job) Find(id int) (Opening, bool) {
	i, err := j.find(id)
	if err != nil {
		return Opening{}, false
	}
	return j.Openings[i], true
}

// Has says whether the job has an opening of that number.
func (j Job) Has(id int) bool {
	return slices.ContainsFunc(j.Openings, func(o Opening) bool { return o.ID == id })
}

func (j Job) find(id int) (int, error) {
	i := slices.IndexFunc(j.Openings, func(o Opening) bool { return o.ID == id })
	if i < 0 || j.need(j.Openings[i]) {
		return 0, refuse("no_opening")
	}
	return i, nil
}

// admitTo admits to one opening, and says where it stands.
func (j Job) admitTo(id int, who Who, roles ...Role) (int, error) {
	if err := j.admit(who, roles...); err != nil {
		return 0, err
	}
	return j.find(id)
}

// freeName is a name that no other opening has.
func (j Job) freeName(name string, but int) (string, error) {
	name, err := words(name, longestName)
	if err != nil {
		return "", err
	}
	if name == "" {
		return "", refuse("name_empty")
	}
	for _, o := range j.Openings {
		if o.ID != but && strings.EqualFold(o.Name, name) {
			return "", refuse("name_taken").say("name", o.Name)
		}
	}
	return name, nil
}

// taken says whether another opening has the name, and it is a name at all.
func (j Job) taken(name string) bool {
	_, err := j.freeName(name, 0)
	refused, ok := errors.AsType[*Refusal](err)
	return ok && refused.Reason == "name_taken"
}

// schema is the version of Job that this program writes. In the first one the
// job was stored whole, with what follows from a window's record beside it.
const (
	schema      = 2
	firstSchema = 1
)

// Order is what the desk has been sent.
type Order struct {
	Revision int       `json:"revision,omitempty"` // 0: not sent yet
	On       []int     `json:"on,omitempty"`       // the openings that the revision has a line of
	Sent     []Sending `json:"sent,omitempty"`     // the last mostSent revisions, the oldest first
	Held     bool      `json:"-"`                  // changed since, so the revision no longer stands
}

// Sending is one revision: when it was sent and how it differs from the one
// before. The lines of an earlier revision follow from the changes.
type Sending struct {
	Revision int      `json:"revision"`
	Name     string   `json:"name,omitempty"` // empty: sent before I and O were left out
	By       Stamp    `json:"by"`
	Changes  []Change `json:"changes,omitempty"`
}

// Name is what a revision up to the present one was sent as; empty for 0. Until
// I and O were left out the ninth was sent as I, and paper, buttons and mail under
// way say so: it stays I until the next one takes its place, as K.
func (o Order) Name(n int) string {
	if i := slices.IndexFunc(o.Sent, func(s Sending) bool { return s.Revision == n }); i >= 0 && o.Sent[i].Name != "" {
		return o.Sent[i].Name
	}
	return lettered(n, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
}

// missing is what was looked into of a job without being loaded.
type missing struct {
	all     bool
	windows map[int]bool
	unread  map[int]bool // those that can't be loaded, see Stored
}

// Missing says which windows have been looked into that were not loaded, since
// the job was decoded, by this Job or one made of it: those, or all. If there
// are any, what came of it is not to be used: load them and do it again.
func (j Job) Missing() (windows []int, all bool) {
	if j.missing == nil {
		return nil, false
	}
	return slices.Sorted(maps.Keys(j.missing.windows)), j.missing.all
}

// need notes that an opening is looked into beyond what its row says, and is
// whether that can't be done because it is not loaded.
func (j Job) need(o Opening) (absent bool) {
	if o.absent == nil || j.missing == nil {
		return false
	}
	if j.missing.windows == nil {
		j.missing.windows = map[int]bool{}
	}
	j.missing.windows[o.ID] = true
	return true
}

// All is every opening, each with all that is known of it, and none as long as
// some are not loaded. Openings is enough for their rows.
func (j Job) All() []Opening {
	absent := slices.ContainsFunc(j.Openings, func(o Opening) bool { return o.absent != nil })
	if absent && j.missing != nil {
		j.missing.all = true
		return nil
	}
	return j.Openings
}

// Unread says that the window is there and can't be read.
func (j Job) Unread(id int) bool { return j.missing != nil && j.missing.unread[id] }

// Readable is All without what can't be read, for what is asked of the others.
func (j Job) Readable() []Opening {
	if j.missing == nil || len(j.missing.unread) == 0 {
		return j.All()
	}
	left := j
	left.Openings = slices.DeleteFunc(slices.Clone(j.Openings), func(o Opening) bool { return j.missing.unread[o.ID] && o.absent != nil })
	return left.All()
}

// admit checks that who may sit in the chair that is claimed, and that it is
// one of those asked for.
func (j Job) admit(who Who, roles ...Role) error {
	if !slices.Contains(roles, who.Role) {
		return refuse("not_your_part").word("role", "role."+string(roles[0]))
	}
	if who.Role == Fitter {
		if who.Chat == j.Owner.Chat {
			return nil
		}
		return refuse("not_yours")
	}
	for _, s := range j.Shares {
		if s.Role == who.Role && s.UsedBy == who.Chat && !s.Revoked {
			return nil
		}
	}
	return refuse("not_yours")
}

// chats are the chats that sit in a chair.
func (j Job) chats(role Role) []int64 {
	if role == Fitter {
		return []int64{j.Owner.Chat}
	}
	var out []int64
	for _, s := range j.Shares {
		if s.Role == role && s.UsedBy != 0 && !s.Revoked {
			out = append(out, s.UsedBy)
		}
	}
	return out
}

// Chair is the role that a chat has in the job, "" for none.
func (j Job) Chair(chat int64) Role {
	for _, s := range j.Shares {
		if s.UsedBy == chat && !s.Revoked {
			return s.Role
		}
	}
	return ""
}

// person is who sits in a chair in a chat.
func (j Job) person(chat int64) int64 {
	for _, s := range j.Shares {
		if s.UsedBy == chat && !s.Revoked {
			return cmp.Or(s.Person, chat)
		}
	}
	return chat
}

// Sees says whether the figures of a window may reach a chat: the fitter's, and a
// lead's from when that lead opened them or measured.
func (j Job) Sees(chat int64, id int) bool {
	if chat == j.Owner.Chat {
		return true
	}
	o, ok := j.Find(id)
	return ok && o.Check.sees(j.person(chat))
}

// Stage is how far the whole job is: the state of the opening that is least
// far. A job without openings is being surveyed.
func (j Job) Stage() State {
	if len(j.Openings) == 0 {
		return Survey
	}
	return slices.MinFunc(j.Openings, func(a, b Opening) int { return a.State.rank() - b.State.rank() }).State
}

func (j Job) derive(o Opening) Opening {
	o = o.derive(j.People, j.Settings.Tolerance)
	o.customer.wanted = j.Settings.Customer
	return o
}

// write puts entries into the record of the opening at place i.
func (j *Job) write(who Who, at time.Time, i int, entries ...opening.Entry) {
	o := j.Openings[i]
	if j.need(o) {
		return
	}
	o.Said = o.Said.Put(who.writes(at), entries...)
	j.meet(who)
	j.put(i, o)
}

// put puts an opening with another record in its place.
func (j *Job) put(i int, o Opening) {
	j.Openings = slices.Clone(j.Openings)
	j.Openings[i] = j.derive(o)
	j.supersede()
}

// meet keeps the name of somebody who writes.
func (j *Job) meet(who Who) {
	if name, _ := words(who.Name, longestLabel); name != "" { // none where it is too long
		j.People = with(j.People, who.Person, name)
	}
}

// supersede works out whether the revision still stands. Nothing counts as
// confirmed while a line was changed.
func (j *Job) supersede() {
	j.Order.Held = j.heldBy(func(o Opening) State { return o.stands() })
	for i := range j.Openings {
		o := &j.Openings[i]
		o.State = o.stands()
		if o.State == Confirmed && j.Order.Held {
			o.State = o.waiting()
		}
	}
}

// heldBy says whether an opening of the order is no longer with the desk, by
// its state as stateOf tells it.
func (j Job) heldBy(stateOf func(Opening) State) bool {
	here := 0
	for i := range j.Openings {
		if !slices.Contains(j.Order.On, j.Openings[i].ID) {
			continue
		}
		if s := stateOf(j.Openings[i]); !s.atDesk() && !s.made() {
			return true
		}
		here++
	}
	return here < len(j.Order.On)
}

// heldSaid says whether the desk was told that the revision no longer stands.
func (j Job) heldSaid() bool { return j.heldBy(func(o Opening) State { return o.taken }) }

func (j Job) heldEvent(o Opening) Event {
	return about(OrderHeld, o).say("revision", j.Order.Name(j.Order.Revision))
}

// done numbers the events, addresses them and gives them with the job.
func (j Job) done(who Who, at time.Time, events ...Event) (Job, []Event, error) {
	for i := range events {
		e := &events[i]
		j.Seq++
		e.Seq, e.Ref, e.At, e.By = j.Seq, j.Ref, moment(at), who.Role
		if e.To == nil {
			e.To = j.recipients(whom[e.Kind])
		}
		if slices.Contains(figured, e.Kind) {
			e.To = slices.DeleteFunc(e.To, func(r Recipient) bool { return r.Role == Lead && !j.Sees(r.Chat, e.Openings[0]) })
		}
	}
	return j, events, nil
}

// recipients are the chats that sit in those chairs, each once: one that sits
// in two is told in the first.
func (j Job) recipients(roles []Role) []Recipient {
	var to []Recipient
	for _, role := range roles {
		for _, chat := range j.chats(role) {
			if !slices.ContainsFunc(to, func(r Recipient) bool { return r.Chat == chat }) {
				to = append(to, Recipient{chat, role})
			}
		}
	}
	return to
}

// step takes an opening through the table, or refuses, and writes what goes
// with the step.
func (j Job) step(who Who, at time.Time, i int, do Action, with ...opening.Entry) (Job, error) {
	if err := j.admit(who, do.row().By...); err != nil {
		return Job{}, err
	}
	o := j.Openings[i]
	_, ok := Next(o.State, do, who.Role)
	switch {
	case do.byPiece():
		_, count, _ := o.takes(do)
		ok = count > 0
	case o.partlyHere() && who.Role == Fitter && do != DoAnswer && do != DoReject:
		ok = false
		o.State = Delivered
	}
	if !ok {
		return Job{}, wrongState(o, do)
	}
	entries := append(o.caughtUp(), with...)
	stepped := slices.ContainsFunc(with, func(e opening.Entry) bool { return e.Act == opening.Step })
	if !stepped && do != DoSettle && do != DoPromise { // those show in the figures themselves
		entries = append(entries, stepEntry(do))
	}
	j.write(who, at, i, entries...)
	return j, nil
}

// stepOf is step for the opening of this number, and where it stands.
func (j Job) stepOf(who Who, at time.Time, id int, do Action, with ...opening.Entry) (Job, int, error) {
	i, err := j.find(id)
	if err != nil {
		return Job{}, 0, err
	}
	j, err = j.step(who, at, i, do, with...)
	return j, i, err
}

// take is stepOf, and tells of it.
func (j Job) take(who Who, at time.Time, id int, do Action, tell func(Opening) Event, with ...opening.Entry) (Job, []Event, error) {
	j, i, err := j.stepOf(who, at, id, do, with...)
	if err != nil {
		return Job{}, nil, err
	}
	return j.done(who, at, tell(j.Openings[i]))
}

// onOrder says whether the revision has a line of an opening.
func (j Job) onOrder(id int) bool { return slices.Contains(j.Order.On, id) }

// told is the line of an opening, deleted or not, as the desk was told it.
func (j Job) told(id int) (Line, bool) {
	if o, ok := j.Find(id); ok {
		return o.Told()
	}
	for _, b := range j.Bin {
		if b.Opening.ID == id && !j.need(b.Opening) {
			return b.Opening.Told()
		}
	}
	return Line{}, false
}

// Lines are the lines of the revision as the desk was told them.
func (j Job) Lines() []Line {
	var lines []Line
	for _, id := range j.Order.On {
		if l, ok := j.told(id); ok {
			lines = append(lines, l)
		}
	}
	return lines
}
