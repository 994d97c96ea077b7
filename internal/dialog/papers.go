package dialog

import "sillbot/internal/phrase"

// sendOrder sends a desk the order that stands as another kind of paper, so that
// its chat gets the one that it can use and not three.
func sendOrder(t *turn, a Ask) {
	if err := t.Job.MayRead(a.Who); err != nil {
		refuseMail(t, a, err)
		return
	}
	paper := OrderCSV
	switch Paper(a.Words) {
	case OrderJSON, OrderPDF:
		paper = Paper(a.Words)
	}
	order := t.Job.OrderCopy()
	show := Reply{Text: phrase.Of("job.paper").Saying("ref", t.Job.Ref), Document: &Document{Paper: paper, Order: &order, At: t.now}}
	t.post(Mail{To: a.Who.Chat, Ref: a.Ref, Show: &show})
}

// asPaper is the kind of paper that a word asks for.
func asPaper(paper Paper) slot {
	return func(_ *turn, a *Ask, text string) (string, *phrase.Text) {
		a.Do, a.Words = "orderpaper", string(paper)
		return text, nil
	}
}
