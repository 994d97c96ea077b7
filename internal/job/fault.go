package job

import (
	"strconv"
	"time"

	"sillbot/internal/opening"
)

// Break notes that n pieces of a window are no good and were not fitted: broken
// when they came, or before they went in. Fault notes what is found of fitted
// ones, whenever that is; they stay where they are. Both open a remake: a window
// of its own with the line as it was ordered, that the next revision holds. Its
// name is the one given, or that with a number. n 0: the only piece.
func (j Job) Break(who Who, at time.Time, id, n int, sentence, name string) (Job, []Event, error) {
	return j.faulty(who, at, id, n, DoBreak, sentence, name)
}

// Fault is of a frame that was fitted, or came and was checked: see Break.
func (j Job) Fault(who Who, at time.Time, id, n int, sentence, name string) (Job, []Event, error) {
	return j.faulty(who, at, id, n, DoFault, sentence, name)
}

func (j Job) faulty(who Who, at time.Time, id, n int, do Action, sentence, name string) (Job, []Event, error) {
	i, err := j.admitTo(id, who, Fitter)
	if err != nil {
		return Job{}, nil, err
	}
	if sentence, err = words(sentence, longestWords); err != nil {
		return Job{}, nil, err
	}
	o := j.Openings[i]
	line, told := o.Told()
	_, have, _ := o.takes(do)
	switch {
	case sentence == "":
		return Job{}, nil, refuse("no_words")
	case have == 0 || !told:
		return Job{}, nil, wrongState(o, do)
	case n == 0 && o.Count > 1:
		return Job{}, nil, refuse("which_pieces").say("name", o.Name).num("n", o.ID).num("of", o.Count)
	case n > have:
		return Job{}, nil, o.fewer(have)
	case len(o.Supply.Notes) >= mostNotes:
		return Job{}, nil, refuse("too_many").num("most", mostNotes)
	}
	n = max(n, 1)
	step := stepEntry(do)
	step.Of = n
	note := opening.Entry{Act: opening.Note, Value: sentence}
	if j, err = j.step(who, at, i, do, note, step); err != nil {
		return Job{}, nil, err
	}
	if j, err = j.remake(who, at, i, n, line, note, name); err != nil {
		return Job{}, nil, err
	}
	made := j.Openings[len(j.Openings)-1]
	e := about(FaultFound, o).num("pieces", n).num("of", o.Count).num("number", made.ID).say("words", sentence).say("remake", made.Name)
	return j.done(who, at, e)
}

// remake begins a window that is to be made as another one was told, n of them.
// Its readings are those of that window, known as they were there.
func (j Job) remake(who Who, at time.Time, i, n int, line Line, note opening.Entry, name string) (Job, error) {
	source := j.Openings[i]
	free := name
	for k := 2; j.taken(free); k++ {
		free = name + " (" + strconv.Itoa(k) + ")"
	}
	j, err := j.Begin(who, at, free, opening.Record{})
	if err != nil {
		return Job{}, err
	}
	last := len(j.Openings) - 1
	o := j.Openings[last]
	o.Said = o.Said.Remake(source.Said, who.writes(at), opening.OfOneWindow...)
	if n > 1 {
		o.Said = o.Said.Put(who.writes(at), opening.Entry{Act: opening.Set, Key: "count", Value: strconv.Itoa(n)})
	}
	j.put(last, o)
	o = j.Openings[last]
	j.write(who, at, last, note, opening.Entry{Act: opening.Reviewed},
		opening.Entry{Act: opening.Tell, Value: toldRemake, Of: source.ID, Told: telling(o.Version, stored(line))})
	return j, nil
}
