package tryit

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
)

// TestWhatADeviceDoesStandsOnButtons, and not in the sentence too; a button that does
// nothing is left out.
func TestWhatADeviceDoesStandsOnButtons(t *testing.T) {
	tr := begin(t)
	link := tr.Home() + "AbC-_9"
	tr.engine.reply = dialog.Reply{Lang: "en", Text: phrase.Of("message").WithLines("lines", phrase.Of("phone.link").Sub1("link", phrase.Of("link.words").Saying("link", link))),
		Buttons: [][]dialog.Button{{
			{Label: phrase.Of("button.link.passon"), PassOn: link}, {Label: phrase.Of("button.link.copy"), Copy: link + `"><b>`},
			{Label: phrase.Of("button.link.passon"), PassOn: "javascript:x"}, {Label: phrase.Of("button.nation.wales")},
		}, {{Label: phrase.Of("button.nation.wales")}}}}
	_, _ = tr.post("say", map[string]string{"chair": "desk", "text": "new phone"}, "", nil)
	_, page := tr.call("GET", "", nil, nil)
	require.Contains(t, page, "send it on by the button, or copy it.</div>")
	require.Contains(t, page, `<a class="press" href="`+link+`" rel="noopener noreferrer">Send it on</a>`)
	require.Contains(t, page, `<button type="button" class="copy">Copy the link</button><input class="copied" value="`+link+`&#34;&gt;&lt;b&gt;" aria-label="Text to copy" readonly hidden>`)
	require.NotContains(t, page, "javascript:")
	require.NotContains(t, page, "Wales")
}
