package job

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

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
	o.Said = o.Said.Copy(source.Said, who.writes(at), source.ID, opening.OfOneWindow...)
	j.put(i, o)
	j.write(who, at, i, opening.Entry{Act: opening.Reviewed})
	return j.done(who, at, about(OpeningCopied, j.Openings[i]))
}

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
	if o.partlyHere() {
		o.State = Delivered
		return Job{}, wrongState(o, DoDescribe)
	}
	j.write(who, at, i, entries...)
	return j, nil
}

// news are the entries that say what is not known already, each after those before
// it, and what falls with them.
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
		known.Follow(&e)
		white := e.Key == "material" && e.Value == string(calc.PVCUWhite)
		if white && known.Has("colour") && (before == nil || before.Value != e.Value) {
			list = append(list, opening.Entry{Act: opening.Clear, Key: "colour"}) // it was of the frame before
			known.Unset("colour")
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

// Undo brings back the opening that was deleted last, as it was: a line that the
// desk has stands again, and what was confirmed of it. One that a later revision
// left out has to be sent again.
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
	heldBefore := j.heldSaid()
	j.Bin = slices.Clone(j.Bin[:len(j.Bin)-1])
	j.Openings = slices.Insert(slices.Clone(j.Openings), i, o)
	j.write(who, at, i, stepEntry(j.restoring(o)))
	kind := OpeningRestored
	if j.Openings[i].State.withLead() {
		kind = CheckedRestored
	}
	events := []Event{about(kind, j.Openings[i])}
	if heldBefore && !j.Order.Held {
		events = append(events, j.standsEvent())
	}
	return j.done(who, at, events...)
}

// JustDeleted says whether the last thing that happened in the job was that an
// opening was deleted.
func (j Job) JustDeleted() bool {
	return len(j.Bin) > 0 && j.Bin[len(j.Bin)-1].Seq == j.Seq
}
