package tryit

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/browsertest"
)

// TestTheClockBringsAReminderInABrowser: a frame comes on the day after the next on which
// people are reminded, and the page's clock is moved until they are.
func TestTheClockBringsAReminderInABrowser(t *testing.T) {
	morning, presses := time.Now().In(zone).AddDate(0, 0, 1), 1
	if morning.Weekday() == time.Sunday {
		morning, presses = morning.AddDate(0, 0, 1), 2
	}
	due, delivery := morning.AddDate(0, 0, 1), "Delivery tomorrow"
	if due.Weekday() == time.Sunday {
		due, delivery = due.AddDate(0, 0, 1), "Delivery on Monday"
	}
	browser := browsertest.Start(t)
	address, _ := program(t)
	s := sitting{browser.Open(address, browsertest.Phone)}
	for _, line := range []string{
		"job", "England today bare none white 1204 1202 1203 1050 1052 1051 1596 1597 level left arch bedroom first 900 4-20-4 no",
		"the desk decides the rest", "send",
	} {
		s.types("fitter", line)
	}
	s.types("fitter", "confirmed 1 by phone, Anna at the works, order 4711, "+due.Format("2 January 2006"))
	s.hears("fitter", "order 4711")
	require.NotContains(t, s.Text("#log-fitter"), "Reminder")

	s.Click(".clock summary")
	s.Sound()
	for n := range presses {
		s.Click(`.clock [value="morning"]`)
		s.Says("#clock", morning.AddDate(0, 0, n+1-presses).Format("2 January 2006")+", 08:00")
	}
	s.hears("fitter", "Reminder")
	s.hears("fitter", delivery)
	require.True(t, browsertest.Eval[bool](s.Page, `[...document.querySelectorAll("#log-fitter .bot")].at(-1).querySelector(".who").innerText.includes(`+quoted(morning.Format("2 January")+", 08:00")+`)`), "at that time by the page's clock")
	s.Picture("clock")

	// By an hour and by a day: nothing is said twice on one day.
	reminders := `[...document.querySelectorAll("#log-fitter .bot")].filter(m => m.innerText.includes("Reminder")).length`
	s.Click(`.clock [value="hour"]`)
	s.Says("#clock", morning.Format("2 January 2006")+", 09:0")
	require.Equal(t, 1, browsertest.Eval[int](s.Page, reminders))
	s.Click(`.clock [value="day"]`)
	s.Says("#clock", morning.AddDate(0, 0, 1).Format("2 January 2006")+", 09:0")
	require.Equal(t, 1, browsertest.Eval[int](s.Page, reminders), "it was said the day before")

	// A button that is pressed twice at once does once what it is for.
	s.Until(`!document.querySelector('.clock [aria-disabled]')`)
	browsertest.Eval[bool](s.Page, `document.querySelector('.clock [value="day"]').click(), document.querySelector('.clock [value="day"]').click(), true`)
	s.Until(`!document.querySelector('.clock [aria-disabled]')`)
	s.Says("#clock", morning.AddDate(0, 0, 2).Format("2 January 2006")+", 09:0")
}
