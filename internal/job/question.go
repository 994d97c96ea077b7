package job

import (
	"slices"
	"strings"
	"time"

	"sillbot/internal/opening"
)

// A question of the desk is a thing of its own: it has a number on its line and
// is open until it is answered or withdrawn, whatever becomes of the line. It
// follows from the notes and the steps in the record.

// Query asks the fitter about a line, in one sentence. A line that was
// confirmed no longer is.
func (j Job) Query(who Who, at time.Time, id int, sentence string) (Job, []Event, error) {
	if err := j.roomToAsk(who, id); err != nil {
		return Job{}, nil, err
	}
	return j.note(who, at, id, 0, sentence, DoQuery, func(o Opening) Event {
		open := o.Supply.Open()
		return about(LineQueried, o).num("n", o.ID).num("question", open[len(open)-1].Question)
	})
}

// QueryOf is Query by who read a revision; "": nobody knows which.
func (j Job) QueryOf(who Who, at time.Time, id int, revision, sentence string) (Job, []Event, error) {
	if revision != "" {
		if err := j.MayAsk(who, id, revision); err != nil {
			return Job{}, nil, err
		}
	}
	return j.Query(who, at, id, sentence)
}

// MayAsk is why who read a revision can't ask about a line of it. One that is held may be
// asked about: what it says is still what was read.
func (j Job) MayAsk(who Who, id int, revision string) error {
	if err := j.MayQuery(who, id, ""); err != nil {
		return err
	}
	if !strings.EqualFold(revision, j.Order.Name(j.Order.Revision)) {
		return j.superseded(revision)
	}
	return j.roomToAsk(who, id)
}

// roomToAsk is why no more questions about a line are taken.
func (j Job) roomToAsk(who Who, id int) error {
	i, err := j.admitTo(id, who, DoQuery.row().By...)
	if err != nil {
		return err
	}
	if o := j.Openings[i]; len(o.Supply.Open()) >= MostQuestions {
		return refuse("questions_open").say("name", o.Name).num("most", MostQuestions)
	}
	return nil
}

// MayRead is why the order is not for who asks, or not yet.
func (j Job) MayRead(who Who) error {
	if err := j.admit(who, Desk); err != nil {
		return err
	}
	if j.Order.Revision == 0 {
		return refuse("not_sent")
	}
	return nil
}

// MayQuery is why a line of that revision can't be asked about; "": whichever
// stands.
func (j Job) MayQuery(who Who, id int, revision string) error {
	i, err := j.admitTo(id, who, DoQuery.row().By...)
	if err != nil {
		return err
	}
	if revision != "" {
		if err := j.current(revision); err != nil {
			return err
		}
	}
	if o := j.Openings[i]; !o.State.atDesk() {
		return wrongState(o, DoQuery)
	}
	return nil
}

// Answer answers a question about a line, in one sentence. Question is its
// number on the line; 0: the one that is open.
func (j Job) Answer(who Who, at time.Time, id, question int, sentence string) (Job, []Event, error) {
	asked, err := j.asked(who, id, question, DoAnswer)
	if err != nil {
		return Job{}, nil, err
	}
	return j.note(who, at, id, asked.Question, sentence, DoAnswer, func(o Opening) Event {
		return about(QueryAnswered, o).say("asked", asked.Words).num("open", o.questions)
	})
}

// WithdrawQuery takes a question back. Question is its number on the line; 0:
// the one that is open.
func (j Job) WithdrawQuery(who Who, at time.Time, id, question int) (Job, []Event, error) {
	asked, err := j.asked(who, id, question, DoWithdrawQuery)
	if err != nil {
		return Job{}, nil, err
	}
	step := stepEntry(DoWithdrawQuery)
	step.Of = asked.Question
	return j.take(who, at, id, DoWithdrawQuery, func(o Opening) Event {
		return about(QueryWithdrawn, o).say("asked", asked.Words).num("open", o.questions)
	}, step)
}

// asked finds the open question of that number, or the only one.
func (j Job) asked(who Who, id, question int, do Action) (Note, error) {
	i, err := j.admitTo(id, who, do.row().By...)
	if err != nil {
		return Note{}, err
	}
	o := j.Openings[i]
	open := o.Supply.Open()
	if question != 0 {
		open = slices.DeleteFunc(open, func(n Note) bool { return n.Question != question })
	}
	switch len(open) {
	case 0:
		return Note{}, wrongState(o, do)
	case 1:
		return open[0], nil
	}
	return Note{}, refuse("which_question").say("name", o.Name).num("n", o.ID).num("count", len(open))
}

// Reject says, in one sentence, what is wrong with the delivered frame. The
// desk has to confirm the line again.
func (j Job) Reject(who Who, at time.Time, id int, sentence string) (Job, []Event, error) {
	return j.note(who, at, id, 0, sentence, DoReject, plain(FrameRejected), opening.Entry{Act: opening.Clear, Key: "due"})
}

// note writes a sentence and the step that goes with it, about a question of
// the line or about none, and tells both.
func (j Job) note(who Who, at time.Time, id, question int, sentence string, do Action, tell func(Opening) Event, with ...opening.Entry) (Job, []Event, error) {
	i, err := j.admitTo(id, who, do.row().By...)
	if err != nil {
		return Job{}, nil, err
	}
	if sentence, err = words(sentence, longestWords); err != nil {
		return Job{}, nil, err
	}
	if sentence == "" {
		return Job{}, nil, refuse("no_words")
	}
	if len(j.Openings[i].Supply.Notes) >= mostNotes {
		return Job{}, nil, refuse("too_many").num("most", mostNotes)
	}
	step := stepEntry(do)
	step.Of = question
	entries := append([]opening.Entry{{Act: opening.Note, Value: sentence}, step}, with...)
	return j.take(who, at, id, do, func(o Opening) Event { return tell(o).say("words", sentence) }, entries...)
}
