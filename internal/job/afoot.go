package job

// Afoot is what others wait for in a job, or count on: windows by name.
type Afoot struct {
	Confirmed []string // the desk confirmed them as they stand, and they were not delivered yet
	Open      []string // the desk has a line of them that it has not confirmed as it stands
	WithLead  []string // the lead is to measure, settle or sign them
	Checked   int      // the number of the first of those
	Links     int      // that were not taken back
}

// Afoot is what others wait for in the job.
func (j Job) Afoot() Afoot {
	var a Afoot
	for _, o := range j.Openings {
		if o.State.withLead() {
			if a.WithLead == nil {
				a.Checked = o.ID
			}
			a.WithLead = append(a.WithLead, o.Name)
		}
		switch {
		case o.State == Confirmed:
			a.Confirmed = append(a.Confirmed, o.Name)
		case j.onOrder(o.ID) && !o.State.made():
			a.Open = append(a.Open, o.Name)
		}
	}
	for _, s := range j.Shares {
		if !s.Revoked {
			a.Links++
		}
	}
	return a
}
