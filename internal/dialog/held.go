package dialog

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/tell"
)

// askHeld puts the proposal: one way as a question with yes and no, several as a
// choice.
func (t *turn) askHeld() {
	p := t.Proposed
	text := phrase.Of("held."+string(p.Why)).Saying("words", p.Words)
	if p.Why == assumed {
		text = phrase.Of("assumed." + p.Ways[0][0].Key)
	}
	rows := [][]Button{}
	if len(p.Ways) == 1 {
		t.say(text.WithRow("values", valuesOf(p.Ways[0])...))
		rows = append(rows, []Button{t.button("held.take", heldKey, p.mark(0)), t.button("held.drop", heldKey, p.mark(-1))})
	} else {
		text.Key = "held.which"
		t.say(text)
		common := shared(p.Ways)
		if len(common) > 0 {
			t.say(phrase.Of("held.common").WithRow("values", valuesOf(common)...))
		}
		for i, way := range p.Ways {
			own := slices.DeleteFunc(slices.Clone(way), func(ans Answer) bool { return slices.Contains(common, ans) })
			b := t.button("held.way", heldKey, p.mark(i))
			b.Label = b.Label.WithRow("values", valuesOf(own)...)
			rows = append(rows, []Button{b})
		}
		rows = append(rows, []Button{t.button("held.none", heldKey, p.mark(-1))})
	}
	t.buttons = rows
}

// dropProposal lets go of what waits for a yes, and says so.
func (t *turn) dropProposal() {
	if t.Proposed != nil {
		t.say(phrase.Of("held.dropped"))
	}
	t.Proposed = nil
}

// shared are the answers that all ways have.
func shared(ways [][]Answer) []Answer {
	return slices.DeleteFunc(slices.Clone(ways[0]), func(ans Answer) bool {
		return slices.ContainsFunc(ways[1:], func(way []Answer) bool { return !slices.Contains(way, ans) })
	})
}

// heldKey is the question of a proposal's buttons.
const heldKey = "held"

// mark is the choice on a button: the way, and when it was proposed.
func (p *Proposal) mark(way int) string {
	return strconv.Itoa(way) + "@" + strconv.FormatInt(int64(p.Turn), 36)
}

// pressHeld takes a button of a proposal.
func (t *turn) pressHeld(code string) {
	p := t.Proposed
	way, turn, _ := strings.Cut(code, "@")
	i, err := strconv.Atoi(way)
	if p == nil || err != nil || i >= len(p.Ways) || turn != strconv.FormatInt(int64(p.Turn), 36) {
		t.stale()
		return
	}
	t.settleProposal(i)
}

// settleProposal takes that way of what is proposed; below 0, none.
func (t *turn) settleProposal(way int) {
	p := t.Proposed
	if way < 0 {
		t.dropProposal()
		if p != nil && p.Why == hear.Exchanged {
			t.confirmBoth(p.Ways[0])
		}
		if p != nil && p.Why == hear.Exchanged && t.answers().Given("lean") { // said otherwise than the diagonals show it
			t.accept(find("lean"), Answer{Key: "lean", Value: skipped})
			t.say(phrase.Of("skipped.lean"))
		}
		return
	}
	t.Proposed = nil
	if p.Why == assumed {
		t.takeSafe(p.Ways[way][0])
		return
	}
	t.takeProposed(p.Ways[way])
}

// confirmBoth notes that readings which seemed to be each other's are right.
func (t *turn) confirmBoth(way []Answer) {
	for _, ans := range way {
		if isReading(ans.Key) {
			t.write(opening.Entry{Act: opening.Sure, Key: ans.Key})
		}
	}
}

// takeSafe stores what is assumed because nobody can tell.
func (t *turn) takeSafe(ans Answer) {
	q := find(ans.Key)
	ans.Assumed = true
	t.wasDone = false
	t.accept(q, ans)
	t.echo(q, q.stored(ans.Value))
}

// takeProposed stores what was proposed.
func (t *turn) takeProposed(way []Answer) {
	t.wasDone = false
	var list []hear.Value
	for _, ans := range way {
		list = append(list, hear.Value{Key: ans.Key, Value: ans.Value})
	}
	if t.store(list) {
		t.questionAll(list)
	}
}

// settleHeld takes what is typed while a proposal is open: yes, no, or a message
// of its own. It reports whether that was the answer.
func (t *turn) settleHeld(text string) bool {
	p := t.Proposed
	code, rest, ok := words().Match(t.lang(), "answer", text)
	q := t.next(t.answers())
	h := hear.Read(text, t.context())
	answers := q != nil && q.Group != "answer" && slices.ContainsFunc(h.Said, func(v hear.Value) bool { return v.Key == q.Key })
	way := p.named(h)
	if way < 0 {
		way = t.endNamed(p, text)
	}
	switch {
	case way >= 0:
		t.settleProposal(way)
	case !ok || rest != "" || answers:
		if touches(h, p, nil) { // else it is asked again after this
			t.Proposed = nil
		}
		return false
	case code == "yes" && len(p.Ways) == 1:
		t.settleProposal(0)
	case code == "no":
		t.dropProposal()
	default:
		return false
	}
	return true
}

// named is the one of several ways that has all that a message says, and it says nothing
// else; below 0 where there is none, or more than one.
func (p *Proposal) named(h hear.Heard) int {
	way, said := -1, h.Said
	if h.Held != nil && len(h.Held.Ways) == 1 { // another answer than is stored
		said = h.Held.Ways[0]
	}
	if len(p.Ways) < 2 || len(said) == 0 || h.Length != nil || h.Trouble != nil || h.Query != nil || h.Unknown != nil {
		return way
	}
	for i, answers := range p.Ways {
		has := func(v hear.Value) bool { return slices.Contains(answers, Answer{Key: v.Key, Value: v.Value}) }
		if slices.ContainsFunc(said, func(v hear.Value) bool { return !has(v) }) {
			continue
		}
		if way >= 0 {
			return -1
		}
		way = i
	}
	return way
}

// cantTell takes what is not known on the safe side, where there is one.
func (t *turn) cantTell(q *question) {
	switch {
	case q == nil:
		t.say(phrase.Of("done.hint"))
	case q.Safe == "":
		t.say(phrase.Of("skip.needed").Sub1("name", tell.Name(q.Key)))
	default:
		t.Proposed = &Proposal{Why: assumed, Ways: [][]Answer{{{Key: q.Key, Value: q.Safe}}}, Turn: t.Turn}
	}
}

// endNamed is the way by which the end of the sill that is typed is lower, where that is
// what the ways differ in; below 0 for none.
func (t *turn) endNamed(p *Proposal, text string) int {
	end, rest, ok := words().Match(t.lang(), "pos", text)
	if !ok || rest != "" || end != "left" && end != "right" || len(p.Ways) != 2 {
		return -1
	}
	return slices.IndexFunc(p.Ways, func(way []Answer) bool {
		return len(way) == 1 && way[0].Key == "sill.fall" && figureOf(way[0].Value).IsNegative() == (end == "left")
	})
}
