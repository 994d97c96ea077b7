package job

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
)

// A job of the first schema kept the answers, the record made of them, and what
// followed from both. The record that was made was sent and signed, so it is
// the one that counts.
type firstJob struct {
	Job
	Openings []firstOpening `json:"openings"`
	Bin      []struct {
		Opening firstOpening `json:"opening"`
		Place   int          `json:"place"`
		Seq     int          `json:"seq"`
	} `json:"bin"`
	Order struct {
		Order
		Held  bool   `json:"held"`
		Lines []Line `json:"lines"`
	} `json:"order"`
}

type firstOpening struct {
	ID     int    `json:"id"`
	Name   string `json:"name"`
	Count  int    `json:"count"`
	Record struct {
		Answers  []string     `json:"answers"`
		Plan     plan.Opening `json:"plan"`
		Colour   string       `json:"colour"`
		MakeUp   string       `json:"make_up"`
		Hardware []string     `json:"hardware"`
	} `json:"record"`
	State      State     `json:"state"`
	Since      time.Time `json:"since"`
	Measured   *Stamp    `json:"measured"`
	CopiedFrom int       `json:"copied_from"`
	Check      *struct {
		Asked   Stamp         `json:"asked"`
		Seen    *Stamp        `json:"seen"`
		By      *Stamp        `json:"by"`
		Known   bool          `json:"known"`
		Blind   bool          `json:"blind"`
		First   calc.Readings `json:"first"`
		Second  calc.Readings `json:"second"`
		Settled []Settlement  `json:"settled"`
	} `json:"check"`
	Signature *struct {
		By Stamp `json:"by"`
	} `json:"signature"`
	Supply Supply `json:"supply"`
}

// migrated reads a job of the first schema.
func migrated(data []byte) (Job, error) {
	var old firstJob
	if err := json.Unmarshal(data, &old); err != nil {
		return Job{}, fmt.Errorf("reading a job of the first schema: %w", err)
	}
	j := old.Job
	j.Version = schema
	j.Order = old.Order.Order
	m := migration{j: &j, lines: old.Order.Lines}
	m.meet(old.Owner.stamp(old.Began))
	for _, l := range old.Order.Lines {
		j.Order.On = append(j.Order.On, l.Opening)
	}
	for _, o := range old.Openings {
		j.Openings = append(j.Openings, m.opening(o))
	}
	for _, b := range old.Bin {
		o := m.opening(b.Opening)
		o.Said = o.Said.Put(m.stamp(m.owner(b.Opening.Since)), stepEntry(DoDelete))
		j.Bin = append(j.Bin, Binned{j.derive(o), b.Place, b.Seq})
	}
	for i := range j.Openings {
		j.Openings[i] = j.derive(j.Openings[i]) // with the names of all who wrote
	}
	j.supersede()
	return j, nil
}

// migration writes the records of a job of the first schema.
type migration struct {
	j     *Job
	lines []Line
}

func (m *migration) meet(s Stamp) Stamp {
	if s.Name != "" {
		m.j.People = with(m.j.People, s.Person, s.Name)
	}
	return s
}

// beforeTurns: nothing of a job of the first schema is taken back act by act.
const beforeTurns = -1

func (m *migration) stamp(s Stamp) opening.Stamp {
	m.meet(s)
	return opening.Stamp{By: s.Person, Role: s.Role, At: s.At.Unix(), Turn: beforeTurns}
}

func (m *migration) owner(at time.Time) Stamp { return m.j.Owner.stamp(at) }

// opening writes an opening's record: what the fitter said, the lead's readings
// and what was settled, what the desk was told, and where it stood.
func (m *migration) opening(old firstOpening) Opening {
	o := Opening{ID: old.ID}
	by := m.owner(old.Since)
	if old.Measured != nil {
		by = *old.Measured
	}
	fitter := m.stamp(Stamp{Role: Fitter, Name: by.Name, Person: by.Person, At: by.At})
	o.Said = o.Said.Put(fitter, m.said(old)...)
	m.check(&o, old)
	for _, n := range old.Supply.Notes {
		o.Said = o.Said.Put(m.stamp(n.By), opening.Entry{Act: opening.Note, Value: n.Words})
	}
	m.order(&o, old)
	since := m.owner(old.Since)
	o.Said = o.Said.Put(m.stamp(since), opening.Entry{Act: opening.Step, Value: arrived + string(old.State)}, opening.Entry{Act: opening.Reviewed})
	return m.j.derive(o)
}

// said is what the fitter said: the record that was made, with the first
// readings where the lead measured too, and what only the answers had.
func (m *migration) said(old firstOpening) []opening.Entry {
	p := old.Record.Plan
	if c := old.Check; c != nil && c.By != nil {
		p.Widths, p.Heights = c.First.Widths, c.First.Heights
		p.Rising, p.Falling, p.SillFall = c.First.Rising, c.First.Falling, c.First.SillFall
	}
	list := append([]opening.Entry{{Act: opening.Set, Key: "name", Value: old.Name}}, opening.FromAnswers(old.Record.Answers, p, old.Record.MakeUp)...)
	set := func(key opening.Key, value string) {
		if value != "" {
			list = append(list, opening.Entry{Act: opening.Set, Key: key, Value: value})
		}
	}
	if old.Count > 1 {
		set("count", fmt.Sprint(old.Count))
	}
	set("colour", old.Record.Colour)
	set("hardware", strings.Join(old.Record.Hardware, hardwareMark))
	set("due", old.Supply.Due)
	if old.Supply.Price != nil {
		set("price", old.Supply.Price.String())
	}
	if old.CopiedFrom != 0 {
		for i := range list {
			if slices.Contains(opening.ReadingKeys, list[i].Key) {
				list[i].How, list[i].Of = opening.Copied, old.CopiedFrom
			}
		}
	}
	return list
}

// check writes the second measure.
func (m *migration) check(o *Opening, old firstOpening) {
	c := old.Check
	if c == nil {
		return
	}
	if c.Known {
		o.Said = o.Said.Put(m.stamp(c.Asked), stepEntry(DoAskCheck), stepEntry(DoLook))
	}
	o.Said = o.Said.Put(m.stamp(c.Asked), stepEntry(DoAskCheck))
	if c.Seen != nil {
		o.Said = o.Said.Put(m.stamp(*c.Seen), stepEntry(DoLook))
	}
	if c.By != nil {
		list := (&Check{}).readAgain(c.By.Person, c.Second)
		o.Said = o.Said.Put(m.stamp(*c.By), append(list, stepEntry(DoReadSame))...)
	}
	for _, s := range c.Settled {
		o.Said = o.Said.Put(m.stamp(s.By), s.entry())
	}
	if old.Signature != nil {
		now := m.j.derive(*o)
		o.Said = o.Said.Put(m.stamp(old.Signature.By), opening.Entry{Act: opening.Agree, Value: toldShown, Told: telling(now.Version, now.figures())})
	}
}

// order writes what the desk was told. Its version is that of the record when
// the two agree, and none when the opening was changed since.
func (m *migration) order(o *Opening, old firstOpening) {
	i := slices.IndexFunc(m.lines, func(l Line) bool { return l.Opening == old.ID })
	if i < 0 {
		return
	}
	now := m.j.derive(*o)
	version := "changed"
	if old.State != Changed && !old.State.withLead() && old.State != Survey && old.State != Signed {
		version = now.Version
	}
	o.Said = o.Said.Put(m.stamp(m.owner(old.Since)), opening.Entry{Act: opening.Tell, Value: toldLine, Told: telling(version, stored(m.lines[i]))})
	if c := old.Supply.Confirmed; c != nil {
		step := stepEntry(DoConfirm)
		step.Of = c.Revision
		o.Said = o.Said.Put(m.stamp(c.By), opening.Entry{Act: opening.Agree, Value: toldLine, Of: o.Said.LastSeq()}, step)
	}
}
