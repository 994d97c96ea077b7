package sheet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
	"sillbot/internal/scene"
)

// csvColumns are the names in the first row.
var csvColumns = []string{
	"ref", "revision", "held", "line", "opening", "quantity", "width_mm", "height_mm", "seen_from", "sill_depth_mm",
	"material", "colour", "mullions_mm", "transoms_mm", "lights", "glass", "panes_mm", "safety_class", "safety_why",
	"old_vents", "old_vent_area_mm2", "asked", "not_known", "hardware", "state", "confirmed", "due", "price_each",
	"measured", "checked", "notes", "label", "address", "fitter",
	"price_sum", "glass_sizes_mm", "glass_sizes_by", "frame_depth_mm", "weight_kg", "against",
	"customer", "customer_agreed", "room",
}

// CSV is the order sheet with one row a line, for a spreadsheet: commas, CRLF,
// UTF-8 with a byte order mark, as RFC 4180 has it. Lengths are mm with a
// decimal point. A cell that a spreadsheet would take for a formula, or for a
// day that it isn't, begins with an apostrophe. Errors are those of Order.
func (p Printer) CSV(s job.OrderSheet) ([]byte, error) {
	if err := p.check(s); err != nil {
		return nil, err
	}
	o := &order{layout: newLayout(p), sheet: s}
	var out bytes.Buffer
	out.WriteString("\uFEFF")
	w := csv.NewWriter(&out)
	w.UseCRLF = true
	rows := [][]string{csvHead()}
	for i, l := range s.Lines {
		rows = append(rows, o.csvRow(i, l))
	}
	if err := w.WriteAll(rows); err != nil {
		return nil, fmt.Errorf("sheet: writing the CSV: %w", err)
	}
	return out.Bytes(), nil
}

func csvHead() []string { return slices.Concat(csvColumns, statedKeys(), answerColumns) }

// statedKeys are the fields that stand on a line as they were said; each has a
// column behind the others.
func statedKeys() []string {
	var keys []string
	for f := range opening.Fields {
		if f.Is(opening.OnOrder) {
			keys = append(keys, f.Key)
		}
	}
	return keys
}

// plainNumber is what a spreadsheet takes for a number and for nothing else.
var plainNumber = regexp.MustCompile(`^[+-]?[0-9]+([.,][0-9]+)?$`)

// looksLikeDay is what a spreadsheet may turn into a day or a time, such as a
// glass unit of 4-20-4; isDay is a day that it may.
var (
	looksLikeDay = regexp.MustCompile(`^[0-9]+([-/:][0-9]+)+$`)
	isDay        = regexp.MustCompile(`^[0-9]{4}-[0-9]{2}-[0-9]{2}$`)
)

// inert is a cell that no spreadsheet works out or rewrites: one that begins
// like a formula, after spaces and unseen characters too, or that looks like a
// day, gets an apostrophe in front, unless it is a number.
func inert(cell string) string {
	seen := strings.TrimLeftFunc(cell, func(r rune) bool { return unicode.IsSpace(r) || !unicode.IsGraphic(r) })
	if cell == "" || plainNumber.MatchString(cell) {
		return cell
	}
	for _, sign := range []string{"=", "+", "-", "@", "＝", "＋", "－", "＠"} {
		if strings.HasPrefix(seen, sign) {
			return "'" + cell
		}
	}
	if strings.ContainsAny(cell[:1], "\t\r\n") || looksLikeDay.MatchString(cell) && !isDay.MatchString(cell) {
		return "'" + cell
	}
	return cell
}

func (o *order) csvRow(i int, l job.SheetLine) []string {
	s := o.sheet
	var class []string
	for _, c := range classes(l.Line) {
		class = append(class, o.classWords(c, l.Line))
	}
	glass := ""
	if l.MakeUp != "" || slices.Contains(l.DeskDecides, "glass") {
		glass = o.makeUpWords(l)
	}
	price, sum := "", ""
	if l.Price != nil {
		price, sum = money(*l.Price), money(sumOf(l))
	}
	cells := []string{
		s.Ref, s.Revision, strconv.FormatBool(s.Held || len(o.forbids(l.Line)) > 0), strconv.Itoa(i + 1), clean(l.Name), strconv.Itoa(l.Quantity),
		l.Size.Width.String(), l.Size.Height.String(), s.SeenFrom, l.Sill.String(),
		string(l.Material), o.colourCell(l.Line), decimals(l.Layout.Mullions), decimals(l.Layout.Transoms),
		strings.Join(o.voice.Opening(l.Stated).Ways(l.Layout), "; "), glass, decimals(l.Panes), strings.Join(class, "; "),
		wordsOf(o.foundParts(l.Line, scene.AsksGlass)),
		strconv.FormatBool(l.OldVents), l.VentArea.String(),
		wordsOf(o.foundParts(l.Line, func(f safety.Finding) bool { return f.Severity == safety.Must && !scene.AsksGlass(f) })),
		wordsOf(o.allNotKnown(l)),
		strings.Join(o.hardware(l.Line), "; "), string(l.State), o.confirmedWords(l), l.Due, price,
		o.dataMeasured(l), o.byWords(l.Checked), strings.Join(o.notes(l), "; "), clean(s.Label), clean(s.Address), clean(s.Fitter), sum,
	}
	cells = append(append(cells, o.workedCells(l.Line)...), wordsOf(o.againstParts(l)))
	cells = append(append(cells, agreedCells(l)...), string(l.Room))
	for _, key := range statedKeys() {
		cells = append(cells, clean(opening.StatedAs(l.Stated, key)))
	}
	cells = append(cells, o.answerCells(l.Line)...)
	for n := range cells {
		cells[n] = inert(cells[n])
	}
	return cells
}

func wordsOf(parts []part) string {
	all := ""
	for _, p := range parts {
		all = strings.TrimSpace(all + " " + p.words)
	}
	return all
}

// dataMeasured is who measured a line; "" where that is not known, and of a copy that
// nobody did.
func (o *order) dataMeasured(l job.SheetLine) string {
	if l.CopiedFrom != 0 {
		return o.measuredWords(l)
	}
	return o.byWords(l.Measured)
}

// notes are what the desk said of a line, who and when before each.
func (o *order) notes(l job.SheetLine) []string {
	var all []string
	for _, n := range l.Notes {
		all = append(all, o.noteWords(n))
	}
	return all
}

func decimals(ds []decimal.Decimal) string {
	all := make([]string, len(ds))
	for i, d := range ds {
		all[i] = d.String()
	}
	return strings.Join(all, "; ")
}

// jsonOrder is the order sheet for a program. Lights are counted from 1 at the
// left, the lower row first.
type jsonOrder struct {
	Ref      string       `json:"ref,omitempty"`
	Revision string       `json:"revision,omitempty"`
	Held     bool         `json:"held,omitempty"`
	Sent     string       `json:"sent,omitempty" jsonschema:"format=date-time"` // RFC 3339
	Made     string       `json:"made" jsonschema:"format=date-time"`           // RFC 3339
	SeenFrom string       `json:"seen_from"`
	Label    string       `json:"label,omitempty"`
	Address  string       `json:"address,omitempty"`
	Contact  string       `json:"contact,omitempty"` // who takes the delivery
	Fitter   string       `json:"fitter,omitempty"`
	Changes  []string     `json:"changes,omitempty"`
	Advice   string       `json:"advice"`
	Currency string       `json:"currency"` // of all prices, ISO 4217
	Lines    []jsonLine   `json:"lines"`
	NoPlan   []jsonNoPlan `json:"no_plan,omitempty"` // of a file: openings that are not on the sheet
}

// jsonNoPlan is an opening that is not on the sheet.
type jsonNoPlan struct {
	Line    int    `json:"line"`
	Opening string `json:"opening,omitempty"`
	Why     string `json:"why"`
}

type jsonLine struct {
	Line       int               `json:"line"`
	Opening    string            `json:"opening"`
	Room       safety.Room       `json:"room,omitempty"`
	Quantity   int               `json:"quantity"`
	Width      decimal.Decimal   `json:"width"`  // mm, of the frame
	Height     decimal.Decimal   `json:"height"` // mm, without the sill piece
	SillDepth  decimal.Decimal   `json:"sill_depth,omitzero"`
	Material   calc.Material     `json:"material"`
	Colour     string            `json:"colour,omitempty"`
	Mullions   []decimal.Decimal `json:"mullions,omitempty"` // centre lines, mm from the left edge
	Transoms   []decimal.Decimal `json:"transoms,omitempty"` // by column, mm above the bottom edge; 0: none
	Lights     []jsonLight       `json:"lights"`
	MakeUp     string            `json:"glass,omitempty"`          // sheets and spaces from outside, 4-20-4
	Thickness  decimal.Decimal   `json:"glass_thickness,omitzero"` // mm, of the unit
	Stated     map[string]string `json:"stated,omitempty"`         // by the field's key
	Panes      []decimal.Decimal `json:"panes,omitempty"`          // mm
	OldVents   bool              `json:"old_vents"`
	VentArea   decimal.Decimal   `json:"old_vent_area,omitzero"` // mm²
	Asked      []jsonFinding     `json:"asked,omitempty"`
	NotKnown   []jsonFinding     `json:"not_known,omitempty"`
	Unknown    []string          `json:"fields_not_known,omitempty"` // by key, besides what not_known asks for
	Decides    []string          `json:"desk_decides,omitempty"`     // by key
	NotSaid    []string          `json:"fields_not_said,omitempty"`  // by key: what a maker needs and nobody was asked
	Hardware   []jsonFitting     `json:"hardware,omitempty"`
	Wanted     []string          `json:"wanted,omitempty"`
	State      job.State         `json:"state,omitempty"`
	Confirmed  string            `json:"confirmed,omitempty"`
	Due        string            `json:"due,omitempty" jsonschema:"format=date"` // day of delivery
	Price      string            `json:"price_each,omitempty"`                   // of one window, pounds and pence
	PriceSum   string            `json:"price_sum,omitempty"`                    // of the quantity
	Weight     decimal.Decimal   `json:"weight_kg,omitzero"`                     // of one window, about, without hardware and sill piece
	Profile    *jsonProfile      `json:"profile,omitempty"`
	MeasuredBy string            `json:"measured,omitempty"`
	CheckedBy  string            `json:"checked,omitempty"`
	Agreed     *jsonAgreed       `json:"customer_agreed,omitempty"`
	Notes      []string          `json:"notes,omitempty"`
	Against    []jsonPoint       `json:"against,omitempty"`
	Hold       []string          `json:"hold,omitempty"` // why it must not be made, of a plan
}

type jsonLight struct {
	Light  int        `json:"light"`
	Column int        `json:"column"` // from 1
	Above  bool       `json:"above_transom,omitempty"`
	Hinge  calc.Hinge `json:"hinge"`
	Words  string     `json:"words"`
	Class  int        `json:"safety_class,omitempty"` // of BS EN 12600: 1 is the strictest
	// SafetyRule and SafetyDocument are what asks for that class.
	SafetyRule     string `json:"safety_rule,omitempty"`
	SafetyDocument string `json:"safety_document,omitempty"`
	// SafetyGlass is of what that is: toughened, laminated, or mixed for toughened
	// outside and laminated inside; desk: left to the desk; "": nobody said.
	SafetyGlass string     `json:"safety_glass,omitempty"`
	Glass       *jsonGlass `json:"glass,omitempty"`
}

type jsonFinding struct {
	Rule     string    `json:"rule"`
	Lights   []int     `json:"lights,omitempty"` // from 1; none: all
	Text     string    `json:"text"`
	Document string    `json:"document,omitempty"`
	Mark     calc.Mark `json:"mark,omitempty"`
}

type jsonFitting struct {
	job.Fitting
	Words string `json:"words"`
}

// JSON is the order sheet for a program, with the words of the reader beside
// the codes. Lengths are decimals in strings, mm. Errors are those of Order.
func (p Printer) JSON(s job.OrderSheet) ([]byte, error) {
	if err := p.check(s); err != nil {
		return nil, err
	}
	o := &order{layout: newLayout(p), sheet: s}
	out := o.jsonHead()
	for i, l := range s.Lines {
		out.Lines = append(out.Lines, o.jsonLine(i, l))
	}
	raw, err := json.MarshalIndent(out, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("sheet: writing the JSON: %w", err)
	}
	return append(raw, '\n'), nil
}

// jsonHead is the order without its lines.
func (o *order) jsonHead() jsonOrder {
	s := o.sheet
	out := jsonOrder{
		Ref: s.Ref, Revision: s.Revision, Held: s.Held, Made: o.made.Format(time.RFC3339), SeenFrom: s.SeenFrom,
		Label: s.Label, Address: s.Address, Contact: s.Contact, Fitter: s.Fitter, Advice: o.key("card.advice"), Currency: "GBP", Lines: []jsonLine{},
	}
	if !s.Sent.IsZero() {
		out.Sent = s.Sent.In(o.zone()).Format(time.RFC3339)
	}
	for _, c := range s.Changes {
		out.Changes = append(out.Changes, o.words(c.Text()))
	}
	return out
}

func (o *order) jsonLine(i int, l job.SheetLine) jsonLine {
	out := jsonLine{
		Line: i + 1, Opening: l.Name, Room: l.Room, Quantity: l.Quantity, Width: l.Size.Width, Height: l.Size.Height, SillDepth: l.Sill,
		Material: l.Material, Colour: l.Colour, Mullions: l.Layout.Mullions, Transoms: l.Layout.Transoms,
		MakeUp: l.MakeUp, Panes: l.Panes, OldVents: l.OldVents, VentArea: l.VentArea, Wanted: l.Wanted,
		State: l.State, Confirmed: o.confirmedWords(l), Due: l.Due,
		MeasuredBy: o.dataMeasured(l), CheckedBy: o.byWords(l.Checked), Agreed: jsonAgreedOf(l), Notes: o.notes(l),
		Unknown: l.NotKnown, Decides: l.DeskDecides, NotSaid: l.NotSaid, Against: o.jsonAgainst(l),
	}
	if thick, ok := plan.GlassThickness(l.MakeUp); ok {
		out.Thickness = thick
	}
	if l.Price != nil {
		out.Price, out.PriceSum = money(*l.Price), money(sumOf(l))
	}
	out.Weight, out.Profile = jsonWorked(l.Worked)
	for _, why := range o.forbids(l.Line) {
		out.Hold = append(out.Hold, o.words(why))
	}
	for _, stated := range l.Stated {
		if out.Stated == nil {
			out.Stated = map[string]string{}
		}
		out.Stated[stated.Key] = stated.Value
	}
	for n, light := range l.Layout.Lights {
		out.Lights = append(out.Lights, o.jsonLight(n, light, l.Line))
	}
	for _, f := range l.Safety {
		switch f.Severity {
		case safety.Must:
			out.Asked = append(out.Asked, o.jsonFinding(f))
		case safety.Ask, safety.Stop:
			out.NotKnown = append(out.NotKnown, o.jsonFinding(f))
		}
	}
	for _, f := range l.Hardware {
		out.Hardware = append(out.Hardware, jsonFitting{f, o.words(fittingText(f))})
	}
	return out
}

func (o *order) jsonLight(n int, light calc.Light, l job.Line) jsonLight {
	out := jsonLight{
		Light: n + 1, Column: light.Column + 1, Above: light.Row == 1, Hinge: light.Hinge,
		Words: o.key("card.light." + string(light.Hinge)), Glass: jsonGlassOf(l.Worked, n),
	}
	class, why, ok := l.SafetyClass(n)
	list, _ := opening.PanesOf(opening.StatedAs(l.Stated, opening.ByLight))
	if ok || slices.ContainsFunc(list, func(p opening.PaneGlass) bool { return p.Light == n+1 }) {
		out.SafetyGlass = opening.GlassOfLight(l.Stated, n)
	}
	if !ok {
		return out
	}
	out.Class, out.SafetyRule = class, why.Rule
	if source, ok := plan.SourceText(why); ok {
		out.SafetyDocument = o.words(source)
	}
	return out
}

func (o *order) jsonFinding(f safety.Finding) jsonFinding {
	out := jsonFinding{Rule: f.Rule, Text: o.finding(f), Mark: f.Mark}
	if source, ok := plan.SourceText(f); ok {
		out.Document = o.words(source)
	}
	for _, n := range f.Lights {
		out.Lights = append(out.Lights, n+1)
	}
	return out
}
