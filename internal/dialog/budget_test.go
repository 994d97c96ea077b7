package dialog

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/opening"
)

// The budget of questions. An issue that adds a question says which one goes.
const (
	mostFirst   = 20 // messages of the first window of a job, one answer each
	mostHouse   = 6  // for the house, of which one press says all
	mostFurther = 16 // messages of a further window
	mostAlike   = 9  // of one that is as another but for its widths and heights
	mostItems   = 8  // presses for what stands on the line beside the survey
)

// onTop are the questions of some windows that come on top: an opening behind
// an overlap, diagonals that differ, a door beside low glass, and more lights than one or two equal ones.
func onTop(key string) bool {
	f := opening.Find(key)
	return f.Change == "inner" || f.Key == "lean" || f.Key == "door" || f.Name == "mullion" || f.Name == "transom" || f.Name == "light"
}

// surveyor answers the open question like somebody who presses what stands on
// the buttons and types only what is measured.
type surveyor struct {
	t       *rapid.T
	state   State
	said    []Reply
	size    [2]int64 // width and height
	counted map[string]int
	doubts  int
}

func (f *surveyor) send(in Input) {
	before := f.state
	f.state, f.said = Step(before, in)
	require.NotEqual(f.t, before, f.state)
}

// answer gives one answer, and counts it under the key that was open.
func (f *surveyor) answer(asBefore bool) {
	turn := &turn{State: f.state}
	key := turn.open()
	f.counted[key]++
	last := f.said[len(f.said)-1]
	if key == confirmKey {
		f.doubts++
		data, ok := onButton(last, "Keep it")
		require.True(f.t, ok, "a doubt that can't be kept: %v", last.Text)
		f.send(Input{Kind: Pressed, Text: data, Now: firstDay})
		return
	}
	field := opening.Find(key)
	require.Zero(f.t, field.Marks&(opening.OnRequest|opening.ByCommand), "%s is not of the survey", key)
	if data, ok := onButton(last, "As in the window before"); ok && asBefore {
		f.send(Input{Kind: Pressed, Text: data, Now: firstDay})
		return
	}
	if text := f.measured(field); text != "" {
		f.send(typed(text))
		return
	}
	var data []string
	for _, row := range last.Buttons {
		for _, b := range row {
			if !slices.Contains([]string{"2", "3", "4", "2t", "3t"}, b.Data[len(b.Data)-1:]) || key != "layout" {
				data = append(data, b.Data)
			}
		}
	}
	f.send(Input{Kind: Pressed, Text: rapid.SampledFrom(data).Draw(f.t, key), Now: firstDay})
}

// measured is what the tape or the eye says; "" for what is on a button.
func (f *surveyor) measured(field *opening.Field) string {
	more := rapid.Int64Range(0, 2).Draw(f.t, "more")
	diagonal := int64(math.Hypot(float64(f.size[0]), float64(f.size[1])))
	switch {
	case field.Change == "widths":
		return fmt.Sprint(f.size[0] + more)
	case field.Change == "heights":
		return fmt.Sprint(f.size[1] + more)
	case field.Key == "inner.width":
		return fmt.Sprint(f.size[0] + 60)
	case field.Key == "inner.height":
		return fmt.Sprint(f.size[1] + 60)
	case field.Key == "diagonal.rising":
		return fmt.Sprint(diagonal + 1 + more)
	case field.Key == "diagonal.falling":
		return fmt.Sprint(diagonal + 2)
	case field.Key == "sill.fall":
		return "level"
	case field.Key == "floor":
		return fmt.Sprint(rapid.SampledFrom([]int{600, 900, 1200, 1700}).Draw(f.t, "floor"))
	case field.Key == "storey" && rapid.Bool().Draw(f.t, "height outside"):
		return "1400"
	}
	return ""
}

// window surveys one window and gives how many messages it took, those of the
// house, and those that come on top.
func (f *surveyor) window(asBefore bool) (all, house, more int) {
	f.size = [2]int64{rapid.Int64Range(30, 90).Draw(f.t, "width") * 20, rapid.Int64Range(30, 70).Draw(f.t, "height") * 20}
	f.counted, f.doubts = map[string]int{}, 0
	for (&turn{State: f.state}).open() != "" {
		f.answer(asBefore)
	}
	for key, n := range f.counted {
		all += n
		switch {
		case key == confirmKey:
			more += n
		case opening.Find(key).Scope == opening.House:
			house += n
		case onTop(key):
			more += n
		case key == "layout":
			more += n - 1 // a press on Other, for what is seldom
		}
	}
	return all, house, more
}

func TestTheBudgetOfQuestions(t *testing.T) {
	var first, further int
	rapid.Check(t, func(t *rapid.T) {
		f := &surveyor{t: t}
		f.send(typed("/start"))
		all, house, more := f.window(false)
		require.LessOrEqual(t, all-house-more, mostFirst, "%v", f.counted)
		require.LessOrEqual(t, house, mostHouse)
		require.Equal(t, 1, house, "one press says what is of the house")
		first = max(first, all-house-more)

		f.send(Input{Kind: Typed, Text: "job new", Now: firstDay, Chat: 1, User: 1, Seed: make([]byte, 32)})
		f.send(typed("new"))
		all, house, more = f.window(true)
		require.Zero(t, house, "asked once")
		require.LessOrEqual(t, all-more, mostFurther, "%v", f.counted)
		further = max(further, all-more)
	})
	t.Logf("the longest first window took %d messages, the longest further one %d", first, further)
}

// As the last one, but for its readings: copied, then measured one by one. What
// else differs instead takes one message to open it and one to say it.
func TestTheBudgetOfAWindowLikeAnother(t *testing.T) {
	chat := func(text string) Input {
		return Input{Kind: Typed, Text: text, Now: firstDay, Chat: 1, User: 1, Seed: make([]byte, 32)}
	}
	kept, _ := playAll(State{}, script...)
	kept, _ = Step(kept, chat("job new"))
	for want, sent := range map[string][]string{
		"1334": {"copy 1 kitchen", "1334", "1332", "1333", "1180", "1182", "1181", "1781 1782", "level"},
		"1204": {"copy 1 kitchen", "same readings", "change lights", "fixed", "left", "change room", "kitchen", "change vents", "yes"},
	} {
		require.LessOrEqual(t, len(sent), mostAlike)
		s, said := kept, []Reply(nil)
		for _, text := range sent {
			s, said = Step(s, chat(text))
		}
		require.True(t, (&turn{State: s}).done(), "%v", said)
		require.Equal(t, 2, s.Editing)
		require.Equal(t, want, known(s).Value("width.top"))
		o, _ := s.Job.Find(2)
		known := o.Known()
		require.Equal(t, want, known.Value("width.top"), "in the job too")
	}
}

// What stands on the line beside the survey takes one press or message each.
func TestTheBudgetOfTheItemsOfALine(t *testing.T) {
	var items []string
	for f := range opening.Fields {
		beside := f.Marks&(opening.OnRequest|opening.ByCommand) != 0 && !f.Is(opening.Unsigned)
		if beside && f.Scope == opening.Window && (f.Is(opening.OnOrder) || f.Is(opening.ByCommand)) {
			items = append(items, f.Key)
		}
	}
	require.NotEmpty(t, items)
	require.LessOrEqual(t, len(items), mostItems, "%v", items)
}

// known is what is known of what is at hand.
func known(s State) *opening.Known {
	k := s.known()
	return &k
}
