package dialog

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/talk"
)

// inGroup is what a person types in a group, or presses.
func inGroup(user int64, name string, kind Kind, text string) Input {
	return Input{Kind: kind, Text: text, Now: firstDay, Lang: "en", Chat: -5, User: user, Name: name, Group: true, Msg: 40, Seed: []byte("0123456789abcdef0123456789abcdef")}
}

// What waits for two people of a group may go as one message, as long as each is named
// above what is theirs, and the buttons are of one of them alone.
func TestRepliesToSeveralPeopleOfAGroup(t *testing.T) {
	answers := func(user int64, name string, texts ...string) (s State, replies []Reply) {
		for _, text := range texts {
			var all []Reply
			s, all = Step(s, inGroup(user, name, Typed, text))
			replies = append(replies, all...)
		}
		return s, replies
	}
	_, a := answers(31, "Ana", "England today bare none white", "1204", "1202")
	_, b := answers(32, "Bo", "England today bare none white", "1300", "1301")
	named := func(r Reply) (names []string) {
		for _, line := range r.Text.Lines["lines"] {
			if line.Key == nameLine {
				names = append(names, line.Say["name"])
			}
		}
		return names
	}
	one := joinAll(t, []Reply{a[1], a[2]})
	require.Len(t, one, 1)
	require.Equal(t, []string{"Ana"}, named(one[0]), "one person is named once")
	require.Equal(t, "ask.width.bottom", lineKeys(one[0])[len(lineKeys(one[0]))-1])

	both := joinAll(t, []Reply{a[1], b[1], a[2], b[2]})
	require.Len(t, both, 1)
	require.Equal(t, []string{"Ana", "Bo", "Ana", "Bo"}, named(both[0]))
	require.EqualValues(t, 32, both[0].For.User)
	require.Equal(t, &talk.Asked{Name: "Bo"}, both[0].Asks, "the buttons are Bo's, and either may answer")
	said := 0
	for _, key := range lineKeys(both[0]) {
		if strings.HasPrefix(key, "ask.") {
			said++
		}
	}
	require.Equal(t, 4, said, "no question of one is taken for the other's")

	var called []int64
	for _, line := range both[0].Text.Lines["lines"] {
		if line.Key == nameLine {
			called = append(called, line.Num["user"].IntPart())
		}
	}
	require.Equal(t, []int64{31, 32, 31, 32}, called, "each is called, for the message answers the last alone")
	require.Nil(t, one[0].Text.Lines["lines"][0].Num, "who is answered is not")
	both = joinAll(t, []Reply{a[1], b[1], b[2]})
	require.Equal(t, []string{"Ana", "Bo"}, named(both[0]))
	require.Equal(t, &talk.Asked{Name: "Bo"}, both[0].Asks, "either may still answer")

	_, c := answers(33, "Cy", "England") // asked with buttons
	require.NotEmpty(t, c[0].Buttons)
	require.Len(t, joinAll(t, []Reply{a[1], c[0]}), 1, "the buttons are of the last")
	require.Len(t, joinAll(t, []Reply{c[0], a[1]}), 2, "buttons stand under their question")
	elsewhere := b[1]
	elsewhere.Topic = 8
	require.Len(t, joinAll(t, []Reply{a[1], elsewhere}), 2, "in another part of the group")
	nobody := b[1]
	nobody.For = &talk.Addressee{User: 32}
	require.Len(t, joinAll(t, []Reply{a[1], nobody}), 2, "who can't be named")
}

// A button says whose it is, so that nobody answers another's question: neither when both
// are in the same place of their surveys, nor by a button of before, where the message
// says it.
func TestAPressOnAnothersQuestion(t *testing.T) {
	ana, replies := Step(State{}, inGroup(31, "Ana", Typed, "hello"))
	bo, asked := Step(State{}, inGroup(32, "Bo", Typed, "hello"))
	data := replies[0].Buttons[0][0].Data
	next, refused := Step(bo, inGroup(32, "Bo", Pressed, data))
	require.Equal(t, bo, next)
	require.Len(t, refused, 1)
	require.Equal(t, "group.another", refused[0].Toast.Key, "nothing is kept of the message any more")
	require.LessOrEqual(t, len([]rune(words().Plain("en", *refused[0].Toast))), 200, "as much as a toast shows")
	named := inGroup(32, "Bo", Pressed, data)
	named.Asked = replies[0].Asks
	_, refused = Step(bo, named)
	require.Equal(t, "This question is for Ana. To see your own again type /job.", words().Plain("en", *refused[0].Toast))
	_, replies = Step(State{}, inGroup(31, strings.Repeat("Ana <b>", 20), Typed, "hello"))
	named.Asked = replies[0].Asks
	_, refused = Step(bo, named)
	require.LessOrEqual(t, len([]rune(words().Plain("en", *refused[0].Toast))), 200, "as much as a toast shows")
	require.Contains(t, words().Text("en", *refused[0].Toast), "Ana &lt;b&gt;", "a name is no markup")
	next, _ = Step(ana, inGroup(31, "Ana", Pressed, data))
	k := next.Hand.Known()
	require.Equal(t, "england", k.Value("nation"))

	before := inGroup(32, "Bo", Pressed, strings.Replace(asked[0].Buttons[0][0].Data, ownerMark+"w:", ":", 1))
	require.NotContains(t, before.Text, ownerMark)
	before.Asked = &talk.Asked{Key: "nation", User: 31}
	_, refused = Step(bo, before)
	require.Equal(t, "group.another", refused[0].Toast.Key)
	before.Asked.User = 32
	next, _ = Step(bo, before)
	k = next.Hand.Known()
	require.Equal(t, "england", k.Value("nation"))
}

// Every button of a group fits into what the platform takes, whatever the number of whose
// it is: it has 52 bits at the most (core.telegram.org/bots/api, User).
func TestButtonsOfAGroupFit(t *testing.T) {
	const most = 1<<52 - 1
	s := State{Conv: 9999}
	for _, text := range []string{"hello", "England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level fixed arch hall first 900 skip no", "change", "summary", "job", "list", "crew", "items", "house", "forget"} {
		var replies []Reply
		s, replies = Step(s, inGroup(most, "Ana", Typed, text))
		for _, r := range replies {
			for _, row := range r.Buttons {
				for _, b := range row {
					require.LessOrEqual(t, len(b.Data), talk.MostData, b.Data)
				}
			}
		}
	}
}
