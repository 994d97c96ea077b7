package dialog

import (
	"encoding/json"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
)

// Fact is what is known of one field, for a program.
type Fact struct {
	// Value is a length in mm or a number as a JSON number, anything else as it
	// is stored, opening.Skipped among it.
	Value any `json:"value"`
	// How it is known: measured, copied, assumed or settled.
	How string `json:"how"`
	// By is the chair of whoever said it.
	By string `json:"by"`
}

// Shown is the record at hand, for a program: of somebody who measures a second
// time the readings of that measure alone.
type Shown struct {
	Record map[opening.Key]Fact `json:"record"`
	// Fit is what the window still lacks for ordering, in a job; nil outside one.
	Fit []opening.Key `json:"fit,omitzero"`
	// Against is what stands against ordering it, by what each point is about: the key of
	// a field whose reading was not taken or that nobody gave, the rule of a finding,
	// readings where they can't all be right, copied.N. TakenOn are those that
	// somebody took on, Stops those that nobody can.
	Against []string `json:"against,omitzero"`
	TakenOn []string `json:"taken_on,omitzero"`
	Stops   []string `json:"stops,omitzero"`
}

// Show gives what is known of what is at hand. It needs the open job and the
// window of it that is at hand, and changes nothing.
func (s State) Show() Shown {
	known := s.known()
	out := Shown{Record: map[opening.Key]Fact{}}
	for _, key := range known.InOrder() {
		out.Record[key] = s.fact(known.Entry(key))
	}
	if o, ok := s.window(); ok {
		k := o.Known()
		out.Fit = append([]opening.Key{}, k.Lacks()...)
		out.Against = []string{}
		for _, p := range o.Standing(calc.DefaultSettings()) {
			out.Against = append(out.Against, p.About)
			switch {
			case p.By != nil:
				out.TakenOn = append(out.TakenOn, p.About)
			case p.Stops():
				out.Stops = append(out.Stops, p.About)
			}
		}
	}
	return out
}

func (s State) fact(e *opening.Entry) Fact {
	f := Fact{Value: e.Value, How: string(e.How), By: string(e.Role)}
	if e.How == opening.Measured {
		f.How = "measured"
	}
	if s.Second != nil {
		f.By = string(opening.Lead)
	}
	switch opening.Find(e.Key).Kind {
	case opening.Length, opening.SillPiece, opening.FloorArea, opening.Figure:
		if n := json.Number(e.Value); json.Valid([]byte(n)) {
			f.Value = n
		}
	}
	return f
}
