package dialog

// lastPhoto is what became of the photo that came last, for the rest of its album, for
// undo and for another window.
type lastPhoto struct {
	Album  string `json:"a,omitempty"`
	Ref    string `json:"j,omitempty"`
	Window int    `json:"e,omitempty"` // 0: what is at hand in no job, or it waits
	Part   string `json:"p,omitempty"`
	Turn   int    `json:"tn,omitempty"`
	Number int    `json:"n,omitempty"` // the first of the act
	Waits  bool   `json:"w,omitempty"` // nobody said yet of which window it is
	Before int    `json:"b,omitempty"` // how many waited before it
	Just   bool   `json:"i,omitempty"` // it was the last thing that the person sent
	Over   bool   `json:"o,omitempty"` // the rest of its album was refused, which was said
}

// waitingPhoto is a photo of which nobody said yet of which window it is.
type waitingPhoto struct {
	File     string `json:"f"`
	Document bool   `json:"d,omitempty"`
	As       string `json:"k,omitempty"` // see opening.Notes
	Caption  string `json:"c,omitempty"`
	At       int64  `json:"t"` // Unix seconds
}
