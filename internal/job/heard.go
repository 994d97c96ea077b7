package job

import (
	"sillbot/internal/phrase"
)

// Way is how somebody was told. The sentence is "told." + Way.
type Way string

// The ways. ByFile is an answer file that the supplier filled in.
const (
	SomeWay  Way = "somehow"
	ByPhone  Way = "phone"
	ByMail   Way = "mail"
	InPerson Way = "person"
	ByFile   Way = "file"
)

// Heard is what somebody was told of a supplier's confirmation.
type Heard struct {
	Way Way `json:"way,omitempty"` // "": nobody said
	// By is who at the supplier said it: a person's name, for the fitter and the
	// lead alone unless names are shared.
	By    string `json:"by,omitempty"`
	Order string `json:"order,omitempty"` // the supplier's own number of the order
}

// over is what is heard now, with what was heard before where it is silent.
func (h Heard) over(before Heard) Heard {
	if h.Way == "" {
		h.Way = before.Way
	}
	if h.By == "" {
		h.By = before.By
	}
	if h.Order == "" {
		h.Order = before.Order
	}
	return h
}

// Missing names what was not said of a confirmation, as "told.missing." + name.
func (h Heard) Missing(due string) []string {
	var missing []string
	for _, part := range []struct{ name, value string }{{"way", string(h.Way)}, {"by", h.By}, {"order", h.Order}, {"day", due}} {
		if part.value == "" {
			missing = append(missing, part.name)
		}
	}
	return missing
}

func (h Heard) clean() (Heard, error) {
	var err error
	if h.By, err = words(h.By, longestLabel); err != nil {
		return h, err
	}
	h.Order, err = words(h.Order, longestName)
	return h, err
}

// Text is a confirmation as it was told, in words: how, by which chair, and what
// was said. Day is when, as the reader writes days.
func (c Confirmation) Text(day phrase.Text) phrase.Text {
	way := c.Heard.Way
	if way == "" {
		way = SomeWay
	}
	var parts []phrase.Text
	if c.Heard.By != "" {
		parts = append(parts, phrase.Of("job.words").Saying("words", c.Heard.By))
	}
	if c.Heard.Order != "" {
		parts = append(parts, phrase.Of("told.order").Saying("order", c.Heard.Order))
	}
	return phrase.Of("told."+string(way)).Word("by", "role."+string(c.By.Role)).WithRow("parts", append(parts, day)...)
}

// shown is the confirmation for the desk's sheet; nil stays nil. Who at the supplier
// said it is a person's name.
func (c *Confirmation) shown(names bool) *Confirmation {
	if c == nil {
		return nil
	}
	out := *c
	out.By = c.By.forRole(Desk, names)
	if !names {
		out.Heard.By = ""
	}
	return &out
}

// Confirmation is the desk's word on a line of one revision, or what somebody was
// told of it.
type Confirmation struct {
	By       Stamp `json:"by"`
	Revision int   `json:"revision"`
	Heard    Heard `json:"heard,omitzero"`
}
