package dialog

import (
	"slices"
	"strconv"
	"strings"

	"sillbot/internal/hear"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// pressed takes a button. For a button of an earlier question it says so and
// shows the open one again.
func (t *turn) pressed(data string) {
	if t.guestPressed(data) || t.pressReminders(data) {
		return
	}
	if strings.HasPrefix(data, talk.JobPress+":") {
		t.pressedJob(data)
		return
	}
	if strings.HasPrefix(data, talk.LinkPress+":") {
		if t.link == nil {
			t.say(phrase.Of("job.refused.share_unknown"))
			return
		}
		followLink(t)
		return
	}
	parts := strings.Split(data, ":")
	if len(data) > talk.MostData || len(parts) != 4 || parts[0] != pressVersion {
		t.say(phrase.Of("press.unknown"))
		return
	}
	conv, key, code := parts[1], parts[2], parts[3]
	if conv, _, _ = strings.Cut(conv, ownerMark); conv != strconv.FormatInt(int64(t.Conv), 36) {
		t.stale()
		return
	}
	if key == "do" {
		act(t, code)
		return
	}
	if key == dayKey {
		t.inPlace = code != "later"
		t.pressDay(code)
		return
	}
	if key == heldKey {
		t.inPlace = true
		t.pressHeld(code)
		return
	}
	if q := find(key); q.ofHouse() && key != t.open() && t.Doubt == nil && !t.elsewhere() {
		choose(t, q, code)
		return
	}
	if key != t.open() {
		t.stale()
		return
	}
	t.inPlace = true
	if d := t.Doubt; d != nil {
		code, mark, _ := strings.Cut(code, "@")
		if !d.isOf(mark) {
			t.stale()
			return
		}
		t.settle(code)
		return
	}
	choose(t, find(key), code)
}

// choose takes the answer of a button of the open question.
func choose(t *turn, q *question, code string) {
	if q == nil {
		t.say(phrase.Of("press.unknown"))
		return
	}
	t.Proposed = nil
	if code == skipped && q.skips() {
		t.skip(q)
		return
	}
	if code == opening.DeskSays && q.is(opening.Maker) {
		t.store([]hear.Value{{Key: q.Key, Value: code}})
		return
	}
	if q.Key == "sill.fall" && (code == "right" || code == "left") {
		how := phrase.Of("fall.how.right")
		if code == "left" {
			how = phrase.Of("fall.how.left")
		}
		t.say(how)
		t.quiet = true
		return
	}
	if code == otherCode && q.More != nil {
		t.buttons = t.others(q)
		return
	}
	if code == beforeCode && t.takeBefore(q) {
		return
	}
	// Buttons sent before there were shortcuts are still in people's chats.
	for _, row := range slices.Concat(t.answers().Offered((*opening.Field)(q)), q.More, q.Rows) {
		if slices.Contains(row, code) {
			t.Fails = 0
			pressCode(t, q, code)
			return
		}
	}
	t.say(phrase.Of("press.unknown"))
}

// pressCode takes one button's answer, or each of a shortcut's.
func pressCode(t *turn, q *question, code string) {
	if opening.Together(code) == nil {
		t.give(q, code)
		return
	}
	for _, ans := range opening.Together(code) {
		if ans.Value == skipped {
			t.skip(find(ans.Key))
			continue
		}
		t.give(find(ans.Key), ans.Value)
	}
}

// act runs the command of an action button.
func act(t *turn, code string) {
	if name, ok := strings.CutPrefix(code, "change="); ok {
		t.changeKey(name, "")
		return
	}
	if answer, ok := strings.CutPrefix(code, placeAside); ok {
		t.pressPlace(answer)
		return
	}
	if about, ok := strings.CutPrefix(code, "why="); ok {
		why(t, about)
		return
	}
	if number, ok := strings.CutPrefix(code, "forget="); ok {
		forgetIfSure(t, number)
		return
	}
	if number, ok := strings.CutPrefix(code, putOutPress); ok {
		pressPutOut(t, number)
		return
	}
	if about, ok := strings.CutPrefix(code, rightPress); ok {
		t.pressRight(about)
		return
	}
	c := findCommand(code)
	if c == nil || c.untyped {
		t.say(phrase.Of("press.unknown"))
		return
	}
	t.obey(typedCommand{row: c, text: code})
}

// guestPressed takes a button that is none for a guest.
func (t *turn) guestPressed(data string) (done bool) {
	if !t.guest() || t.Second != nil || strings.HasPrefix(data, talk.JobPress+":") || strings.HasPrefix(data, remindPress) {
		return false
	}
	parts := strings.Split(data, ":")
	if len(parts) == 4 && parts[2] == "do" && (strings.HasPrefix(parts[3], "forget=") || findCommand(parts[3]) != nil) {
		return false // the row says the rest
	}
	t.refuseGuest()
	return true
}
