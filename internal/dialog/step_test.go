package dialog

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"sillbot/internal/opening"
	"sillbot/internal/talk"
)

// script is a whole survey of one window, one answer a message. The readings
// are invented.
var script = []string{
	"England", "today", "brick", "150", "white",
	"1204", "1202", "1203", "1050", "1052", "1051", "1595", "1596", "level",
	"2", "600", "left", "fixed", "brick", "bedroom", "900", "first", "4-20-4", "no",
}

func typed(text string) Input { return Input{Kind: Typed, Text: text, Now: firstDay} }

func playAll(s State, texts ...string) (State, []Reply) {
	var said []Reply
	for _, text := range texts {
		var replies []Reply
		s, replies = Step(s, typed(text))
		said = append(said, replies...)
	}
	return s, said
}

// A newcomer gives one answer a message, reading by reading, and presses what
// stands on the buttons. Of a square opening that no leaf overlaps, the ground
// floor, a bath and the diagonals ask most.
func TestSurveyByANewcomerTakesNoMoreThanTwentyMessages(t *testing.T) {
	for name, lights := range map[string]string{"one light": "Hinges left", "two equal lights": "Two equal: hinges left, fixed"} {
		t.Run(name, func(t *testing.T) {
			messages := []string{
				"England, today", "Bare brick or stone", "150 mm", "PVC-U, white",
				"1204", "1202", "1203", "1050", "1052", "1051", "1595", "1596", "level",
				lights, "Brick or timber, can be drilled", "Bathroom, bath or shower within 800 mm",
				"900", "1400", "No", "4-20-4", "No",
			}
			require.LessOrEqual(t, len(messages)-1, 20, "the first is of the house")
			s, said := playAll(State{}, "/start") // the app sends it when the chat is opened
			for _, message := range messages {
				require.False(t, (&turn{State: s}).done(), "before %q", message)
				in := typed(message)
				if data, ok := onButton(said[len(said)-1], message); ok {
					in.Kind, in.Text = Pressed, data
				}
				s, said = Step(s, in)
			}
			require.True(t, (&turn{State: s}).done())
			require.NotNil(t, said[len(said)-2].Picture)
		})
	}
}

// onButton is the data of the button that bears the words.
func onButton(r Reply, label string) (data string, ok bool) {
	for _, row := range r.Buttons {
		for _, b := range row {
			if words().Plain("en", b.Label) == label {
				return b.Data, true
			}
		}
	}
	return "", false
}

// A shortcut's button leaves the same answers as its questions one by one, is
// taken back by them one by one, and gives way to the plain options where it
// would answer again what is known.
func TestShortcutsAnswerAsTheirQuestionsDo(t *testing.T) {
	upTo := map[string][]string{
		"nation": nil,
		"layout": script[:14],
		"room":   append(slices.Clone(script[:14]), "fixed", "brick"),
		"storey": append(slices.Clone(script[:14]), "fixed", "brick", "bedroom", "900"),
	}
	for key, given := range upTo {
		before, _ := playAll(State{}, append([]string{"/start"}, given...)...)
		require.Equal(t, key, (&turn{State: before}).open())
		for _, row := range find(key).Short {
			for _, code := range row {
				together := opening.Together(code)
				if together == nil {
					continue
				}
				pressed, _ := Step(before, Input{Kind: Pressed, Text: (&turn{State: before}).button("x", key, code).Data, Now: firstDay})
				oneByOne := before
				for _, ans := range together {
					require.Equal(t, ans.Key, (&turn{State: oneByOne}).open(), code)
					text := ans.Value
					if text == skipped {
						text = "skip"
					}
					oneByOne, _ = Step(oneByOne, typed(text))
				}
				require.Equal(t, answersOf(oneByOne), answersOf(pressed), code)
				for range together {
					pressed, _ = Step(pressed, typed("back"))
				}
				require.ElementsMatch(t, answersOf(before), answersOf(pressed), code)
			}
		}
	}
	for f := range opening.Fields {
		_, pressed := upTo[f.Key]
		shortcut := slices.ContainsFunc(slices.Concat(f.Short...), func(code string) bool { return opening.Together(code) != nil })
		require.Equal(t, shortcut, pressed, "%s: every shortcut has been pressed", f.Key)
	}

	s, _ := playAll(State{}, script...)
	_, said := playAll(s, "change nation")
	_, again := onButton(said[len(said)-1], "England, today")
	require.False(t, again, "the day is known")
	_, plainly := onButton(said[len(said)-1], "England")
	require.True(t, plainly)
}

func TestSurveyTypedInGroupsTakesEightMessages(t *testing.T) {
	s, said := playAll(State{}, "England today", "brick 150 white", "1204 1202 1203 1050 1052 1051", "1595 1596 level",
		"left fixed", "600 brick bedroom 900", "first 4-20-4", "no")
	require.True(t, (&turn{State: s}).done())
	require.NotNil(t, said[len(said)-2].Picture)
}

// values are the answers of script that are plain lengths; whatever way they
// are spread over messages, the state is the same.
func TestAnyGroupingGivesTheSameState(t *testing.T) {
	readings := script[5:13]
	want, _ := playAll(State{}, script...)
	rapid.Check(t, func(t *rapid.T) {
		s, _ := playAll(State{}, script[:5]...)
		group := []string{}
		for i, reading := range readings {
			group = append(group, reading)
			if i == len(readings)-1 || rapid.Bool().Draw(t, "send") {
				s, _ = playAll(s, strings.Join(group, rapid.SampledFrom([]string{" ", ", ", "\n", "; "}).Draw(t, "between")))
				group = nil
			}
		}
		s, _ = playAll(s, script[13:]...)
		require.Equal(t, answersOf(want), answersOf(s))
		require.Equal(t, besides(t, want), besides(t, s))
	})
}

func TestBackThenTheSameAnswerIsTheIdentity(t *testing.T) {
	for n := range len(script) {
		before, _ := playAll(State{}, script[:n+1]...)
		after, _ := playAll(before, "back", script[n])
		require.Equal(t, answersOf(before), answersOf(after), "after %q", script[n])
		require.Equal(t, besides(t, before), besides(t, after), "after %q", script[n])
	}
}

func TestHelpLanguageAndUnitsKeepThePlace(t *testing.T) {
	for n := range len(script) {
		s, _ := playAll(State{}, script[:n]...)
		for _, aside := range []string{"help", "language", "language english", "units", "why", "summary", "card"} {
			open := (&turn{State: s}).open()
			after, replies := Step(s, typed(aside))
			require.Equal(t, answersOf(s), answersOf(after), aside)
			require.Equal(t, open, (&turn{State: after}).open(), aside)
			require.NotEmpty(t, replies, aside)
		}
	}
}

// besides is the state but for what was said and when.
func besides(t require.TestingT, s State) string {
	s.Hand, s.Turn, s.ToldAt = opening.Record{}, 0, 0
	return asJSON(t, s)
}

// answersOf are the answers of what is at hand, in their order.
func answersOf(s State) []string {
	k := s.known()
	var list []string
	for _, key := range k.InOrder() {
		if find(key).is(opening.ByCommand) {
			continue
		}
		answer := key + "=" + k.Value(key)
		if k.Sure(key) {
			answer += " sure"
		}
		list = append(list, answer)
	}
	return list
}

// TestNoiseLosesNothing throws noise at every state of a survey.
func TestNoiseLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _ := playAll(State{}, script[:rapid.IntRange(0, len(script)).Draw(t, "answers")]...)
		noise := rapid.OneOf(
			rapid.StringMatching(`[#@\$%&*()\[\]{}<>|~^_=]{0,60}`),
			rapid.StringN(0, 300, 4096),
			rapid.Just(strings.Repeat("zq ", 1365)),
			rapid.Just(""),
		).Draw(t, "noise")
		if _, command := (&turn{State: s}).command(noise); command {
			return
		}
		kind := rapid.SampledFrom([]Kind{Typed, Pressed, Edited, Photo, File, Voice, Sticker, Other, "never heard of"}).Draw(t, "kind")
		in := Input{Kind: kind, Text: noise, Now: firstDay}
		if kind == Photo && rapid.Bool().Draw(t, "has a file") {
			in.Shot = &Shot{File: "f", Album: rapid.SampledFrom([]string{"", "g"}).Draw(t, "album")}
		}
		after, replies := Step(s, in)
		require.NotEmpty(t, replies)
		for _, r := range replies {
			require.NotEmpty(t, strings.TrimSpace(words().Plain("en", r.Text)))
			require.LessOrEqual(t, len(words().Text("en", r.Text)), 40000)
		}
		require.GreaterOrEqual(t, len(answersOf(after)), len(answersOf(s)))
		require.Equal(t, answersOf(s), answersOf(after)[:len(answersOf(s))])
	})
}

// A button of one doubt settles no other, nor the same one about another
// figure. Buttons sent before they were marked still do.
func TestAButtonSettlesItsOwnDoubt(t *testing.T) {
	press := func(s State, data string) State {
		s, _ = Step(s, Input{Kind: Pressed, Text: data, Now: firstDay})
		return s
	}
	s, said := playAll(State{}, append(slices.Clone(script[:5]), "1204 1202 1402")...)
	require.Equal(t, "width.bottom", s.Doubt.Key)
	keep, ok := onButton(said[len(said)-1], "Keep it")
	require.True(t, ok)
	require.Nil(t, press(s, keep).Doubt)
	again, _ := onButton(said[len(said)-1], "Measure again")

	for _, other := range []string{"1412", "1203 1050 1052 1250"} {
		later, _ := playAll(press(s, again), other)
		require.NotNil(t, later.Doubt, other)
		require.Equal(t, answersOf(later), answersOf(press(later, keep)))
		require.Equal(t, later.Doubt, press(later, keep).Doubt, other)
	}
	unmarked, _, _ := strings.Cut(keep, "@")
	require.Nil(t, press(s, unmarked).Doubt)
}

func FuzzStep(f *testing.F) {
	for n, text := range script {
		f.Add(n, text)
	}
	for _, text := range []string{"", "/start", "/x", "1204 1202 1203 x 1050 1052 1051 white check", "12.04", `47 3/8"`, "change", "1:1:do:new", "\x00\xff", "🪟"} {
		f.Add(7, text)
	}
	f.Fuzz(func(t *testing.T, n int, text string) {
		s, _ := playAll(State{}, script[:max(0, n)%(len(script)+1)]...)
		for _, kind := range []Kind{Typed, Pressed, Edited} {
			after, replies := Step(s, Input{Kind: kind, Text: text, Now: firstDay})
			require.NotEmpty(t, replies)
			for _, r := range replies {
				out := words().Text("en", r.Text)
				require.NotContains(t, out, "\x00")
				for _, row := range r.Buttons {
					for _, b := range row {
						require.LessOrEqual(t, len(b.Data), talk.MostData)
					}
				}
			}
			require.NotPanics(t, func() { Step(after, typed("help")) })
		}
	})
}

func TestStatePassesThroughJSON(t *testing.T) {
	s, _ := playAll(State{}, script...)
	s, _ = playAll(s, "change widths")
	raw, err := json.Marshal(s)
	require.NoError(t, err)
	require.LessOrEqual(t, len(raw), 2048, "a conversation stays under 2 KB in Redis")
	var back State
	require.NoError(t, json.Unmarshal(raw, &back))
	require.Equal(t, s, back)
}

func TestResumeAfterDaysShowsTheOpenQuestion(t *testing.T) {
	s, _ := playAll(State{}, script[:6]...)
	s, replies := Step(s, Input{Kind: Typed, Text: "hello", Now: firstDay.Add(72 * time.Hour)})
	text := words().Plain("en", replies[len(replies)-1].Text)
	require.Contains(t, text, "Middle width?")
	require.Equal(t, "width.middle", replies[len(replies)-1].Open)
	require.Len(t, answersOf(s), 6)
}

func asJSON(t require.TestingT, s State) string {
	raw, err := json.Marshal(s)
	require.NoError(t, err)
	return string(raw)
}

// BenchmarkSurveyTurn is Step and its text, over whole surveys: the figure is
// one turn's share.
func BenchmarkSurveyTurn(b *testing.B) {
	catalogue := words()
	b.ReportAllocs()
	var s State
	n := 0
	for b.Loop() {
		if n == len(script) {
			s, n = State{}, 0
		}
		next, replies := Step(s, typed(script[n]))
		s, n = next, n+1
		for _, r := range replies {
			_ = catalogue.Text("en", r.Text)
		}
	}
}

// The record keeps what was typed where that says more than what was understood.
func TestTheRecordKeepsWhatWasTyped(t *testing.T) {
	s, _ := playAll(State{}, "England tomorrow brick none white 120.4 cm", "1202")
	k := s.known()
	for key, want := range map[string]string{
		"nation": "England", "date": "tomorrow", "finish": "brick", "sill": "", "material": "white", "width.top": "120.4 cm", "width.middle": "",
	} {
		require.Equal(t, want, k.Entry(key).Typed, key)
	}
}
