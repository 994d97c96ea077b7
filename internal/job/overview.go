package job

// Glance is the figures of several jobs for the lead. The zero Glance is of
// none.
type Glance struct {
	Open        int         // jobs whose paper is not all handed over
	Unsigned    int         // openings without a signature
	Waiting     int         // those that the lead was asked to check
	Unconfirmed int         // lines that the desk has and has not confirmed as they stand
	Late        int         // lines whose day of delivery has passed without the frame
	Jobs        []GlanceJob // the open ones, in the order given
}

// GlanceJob is one job's part of the figures. It can be sent to the lead's
// chat as it is: the label is in it only with the address.
type GlanceJob struct {
	Ref         string `json:"ref"`
	Label       string `json:"label,omitempty"`
	Open        bool   `json:"open,omitempty"`
	Stage       State  `json:"stage"`
	Openings    int    `json:"openings"`
	Unsigned    int    `json:"unsigned,omitempty"`
	Waiting     int    `json:"waiting,omitempty"`
	Unconfirmed int    `json:"unconfirmed,omitempty"`
	Late        []Late `json:"late,omitempty"`
	// Points are what is open by window, see OpenPoints; Glance leaves them out.
	Points []OpenPoint `json:"points,omitempty"`
}

// Late is a line whose day of delivery has passed without the frame.
type Late struct {
	Opening int    `json:"opening"`
	Name    string `json:"name"`
	Due     string `json:"due"` // 2006-01-02
}

// Glance is the job's part of the figures. Today is 2006-01-02 where the
// reader is: a delivery due today is not late.
func (j Job) Glance(today string) GlanceJob {
	g := GlanceJob{Ref: j.Ref, Stage: j.Stage(), Openings: len(j.Openings), Unconfirmed: j.unconfirmed()}
	g.Open = g.Stage != Handed && g.Stage != Replaced
	if j.ShareAddress {
		g.Label = j.Label
	}
	for _, o := range j.Openings {
		if o.Signature == nil {
			g.Unsigned++
		}
		if o.State.made() {
			continue
		}
		if o.State.withLead() {
			g.Waiting++
		}
		if o.Supply.Due != "" && o.Supply.Due < today {
			g.Late = append(g.Late, Late{o.ID, o.Name, o.Supply.Due})
		}
	}
	return g
}

// With adds a job's part. One that is not open adds nothing.
func (g Glance) With(j GlanceJob) Glance {
	if !j.Open {
		return g
	}
	g.Open++
	g.Unsigned += j.Unsigned
	g.Waiting += j.Waiting
	g.Unconfirmed += j.Unconfirmed
	g.Late += len(j.Late)
	g.Jobs = append(g.Jobs[:len(g.Jobs):len(g.Jobs)], j)
	return g
}

// List is the openings in their order, with what each still lacks.
func (j Job) List() []Row {
	rows := make([]Row, len(j.Openings))
	for i, o := range j.Openings {
		rows[i] = o.row()
		rows[i].State, rows[i].text = o.State, ""
	}
	return rows
}

// row is the opening's line of the list, by itself: whether the order still
// stands is another question.
func (o Opening) row() Row {
	if o.absent != nil {
		return *o.absent
	}
	r := Row{
		ID: o.ID, Name: o.Name, Count: o.Count, State: o.stands(), Lacks: o.Lacks(),
		Copied: o.CopiedFrom != 0, Due: o.Supply.Due, Questions: o.questions, taken: o.taken, made: o.made,
	}
	r.Against, r.items = o.openPoints()
	if o.Signature != nil {
		r.Signed = &o.Signature.By
	}
	r.confirmed = o.Supply.latest()
	own, told := o.Supply.standing()
	r.Told = own == nil && told != nil
	return r
}
