package opening

import (
	"github.com/shopspring/decimal"

	"sillbot/internal/reading"
)

// Field is one row of the table: everything that the program knows of one
// thing that can be known of an opening. Questions, files, the schema,
// differences and what a signature covers are read off it.
type Field struct {
	Key  Key    // "" for what only a file says
	File string // place in a file, such as widths[0] or sashes[#].angle; "": none
	// Name is the key without the number of one of several, N that number:
	// light.3 is light, 3. Both are filled in.
	Name string
	N    int

	Kind     Kind
	Scope    Scope
	Marks    Mark
	NotKnown NotKnown

	Unit  string        // of a figure: mm, m², kg; "": none or the file's own
	Usual reading.Range // of a figure in a conversation; beyond it is asked back
	// Least and Most are what a file may say, ends included; both 0: anything
	// that the type holds.
	Least, Most int64

	Group string // of the words that answer it
	// Rows are the codes that get a button. Short stand in their place while
	// none of the further fields that they answer has a value, see Together.
	Rows, Short [][]string
	// More are the codes of Short's place that are behind a button of their own.
	More  [][]string
	Asked func(*Known) bool // whether what is known calls for it; nil: always
	// Safe is what is taken when nobody can tell: the frame is rather too small
	// than too big, the glass rather safe. "": it has to be known.
	Safe  string
	Early Key   // a later choice that some give first, in words
	Else  Key   // a field that says as much: with it this one is not missed
	Voids []Key // what falls when it changes
	// Change is the name that opens it again together with its fellows; filled
	// in as the key where it has none.
	Change string

	least, most decimal.Decimal

	put   func(*Known, *Opening) // where the value is not written as it is
	steps []step                 // to File
}

// Kind says how a value is given.
type Kind int

// The kinds of field.
const (
	Choice Kind = iota
	Length
	Day
	SillPiece // a depth from the list or any other
	FloorOf   // a floor, or the height above the ground outside, which means the ground floor
	Lights    // how many lights, or at once how each opens
	MakeUp    // panes and cavities of the glass, 4-20-4
	FloorArea // of the room, m²
	Words     // a person's own, at most Most characters; none: a code
	Figure    // a number that only a file gives, or of the crew's
	Lengths   // several, in mm, with spaces between
)

// Scope says for what a value holds.
type Scope int

// The scopes.
const (
	Window   Scope = iota
	House          // asked once for all windows of a chat
	OfJob          // asked once for all windows of a job, unless it is said for one
	CrewWide       // a setting of the crew
)

// Mark is a set of properties of a field.
type Mark int

// The marks.
const (
	Reading   Mark = 1 << iota // makes the figure of the opening; filled in
	Sizes                      // the order size hangs on it
	Skips                      // may be passed over
	OnRequest                  // asked only when the person opens it
	ByCommand                  // never asked: a command of its own says it
	Example                    // a setting whose usual value is nobody's figure
	Unsigned                   // a signature does not cover it
	Above                      // Least itself is refused
	Optional                   // a file may leave it out, and has then no word or 0
	OnOrder                    // stands on the order line as it was said
	Sketched                   // a sketch shows where the tape goes
	// Repeats: mostly as in the window before. Such fields in a row are answered
	// by one button.
	Repeats
	// Needed: the maker needs it. It is missed where it is called for and nobody gave it,
	// though no survey asks for it by itself.
	Needed
	// Spared: asked, but a window can be ordered before it was; windows of before the
	// question have no answer to it.
	Spared
	// Maker: who makes the window needs it, and no survey asks; see ItemKeys.
	Maker
	// Seen: the customer sees it, so that a change of it voids the customer's word.
	Seen
)

// Is says whether the field has all of the marks.
func (f *Field) Is(m Mark) bool { return f.Marks&m == m }

func (k *Known) calls(f *Field) bool { return f.Asked == nil || f.Asked(k) }

// NotKnown is what it does when a field is not known, see Known.Unknown.
type NotKnown int

// What not to know a field does.
const (
	Harmless    NotKnown = iota // the program's own choice is as good
	Stops                       // the window can't be ordered
	Against                     // stands against ordering, until somebody takes it on by name
	Stands                      // stands on the order, or what follows of it does
	DeskDecides                 // left to who makes the window
)

const (
	// MostColumns and MostLights are the largest layout that is asked for.
	MostColumns = 4
	MostLights  = 2 * MostColumns

	tapeMost  = 20_000 // the longest that a tape says, mm
	countMost = 1000
	manyMost  = 1_000_000 // of anything counted
)
