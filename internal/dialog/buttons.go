package dialog

func (t *turn) doneButtons() [][]Button {
	list := "do.job"
	if t.Job != nil {
		list = "do.list"
	}
	return [][]Button{
		{t.button("do.change", "do", "change"), t.button("do.why", "do", "why")},
		{t.button("do.pattern", "do", "change=pattern"), t.button("do.bedjoint", "do", "change=bedjoint")},
		{t.button("do.restrictor", "do", "change=restrictor"), t.button("do.tight", "do", "change=tight")},
		{t.button("do.new", "do", "new"), t.button(list, "do", "job")},
	}
}

// changeButtons offer the answers there are, the window's before the house's.
func (t *turn) changeButtons() [][]Button {
	var rows [][]Button
	for i, name := range t.answers().Changeable() {
		b := t.button("change."+name, "do", "change="+name)
		if i%2 == 0 {
			rows = append(rows, nil)
		}
		rows[i/2] = append(rows[i/2], b)
	}
	return rows
}

func (t *turn) jobButtons() [][]Button {
	return [][]Button{
		{t.button("do.new", "do", "new"), t.button("do.list", "do", "job")},
		{t.button("do.check", "do", "check"), t.button("do.send", "do", "send")},
		{t.button("do.sheet", "do", "sheet")},
	}
}
