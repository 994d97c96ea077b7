package job

// Matter is what may be open in a job, the most urgent first in Matters. The names
// are storage.
type Matter string

// The matters.
const (
	LateFrame   Matter = "late"        // its day has passed and the frame is not here
	AskedByDesk Matter = "question"    // the desk waits for an answer
	HeldOrder   Matter = "held"        // the revision no longer stands, and the next one is not sent
	ToCheck     Matter = "check"       // the lead was asked to check it
	StandsOpen  Matter = "against"     // something stands against ordering it
	Unconfirmed Matter = "unconfirmed" // the desk has the line and has not confirmed it
	Unsigned    Matter = "unsigned"    // ordered, or ready for it, and no lead has signed
	HalfDone    Matter = "measuring"   // the survey still lacks something
)

// Matters lists them, the most urgent first.
var Matters = []Matter{LateFrame, AskedByDesk, HeldOrder, ToCheck, StandsOpen, Unconfirmed, Unsigned, HalfDone}

// OpenPoint is one matter and the openings that it is open of. It holds no figure,
// so that it can be sent to a lead who measures blind.
type OpenPoint struct {
	What     Matter `json:"w"`
	Openings []int  `json:"o,omitempty"`
	Due      string `json:"d,omitempty"` // of LateFrame, 2006-01-02
}
