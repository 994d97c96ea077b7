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
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/plan"
)

// Limits that keep a job readable on a phone and its record small. Common
// practice, no source. Lengths of words are in characters.
const (
	MostOpenings = 400
	MostAlike    = 99
	longestName  = 40
	longestLabel = 80
	longestWords = 500 // a sentence to the desk, an address
	mostAnswers  = 200
	mostNotes    = 100 // of one line
	mostShares   = 12
	mostBinned   = 100 // the oldest goes
	mostHardware = 20
)

// Settings are the crew's own figures for a job.
type Settings struct {
	// Tolerance is how far, in mm, two readings of one length may be apart and
	// still count as the same.
	Tolerance decimal.Decimal `json:"tolerance"`
}

// DefaultSettings has a tolerance of 3 mm. Common practice, no source.
func DefaultSettings() Settings { return Settings{Tolerance: decimal.NewFromInt(3)} }

// Job is the record of one job.
type Job struct {
	Version  int       `json:"v"`
	Ref      string    `json:"ref"`
	Label    string    `json:"label,omitempty"`
	Address  string    `json:"address,omitempty"`
	Owner    Who       `json:"owner"`
	Began    time.Time `json:"began"`
	Settings Settings  `json:"settings"`
	// ShareAddress lets the label and the address into the copies for the lead
	// and the desk, ShareNames the names of the people.
	ShareAddress bool `json:"share_address,omitempty"`
	ShareNames   bool `json:"share_names,omitempty"`

	Openings []Opening `json:"openings,omitempty"`
	Bin      []Binned  `json:"bin,omitempty"` // deleted, the last one last
	LastID   int       `json:"last_id,omitempty"`
	Order    Order     `json:"order,omitzero"`
	Shares   []Share   `json:"shares,omitempty"`
	Seq      int       `json:"seq,omitempty"` // number of the last event

	missing *missing
}

// Record is what the survey of one opening says.
type Record struct {
	// Answers are the conversation's own, in its own form.
	Answers []string     `json:"answers,omitempty"`
	Plan    plan.Opening `json:"plan"`
	// What the desk needs beyond the plan, in the fitter's words.
	Colour   string   `json:"colour,omitempty"`
	MakeUp   string   `json:"make_up,omitempty"` // of the glass, such as 4-20-4
	Hardware []string `json:"hardware,omitempty"`
}

// Opening is one opening of the job, or several that are alike.
type Opening struct {
	ID     int       `json:"id"` // never used again in this job
	Name   string    `json:"name"`
	Count  int       `json:"count"`
	Record Record    `json:"record"`
	State  State     `json:"state"`
	Since  time.Time `json:"since"` // when it came into its state
	// Edition counts the changes of the record. Who signs says which one was
	// seen.
	Edition int `json:"edition,omitempty"`
	// Measured is who last gave a figure that sizes the window.
	Measured *Stamp `json:"measured,omitempty"`
	// CopiedFrom is the opening whose readings these still are; 0 when they
	// were taken here.
	CopiedFrom int        `json:"copied_from,omitempty"`
	Check      *Check     `json:"check,omitempty"`
	Signature  *Signature `json:"signature,omitempty"`
	Supply     Supply     `json:"supply,omitzero"`

	// absent is the row of a window that is not loaded: all that is known of
	// it here is what the row says. Nil: it is loaded.
	absent *Row
}

// Binned is a deleted opening and the place it had in the list.
type Binned struct {
	Opening Opening `json:"opening"`
	Place   int     `json:"place"`
	Seq     int     `json:"seq,omitempty"` // of the event that told of it
}

// New is a job that owner has just begun.
func New(ref string, owner Who, at time.Time, s Settings) Job {
	owner.Role = Fitter
	return Job{Version: schema, Ref: ref, Owner: owner, Began: moment(at), Settings: s}
}

// moment is a time as the record keeps it.
func moment(at time.Time) time.Time { return at.UTC().Truncate(time.Second) }

// SetLabel names the job.
func (j Job) SetLabel(who Who, at time.Time, label string) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	label, err := words(label, longestLabel)
	if err != nil {
		return Job{}, nil, err
	}
	j.Label = label
	e := Event{Kind: Labelled, Say: map[string]string{"label": label}}
	if j.ShareAddress {
		e.To = j.recipients([]Role{Fitter, Lead, Desk})
	}
	return j.done(who, at, e)
}

// SetAddress notes where the job is and whether the lead and the desk may know
// it. They may then see the label too. An empty address takes it away.
func (j Job) SetAddress(who Who, at time.Time, address string, share bool) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	address, err := words(address, longestWords)
	if err != nil {
		return Job{}, nil, err
	}
	kind := Addressed
	switch {
	case address == j.Address && share == j.ShareAddress:
		return j, nil, nil
	case share:
		kind = AddressShared
	case j.ShareAddress:
		kind = AddressHidden
	}
	j.Address, j.ShareAddress = address, share
	return j.done(who, at, Event{Kind: kind})
}

// SetShareNames says whether the copies name the people.
func (j Job) SetShareNames(who Who, at time.Time, share bool) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if share == j.ShareNames {
		return j, nil, nil
	}
	kind := NamesHidden
	if share {
		kind = NamesShared
	}
	j.ShareNames = share
	return j.done(who, at, Event{Kind: kind})
}

// Add puts a new opening at the end of the list.
func (j Job) Add(who Who, at time.Time, name string) (Job, []Event, error) {
	return j.add(who, at, Opening{Name: name}, OpeningAdded)
}

// Copy puts a new opening at the end of the list with the record of another.
// Its readings count as copied until one of them is changed.
func (j Job) Copy(who Who, at time.Time, from int, name string) (Job, []Event, error) {
	i, err := j.admitTo(from, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	source := j.Openings[i]
	record := source.Record
	record.Answers = slices.Clone(record.Answers)
	copied := source.ID
	if len(missingReadings(record.Plan)) == len(readingNames)-optionalReadings {
		copied = 0
	}
	return j.add(who, at, Opening{Name: name, Record: record, Measured: source.Measured, CopiedFrom: copied}, OpeningCopied)
}

func (j Job) add(who Who, at time.Time, o Opening, kind EventKind) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if len(j.Openings) >= MostOpenings {
		return Job{}, nil, refuse("too_many").num("most", MostOpenings)
	}
	name, err := j.freeName(o.Name, 0)
	if err != nil {
		return Job{}, nil, err
	}
	j.LastID++
	o.ID, o.Name, o.Count, o.State, o.Since = j.LastID, name, 1, Survey, moment(at)
	o.Record.Plan.Name = name
	j.Openings = append(slices.Clip(j.Openings), o)
	return j.done(who, at, about(kind, o))
}

// Rename gives an opening another name.
func (j Job) Rename(who Who, at time.Time, id int, name string) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	name, err = j.freeName(name, id)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	if name == o.Name {
		return j, nil, nil
	}
	o.Name, o.Record.Plan.Name = name, name
	return j.edit(who, at, i, o, DoDescribe)
}

// SetCount says how many windows alike the opening stands for.
func (j Job) SetCount(who Who, at time.Time, id, count int) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	if count < 1 || count > MostAlike {
		return Job{}, nil, refuse("count").num("most", MostAlike)
	}
	o := j.Openings[i]
	if count == o.Count {
		return j, nil, nil
	}
	o.Count = count
	return j.edit(who, at, i, o, DoDescribe)
}

// Store keeps what the survey of an opening says now. Answers that say the
// same as before may be replaced in any state. A figure that sizes the window
// voids the opening's signature, and a change of what the desk has been sent
// holds the order until the next revision is sent.
func (j Job) Store(who Who, at time.Time, id int, r Record) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	if r, err = r.cleaned(o.Name); err != nil {
		return Job{}, nil, err
	}
	before := o.Record
	if r.Plan.Material == calc.PVCUWhite && before.Plan.Material != "" && before.Plan.Material != r.Plan.Material {
		r.Colour = "" // it was of the frame before
	}
	o.Record = r
	switch {
	case !same(sizing(before.Plan), sizing(r.Plan)):
		return j.remeasure(who, at, i, o)
	case !same(before.said(), r.said()):
		return j.edit(who, at, i, o, DoDescribe)
	}
	j.put(i, o)
	return j, nil, nil
}

// cleaned is the record within the limits, under the opening's name.
func (r Record) cleaned(name string) (Record, error) {
	if len(r.Answers) > mostAnswers || len(r.Hardware) > mostHardware {
		return Record{}, refuse("too_many").num("most", mostHardware)
	}
	var err error
	if r.Colour, err = words(r.Colour, longestName); err != nil {
		return Record{}, err
	}
	if r.MakeUp, err = words(r.MakeUp, longestName); err != nil {
		return Record{}, err
	}
	r.Hardware = slices.Clone(r.Hardware)
	for k := range r.Hardware {
		if r.Hardware[k], err = words(r.Hardware[k], longestLabel); err != nil {
			return Record{}, err
		}
	}
	r.Answers = slices.Clone(r.Answers)
	r.Plan.Name = name
	return r, nil
}

// said is the record without the form that its answers were given in.
func (r Record) said() Record {
	r.Answers = nil
	return r
}

// Sizing is what the order size hangs on. It is what a signature covers.
type Sizing struct {
	Readings calc.Readings
	Finish   calc.Finish
	Material calc.Material
	Inner    calc.Size
	Sill     decimal.Decimal
	// Set is what the crew set of it; nil where all of that is usual.
	Set *Allowances `json:",omitempty"`
}

// Allowances are the crew's settings that the order size hangs on, mm.
type Allowances struct {
	Plaster, Cover, SillPiece decimal.Decimal
}

func sizing(o plan.Opening) Sizing {
	return Sizing{o.Readings(), o.Finish, o.Material, o.Inner, o.SillDepth, allowances(o.Settings)}
}

func allowances(c *plan.Crew) *Allowances {
	if c == nil {
		return nil
	}
	of := func(s calc.Settings) Allowances {
		return Allowances{s.PlasterThickness, s.CheckCover, s.SillPieceHeight}
	}
	set := of(c.Settings)
	if same(set, of(calc.DefaultSettings())) {
		return nil
	}
	return &set
}

// same compares two values by what they would be stored as, so that 5 and 5.0
// are one.
func same(a, b any) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	return errX == nil && errY == nil && string(x) == string(y)
}

// edit puts a changed opening in place of the old one.
func (j Job) edit(who Who, at time.Time, i int, o Opening, do Action) (Job, []Event, error) {
	was := j.Openings[i].State
	j, err := j.step(who, at, i, do)
	if err != nil {
		return Job{}, nil, err
	}
	o.State, o.Since = j.Openings[i].State, j.Openings[i].Since
	o.Edition++
	j.put(i, o)
	if !was.atDesk() || j.Order.Held {
		return j.done(who, at, about(OpeningChanged, o))
	}
	j.hold(at)
	return j.done(who, at, j.heldBy(o))
}

// Delete takes an opening off the list. Undo brings it back.
func (j Job) Delete(who Who, at time.Time, id int) (Job, []Event, error) {
	i, err := j.find(id)
	if err != nil {
		return Job{}, nil, err
	}
	was := j.Openings[i]
	if j, err = j.step(who, at, i, DoDelete); err != nil {
		return Job{}, nil, err
	}
	if len(j.Bin) == mostBinned {
		j.need(j.Bin[0].Opening) // to delete what is stored of it
	}
	j.Bin = append(slices.Clone(j.Bin[max(0, len(j.Bin)+1-mostBinned):]), Binned{was, i, j.Seq + 1})
	j.Openings = slices.Delete(slices.Clone(j.Openings), i, i+1)
	gone := about(OpeningDeleted, was)
	if was.State.withLead() {
		gone.Kind = CheckedDeleted
	}
	if !was.State.atDesk() || j.Order.Held {
		return j.done(who, at, gone)
	}
	j.hold(at)
	held := j.heldBy(was)
	held.Kind = LineDeleted
	return j.done(who, at, held)
}

// Undo brings back the opening that was deleted last, as it was. A line that
// was with the desk has to be sent again.
func (j Job) Undo(who Who, at time.Time) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if len(j.Bin) == 0 {
		return Job{}, nil, refuse("nothing_to_undo")
	}
	if len(j.Openings) >= MostOpenings {
		return Job{}, nil, refuse("too_many").num("most", MostOpenings)
	}
	last := j.Bin[len(j.Bin)-1]
	o := last.Opening
	if j.need(o) {
		return Job{}, nil, refuse("no_opening")
	}
	next, ok := Next(o.State, DoUndo, Fitter)
	if !ok {
		return Job{}, nil, wrongState(o, DoUndo)
	}
	if _, err := j.freeName(o.Name, 0); err != nil {
		return Job{}, nil, err
	}
	kind := OpeningRestored
	if next.withLead() {
		kind = CheckedRestored
	}
	if next != o.State {
		o.State, o.Since = next, moment(at)
	}
	j.Bin = slices.Clone(j.Bin[:len(j.Bin)-1])
	j.Openings = slices.Insert(slices.Clone(j.Openings), min(last.Place, len(j.Openings)), o)
	return j.done(who, at, about(kind, o))
}

// JustDeleted says whether the last thing that happened in the job was that an
// opening was deleted.
func (j Job) JustDeleted() bool {
	return len(j.Bin) > 0 && j.Bin[len(j.Bin)-1].Seq == j.Seq
}

// Find is the opening with that number.
func (j Job) Find(id int) (Opening, bool) {
	i, err := j.find(id)
	if err != nil {
		return Opening{}, false
	}
	return j.Openings[i], true
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

// put replaces an opening. The list is copied, so that the caller's job stays
// as it was.
func (j *Job) put(i int, o Opening) {
	j.Openings = slices.Clone(j.Openings)
	j.Openings[i] = o
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

// words is a person's text on one line without what can't be seen, refused
// when it is longer than most characters.
func words(text string, most int) (string, error) {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError, unicode.Is(unicode.Cc, r), unicode.Is(unicode.Cf, r) && r != '\u200d':
			return -1 // a joiner stays: emoji and some scripts are written with it
		}
		return r
	}, text)
	text = strings.Join(strings.Fields(text), " ")
	if utf8.RuneCountInString(text) > most {
		return "", refuse("too_long").num("most", most)
	}
	return text, nil
}

// Lacks names what has to be known before the window can be ordered and is
// not: nation, date, finish, material, width.top to height.right, layout,
// light.1 and on, room.
func Lacks(o plan.Opening) []string {
	var lacks []string
	for _, f := range []struct {
		name  string
		given bool
	}{
		{"nation", o.Nation != ""}, {"date", o.Date != ""}, {"finish", o.Finish != ""}, {"material", o.Material != ""},
	} {
		if !f.given {
			lacks = append(lacks, f.name)
		}
	}
	lacks = append(lacks, missingReadings(o)...)
	if len(o.Layout.Lights) == 0 {
		lacks = append(lacks, "layout")
	}
	for i, light := range o.Layout.Lights {
		if light.Hinge == "" {
			lacks = append(lacks, fmt.Sprintf("light.%d", i+1))
		}
	}
	if o.Room == "" {
		lacks = append(lacks, "room")
	}
	return lacks
}

// missingReadings are the widths and heights that were not taken.
func missingReadings(o plan.Opening) []string {
	var missing []string
	for k, name := range readingNames[:len(readingNames)-optionalReadings] {
		v := o.Widths[k%3]
		if k >= 3 {
			v = o.Heights[k%3]
		}
		if !v.IsPositive() {
			missing = append(missing, name)
		}
	}
	return missing
}
