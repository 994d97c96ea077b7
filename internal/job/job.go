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
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
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

	Openings []Opening        `json:"-"` // stored by themselves, see Encode
	Bin      []Binned         `json:"-"` // deleted, the last one last
	LastID   int              `json:"last_id,omitempty"`
	Order    Order            `json:"order,omitzero"`
	Shares   []Share          `json:"shares,omitempty"`
	Seq      int              `json:"seq,omitempty"`    // number of the last event
	People   map[int64]string `json:"people,omitempty"` // who wrote in the records, by name

	missing *missing
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
	j, err := j.Begin(who, at, name, opening.Record{})
	if err != nil {
		return Job{}, nil, err
	}
	i := len(j.Openings) - 1
	j.write(who, at, i, opening.Entry{Act: opening.Reviewed})
	return j.done(who, at, about(OpeningAdded, j.Openings[i]))
}

// Copy puts a new opening at the end of the list with what is known of another.
// Its readings count as copied until they are taken there.
func (j Job) Copy(who Who, at time.Time, from int, name string) (Job, []Event, error) {
	k, err := j.admitTo(from, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	source := j.Openings[k]
	if j, err = j.Begin(who, at, name, opening.Record{}); err != nil {
		return Job{}, nil, err
	}
	i := len(j.Openings) - 1
	o := j.Openings[i]
	o.Said = o.Said.Copy(source.Said, who.writes(at), source.ID, notCopied...)
	j.put(i, o)
	j.write(who, at, i, opening.Entry{Act: opening.Reviewed})
	return j.done(who, at, about(OpeningCopied, j.Openings[i]))
}

// notCopied is what is of one window alone.
var notCopied = []opening.Key{"name", "count", "due", "price"}

// Begin puts a new opening at the end of the list, with what was said of it
// before it came into the job. Nobody is told of it before Review.
func (j Job) Begin(who Who, at time.Time, name string, said opening.Record) (Job, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, err
	}
	if len(j.Openings) >= MostOpenings {
		return Job{}, refuse("too_many").num("most", MostOpenings)
	}
	name, err := j.freeName(name, 0)
	if err != nil {
		return Job{}, err
	}
	j.LastID++
	said = said.Put(opening.Stamp{Role: opening.Fitter, At: at.Unix(), Turn: who.Turn}, opening.Entry{Act: opening.Set, Key: "name", Value: name, How: opening.Assumed})
	j.Openings = append(slices.Clip(j.Openings), Opening{ID: j.LastID})
	j.put(len(j.Openings)-1, Opening{ID: j.LastID, Said: said})
	return j, nil
}

// Rename gives an opening another name.
func (j Job) Rename(who Who, at time.Time, id int, name string) (Job, []Event, error) {
	if _, err := j.admitTo(id, who, Fitter); err != nil {
		return Job{}, nil, err
	}
	name, err := j.freeName(name, id)
	if err != nil {
		return Job{}, nil, err
	}
	return j.Describe(who, at, id, opening.Entry{Act: opening.Set, Key: "name", Value: name})
}

// SetCount says how many windows alike the opening stands for.
func (j Job) SetCount(who Who, at time.Time, id, count int) (Job, []Event, error) {
	if count < 1 || count > MostAlike {
		return Job{}, nil, refuse("count").num("most", MostAlike)
	}
	if i, err := j.admitTo(id, who, Fitter); err != nil || j.Openings[i].Count == count {
		return j.unchanged(err)
	}
	return j.Describe(who, at, id, opening.Entry{Act: opening.Set, Key: "count", Value: strconv.Itoa(count)})
}

// unchanged is the job as it is, or none with an error.
func (j Job) unchanged(err error) (Job, []Event, error) {
	if err != nil {
		return Job{}, nil, err
	}
	return j, nil, nil
}

// SetColour names the colour of an opening's frame; "": none.
func (j Job) SetColour(who Who, at time.Time, id int, colour string) (Job, []Event, error) {
	colour, err := words(colour, longestName)
	if err != nil {
		return Job{}, nil, err
	}
	return j.Describe(who, at, id, opening.Entry{Act: opening.Set, Key: "colour", Value: colour})
}

// AddHardware adds a piece to what an opening's window is to have; "" takes all
// of it off.
func (j Job) AddHardware(who Who, at time.Time, id int, piece string) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	if piece, err = words(piece, longestLabel); err != nil {
		return Job{}, nil, err
	}
	list := ""
	if piece != "" {
		pieces := append(slices.Clip(j.Openings[i].Record().Hardware), piece)
		if len(pieces) > mostHardware {
			return Job{}, nil, refuse("too_many").num("most", mostHardware)
		}
		list = strings.Join(pieces, hardwareMark)
	}
	return j.Describe(who, at, id, opening.Entry{Act: opening.Set, Key: "hardware", Value: list})
}

// Describe writes what the fitter says of an opening and looks at once what it
// changes. What is known already is not written again.
func (j Job) Describe(who Who, at time.Time, id int, entries ...opening.Entry) (Job, []Event, error) {
	j, err := j.Say(who, at, id, entries...)
	if err != nil {
		return Job{}, nil, err
	}
	return j.Review(who, at, id)
}

// Say writes what the fitter says of an opening. A reading that was settled
// otherwise falls with a new one. Nobody is told before Review. It is refused
// once the frame is here: that was made by what was said before.
func (j Job) Say(who Who, at time.Time, id int, entries ...opening.Entry) (Job, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, err
	}
	o := j.Openings[i]
	if entries = o.news(entries); len(entries) == 0 {
		return j, nil
	}
	if _, ok := after(o.State, DoDescribe); !ok {
		return Job{}, wrongState(o, DoDescribe)
	}
	j.write(who, at, i, entries...)
	return j, nil
}

// news are the entries that say what is not known already, and what falls with
// them.
func (o Opening) news(entries []opening.Entry) []opening.Entry {
	var list []opening.Entry
	known := o.Known()
	for _, e := range entries {
		before := known.Entry(e.Key)
		settled := before != nil && before.How == opening.Settled
		switch {
		case e.Act == opening.Set && before != nil && before.Value == e.Value && before.How == e.How:
			continue
		case e.Act == opening.Clear && before == nil:
			continue
		case settled && (e.Act == opening.Set || e.Act == opening.Clear):
			list = append(list, opening.Entry{Act: opening.Clear, Key: e.Key, How: opening.Settled})
		}
		list = append(list, e)
		white := e.Key == "material" && e.Value == string(calc.PVCUWhite)
		if white && known.Has("colour") && (before == nil || before.Value != e.Value) {
			list = append(list, opening.Entry{Act: opening.Clear, Key: "colour"}) // it was of the frame before
		}
	}
	return list
}

// TakeBack takes the person's own last act on an opening back, and gives the
// fields that are another now.
func (j Job) TakeBack(who Who, at time.Time, id int) (Job, []opening.Key, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	said, keys, err := o.Said.Undo(who.writes(at))
	if err != nil {
		return Job{}, nil, err
	}
	o.Said = said
	j.put(i, o)
	return j, keys, nil
}

// Delete takes an opening off the list. Undo brings it back.
func (j Job) Delete(who Who, at time.Time, id int) (Job, []Event, error) {
	heldBefore := j.heldSaid()
	j, i, err := j.stepOf(who, at, id, DoDelete)
	if err != nil {
		return Job{}, nil, err
	}
	was := j.Openings[i]
	j.Bin = append(j.roomInBin(), Binned{was, i, j.Seq + 1})
	j.Openings = slices.Delete(slices.Clone(j.Openings), i, i+1)
	j.supersede()
	gone := about(OpeningDeleted, was)
	if was.was.withLead() {
		gone.Kind = CheckedDeleted
	}
	if was.was.atDesk() && !heldBefore {
		gone = j.heldEvent(was)
		gone.Kind = LineDeleted
	}
	return j.done(who, at, gone)
}

// roomInBin is the bin with room for one more. What the desk has a line of
// stays.
func (j Job) roomInBin() []Binned {
	bin := slices.Clone(j.Bin)
	if len(bin) < mostBinned {
		return bin
	}
	i := slices.IndexFunc(bin, func(b Binned) bool { return !j.onOrder(b.Opening.ID) })
	if i < 0 {
		return bin
	}
	j.need(bin[i].Opening) // to delete what is stored of it
	return slices.Delete(bin, i, i+1)
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
	if _, err := j.freeName(o.Name, 0); err != nil {
		return Job{}, nil, err
	}
	i := min(last.Place, len(j.Openings))
	j.Bin = slices.Clone(j.Bin[:len(j.Bin)-1])
	j.Openings = slices.Insert(slices.Clone(j.Openings), i, o)
	j.write(who, at, i, stepEntry(DoUndo))
	kind := OpeningRestored
	if j.Openings[i].State.withLead() {
		kind = CheckedRestored
	}
	return j.done(who, at, about(kind, j.Openings[i]))
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
// not, in the order of the survey.
func (o Opening) Lacks() []string {
	known := o.Known()
	var lacks []string
	for _, key := range known.Lacks() {
		lacks = append(lacks, string(key))
	}
	return lacks
}

// unmeasured says whether a width or a height was not taken.
func (o Opening) unmeasured() bool {
	known := o.Known()
	for _, name := range readingNames[:len(readingNames)-optionalReadings] {
		if !known.Given(opening.Key(name)) {
			return true
		}
	}
	return false
}
