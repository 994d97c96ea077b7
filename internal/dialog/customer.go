package dialog

import (
	"slices"
	"strings"

	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/reading"
)

// customerCommand shows windows to the customer, writes down who agreed to what was
// shown and on which day, or what the customer pays.
func customerCommand(t *turn, text string) {
	t.quiet = true
	code, rest, ok := words().Match(t.lang(), "customer", text)
	if !ok {
		rest = text
	}
	price := ""
	if code == "price" {
		rest, price = cutLast(rest) // which may look like the number of a window
	}
	ids, rest := t.windowsIn(rest)
	if trouble := t.noSuch(ids); trouble != nil {
		t.say(*trouble)
		return
	}
	switch code {
	case "agrees":
		customerAgrees(t, ids, rest)
	case "withdraws":
		if len(ids) == 0 || rest != "" {
			t.say(phrase.Of("customer.how"))
			return
		}
		t.took(t.Job.CustomerWithdraws(t.who(), t.now, ids...))
	case "price":
		amounts, certain, err := reading.Money(price)
		if err != nil || !certain || len(ids) == 0 || strings.Trim(rest, "£ ") != "" {
			t.say(phrase.Of("customer.how"))
			return
		}
		t.took(t.Job.Quote(t.who(), t.now, amounts[0], ids...))
	default:
		customerPage(t, ids, rest)
	}
}

// customerPage sends the page of windows for the customer: of those that were named,
// or of every one that is complete.
func customerPage(t *turn, ids []int, rest string) {
	if rest != "" {
		t.say(phrase.Of("customer.how"))
		return
	}
	if len(ids) == 0 {
		ids = t.complete()
	}
	if len(ids) == 0 {
		t.say(phrase.Of("customer.nothing"))
		return
	}
	j, sheet, err := t.Job.CustomerPage(t.who(), t.now, ids...)
	if !t.took(j, nil, err) {
		return
	}
	var names []string
	for _, w := range sheet.Windows {
		names = append(names, w.Name)
	}
	t.say(phrase.Of("customer.shown").Saying("names", strings.Join(names, ", ")).Saying("numbers", job.Spans(ids, "-", " ")))
	t.mails = append(t.mails, Reply{Text: phrase.Of("customer.paper").Saying("ref", t.Job.Ref), Lang: t.lang(), Open: t.open(),
		Document: &Document{Paper: CustomerPDF, Customer: &sheet, At: t.now}})
}

// complete are the windows that can be shown to the customer.
func (t *turn) complete() []int {
	var ids []int
	for _, row := range t.Job.List() {
		if len(row.Lacks) == 0 {
			ids = append(ids, row.ID)
		}
	}
	return ids
}

// customerAgrees takes who agreed and the day: today where none is said.
func customerAgrees(t *turn, ids []int, rest string) {
	if len(ids) == 0 && len(t.Job.Openings) == 1 {
		ids = []int{t.Job.Openings[0].ID}
	}
	name, day := t.nameAndDay(rest)
	switch {
	case len(ids) == 0:
		t.say(phrase.Of("customer.which"))
	case !t.isName(name):
		t.say(phrase.Of("customer.who").Saying("given", cut(name)).Saying("numbers", job.Spans(ids, "-", " ")))
	default:
		t.took(t.Job.CustomerAgrees(t.who(), t.now, name, day, ids...))
	}
}

// nameAndDay are a name and a day up to today, in any order and with or without a
// comma between them.
func (t *turn) nameAndDay(text string) (name, day string) {
	day = t.now.Format(opening.DateForm)
	list := strings.Fields(strings.NewReplacer(",", " ", ";", " ", ":", " ").Replace(text))
	list = slices.DeleteFunc(list, func(word string) bool { return plainPart(word) == "" })
	for size := min(4, len(list)); size > 0; size-- {
		for _, from := range []int{len(list) - size, 0} {
			if d, ok := t.pastDay(strings.Join(list[from:from+size], " ")); ok {
				return plainPart(strings.Join(slices.Delete(slices.Clone(list), from, from+size), " ")), d
			}
		}
	}
	return plainPart(strings.Join(list, " ")), day
}

// windowsIn takes numbers of windows from the front of a text, or every one that can
// be shown. A number that begins a day is none.
func (t *turn) windowsIn(text string) (ids []int, rest string) {
	n, rest := someNumbers(t, strings.TrimLeft(text, ":, "), reads{there: elsewhere, day: true})
	if n.all {
		return t.complete(), rest
	}
	return n.ids, rest
}

// noSuch is that a number is no window of the job; nil when all are.
func (t *turn) noSuch(ids []int) *phrase.Text {
	for _, id := range ids {
		if !t.Job.Has(id) {
			return sorry(phrase.Of("job.nosuch").WithInt("n", id))
		}
	}
	return nil
}

// useCustomer makes the open job go by the crew's setting.
func (t *turn) useCustomer() {
	if t.Job == nil {
		return
	}
	j := t.Job.SetCustomer(t.jobSettings().Customer)
	t.Job = &j
}
