package dialog

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/opening"
	"sillbot/internal/phrase"
)

// asking is what a person hears who asks at an open question.
func asking(t *testing.T, s State, text string) (State, []Reply) {
	t.Helper()
	s, replies := say(s, text)
	for _, r := range replies {
		require.NotEmpty(t, strings.TrimSpace(words().Plain("en", r.Text)))
	}
	return s, replies
}

func at(open string) State { return heardRow{open: open}.begun() }

func english(key string) string { return words().Plain("en", phrase.Of(key)) }

// TestWhoAsksHowSeesTheTape: how a reading is taken comes in words under a
// sketch of it, then the question again, which is still open.
func TestWhoAsksHowSeesTheTape(t *testing.T) {
	for _, text := range []string{"how do I measure it", "how do I measure it?", "?", "help", "/help"} {
		s, replies := asking(t, at("width.middle"), text)
		require.Len(t, replies, 2, text)
		require.Equal(t, &Picture{Reading: "width.middle"}, replies[0].Picture, text)
		require.Contains(t, words().Plain("en", replies[0].Text), english("help.width.middle"))
		require.NotContains(t, words().Plain("en", replies[0].Text), english("ask.width.middle"))
		require.Empty(t, replies[0].Buttons, "they stand under the question")
		require.Empty(t, replies[0].Open, "a program reads on to the question")
		require.Nil(t, replies[1].Picture)
		require.Equal(t, english("ask.width.middle"), words().Plain("en", replies[1].Text))
		require.Equal(t, "width.middle", replies[1].Open)

		s, _ = asking(t, s, "1202")
		require.Equal(t, "1202", heardValues(s)["width.middle"], text)
	}
}

// A reading that is named is explained, not the open one; of a group that is
// named, the open one.
func TestHelpIsOfWhatIsNamed(t *testing.T) {
	for _, c := range []struct{ open, text, want string }{
		{"width.top", "how do I measure the heights", "height.left"},
		{"width.top", "help diagonals", "diagonal.rising"},
		{"width.top", "how do I measure this", "width.top"},
		{"height.middle", "how do I measure the height?", "height.middle"},
		{"height.middle", "how do I measure the top width?", "width.top"},
	} {
		_, replies := asking(t, at(c.open), c.text)
		require.Len(t, replies, 2, c.text)
		require.Equal(t, c.want, replies[0].Picture.Reading, c.text)
		require.Contains(t, words().Plain("en", replies[0].Text), english("help."+c.want))
		require.Equal(t, c.open, replies[1].Open, c.text)
	}
}

// What was answered in the same message comes first.
func TestAnAnswerAndHowToGoOn(t *testing.T) {
	s, replies := asking(t, at("width.top"), "1204\nhow do I measure the diagonals?")
	require.Equal(t, "1204", heardValues(s)["width.top"])
	require.Len(t, replies, 2)
	require.Equal(t, "diagonal.rising", replies[0].Picture.Reading, "the one that was asked about, not the open one")
	require.Contains(t, words().Plain("en", replies[0].Text), "1204")
	require.Equal(t, "width.middle", replies[1].Open)
}

// Whether a new sill piece goes on decides where heights start, in the sketch
// as in the question.
func TestTheSketchOfAHeightStartsWhereTheQuestionSays(t *testing.T) {
	for sill, under := range map[string]bool{"none": false, "150": true} {
		s := at("height.left")
		s.Hand = s.Hand.Put(opening.Stamp{By: 1, Role: opening.Fitter, At: heardNow.Unix(), Turn: s.Turn}, opening.Entry{Act: opening.Set, Key: "sill", Value: sill})
		_, replies := asking(t, s, "help")
		require.Equal(t, &Picture{Reading: "height.left", Under: under}, replies[0].Picture, sill)
		require.Equal(t, under, strings.Contains(words().Plain("en", replies[1].Text), "under the old sill"), sill)
	}
}

// What is not measured with a tape in one place is explained in words alone.
func TestOtherHelpIsWordsAlone(t *testing.T) {
	for _, open := range []string{"finish", "sill", "layout", "room", "glass"} {
		_, replies := asking(t, at(open), "help")
		require.Len(t, replies, 1, open)
		require.Nil(t, replies[0].Picture, open)
		require.Equal(t, open, replies[0].Open)
	}
	_, replies := asking(t, at("width.middle"), "why?")
	require.Len(t, replies, 1, "a reason has no sketch")
	require.Nil(t, replies[0].Picture)
}

// A setting of the crew that is named is explained over a sketch of the section,
// and the open question comes again.
func TestHelpDrawsASettingOfTheCrew(t *testing.T) {
	_, replies := asking(t, at("width.top"), "help crew setback")
	require.Len(t, replies, 2)
	require.Equal(t, "crew.setback", replies[0].Picture.Reading)
	require.Contains(t, words().Plain("en", replies[0].Text), english("help.setting.setback"))
	require.Contains(t, words().Plain("en", replies[0].Text), "30 mm")
	require.Equal(t, "width.top", replies[1].Open)

	_, replies = asking(t, at("width.top"), "help crew sealant")
	require.Len(t, replies, 1, "nothing to draw")
	require.Contains(t, words().Plain("en", replies[0].Text), "class 25")
	_, replies = asking(t, at("width.top"), "help crew hat")
	require.Contains(t, words().Plain("en", replies[0].Text), "I know no setting")
}
