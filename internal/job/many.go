package job

import (
	"maps"
	"slices"
	"time"
)

// Left is a window that something was not done to, and why.
type Left struct {
	ID  int
	Row int // of the answer file that asked for it; 0: none did
	Why error
}

// Each does something to each of those windows, in that order. One that it can't
// be done to holds up no other: it is left. What happened to several alike is
// told as one event.
func (j Job) Each(ids []int, do func(Job, int) (Job, []Event, error)) (Job, []Event, []Left) {
	before := j.Seq
	var events []Event
	var left []Left
	for _, id := range ids {
		next, more, err := do(j, id)
		if err != nil {
			left = append(left, Left{ID: id, Why: err})
			continue
		}
		j = next
		events = append(events, more...)
	}
	j.binTogether(before)
	return j, together(events), left
}

// May are the openings that an action of the fitter's may be done to.
func (j Job) May(do Action) []int {
	var ids []int
	for _, o := range j.Openings {
		if _, ok := Next(o.State, do, Fitter); ok {
			ids = append(ids, o.ID)
		}
	}
	return ids
}

// binTogether marks windows that were deleted since that event as deleted at once,
// so that they come back at once.
func (j *Job) binTogether(since int) {
	j.Bin = slices.Clone(j.Bin)
	for i := range j.Bin {
		if j.Bin[i].Seq > since {
			j.Bin[i].Seq = j.Seq
		}
	}
}

// Restore brings back what was deleted last: one window, or those that were
// deleted with it.
func (j Job) Restore(who Who, at time.Time) (Job, []Event, error) {
	if len(j.Bin) == 0 {
		return j.Undo(who, at)
	}
	seq := j.Bin[len(j.Bin)-1].Seq
	var events []Event
	for len(j.Bin) > 0 && j.Bin[len(j.Bin)-1].Seq == seq {
		next, more, err := j.Undo(who, at)
		if err != nil {
			return Job{}, nil, err
		}
		j, events = next, append(events, more...)
	}
	return j, together(events), nil
}

// ofSeveral are the kinds of event that are told of several windows at once.
var ofSeveral = []EventKind{
	OpeningDeleted, CheckedDeleted, LineDeleted, LineTakenBack, OpeningRestored, CheckedRestored,
	CheckAsked, CheckWithdrawn, FiguresSigned, StepTaken, StepBack, HandedOver, FrameRejected, LineConfirmed,
}

// together makes one event of those that tell the same of several windows, with
// the number of the last.
func together(events []Event) []Event {
	var list []Event
	for _, e := range events {
		i := slices.IndexFunc(list, func(first Event) bool { return first.alike(e) })
		if i < 0 {
			list = append(list, e)
			continue
		}
		list[i] = list[i].joined(e)
	}
	return slices.DeleteFunc(list, func(e Event) bool { // the whole order says it
		return e.Kind == LineConfirmed && list[len(list)-1].Kind == OrderConfirmed
	})
}

// alike says whether another event tells the same of another window.
func (e Event) alike(of Event) bool {
	_, some := e.Figures["pieces"]
	return !some && e.Kind == of.Kind && slices.Contains(ofSeveral, e.Kind) && maps.Equal(e.Words, of.Words) && e.Say["words"] == of.Say["words"]
}

func (e Event) joined(next Event) Event {
	e.Seq = next.Seq
	e.Openings = slices.Concat(e.Openings, next.Openings)
	for name, figure := range next.Figures {
		e.Figures = with(e.Figures, name, figure)
	}
	return e.num("count", len(e.Openings)).say("numbers", Numbers(e.Openings))
}
