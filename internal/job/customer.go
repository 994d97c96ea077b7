package job

import (
	"crypto/sha256"
	"encoding/hex"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/safety"
)

// CustomerWindow is what a customer sees of a window.
type CustomerWindow struct {
	Opening  int         `json:"opening"`
	Name     string      `json:"name"`
	Quantity int         `json:"quantity"`
	Room     safety.Room `json:"room,omitempty"` // the customer agrees to the window alone
	customerFields
}

// customerFields are what a customer agrees to, beside how many of them.
type customerFields struct {
	Size      calc.Size       `json:"size"` // of the frame, mm
	Sill      decimal.Decimal `json:"sill,omitzero"`
	SillPiece decimal.Decimal `json:"sill_piece,omitzero"`
	Material  calc.Material   `json:"material"`
	Colour    string          `json:"colour,omitempty"`
	Layout    calc.Layout     `json:"layout"`
	MakeUp    string          `json:"make_up,omitempty"`
	Stated    []opening.Pair  `json:"stated,omitempty"`
	// Price is what the customer pays for one, in pounds; nil: not said here.
	Price *decimal.Decimal `json:"price,omitempty"`
}

// CustomerSheet is the paper for the customer.
type CustomerSheet struct {
	Ref     string           `json:"ref"`
	Label   string           `json:"label,omitempty"`
	Address string           `json:"address,omitempty"`
	Windows []CustomerWindow `json:"windows"`
}

// customerWindow is what the customer sees of a line.
func (o Opening) customerWindow(l Line) CustomerWindow {
	w := CustomerWindow{Opening: o.ID, Name: l.Name, Quantity: l.Quantity, Room: o.Record().Plan.Room, customerFields: customerFields{
		Size: l.Size, Sill: l.Sill, SillPiece: l.SillPiece, Material: l.Material, Colour: l.Colour, Layout: l.Layout, MakeUp: l.MakeUp, Price: o.customer.quote,
	}}
	for _, pair := range l.Stated {
		left := pair.Value == opening.Skipped || pair.Value == opening.DeskSays // nothing to see
		if opening.Find(pair.Key).Is(opening.Seen) && !left {
			w.Stated = append(w.Stated, pair)
		}
	}
	return w
}

// firstStated are the fields that the versions of before covered, left to the desk too.
var firstStated = []opening.Key{"obscure", "opens", "handle"}

// looksAs says whether the line is to the customer what was shown under a version.
func (o Opening) looksAs(version string, l Line) bool {
	w := o.customerWindow(l)
	if version == w.version() {
		return true
	}
	w.Stated = slices.DeleteFunc(slices.Clone(l.Stated), func(p opening.Pair) bool { return !slices.Contains(firstStated, p.Key) })
	return version == w.sum()
}

// version names what the customer sees: another name as soon as any of it is
// another.
func (w CustomerWindow) version() string { return seenMark + w.sum() }

// seenMark begins the versions that cover every field that a customer sees.
const seenMark = "seen."

func (w CustomerWindow) sum() string {
	w.Opening, w.Name, w.Room = 0, "", ""
	sum := sha256.Sum256([]byte(stored(w)))
	return hex.EncodeToString(sum[:6])
}

// AgreedTo is the customer's word on a line; nil when nobody agreed to what it is.
func (o Opening) AgreedTo(l Line) *Agreement {
	if o.customer.agreed == nil || !o.looksAs(o.customer.agreed.version, l) {
		return nil
	}
	return o.customer.agreed
}

// unagreed is that the crew wants the customer's word on a line and has it not.
func (o Opening) unagreed(l Line) []Point {
	if !o.customer.wanted || o.AgreedTo(l) != nil {
		return nil
	}
	text := phrase.Of("against.customer")
	if o.customer.agreed != nil {
		text = phrase.Of("against.customer.changed")
	}
	return []Point{{Code: PointCustomer, About: AboutCustomer, Text: text}}
}

// forCustomer finds a window that is complete enough to be shown.
func (j Job) forCustomer(id int) (int, Line, error) {
	i, err := j.find(id)
	if err != nil {
		return 0, Line{}, err
	}
	o := j.Openings[i]
	if lacks := o.Lacks(); len(lacks) > 0 {
		return 0, Line{}, o.incomplete(lacks)
	}
	l, err := o.line(calc.DefaultSettings())
	if err != nil {
		return 0, Line{}, o.unplanned(err)
	}
	return i, l, nil
}

// CustomerPage is the paper for the customer, and notes what was shown. Windows
// that lack something are refused.
func (j Job) CustomerPage(who Who, at time.Time, ids ...int) (Job, CustomerSheet, error) {
	sheet := CustomerSheet{Ref: j.Ref, Label: j.Label, Address: j.Address}
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, sheet, err
	}
	for _, id := range ids {
		i, l, err := j.forCustomer(id)
		if err != nil {
			return Job{}, sheet, err
		}
		w := j.Openings[i].customerWindow(l)
		sheet.Windows = append(sheet.Windows, w)
		if !j.Openings[i].looksAs(j.Openings[i].customer.shown, l) {
			j.write(who, at, i, opening.Entry{Act: opening.Tell, Value: toldCustomer, Told: telling(w.version(), stored(w))})
		}
	}
	return j, sheet, nil
}

// CustomerAgrees writes down that the customer agreed to windows as they were shown,
// by name, on a day, 2006-01-02. It is refused where nothing was shown, or where
// what was shown is another now.
func (j Job) CustomerAgrees(who Who, at time.Time, name, day string, ids ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	return j.agrees(who, at, name, day, ids...)
}

func (j Job) agrees(who Who, at time.Time, name, day string, ids ...int) (Job, []Event, error) {
	name, err := words(name, longestName)
	switch {
	case err != nil:
		return Job{}, nil, err
	case name == "":
		return Job{}, nil, refuse("no_words")
	}
	if _, err := time.Parse(plan.DateForm, day); err != nil {
		return Job{}, nil, refuse("no_day")
	}
	var names []string
	for _, id := range ids {
		i, l, err := j.forCustomer(id)
		if err != nil {
			return Job{}, nil, err
		}
		o := j.Openings[i]
		switch shown := o.customer.shown; {
		case shown == "":
			return Job{}, nil, refuse("customer_first").say("name", o.Name).num("n", id)
		case !o.looksAs(shown, l):
			return Job{}, nil, refuse("customer_changed").say("name", o.Name).num("n", id)
		}
		j.write(who, at, i, opening.Entry{Act: opening.Agree, Value: toldCustomer, Typed: name, Told: telling(o.customer.shown, day)})
		names = append(names, o.Name)
	}
	e := Event{Kind: CustomerAgreed, Openings: ids, Due: day}.say("who", name).say("names", strings.Join(names, ", "))
	return j.done(who, at, e)
}

// CustomerAgreesOnPage writes down that the customer agreed on a page, by name, today, to
// windows that the page showed under these versions, see PageWindow. It is refused where
// what it showed is another now.
func (j Job) CustomerAgreesOnPage(who Who, at time.Time, name, day string, shown map[int]string) (Job, []Event, error) {
	if err := j.admit(who, Customer); err != nil {
		return Job{}, nil, err
	}
	if strings.TrimSpace(name) == "" {
		return Job{}, nil, refuse("page_name")
	}
	var ids []int
	for _, id := range slices.Sorted(maps.Keys(shown)) {
		w, stands, err := j.PageWindow(id)
		if err != nil {
			return Job{}, nil, err
		}
		if !stands || w.Version() != shown[id] {
			return Job{}, nil, refuse("page_changed").say("name", w.Name)
		}
		if i, _, err := j.forCustomer(id); err == nil && !j.Openings[i].agreedNow() {
			ids = append(ids, id)
		}
	}
	if len(ids) == 0 {
		return j, nil, nil
	}
	return j.agrees(who, at, name, day, ids...)
}

// PageWindow is a window as the customer's page shows it, and whether it stands as it was
// last shown to the customer, so that they can agree to it. It is refused where it was
// never shown, or lacks something now.
func (j Job) PageWindow(id int) (w CustomerWindow, stands bool, err error) {
	i, err := j.find(id)
	if err != nil {
		return w, false, err
	}
	o := j.Openings[i]
	if o.customer.shown == "" {
		return w, false, refuse("customer_first").say("name", o.Name).num("n", id)
	}
	w.Opening, w.Name = id, o.Name
	i, l, err := j.forCustomer(id)
	if err != nil {
		return w, false, nil // it is being changed
	}
	return j.Openings[i].customerWindow(l), o.looksAs(o.customer.shown, l), nil
}

// Version is another one as soon as the customer sees anything else of the window.
func (w CustomerWindow) Version() string { return w.version() }

// Agreed is the customer's word on a window as it is now; nil: they gave none.
func (j Job) Agreed(id int) *Agreement {
	i, l, err := j.forCustomer(id)
	if err != nil {
		return nil
	}
	return j.Openings[i].AgreedTo(l)
}

// CustomerWithdraws writes down that the customer agrees no more.
func (j Job) CustomerWithdraws(who Who, at time.Time, ids ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	var events []Event
	for _, id := range ids {
		i, err := j.find(id)
		if err != nil {
			return Job{}, nil, err
		}
		if j.Openings[i].customer.agreed == nil {
			return Job{}, nil, refuse("customer_none").say("name", j.Openings[i].Name)
		}
		j.write(who, at, i, opening.Entry{Act: opening.Agree, Value: toldCustomer})
		events = append(events, about(CustomerWithdrew, j.Openings[i]).num("n", id))
	}
	return j.done(who, at, events...)
}

// Quote writes what the customer pays for one window, in pounds. The desk is not
// told of it.
func (j Job) Quote(who Who, at time.Time, price decimal.Decimal, ids ...int) (Job, []Event, error) {
	if err := j.admit(who, Fitter); err != nil {
		return Job{}, nil, err
	}
	if price.IsNegative() {
		return Job{}, nil, refuse("price_negative")
	}
	var events []Event
	for _, id := range ids {
		i, err := j.find(id)
		if err != nil {
			return Job{}, nil, err
		}
		had := j.Openings[i].agreedNow()
		j.write(who, at, i, opening.Entry{Act: opening.Set, Key: quoteKey, Value: price.String()})
		events = append(events, about(CustomerQuoted, j.Openings[i]).figure("price", price))
		if had && !j.Openings[i].agreedNow() {
			events = append(events, about(CustomerVoid, j.Openings[i]).num("n", id))
		}
	}
	return j.done(who, at, events...)
}

// agreedNow says whether the customer agreed to the window as it is known now.
func (o Opening) agreedNow() bool {
	if o.customer.agreed == nil {
		return false
	}
	l, err := o.line(calc.DefaultSettings())
	return err == nil && o.AgreedTo(l) != nil
}

// agreedAs says whether the customer agreed to the window as it was known.
func (o Opening) agreedAs(known opening.Known) bool {
	if o.customer.agreed == nil {
		return false
	}
	l, err := NewLine(Line{Opening: o.ID, Name: o.Name, Quantity: countOf(&known)}, recordOf(&known), calc.DefaultSettings())
	return err == nil && o.AgreedTo(l) != nil
}

// SetCustomer says whether the customer's word is wanted on the job's windows.
func (j Job) SetCustomer(on bool) Job {
	if j.Settings.Customer == on || len(j.All()) < len(j.Openings) {
		return j
	}
	j.Settings.Customer = on
	j.Openings = slices.Clone(j.Openings)
	for i, o := range j.Openings {
		j.Openings[i] = j.derive(o)
	}
	j.supersede()
	return j
}
