package job

import (
	"encoding/json"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// SeenFrom is the side from which every left and right is meant.
const SeenFrom = "outside"

// Supply is what the fitter and the desk have said of an opening's line.
type Supply struct {
	// Confirmed is the last time the desk confirmed it. It only counts while
	// the opening's state says so.
	Confirmed *Confirmation `json:"confirmed,omitempty"`
	// Told is the last time somebody else said that it was confirmed.
	Told *Confirmation `json:"told,omitempty"`
	Due  string        `json:"due,omitempty"` // day of delivery, 2006-01-02
	// Price is of one window, as the desk states it. Nil: not stated.
	Price *decimal.Decimal `json:"price,omitempty"`
	Notes []Note           `json:"notes,omitempty"`
}

// Note is one sentence between the fitter and the desk.
type Note struct {
	By    Stamp  `json:"by"`
	Words string `json:"words"`
	// Told: the supplier says it, and By sent the file that it stands in.
	Told bool `json:"told,omitempty"`
	// Question is the number that a question has on its line, from 1; 0: it is none.
	Question int `json:"question,omitempty"`
	// Open: nobody has answered the question, and who asked has not withdrawn it.
	Open      bool `json:"open,omitempty"`
	Withdrawn bool `json:"withdrawn,omitempty"`
	// Answers is the question that it answers; 0: all that were open, or none.
	Answers int `json:"answers,omitempty"`
}

// bySupplier is how a note is known whose words are the supplier's. It is storage.
const bySupplier opening.How = "supplier"

// Open are the questions that wait for an answer, the oldest first.
func (s Supply) Open() []Note {
	var open []Note
	for _, n := range s.Notes {
		if n.Open {
			open = append(open, n)
		}
	}
	return open
}

// ask makes the last note a question.
func (s *Supply) ask() {
	n := 1
	for _, note := range s.Notes {
		n = max(n, note.Question+1)
	}
	if last := len(s.Notes) - 1; last >= 0 {
		s.Notes[last].Question, s.Notes[last].Open = n, true
	}
}

// close closes the question of that number, or every one for 0.
func (s *Supply) close(question int, withdrawn bool) {
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Open && (question == 0 || n.Question == question) {
			n.Open, n.Withdrawn = false, withdrawn
		}
	}
}

// latest is the last revision that the line was confirmed of, 0 for none.
func (s Supply) latest() int {
	n := 0
	for _, c := range []*Confirmation{s.Confirmed, s.Told} {
		if c != nil {
			n = max(n, c.Revision)
		}
	}
	return n
}

// standing are the desk's own word and the one that was told, those of them that
// are of the last revision that was confirmed.
func (s Supply) standing() (own, told *Confirmation) {
	n := s.latest()
	if own = s.Confirmed; own != nil && own.Revision != n {
		own = nil
	}
	if told = s.Told; told != nil && told.Revision != n {
		told = nil
	}
	return own, told
}

// promise are the entries of a day of delivery and a price, where they are given.
func promise(due string, price *decimal.Decimal) []opening.Entry {
	var entries []opening.Entry
	if due != "" {
		entries = append(entries, opening.Entry{Act: opening.Set, Key: "due", Value: due})
	}
	if price != nil {
		entries = append(entries, opening.Entry{Act: opening.Set, Key: "price", Value: price.String()})
	}
	return entries
}

// heardOf is what a step of a confirmation keeps of what was told. What can't be
// read, as after somebody was forgotten, is nothing.
func heardOf(typed string) Heard {
	var h Heard
	if json.Unmarshal([]byte(typed), &h) != nil {
		return Heard{}
	}
	return h
}
