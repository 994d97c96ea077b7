package dialog

import (
	"encoding/json"
	"slices"

	"sillbot/internal/opening"
)

// firstState is what a State of the first schema held otherwise.
type firstState struct {
	Answers []Answer `json:"a"`
	Set     []Answer `json:"n"`
	Second  *struct {
		Waiting []Answer `json:"w"`
	} `json:"m"`
}

// UnmarshalJSON reads a stored State of this or the first schema.
func (s *State) UnmarshalJSON(raw []byte) error {
	type plain State
	if err := json.Unmarshal(raw, (*plain)(s)); err != nil || s.Version != firstSchema {
		return err
	}
	var old firstState
	if err := json.Unmarshal(raw, &old); err != nil {
		return err
	}
	s.Version = schema
	s.Hand = recordOf(old.Answers, old.Set, s.Kept)
	s.Old = s.inJob()
	if old.Second != nil {
		s.Second.Waiting = recordOf(old.Second.Waiting, old.Set, s.Kept)
		s.Hand = recordOf(old.Answers, nil, nil)
	}
	return nil
}

// recordOf is the record of answers of the first schema.
func recordOf(answers, set, kept []Answer) opening.Record {
	var r opening.Record
	for _, ans := range answers {
		e := opening.Entry{Act: opening.Set, Key: ans.Key, Value: ans.Value}
		if slices.ContainsFunc(kept, func(k Answer) bool { return k.Key == ans.Key && k.Value == ans.Value }) {
			e.How = opening.Assumed
		}
		r = r.Put(opening.Stamp{By: opening.Former, Role: opening.Fitter, Turn: -1}, e)
		if ans.Sure {
			r = r.Put(opening.Stamp{By: opening.Former, Role: opening.Fitter, Turn: -1}, opening.Entry{Act: opening.Sure, Key: ans.Key})
		}
	}
	for _, ans := range set {
		r = r.Put(opening.Stamp{By: opening.Former, Role: opening.Fitter, Turn: -1}, opening.Entry{Act: opening.Set, Key: opening.CrewPrefix + ans.Key, Value: ans.Value, How: opening.Assumed})
	}
	return r
}
