package dialog

import (
	"slices"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// What is at hand is one record: that of a window of the open job, or else the
// one in the state. A window comes into the open job with its first answer.

// stamp is who writes in this turn.
func (t *turn) stamp() opening.Stamp {
	return opening.Stamp{By: t.user, Role: opening.Fitter, At: t.now.Unix(), Msg: t.msg, Turn: t.Turn}
}

// write puts entries into the record at hand. It reports whether they were
// taken: a window whose frame is here can't be changed, and says so once.
func (t *turn) write(entries ...opening.Entry) bool {
	t.New, t.Gone, t.Day = false, false, nil
	if t.inJob() || t.enter() {
		return t.writeInJob(entries)
	}
	k := t.answers()
	entries = slices.DeleteFunc(slices.Clone(entries), func(e opening.Entry) bool {
		return e.Act == opening.Set && k.Has(e.Key) && k.Value(e.Key) == e.Value && k.Entry(e.Key).How == e.How
	})
	t.Hand = t.Hand.Put(t.stamp(), entries...)
	return true
}

func (t *turn) writeInJob(entries []opening.Entry) bool {
	if t.elsewhere() {
		return false
	}
	j, err := t.Job.Say(t.who(), t.now, t.Editing, entries...)
	if err != nil {
		if !t.refused {
			t.say(tell.Refusal(err))
		}
		t.refused = true
		return false
	}
	t.Job = &j
	return true
}

// enter brings what is at hand into the open job as a new window, with what was
// said of it.
func (t *turn) enter() bool {
	if t.Second != nil || t.Job == nil || t.Job.Ref != t.Ref {
		return false
	}
	name := words().Plain(t.lang(), phrase.Of("job.window").WithInt("n", t.Job.LastID+1))
	j, err := t.Job.Begin(t.who(), t.now, name, t.Hand)
	if err != nil {
		t.took(j, nil, err)
		return false
	}
	t.Job, t.Editing, t.Hand = &j, j.LastID, opening.Record{}
	return true
}

// review looks at the complete window as a whole, which the job then tells of.
func (t *turn) review() {
	if t.Job != nil && (t.inJob() || t.enter()) && !t.elsewhere() {
		t.took(t.Job.Review(t.who(), t.now, t.Editing))
	}
}

// record writes an answer. What is asked once for the chat is kept for the next
// windows too.
func (t *turn) record(ans Answer, falls ...opening.Entry) {
	set := opening.Entry{Act: opening.Set, Key: ans.Key, Value: ans.Value, Typed: ans.Typed}
	all := t.ofAll(find(ans.Key))
	switch {
	case all:
		set.How = opening.ForAll
	case ans.Assumed:
		set.How = opening.Assumed
	}
	entries := append(falls, set)
	if ans.Sure {
		entries = append(entries, opening.Entry{Act: opening.Sure, Key: ans.Key})
	}
	if !t.write(entries...) {
		return
	}
	if all {
		t.spread(ans)
	}
	if q := find(ans.Key); q != nil && (q.Scope == opening.House || all) {
		kept := slices.DeleteFunc(slices.Clone(t.Kept), func(old Answer) bool { return old.Key == ans.Key })
		t.Kept = append(kept, Answer{Key: ans.Key, Value: ans.Value})
	}
}

// clears are the entries that take the values of those fields away that have one.
func (t *turn) clears(keys ...string) []opening.Entry {
	var list []opening.Entry
	a := t.answers()
	for _, key := range keys {
		if a.Has(key) {
			list = append(list, opening.Entry{Act: opening.Clear, Key: key})
		}
	}
	return list
}

// drop takes answers away and says which of the keys had one.
func (t *turn) drop(keys ...string) []string {
	var gone []string
	list := t.clears(keys...)
	if len(list) == 0 || !t.write(list...) {
		return nil
	}
	for _, e := range list {
		gone = append(gone, e.Key)
	}
	return gone
}

// useCrew makes the window at hand go by the crew's settings.
func useCrew(t *turn) bool {
	list := t.crewEntries()
	a := t.answers()
	for f := range opening.Fields {
		set := slices.ContainsFunc(list, func(e opening.Entry) bool { return e.Key == f.Key })
		if f.Scope == opening.CrewWide && a.Has(f.Key) && !set {
			list = append(list, opening.Entry{Act: opening.Clear, Key: f.Key})
		}
	}
	return len(list) == 0 || t.write(list...)
}

// leave remembers what is at hand for undo, and says so when it is half
// measured: it waits in the job.
func (t *turn) leave() {
	if !t.started() {
		return
	}
	t.Was, t.New, t.Gone = &place{t.Ref, t.Editing, t.Hand}, true, false
	if o, ok := t.window(); ok && !t.done() {
		t.say(phrase.Of("job.parked").Saying("name", o.Name).WithInt("n", o.ID))
	}
}

// goBack returns to where the conversation was before.
func (t *turn) goBack() bool {
	was := t.Was
	if was == nil || was.Ref != t.Ref {
		return false
	}
	t.begin()
	t.Editing, t.Hand, t.Was, t.New = was.Window, was.Hand, nil, false
	if t.Editing == 0 {
		return true
	}
	if _, ok := t.window(); !ok {
		t.begin()
		return false
	}
	return true
}

// takeBack takes the person's last act on what is at hand back, and gives the
// fields that are another now.
func (t *turn) takeBack() (keys []string, err error) {
	if t.elsewhere() {
		return nil, opening.ErrNothing
	}
	t.Doubt, t.Proposed, t.Asking, t.Change, t.Fails = nil, nil, "", "", 0
	turn, photos := t.said().LastTurn(t.user), len(t.said().Photos())
	if !t.inJob() {
		t.Hand, keys, err = t.Hand.Undo(t.stamp())
	} else {
		var j job.Job
		if j, keys, err = t.Job.TakeBack(t.who(), t.now, t.Editing); err == nil {
			t.Job = &j
		}
	}
	if err == nil {
		t.photosBack = photos - len(t.said().Photos())
	}
	if err == nil && slices.ContainsFunc(keys, func(key string) bool { return find(key).is(opening.Maker) }) {
		t.takeBackItems(keys, turn)
	}
	return keys, err
}

// sayNewRules gives notice, once a job, of what newer rules make another of what was
// told before.
func (t *turn) sayNewRules() {
	if t.Job == nil || t.Job.Ref != t.Ref || t.Job.Owner.Chat != t.chat {
		return
	}
	if j, events, err := t.Job.NewRules(t.who(), t.now); err == nil {
		t.Job = &j
		t.announce(events)
	}
}
