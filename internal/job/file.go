package job

import (
	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/safety"
)

// FileSheet is the paper that the customer keeps and building control may ask for: what
// was fitted where, and what was read of it.
type FileSheet struct {
	Ref     string       `json:"ref"`
	Label   string       `json:"label,omitempty"`
	Address string       `json:"address,omitempty"`
	Windows []FileWindow `json:"windows"`
	// Whole are the findings that are true of the house: who has to be told, what the
	// windows may let out.
	Whole []safety.Finding `json:"whole,omitempty"`
	Named bool             `json:"named,omitempty"` // people stand on it by name
}

// FileWindow is one window of the file.
type FileWindow struct {
	Line Line `json:"line"` // as it was ordered
	// State is where it stands, as a catalogue key.
	State string `json:"state"`
	// Came is the frame as it was measured when it came, mm; nil: nobody did.
	Came *calc.Size `json:"came,omitempty"`
	Heat *FileHeat  `json:"heat,omitempty"`
	// Marked says what was read of the marks of safety glass, "" where nobody looked:
	// a catalogue key.
	Marked   string           `json:"marked,omitempty"`
	Read     []FilePart       `json:"read,omitempty"`
	Findings []safety.Finding `json:"findings,omitempty"` // without those of the house
	Open     []phrase.Text    `json:"open,omitempty"`     // snags
	Done     []phrase.Text    `json:"done,omitempty"`     // snags that are put right
	Photos   []phrase.Text    `json:"photos,omitempty"`
	People   []FileBy         `json:"people,omitempty"`
	// Certificate is its number, CertificateDay the day on it, 2006-01-02.
	Certificate    string `json:"certificate,omitempty"`
	CertificateDay string `json:"certificate_day,omitempty"`
	Stays          bool   `json:"stays,omitempty"` // a restrictor was ordered, or a rule asks about one
}

// FileHeat is the U-value of the window with the figures behind it, W/m²K.
type FileHeat struct {
	Uw string `json:"uw"`
	Ug string `json:"ug"`
	Uf string `json:"uf"`
}

// FilePart is what was read at one step of the fitting day.
type FilePart struct {
	Name phrase.Text   `json:"name"`
	Rows []phrase.Text `json:"rows"`
}

// FileBy is who did something; What is a catalogue key.
type FileBy struct {
	What string `json:"what"`
	By   Stamp  `json:"by"`
}

// Keys of the entries of a certificate. They are storage.
const (
	certificateKey    opening.Key = "certificate.number"
	certificateDayKey opening.Key = "certificate.day"
)

// Certificate are the entries of a window's certificate: its number, and its day,
// 2006-01-02.
func Certificate(number, day string) []opening.Entry {
	return []opening.Entry{
		{Act: opening.Set, Key: certificateKey, Value: number},
		{Act: opening.Set, Key: certificateDayKey, Value: day},
	}
}

// FileWindow is the window of the file as far as its record says without the readings of
// the day; ok is false when it was never ordered.
func (j Job) FileWindow(o Opening) (w FileWindow, ok bool) {
	w.Line, ok = o.Told()
	if !ok {
		return w, false
	}
	w.Line.Name, w.State = o.Name, o.stateKey()
	o.Said.Standing(func(e *opening.Entry) {
		switch {
		case e.Act != opening.Set:
		case e.Key == certificateKey:
			w.Certificate = e.Value
		case e.Key == certificateDayKey:
			w.CertificateDay = e.Value
		}
	})
	add := func(what string, by *Stamp) {
		if by == nil {
			return
		}
		s := *by
		s.Person = 0
		if !j.ShareNames {
			s.Name = ""
		}
		w.People = append(w.People, FileBy{what, s})
	}
	add("file.by.measured", o.Measured)
	if o.Signature != nil {
		add("file.by.signed", &o.Signature.By)
	}
	for _, do := range []Action{DoDeliver, DoTakeOut, DoFit, DoGlaze, DoSeal, DoHandOver} {
		if e := o.Said.LastAct(opening.Step, string(do)); e != nil && o.State.rank() > do.from().rank() {
			by := stampOf(e, j.People)
			add("file.by."+string(do), &by)
		}
	}
	return w, true
}

// from is the state that a step of the fitting day leaves.
func (do Action) from() State {
	for s := range do.row().Leads {
		return s
	}
	return ""
}
