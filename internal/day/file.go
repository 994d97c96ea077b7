package day

import (
	"slices"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// File is the file of windows of a job, by number; of every one whose frame is here for
// none. Those that have no frame yet are left out.
func File(j job.Job, ids ...int) job.FileSheet {
	s := job.FileSheet{Ref: j.Ref, Label: j.Label, Address: j.Address, Named: j.ShareNames}
	for _, o := range j.All() {
		if len(ids) > 0 && !slices.Contains(ids, o.ID) || !o.OnDay() || o.State == job.Confirmed {
			continue
		}
		w, ok := j.FileWindow(o)
		if !ok {
			continue
		}
		Of(o).file(&w, &s)
		s.Windows = append(s.Windows, w)
	}
	return s
}

// file adds what was read of the window on the day, and what the rules say of it.
func (w *Window) file(f *job.FileWindow, s *job.FileSheet) {
	if d := w.Delivered(); d != nil {
		f.Came = &calc.Size{Width: d.Width, Height: d.Height}
	}
	f.Stays, f.Marked = staysWanted(w), w.marked()
	f.Read = w.readings()
	for _, p := range w.Photos() {
		line := phrase.Of("file.photo")
		switch {
		case p.As != "":
			continue // nothing of it can be seen on paper
		case p.Caption != "":
			line = phrase.Of("file.photo.caption").Saying("caption", p.Caption)
		}
		f.Photos = append(f.Photos, line.WithInt("number", p.Number).Sub1("day", phrase.Day(p.Day)))
	}
	for _, snag := range w.Snags() {
		if snag.Done.IsZero() {
			f.Open = append(f.Open, snag.Line(w.ID))
		} else {
			f.Done = append(f.Done, snag.Line(w.ID))
		}
	}
	made, err := w.Planned()
	if err != nil {
		f.Findings = f.Line.Safety
		return
	}
	if h := made.Heat; h != nil {
		o := made.Opening
		f.Heat = &job.FileHeat{Uw: h.Uw.Round(2).String(), Ug: o.Ug.String(), Uf: o.Uf.String()}
	}
	for _, found := range made.Findings {
		switch {
		case found.Topic == safety.Hazards: // for who works there
		case found.Scope == safety.OfJob && found.Topic != safety.Missing:
			s.Whole = addFinding(s.Whole, found)
		default:
			f.Findings = append(f.Findings, found)
		}
	}
}

// addFinding is the list with a finding that it has not yet.
func addFinding(list []safety.Finding, f safety.Finding) []safety.Finding {
	text := plan.FindingText(f)
	if slices.ContainsFunc(list, func(g safety.Finding) bool { return text.Same(plan.FindingText(g)) }) {
		return list
	}
	return append(list, f)
}

// marked says what was read of the marks of safety glass: at the last look, else when
// the frame came.
func (w *Window) marked() string {
	switch last := w.Value(&lastlookKeys, "marks"); {
	case last == OK:
		return "file.marks.read"
	case w.Value(&frameKeys, "mark") == "marked" && (last == "" || last == opening.Skipped):
		return "file.marks.came"
	case w.Value(&frameKeys, "mark") == "unmarked", last != "" && last != opening.Skipped:
		return "file.marks.none"
	}
	return ""
}

// readings are what was read and looked at, by the step that it belongs to.
func (w *Window) readings() []job.FilePart {
	var list []job.FilePart
	for _, p := range All {
		rows := w.readOf(p)
		if rows == nil {
			continue
		}
		name := phrase.Of("file.at." + string(p.At))
		if n := len(list) - 1; n >= 0 && list[n].Name.Same(name) {
			list[n].Rows = append(list[n].Rows, rows...)
			continue
		}
		list = append(list, job.FilePart{Name: name, Rows: rows})
	}
	return list
}

// ofPaper are the parts that the file says of when nobody did them.
var ofPaper = []*Part{&frame, &structure, &setting, &bow, &lastlook}

// unread says of a part whose time is past that nobody wrote it down, or not to the end;
// nothing of others.
func (w *Window) unread(p *Part) []phrase.Text {
	if !slices.Contains(ofPaper, p) || p.Next(w) == nil || slices.Index(job.States, w.State) <= slices.Index(job.States, p.At) {
		return nil
	}
	key := "file.reading.none"
	if p.Begun(w) {
		key = "file.reading.part"
	}
	return []phrase.Text{phrase.Of(key).Sub1("part", phrase.Of("day.part."+p.Name))}
}

// readOf are the readings of a part, what was all right in one row, and what came of it
// where all was read.
func (w *Window) readOf(p *Part) []phrase.Text {
	var rows, fine, came []phrase.Text
	if p.Begun(w) && (p.Loop || p.Next(w) == nil) {
		came = p.Ends(p, w).Paper
	}
	for i := range p.Fields {
		f := &p.Fields[i]
		value := w.Value(p, f.Name)
		row := phrase.Of("file.reading")
		switch {
		case value == "":
			continue
		case f.Kind == Slope && value == level && came != nil:
			continue // said by what came of it
		case f.Kind == Tick && value == OK:
			fine = append(fine, p.Title(f))
			continue
		case f.Kind == Tick && p.Name == lastlookKeys.Name && value != opening.Skipped:
			row = phrase.Of("file.reading.snag").Saying("snag", w.snagOf(f.Name))
		}
		rows = append(rows, row.Sub1("name", p.Title(f)).Sub1("value", p.Said(f, value)))
	}
	if fine != nil {
		rows = append(rows, phrase.Of("file.reading.ok").WithRow("names", fine...))
	}
	return append(append(rows, came...), w.unread(p)...)
}

// snagOf is how the last snag is named of what was looked at.
func (w *Window) snagOf(name string) string {
	ref := ""
	for _, s := range w.Snags() {
		if s.Of == name {
			ref = s.Ref(w.ID)
		}
	}
	return ref
}
