package day

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// patchKeys is the part as far as its fields need it.
var patchKeys = Part{Name: "patch"}

// pastKeys is the sill piece's part as far as its field needs it.
var pastKeys = Part{Name: "sillpiece"}

// structureKeys is the structure check as far as its field needs it.
var structureKeys = Part{Name: "structure"}

// Place is one place to make good, mm. Its number is never used again while it is there.
type Place struct {
	Number               int
	Length, Width, Depth decimal.Decimal
}

// placesOf are the places that are stored.
func placesOf(value string) []Place {
	var list []Place
	for _, row := range strings.Split(value, ";") {
		words := strings.Fields(row)
		if len(words) != 4 {
			continue
		}
		n, err := strconv.Atoi(words[0])
		if err != nil {
			continue
		}
		p := Place{Number: n}
		for i, to := range []*decimal.Decimal{&p.Length, &p.Width, &p.Depth} {
			*to, err = decimal.NewFromString(words[i+1])
			if err != nil {
				return nil
			}
		}
		list = append(list, p)
	}
	return list
}

func storedPlaces(list []Place) string {
	rows := make([]string, len(list))
	for i, p := range list {
		rows[i] = fmt.Sprint(p.Number, " ", p.Length, " ", p.Width, " ", p.Depth)
	}
	return strings.Join(rows, ";")
}

func placesText(value string) phrase.Text {
	var rows []phrase.Text
	for _, p := range placesOf(value) {
		rows = append(rows, phrase.Of("day.place").WithInt("n", p.Number).With("length", p.Length).With("width", p.Width).With("depth", p.Depth))
	}
	return phrase.Of("day.places").WithRow("places", rows...)
}

// Places are the places to make good at the window.
func (w *Window) Places() []Place { return placesOf(w.Value(&patchKeys, "places")) }

// Gone are the entries that take a place off; ok is false where there is none of that
// number.
func (w *Window) Gone(number int) (e opening.Entry, ok bool) {
	list := w.Places()
	left := slices.DeleteFunc(slices.Clone(list), func(p Place) bool { return p.Number == number })
	e = opening.Entry{Act: opening.Set, Key: "patch.places", Value: storedPlaces(left)}
	if len(left) == 0 {
		e = opening.Entry{Act: opening.Clear, Key: "patch.places"}
	}
	return e, len(left) < len(list)
}

// addWet adds to the opening what was read of it in the wet work.
func (w *Window) addWet(o *opening.Opening) {
	for _, p := range w.Places() {
		o.Patches = append(o.Patches, opening.Patch{
			Length: p.Length, Width: p.Width, Depth: p.Depth,
			ReadyMix: w.Value(&patchKeys, "mix") == "bags", Wall: calc.WallKind(w.choice(&patchKeys, "wall")),
		})
	}
	if past := w.Number(&pastKeys, "past"); past != nil {
		o.Items.SillPast = past
	}
	o.Rebates = append(o.Rebates, w.rebates()...)
	if m := w.choice(&fixingKeys, "masonry"); m != "" {
		o.Masonry = calc.Masonry(m)
	}
}

// choice is the code that was chosen; "" for none.
func (w *Window) choice(p *Part, name string) string {
	if v := w.Value(p, name); v != opening.Skipped {
		return v
	}
	return ""
}

// glazingKeys is the part as far as its fields need it.
var glazingKeys = Part{Name: "glazing"}

// panesOf are rebates and panes as they are stored.
func panesOf(value string) []opening.Rebate {
	var list []opening.Rebate
	for _, row := range strings.Split(value, ";") {
		words := strings.Fields(row)
		if len(words) != 5 {
			continue
		}
		n, err := strconv.Atoi(words[0])
		if err != nil {
			continue
		}
		r := opening.Rebate{Light: n}
		for i, to := range []*decimal.Decimal{&r.Rebate.Width, &r.Rebate.Height, &r.Glass.Width, &r.Glass.Height} {
			if *to, err = decimal.NewFromString(words[i+1]); err != nil {
				return nil
			}
		}
		list = append(list, r)
	}
	return list
}

func storedPanes(list []opening.Rebate) string {
	rows := make([]string, len(list))
	for i, r := range list {
		rows[i] = fmt.Sprint(r.Light, " ", r.Rebate.Width, " ", r.Rebate.Height, " ", r.Glass.Width, " ", r.Glass.Height)
	}
	return strings.Join(rows, ";")
}

func panesText(value string) phrase.Text {
	var row []phrase.Text
	for _, r := range panesOf(value) {
		if r.Rebate.Width.IsPositive() {
			row = append(row, phrase.Of("day.rebate").WithInt("n", r.Light).With("width", r.Rebate.Width).With("height", r.Rebate.Height))
		}
		if r.Glass.Width.IsPositive() {
			row = append(row, phrase.Of("day.pane").WithInt("n", r.Light).With("width", r.Glass.Width).With("height", r.Glass.Height))
		}
	}
	return phrase.Of("day.places").WithRow("places", row...)
}

// rebates are the rebates that were measured, with their panes.
func (w *Window) rebates() []opening.Rebate {
	list := panesOf(w.Value(&glazingKeys, "rebates"))
	return slices.DeleteFunc(list, func(r opening.Rebate) bool { return !r.Rebate.Width.IsPositive() })
}

// sashKeys is the part as far as its fields need it.
var sashKeys = Part{Name: "sash"}

// shuts is the stored reading of a sash that shuts without dragging.
const shuts = "shuts"

// standOf is a stored reading of a sash.
func standOf(value string) (s plan.SashStand, ok bool) {
	words := strings.Fields(value)
	if len(words) < 2 {
		return s, false
	}
	light, err := strconv.Atoi(words[0])
	if err != nil {
		return s, false
	}
	s.Light = light
	switch {
	case words[1] == shuts:
		return s, true
	case len(words) != 4:
		return s, false
	case words[1] == "diagonals":
		s.HeelToe, err = decimal.NewFromString(words[2])
		if err == nil {
			s.Across, err = decimal.NewFromString(words[3])
		}
	default:
		s.Drags, s.Corner = words[1] == "drags", calc.ToeCorner(words[2])
		s.By, err = decimal.NewFromString(words[3])
	}
	return s, err == nil
}

func sashText(value string) phrase.Text {
	s, ok := standOf(value)
	switch {
	case !ok:
		return phrase.Of("job.words").Saying("words", value)
	case strings.HasSuffix(value, shuts):
		return phrase.Of("sash.said.shuts").WithInt("n", s.Light)
	case s.HeelToe.IsPositive():
		return phrase.Of("sash.said.diagonals").WithInt("n", s.Light).With("heel_toe", s.HeelToe).With("other", s.Across)
	case s.Drags:
		return phrase.Of("sash.said.drags").WithInt("n", s.Light).With("mm", s.By).Word("corner", "sash.corner."+string(s.Corner))
	}
	return phrase.Of("sash.said.gap").WithInt("n", s.Light).With("mm", s.By).Word("corner", "sash.corner."+string(s.Corner))
}

// fixingKeys is the part as far as its fields need it.
var fixingKeys = Part{Name: "fixing"}

// insideWork is what stands inside beside the frame, as far as it was measured. A board of
// which one end was measured lies straight.
func (w *Window) insideWork() []calc.CutBackRequest {
	p := &Part{Name: "takeout"}
	var list []calc.CutBackRequest
	if left := w.Number(p, "board"); left != nil {
		right := w.Number(p, "boardright")
		if right == nil {
			right = left
		}
		list = append(list, calc.CutBackRequest{Work: calc.InsideBoard, Side: calc.Sill, Edges: [2]decimal.Decimal{*left, *right}, Clear: calc.BoardClear})
	}
	for _, side := range []calc.Side{calc.Left, calc.Right} {
		if edge := w.Number(p, string(side)); edge != nil {
			list = append(list, calc.CutBackRequest{Work: calc.InsidePlaster, Side: side, Edges: [2]decimal.Decimal{*edge, *edge}, Clear: calc.BoardClear})
		}
	}
	return list
}
