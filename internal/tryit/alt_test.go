package tryit

import (
	"html"
	"regexp"
	"testing"

	"github.com/shopspring/decimal"
	"github.com/stretchr/testify/require"

	"sillbot/internal/calc"
	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// bare is the opening of testdata/transcripts/bare.txtar, where its order size is
// 1192 × 1040 mm.
func bare() plan.Opening {
	mm := func(list ...int64) (out [3]decimal.Decimal) {
		for i, n := range list {
			out[i] = decimal.NewFromInt(n)
		}
		return out
	}
	floor := decimal.NewFromInt(900)
	return plan.Opening{
		Nation: safety.England, Date: "2026-11-25", Finish: calc.Bare, Material: calc.PVCUWhite,
		Widths: mm(1204, 1202, 1203), Heights: mm(1050, 1052, 1051), Rising: decimal.NewFromInt(1596), Falling: decimal.NewFromInt(1597),
		Layout: calc.Layout{Lights: []calc.Light{{Hinge: calc.SideLeft}}}, Room: safety.Bedroom, AboveFloor: &floor,
	}
}

// alts are the words of all pictures of a page.
func alts(page string) (all []string) {
	for _, m := range regexp.MustCompile(`<img [^>]*alt="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		all = append(all, html.UnescapeString(m[1]))
	}
	return all
}

// TestAPictureIsSaidInWords: who hears the page knows which window a card is of and
// what is ordered, and tells the cards of an album apart.
func TestAPictureIsSaidInWords(t *testing.T) {
	tr := begin(t)
	show := func(r dialog.Reply) []string {
		r.Lang, r.Text = "en", phrase.Of("ask.nation")
		_, page := tr.call("GET", "", nil, nil)
		before := len(alts(page))
		tr.engine.reply = r
		_, _ = tr.post("say", map[string]string{"chair": "fitter", "text": "x"}, "", nil)
		_, page = tr.call("GET", "", nil, nil)
		return alts(page)[before:]
	}
	require.Equal(t, []string{"Summary card: Bedroom, order size 1192 mm wide, 1040 mm high, seen from outside. The messages before and after it say the rest in words."},
		show(dialog.Reply{Picture: &dialog.Picture{Opening: bare()}}))

	left, stop := bare(), bare()
	left.Name, stop.Name, stop.Room, stop.NoLintel, stop.Bay = `kitchen "left" <b>`, "Window 2", "", true, true
	require.Equal(t, []string{
		`Summary card 1 of 2: Window 1, kitchen "left" <b>, Bedroom, order size 1192 mm wide, 1040 mm high, seen from outside, Job K7M4QP, mill.`,
		"Summary card 2 of 2: Window 2, DO NOT MAKE, order size 1192 mm wide, 1040 mm high, seen from outside, Job K7M4QP, mill.",
	}, show(dialog.Reply{Picture: &dialog.Picture{Opening: left, Window: 1, Job: "K7M4QP, mill"},
		More: []dialog.Card{{Text: phrase.Of("ask.date"), Picture: dialog.Picture{Opening: stop, Window: 2, Job: "K7M4QP, mill"}}}}))

	require.Equal(t, []string{"Sketch of where the tape goes: Top width. The message says it in words."},
		show(dialog.Reply{Picture: &dialog.Picture{Reading: "width.top"}}))
	for _, none := range []dialog.Picture{{}, {Reading: "gauge"}} {
		require.Empty(t, show(dialog.Reply{Picture: &none}), "what can't be drawn")
	}

	_, _ = tr.post("say", map[string]string{"chair": "fitter"}, "corner.png", []byte("\x89PNG\r\n\x1a\n"))
	shot := dialog.Shot{File: tr.engine.last().Input.Shot.File}
	label := phrase.Of("name.width.top")
	labelled := shot
	labelled.Label = &label
	_, page := tr.call("GET", "", nil, nil)
	require.Equal(t, []string{"Photo, file corner.png"}, alts(page)[4:], "as it was sent")
	require.Equal(t, []string{"Photo 1 of 2", "Top width"}, show(dialog.Reply{Shots: []dialog.Shot{shot, labelled}}))
}
