package day

import (
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// sash is how each sash that is heeled and toed stands, packed and looked at again until
// it agrees.
var sash = Part{Name: "sash", At: job.Fitted, Loop: true, Fields: []Field{
	{Name: "stand", Kind: Corner, Ask: sashLeft},
}, Ends: endSash}

func sashLeft(w *Window) bool { return w.lightDue() != 0 }

func endSash(p *Part, w *Window) Outcome {
	stands := w.stands()
	if len(stands) == 0 {
		return Outcome{}
	}
	last := stands[len(stands)-1]
	s, _ := standOf(last)
	var out Outcome
	switch {
	case w.Value(p, "stand") == opening.Skipped:
		return out
	case strings.HasSuffix(last, shuts):
		out.Lines = []phrase.Text{phrase.Of("sash.shuts").WithInt("n", s.Light)}
	default:
		out.Lines = w.toeLines(s)
	}
	due := w.lightDue()
	switch {
	case due == s.Light:
		out.Lines = append(out.Lines, phrase.Of("sash.again"))
	case due != 0:
		out.Lines = append(out.Lines, phrase.Of("sash.next").WithInt("n", due))
	default:
		out.Lines = append(out.Lines, phrase.Of("sash.done"))
	}
	out.Again = due != 0
	return out
}

// toeLines are what to do about the sash that was read last.
func (w *Window) toeLines(s plan.SashStand) []phrase.Text {
	advice := w.advices(s.Light)
	made, err := w.Planned()
	if err == nil && len(advice) == 0 {
		_, err = made.Toe(s, nil)
	}
	if err != nil {
		text, _ := plan.WhyRefused(err)
		return []phrase.Text{text}
	}
	return plan.ToeLines(s.Light, advice[len(advice)-1])
}
