package job

import "github.com/shopspring/decimal"

// SeenFrom is the side from which every left and right is meant.
const SeenFrom = "outside"

// Supply is what the fitter and the desk have said of an opening's line.
type Supply struct {
	// Confirmed is the last time the desk confirmed it. It only counts while
	// the opening's state says so.
	Confirmed *Confirmation `json:"confirmed,omitempty"`
	Due       string        `json:"due,omitempty"` // day of delivery, 2006-01-02
	// Price is of one window, as the desk states it. Nil: not stated.
	Price *decimal.Decimal `json:"price,omitempty"`
	Notes []Note           `json:"notes,omitempty"`
}

// Confirmation is the desk's word on a line of one revision.
type Confirmation struct {
	By       Stamp `json:"by"`
	Revision int   `json:"revision"`
}

// Note is one sentence between the fitter and the desk.
type Note struct {
	By    Stamp  `json:"by"`
	Words string `json:"words"`
	// Question is the number that a question has on its line, from 1; 0: it is none.
	Question int `json:"question,omitempty"`
	// Open: nobody has answered the question, and who asked has not withdrawn it.
	Open      bool `json:"open,omitempty"`
	Withdrawn bool `json:"withdrawn,omitempty"`
	// Answers is the question that it answers; 0: all that were open, or none.
	Answers int `json:"answers,omitempty"`
}

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
