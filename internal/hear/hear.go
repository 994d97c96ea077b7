// Package hear reads what people type into fields and values.
//
// The whole message is read before anything is taken from it: a value counts
// only if no word of the message is left over that could change it.
//
//	message  = part { break part }          break: a line end, a full stop, a semicolon
//	part     = clause { "," clause }
//	clause   = { name | lengths | choice | day | glass | marker | harmless }
//	lengths  = length { separator length }  separator: space, x, /, and, a dash
//	name     = axis | place | axis place | a field's own name
//	marker   = not | or | all | same | no wait | from inside | lower | higher
//
// Words, names, markers and the words to ignore stand in the catalogue. A word
// that stands nowhere, and is no slip of one letter, holds the whole message
// back: what was read in it is proposed, never stored. Rules of a clause:
//
//   - lengths without a name answer the open question and those after it;
//   - names stand all before their lengths or all after them; one length takes
//     all names of its clause; what can be read both ways is held back;
//   - a choice belongs to the field that its clause names, else to the open
//     question, else to the only field that has the word;
//   - a correction goes to the field named, to the one whose figure is denied,
//     or to what was said last;
//   - "from inside" mirrors the hinges and is proposed.
//
// Time is linear in the message.
package hear

import (
	"errors"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/opening"
)

// Context is what a message is read against.
type Context struct {
	Words *Words
	Now   time.Time // the day in the person's zone
	Unit  string    // of a bare number; "" for mm
	Known *opening.Known
	// Open is the open question, "" when there is none.
	Open opening.Key
	// Last is what this person said last, for "no wait".
	Last opening.Key
	// Correct is set when the message is to correct what was said.
	Correct bool
	// Over is set when the message says how a window differs from the one that it was
	// copied from: what was copied gives way without being asked about.
	Over bool
	// Next is the open question of what would be known.
	Next func(*opening.Known) opening.Key
	// Fits says whether a length can be beside what else is known.
	Fits func(known *opening.Known, key opening.Key, mm decimal.Decimal) bool
	// Frame is the frame's size in mm where it is known: half way up is measured on it.
	Frame func() (width, height decimal.Decimal, ok bool)
}

// Value is one field's value as it is stored.
type Value struct {
	Key   opening.Key
	Value string
	Typed string // as the person wrote it
	Other bool   // Typed is in another unit than mm
}

// Why says why something is asked back instead of stored.
type Why string

// The reasons to ask back.
const (
	Unknown  Why = "unknown" // a word that the catalogue does not have
	Either   Why = "either"  // it can be read in several ways
	Mirrored Why = "inside"  // said from inside
	Differs  Why = "differs" // answered before, otherwise
	Unsaid   Why = "unsaid"  // a part was left out and taken in the usual way
	Asked    Why = "asked"   // it was put as a question
	Past     Why = "past"    // the day of the work is over
	// Exchanged: two readings seem to be each other's.
	Exchanged Why = "exchanged"
)

// Held is what was read but not taken: the ways it may be meant, each a set of
// values. Words are those that hold it back.
type Held struct {
	Why   Why
	Words string
	Ways  [][]Value
}

// Length is a figure that may be read in several ways, of the field Key.
type Length struct {
	Key    opening.Key
	Given  string
	Others []decimal.Decimal // mm
	Rest   string            // what of the message is still to be read
	Rests  []string          // the same for each of Others, where they differ
}

// ErrUnfit is a length that can't be beside what else is known.
var ErrUnfit = errors.New("the length can't be beside the others")

// Trouble is a figure or a word that does not fit the field it is for.
type Trouble struct {
	Key   opening.Key
	Given string
	Err   error  // of package reading
	Rest  string // what of the message was not read
}

// Heard is a message as it was read.
type Heard struct {
	Said     []Value // to store
	Again    []Value // said before already, with the same value
	Before   bool    // as in the window before
	Held     *Held   // to ask about; Said is then empty
	Length   *Length
	Trouble  *Trouble
	Query    *Query   // a question to the bot
	CantTell bool     // nothing but that it can't be told
	Unknown  []string // words that nobody knows, as typed
}

// Empty says whether nothing at all was made of the message.
func (h Heard) Empty() bool {
	return len(h.Said) == 0 && len(h.Again) == 0 && h.Held == nil && h.Length == nil && h.Query == nil
}

// Topic is what a question to the bot is about.
type Topic string

// The topics.
const (
	Meaning Topic = "meaning" // of a word of the trade
	Reason  Topic = "why"     // why the open question is asked
	Method  Topic = "how"     // how its answer is found
	Sides   Topic = "sides"   // which side, from where
	Other   Topic = "other"   // anything else
)

// Query is a question to the bot.
type Query struct {
	Topic Topic
	Term  string      // of Meaning: the glossary's code
	Other string      // and a second one, whose difference is asked for
	Key   opening.Key // the field that it is about
}
