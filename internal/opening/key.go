package opening

import "strconv"

// Key names a field. Keys are storage: they wait in records, on buttons and in
// outboxes.
type Key = string

// Skipped is the stored value of a question that was passed over.
const Skipped = "-"

// DeskSays is the stored value of an item that is left to the desk.
const DeskSays = "desk"

// ByClass is the item that is only missed where a rule asks for safety glass.
const ByClass Key = "safeglass"

// ByLight is the field that says of single lights of what their safety glass is, as
// "1 toughened, 2 laminated"; of the others the item for all lights holds.
const ByLight Key = "lightglass"

// The keys of the readings: those that every window has, and all of them in the
// order of the tape.
var (
	Widths      = [3]Key{"width.top", "width.middle", "width.bottom"}
	Heights     = [3]Key{"height.left", "height.middle", "height.right"}
	ReadingKeys = append(append(Widths[:], Heights[:]...), "diagonal.rising", "diagonal.falling", "sill.fall")
)

func numbered(name string, n int) string { return name + strconv.Itoa(n) }

// Nth is the key of the nth of several, such as light.3.
func Nth(name string, n int) Key { return numbered(name+".", n) }

// CrewPrefix begins the keys of the crew's settings.
const CrewPrefix = "crew."
