package tryit

import (
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/browsertest"
)

// TestALinkIsCopiedInABrowser, or shown to be copied by hand where the page may not.
func TestALinkIsCopiedInABrowser(t *testing.T) {
	browser := browsertest.Start(t)
	address, _ := program(t)
	s := sitting{browser.Open(address, browsertest.Phone)}
	s.types("fitter", "job")
	s.types("fitter", "invite lead")
	s.Until(`document.querySelector("#log-fitter a.press")`)
	link := browsertest.Eval[string](s.Page, `document.querySelector("#log-fitter a.press").href`)
	require.Contains(t, link, address+"open/")
	require.NotContains(t, s.Text("#log-fitter"), address, "it does not stand in the sentence too")

	s.Copying(true)
	s.presses("fitter", "Copy the link")
	s.Says("#fitter .note", "Copied.")
	require.Equal(t, link, browsertest.Eval[string](s.Page, `navigator.clipboard.readText()`))
	require.True(t, browsertest.Eval[bool](s.Page, `document.querySelector(".copied").offsetParent === null`), "nothing else to do")
	s.types("fitter", "job")
	s.hears("fitter", "being measured")
	require.Empty(t, s.Text("#fitter .note"))

	s.types("fitter", "invite desk")
	s.Until(`document.querySelectorAll("#log-fitter a.press").length === 2`)
	other := browsertest.Eval[string](s.Page, `[...document.querySelectorAll("#log-fitter a.press")].at(-1).href`)
	require.NotEqual(t, link, other)
	s.Copying(false)
	s.presses("fitter", "Copy the link")
	s.Says("#fitter .note", "copy it by hand")
	require.Equal(t, other, browsertest.Eval[string](s.Page, `(f => f.value.slice(f.selectionStart, f.selectionEnd))(document.activeElement)`), "shown and selected")
	require.True(t, browsertest.Eval[bool](s.Page, `document.activeElement.offsetHeight >= 44`))
	s.Sound()
	s.Picture("copy")

	quiet := sitting{browser.Open(address, browsertest.Look{Width: 360, Height: 740, NoScript: true})}
	require.Equal(t, 0, browsertest.Eval[int](quiet.Page, `[...document.querySelectorAll(".copy")].filter(b => b.offsetParent).length`), "it would do nothing")
	require.Equal(t, 2, browsertest.Eval[int](quiet.Page, `[...document.querySelectorAll(".copied")].filter(f => f.offsetParent).length`))
	require.Empty(t, quiet.Sideways())

	s.presses("fitter", "Send it on")
	s.Says("h1", "A link into a job")
}
