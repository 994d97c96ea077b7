package dialog

import (
	"slices"

	"sillbot/internal/phrase"
)

func (t *turn) doneButtons() [][]Button {
	list := "do.job"
	if t.Job != nil {
		list = "do.list"
	}
	return append(t.rightButtons(), [][]Button{
		{t.button("do.change", "do", "change"), t.button("do.why", "do", "why")},
		{t.button("do.pattern", "do", "change=pattern"), t.button("do.bedjoint", "do", "change=bedjoint")},
		{t.button("do.restrictor", "do", "change=restrictor"), t.button("do.tight", "do", "change=tight")},
		{t.button("do.new", "do", "new"), t.button(list, "do", "job")},
	}...)
}

// changeButtons offer what may be changed, two to a row.
func (t *turn) changeButtons() [][]Button {
	var all []Button
	for _, name := range t.answers().Changeable(t.Second != nil) {
		all = append(all, t.button("change."+name, "do", "change="+name))
	}
	return slices.Collect(slices.Chunk(all, 2))
}

func (t *turn) jobButtons() [][]Button {
	return [][]Button{
		{t.button("do.new", "do", "new"), t.button("do.list", "do", "job")},
		{t.button("do.check", "do", "check"), t.button("do.send", "do", "send")},
		{t.button("do.sheet", "do", "sheet")},
	}
}

func (t *turn) stale() {
	t.say(phrase.Of("press.stale"))
	t.toast = sorry(phrase.Of("toast.stale"))
	if t.done() {
		t.buttons = t.doneButtons()
	}
}
