package dialog

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// quietBegins are where the random inputs of TestEveryInputIsAnswered begin.
var quietBegins = map[string]string{
	"nothing": "fitter> hello\n",
	"empty": `fitter> job
fitter> invite lead
lead> /start TOKEN
fitter> invite desk
desk> /start TOKEN
`,
	"checked":   modelJob,
	"differs":   modelDiffers,
	"confirmed": modelConfirmed,
	"group": `ana@crew> job
ana@crew> England today bare none white 1204 1202 1203 1050 1052 1051 skip level left brick bedroom first 900 4-20-4 no
fitter@crew> job
ana@crew> invite lead
lead> /start TOKEN
`,
}

// quietWords follow a command at random. N is a window, REF a job.
var quietWords = []string{
	"", "", "N", "N N", "all", "N bath", "N bath", "bath", "address", "names", "lead", "desk", "crew", "N 2", "N grey", "N yes", "N delivered", "N back", "REF", "REF N",
	"N A", "A", "N 310.50", "N 12 January 2027", "N which side?", "top width", "new", "mm", "english", "Europe/London", "plaster 15", "N left height 1046", "what", "1 494 889 1015 1019",
	"3 Weir Lane", "x", "0", "99", "-1", ".", "N top width 1204", "everything",
}

// quietAnswers are typed by themselves.
var quietAnswers = []string{
	"", " ", "\n", "?", ".", "hello", "yes", "no", "keep", "skip", "1204", "1204 1202 1203", "England", "today", "bare", "none", "white", "left", "brick", "bedroom",
	"first", "900", "4-20-4", "undo", "back", "cancel", "new", "flat", "built 1995", "what is a mullion?", "🙂", "/nothing", "/start", "/start AAAAAAAAAAAAAAAAAAAAAAAA",
	"delivered", "out", "engineer says ok: lintel is sound, J Doe, structural engineer, 24 Nov", "1:0:do:summary", "j1:REF:look:1", "skip skip", "no wait 1203",
}

// TestEveryInputIsAnswered: whoever does anything, in whatever state, hears
// something of it, at once or by mail from the job's owner. There is no input
// that a person makes and that is not answered here; what the platform repeats
// and what a group says among itself does not come as far as Step.
func TestEveryInputIsAnswered(t *testing.T) {
	begins := map[string]*town{}
	for name, script := range quietBegins {
		w := newTown(t)
		w.play(script)
		begins[name] = w
	}
	names := slices.Sorted(maps.Keys(begins))
	rapid.Check(t, func(t *rapid.T) {
		begin := rapid.SampledFrom(names).Draw(t, "begin")
		from := begins[begin]
		w := *from
		w.t, w.mute = t, true
		w.out.Reset()
		w.states, w.jobs, w.links, w.said, w.names = maps.Clone(w.states), maps.Clone(w.jobs), maps.Clone(w.links), maps.Clone(w.said), maps.Clone(w.names)
		for range 25 {
			w.anyInput(t, begin == "group")
		}
	})
}

// anyInput draws one input, and demands an answer to it.
func (w *town) anyInput(t *rapid.T, grouped bool) {
	name := rapid.SampledFrom([]string{"fitter", "lead", "desk", "stranger"}).Draw(t, "who")
	user := w.chat(name)
	in := Input{Kind: Typed, Now: w.now, User: user, Name: name}
	chat := user
	if grouped && name == "fitter" {
		chat, in.Group = w.chat("crew"), true
	}
	var buttons []Button
	for _, r := range w.said[chat] {
		for _, row := range r.Buttons {
			buttons = append(buttons, row...)
		}
	}
	switch what := rapid.IntRange(0, 9).Draw(t, "what"); {
	case what < 5:
		c := rapid.SampledFrom(table).Draw(t, "command")
		in.Text = strings.TrimSpace(c.name + " " + rapid.SampledFrom(quietWords).Draw(t, "words"))
		if rapid.Bool().Draw(t, "slash") {
			in.Text = "/" + in.Text
		}
	case what < 7 && len(buttons) > 0:
		b := rapid.SampledFrom(buttons).Draw(t, "button")
		in.Kind, in.Text = Pressed, b.Data
	case what < 8:
		in.Kind = rapid.SampledFrom([]Kind{Edited, Photo, File, Voice, Sticker, Other, Pressed, "tomorrow's kind"}).Draw(t, "kind")
		in.Text = rapid.SampledFrom(quietAnswers).Draw(t, "caption")
		if in.Kind == Photo && rapid.Bool().Draw(t, "has a file") {
			in.Shot = &Shot{File: "f"} // of an album a further one gets no answer
		}
	case what < 9:
		in.Text = rapid.SampledFrom(quietAnswers).Draw(t, "text")
	default:
		in.Text = rapid.SampledFrom(modelActs).Draw(t, "act").text
	}
	in.Text = w.filled(t, in.Text)
	for range rapid.IntRange(1, 2).Draw(t, "times") { // twice the same is where nothing changes
		w.answered(t, chat, in)
	}
}

// answered takes an input and demands an answer.
func (w *town) answered(t *rapid.T, chat int64, in Input) {
	name := w.names[in.User]
	t.Logf("%s> %s %q", name, in.Kind, in.Text)
	before := len(w.said[chat])
	w.step(chat, in)
	require.Greater(t, len(w.said[chat]), before, "%s gets no answer to %s %q", name, in.Kind, in.Text)
	for _, r := range w.said[chat][before:] {
		if r.Picture == nil {
			require.NotEmpty(t, strings.TrimSpace(words().Plain("en", r.Text)), "an answer without a word to %s %q", in.Kind, in.Text)
		}
	}
}

var quietWindow = regexp.MustCompile(`\bN\b`)

// filled puts a window's number and a job's reference into a text.
func (w *town) filled(t *rapid.T, text string) string {
	text = quietWindow.ReplaceAllStringFunc(text, func(string) string { return fmt.Sprint(rapid.IntRange(1, 3).Draw(t, "window")) })
	text = strings.NewReplacer(" F", " 1203", " L", " 1204.7", " R ", " A ").Replace(text)
	refs := []string{"Q3ATR7"}
	for _, key := range slices.Sorted(maps.Keys(w.jobs)) {
		_, ref, _ := strings.Cut(key, " ")
		refs = append(refs, ref)
	}
	return strings.ReplaceAll(text, "REF", rapid.SampledFrom(refs).Draw(t, "ref"))
}
