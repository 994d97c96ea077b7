package opening

// Act says what an entry does. The letters are storage.
type Act byte

// The acts.
const (
	Set      Act = '=' // a field has this value
	Clear    Act = '-' // a field has no value any more
	Sure     Act = '!' // a value that was questioned stands
	TakeBack Act = '^' // the act of number Of is taken back
	Step     Act = '@' // a step of the trade, named by Value
	Tell     Act = '*' // figures were told: sent, or shown for signing
	Agree    Act = '+' // what entry Of told was signed or confirmed
	Note     Act = ':' // a sentence from one person to another
	Again    Act = '?' // a reading that two measures differ in is to be measured again
	Reviewed Act = '#' // what holds was looked at as a whole
	Pictured Act = '$' // a photo, see Photo
)

// How says how a value is known.
type How string

// The ways a value is known.
const (
	Measured How = ""        // by whoever gave it, here
	Copied   How = "copied"  // from another window
	Assumed  How = "assumed" // usual for the chat, or left to the program
	Settled  How = "settled" // between two measures that differ
	ForAll   How = "job"     // said of all windows of the job at once
)

// Role is the chair of the person who wrote an entry. The words are storage.
type Role string

// The chairs.
const (
	Fitter Role = "fitter"
	Lead   Role = "lead"
	Desk   Role = "desk"
	// Customer is on a page in a browser, and does nothing but agree.
	Customer Role = "customer"
)

// Stamp is who wrote an entry, when, and in which message.
type Stamp struct {
	By   int64 // the person, by the platform's number; Former or less for one who was forgotten
	Role Role
	At   int64 // Unix seconds
	Msg  int64 // the message's number in the chat; 0: not known
	Turn int   // entries of one turn are one act; 0: an act of its own
}

// Former is the first person of a record whose number was forgotten; further ones
// have the numbers below.
const Former = -1

// Entry is one thing that was said.
type Entry struct {
	Seq   int // its place in the record, from 1
	Act   Act
	Key   Key    // the field; "" where the act is of no field
	Value string // as the field stores it: a code, a length in mm, a day
	Typed string // what the person wrote, where it says more than Value
	How   How
	Stamp
	Of   int // of TakeBack: the turn; of Agree: the entry that told
	Told *Told
}

// Told is what was told, as it was told. Nothing changes it.
type Told struct {
	Version string // of what a signature covers, see Version
	Rules   int    // number of the rules that gave the figures
	Figures string // JSON
}
