package dialog

import (
	"slices"

	"sillbot/internal/day"
	"sillbot/internal/job"
)

// command is one row of the table of all that can be asked of the bot: in
// words, by a button, or by mail from another chat.
type command struct {
	// name is storage: it stands on buttons, in mail (Ask.Do) and in catalogue
	// keys. What is typed may ask for a row of another name: see as.
	name string
	// untyped rows are asked for by buttons and mail only; the others have
	// words in the catalogue, and a slash may stand before the name.
	untyped bool
	menu    bool // in the platform's menu
	slash   bool // never meant by the word alone, which answers a question
	alone   bool // meant by its words only when nothing follows
	guest   guests

	// by is who may do it. Fitter: the job must be the chat's own and open;
	// others need a chair; nil: it takes no job.
	by   []job.Role
	each bool // done to each of several windows when several are named
	// takes is what it takes away: asked first when it is about several windows.
	takes job.Action
	// first says what stands in the way of an operation and asks; true: it is not done.
	first  func(*turn, Ask) bool
	asks   bool // the open question is shown again even to somebody at a chair
	clears bool // puts other answers in the place of a second measure's

	already string // said when nothing changed: a catalogue key; "": job.already

	args  []slot  // what is typed after the words, in order
	how   string  // said when that does not fit: a catalogue key
	press []field // what follows the name on a button of a job; nil: no button
	mail  bool    // may be asked of a job's owner by mail

	// One of the three carries it out. do is an operation on the job, here or
	// by mail at its owner; then is what the conversation adds in the owner's
	// own chat. run works on this chat's conversation. mailed answers another
	// chat, and nobody else hears of it.
	do     operation
	then   func(*turn, Ask, []job.Event)
	run    func(*turn, Ask)
	mailed func(*turn, Ask)
}

// table holds every command. Handlers must not look anything up in it, which
// would make an initialization cycle: only the files below do.
var table = slices.Concat(surveyRows(), windowRows(), jobRows(), dayRows(), photoRows(), leadRows(), deskRows(), buyerRows(), paperRows(), mailRows())

// findCommand gives the row of that name, nil for none.
func findCommand(name string) *command {
	for i := range table {
		if table[i].name == name {
			return &table[i]
		}
	}
	return nil
}

// Commands are the commands of the bot's menu, in the order they are shown.
var Commands = menu()

// GroupCommands are those that make sense in a group: not a person's own settings, nor what
// is theirs alone.
var GroupCommands = slices.DeleteFunc(menu(), func(name string) bool {
	return slices.Contains([]string{"units", "language", "zone", "crew", "toe", "cleared", "mydata"}, name)
})

func menu() []string {
	var names []string
	for _, c := range table {
		if c.menu {
			names = append(names, c.name)
		}
	}
	return names
}

// isDay says whether the command is of the fitting day.
func (c *command) isDay() bool { return c.name == "next" || day.Find(c.name) != nil }

// own says that only the job's own chat may do it.
func (c *command) own() bool { return len(c.by) == 1 && c.by[0] == job.Fitter }

var (
	fitter = []job.Role{job.Fitter}
	lead   = []job.Role{job.Lead}
	desk   = []job.Role{job.Desk}
	both   = []job.Role{job.Fitter, job.Lead}
	buyer  = []job.Role{job.Customer}

	anybody = []job.Role{job.Fitter, job.Lead, job.Desk}
)

// bare is a handler that takes no arguments.
func bare(f func(*turn)) func(*turn, Ask) { return func(t *turn, _ Ask) { f(t) } }

// worded is a handler that takes what was typed.
func worded(f func(*turn, string)) func(*turn, Ask) { return func(t *turn, a Ask) { f(t, a.Words) } }

// onWindow is a handler that takes a window of the job.
func onWindow(f func(*turn, int)) func(*turn, Ask) { return func(t *turn, a Ask) { f(t, a.Opening) } }

func surveyRows() []command {
	all := []slot{anything}
	return []command{
		{name: "start", guest: always, alone: true, args: all, run: bare(start)},
		{name: "new", menu: true, asks: true, clears: true, run: bare(renew)},
		{name: "samereadings", asks: true, run: bare(sameReadings)},
		{name: "back", guest: measuring, menu: true, asks: true, run: bare(back)},
		{name: "skip", guest: measuring, menu: true, asks: true, slash: true, run: bare(skipOpen)},
		{name: "change", guest: measuring, menu: true, asks: true, args: all, run: worded(change)},
		{name: "summary", guest: measuring, menu: true, run: bare(summary)},
		{name: "card", guest: measuring, menu: true, run: bare(card)},
		{name: "why", guest: measuring, menu: true, args: all, run: worded(why)},
		{name: "help", guest: always, menu: true, args: all, run: worded(help)},
		{name: "cancel", guest: measuring, menu: true, run: bare(cancel)},
		{name: "undo", guest: measuring, menu: true, asks: true, clears: true, run: bare(undo)},
		{name: "units", guest: always, menu: true, args: []slot{code("unit")}, how: "units.which", run: worded(units)},
		{name: "language", guest: always, menu: true, args: all, run: worded(language)},
		{name: "zone", guest: always, menu: true, args: all, run: worded(setZone)},
		{name: "reminders", guest: always, args: all, run: worded(remindersCommand)},
		{name: "house", menu: true, clears: true, run: bare(house)},
		{name: "items", asks: true, clears: true, run: bare(askItems)},
		{name: "decideall", asks: true, clears: true, run: bare(decideAll)},
		{name: "cleared", menu: true, asks: true, clears: true, args: all, run: worded(cleared)},
		{name: "crew", menu: true, args: all, run: worded(crewCommand)},
		{name: "toe", menu: true, args: all, run: worded(toe)},
		{name: "job", guest: always, menu: true, args: all, run: worded(jobCommand)},
		{name: "list", guest: always, args: []slot{pageNumber}, run: listOrPage},
		{name: "more", guest: always, alone: true, run: bare(more)},
		{name: "mydata", guest: always, menu: true, run: bare(mydata)},
		{name: "forget", guest: always, menu: true, args: all, run: worded(forget)},
		{name: "newphone", guest: always, args: all, run: worded(newPhone)},
		{name: "phonefor", args: all, run: worded(newPhoneFor)},
		{name: "notme", guest: always, run: bare(notMe)},
		{name: "invite", args: []slot{code("role"), until}, how: "job.invite.how", run: inviteAgain},
		{name: "glance", guest: always, args: []slot{pageNumber}, run: glance},
		{name: "people", guest: always, args: []slot{pageNumber}, run: listPeople},
		{name: "putout", args: all, run: worded(putOut)},
		{name: "let", args: all, run: worded(let)},
		{name: "trail", args: []slot{pageNumber}, run: trailCommand},
	}
}

// windowRows are what the fitter does to one window of the job.
func windowRows() []command {
	return []command{
		{name: "edit", by: fitter, clears: true, args: []slot{window}, run: onWindow(edit)},
		{name: "copy", by: fitter, clears: true, args: []slot{window, anything},
			do:   func(o op) outcome { return of(o.Copy(o.Who, o.at, o.Opening, o.Words)) },
			then: func(t *turn, _ Ask, _ []job.Event) { edit(t, t.Job.LastID) }},
		{name: "name", by: fitter, args: []slot{window, anything}, do: func(o op) outcome { return of(o.Rename(o.Who, o.at, o.Opening, o.Words)) }},
		{name: "alike", by: fitter, args: []slot{window, count}, how: "job.alike.how",
			do: func(o op) outcome { return of(o.SetCount(o.Who, o.at, o.Opening, o.Count)) }},
		{name: "colour", by: fitter, args: []slot{window, shade}, do: func(o op) outcome { return of(o.SetColour(o.Who, o.at, o.Opening, o.Words)) }},
		{name: "hardware", by: fitter, args: []slot{window, anything},
			do: func(o op) outcome { return of(o.AddHardware(o.Who, o.at, o.Opening, o.Words)) }},
		{name: "delete", by: fitter, each: true, takes: job.DoDelete, clears: true, args: []slot{windows, sure}, press: []field{dataWindows}, then: deleted,
			do: func(o op) outcome { return of(o.Delete(o.Who, o.at, o.Opening)) }},
		{name: "restore", by: fitter, clears: true, do: func(o op) outcome { return of(o.Restore(o.Who, o.at)) }},
		{name: "withdraw", by: fitter, each: true, takes: job.DoWithdrawCheck, args: []slot{windows, sure}, press: []field{dataWindows},
			do: func(o op) outcome { return of(o.WithdrawCheck(o.Who, o.at, o.Opening)) }},
		{name: "answer", by: fitter, args: []slot{queryNumber, window, anything}, do: func(o op) outcome { return of(o.Answer(o.Who, o.at, o.Opening, o.Question, o.Words)) },
			then: func(t *turn, a Ask, events []job.Event) {
				if len(events) > 0 && a.Words != "" {
					t.saidOf([]int{a.Opening}, a.Words) // an answer that is of an item fills it
				}
			}},
		{name: "step", by: fitter, args: []slot{some, ofPieces, windows, stepName}, how: "job.step.how",
			press: []field{dataWindow, action}, run: advance},
		{name: "broken", by: fitter, args: []slot{some, ofPieces, window, faultWords}, how: "job.fault.how", do: breaks, then: faulted},
		{name: "fault", by: fitter, args: []slot{some, ofPieces, window, faultWords}, how: "job.fault.how", do: faults, then: faulted},
	}
}

// jobRows are what the fitter does to the whole job.
func jobRows() []command {
	return []command{
		{name: "cards", by: fitter, args: []slot{windowsOrAll}, press: []field{dataWindows}, run: cards},
		{name: "label", by: fitter, args: []slot{anything}, do: func(o op) outcome { return of(o.SetLabel(o.Who, o.at, o.Words)) }},
		{name: "address", by: fitter, args: []slot{anything}, do: func(o op) outcome { return of(o.SetAddress(o.Who, o.at, o.Words, o.ShareAddress)) }},
		{name: "contact", by: fitter, args: []slot{anything}, do: func(o op) outcome { return of(o.SetContact(o.Who, o.at, o.Words, o.ShareContact)) }},
		{name: "share", by: fitter, args: []slot{code("share")}, how: "job.share.how", do: share},
		{name: "check", by: fitter, each: true, args: []slot{windowsOrAll}, do: askCheck,
			then: func(t *turn, _ Ask, _ []job.Event) {
				t.say(t.view().OutOfReach(job.Lead)...)
				invite(t, job.Lead)
				t.sayUnsaid("items.before.sign")
			}},
		{name: "send", by: fitter, args: []slot{anywayOf}, how: "job.send.how", press: []field{anywayWindows, version}, do: sendUnfit, then: sent},
		{name: "customer", by: fitter, args: []slot{anything}, run: worded(customerCommand)},
		{name: "against", by: fitter, args: []slot{windows}, run: against},
		{name: "sheet", by: fitter, run: bare(sendPapers)},
		{name: "handjob", by: fitter, args: []slot{anything}, run: worded(handJob)},
		{name: "keepjob", untyped: true, by: fitter, press: []field{}, run: bare(keepJob)},
		{name: "revoke", by: fitter, args: []slot{code("role")}, how: "job.revoke.how", run: worded(revoke)},
		{name: "handover", by: fitter, each: true, first: snagsFirst, args: []slot{handed}, press: []field{handedAnyway}, do: handOver, then: handedOver},
	}
}

// dayRows are the parts of the fitting day.
func dayRows() []command {
	args := []slot{theWindows, anything}
	return []command{
		{name: "next", by: fitter, args: []slot{anyWindow}, how: "day.which", press: []field{dataWindow}, run: nextOnDay},
		{name: "frame", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("frame")},
		{name: "structure", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("structure")},
		{name: "setting", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("setting")},
		{name: "bow", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("bow")},
		{name: "takeout", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("takeout")},
		{name: "sillpiece", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("sillpiece")},
		{name: "fixing", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("fixing")},
		{name: "glazing", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("glazing")},
		{name: "sash", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("sash")},
		{name: "seal", by: fitter, args: []slot{sealWindow, anything}, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("seal")},
		{name: "patch", by: fitter, args: []slot{patchWindow, anything}, how: "day.which", press: []field{dataWindow, sentence}, run: patch},
		{name: "lastlook", by: fitter, args: args, how: "day.which", press: []field{dataWindow, sentence}, run: dayPart("lastlook")},
		{name: "snag", by: fitter, args: []slot{queryNumber, ownWindow, anything}, how: "day.snag.how", press: []field{dataWindow, snagNumber}, run: snagCommand},
		{name: "file", by: fitter, args: []slot{windowsOrAll}, how: "file.how", run: fileCommand},
		{name: "certificate", by: fitter, args: []slot{windowsColon, some, anything}, how: "certificate.how", run: certificateCommand},
		{name: "stores", by: fitter, args: []slot{anything}, run: worded(storesCommand)},
		{name: "quote", by: fitter, args: nil, run: bare(quoteCommand)},
		{name: "paid", by: fitter, args: []slot{anything}, run: worded(paidCommand)},
		{name: "unpaid", by: fitter, args: []slot{anything}, run: worded(unpaidCommand)},
		{name: "snags", by: fitter, args: []slot{windowsOrAll}, how: "day.snag.how", run: listSnags},
	}
}

// photoRows are what is done with photos.
func photoRows() []command {
	return []command{
		{name: "photos", guest: always, menu: true, args: []slot{photoWindow}, run: photoList},
		{name: "sendphotos", untyped: true, by: anybody, mail: true, mailed: sendPhotos},
		{name: "photofor", by: fitter, args: []slot{window}, press: []field{dataWindow}, run: photosFor},
		{name: "deletephoto", by: fitter, args: []slot{photoNumbers}, how: "photo.delete.how", run: deletePhotos},
	}
}

// leadRows are the second measure: what the lead does, and what both may do
// where the two measures differ.
func leadRows() []command {
	return []command{
		{name: "measure", by: lead, args: []slot{line, numberAsName}, how: "job.measure.how",
			press: []field{dataWindow, sentence}, run: beginSecond},
		{name: "look", untyped: true, by: lead, press: []field{dataWindow}, mail: true,
			do: func(o op) outcome { return of(o.Look(o.Who, o.at, o.Opening)) }},
		{name: "read", untyped: true, by: lead, mail: true, do: readAgain},
		{name: "settle", untyped: true, by: both, press: []field{dataWindow, readingKey, pick, figure}, mail: true, do: settle},
		{name: "sign", by: lead, args: []slot{as("signshown"), lines}, how: "job.sign.how",
			press: []field{dataWindow, version}, mail: true, do: func(o op) outcome { return of(o.Sign(o.Who, o.at, o.Opening, o.Ask.Version)) }},
		{name: "signshown", untyped: true, each: true, by: lead, mail: true, do: func(o op) outcome { return of(o.SignShown(o.Who, o.at, o.Opening)) }},
		{name: "told", by: both, args: []slot{heardTold}, how: "told.how", mail: true, do: confirmTold},
		{name: "answers", untyped: true, by: anybody, mail: true, already: "answers.already", do: takeAnswers},
		{name: "untell", by: both, args: []slot{toldLines}, how: "told.not.how", mail: true,
			do: func(o op) outcome { return of(o.Untell(o.Who, o.at, o.Ask.Lines...)) }},
		{name: "figure", by: both, args: []slot{as("reread"), line, readingName, value}, how: "job.figure.how"},
		{name: "reread", untyped: true, by: both, mail: true, do: reread},
	}
}

// deskRows are the supplier's answers on the order.
func deskRows() []command {
	const how = "job.desk.how"
	return []command{
		{name: "confirm", by: desk, each: true, args: []slot{confirmation}, how: how, press: []field{revision, dataWindow}, mail: true,
			do: func(o op) outcome { return of(o.Confirm(o.Who, o.at, o.Revision, o.Opening)) }},
		{name: "confirmall", untyped: true, by: desk, press: []field{revision}, mail: true,
			do: func(o op) outcome { return of(o.ConfirmAll(o.Who, o.at, o.Revision)) }},
		{name: "query", by: desk, args: []slot{line, some, anything}, how: how, mail: true,
			do: func(o op) outcome { return of(o.QueryOf(o.Who, o.at, o.Opening, o.Revision, o.Words)) }},
		{name: "withdrawquery", by: desk, args: []slot{queryNumber, line}, how: "job.query.withdraw.how", mail: true,
			do: func(o op) outcome { return of(o.WithdrawQuery(o.Who, o.at, o.Opening, o.Question)) }},
		{name: "askquery", untyped: true, by: desk, press: []field{dataWindow, revision}, mail: true, mailed: howToQuery},
		{name: "price", by: desk, args: []slot{as("promise"), line, some, price}, how: how},
		{name: "due", by: desk, args: []slot{as("promise"), line, some, dueDay}, how: how},
		{name: "promise", untyped: true, by: desk, press: []field{dataWindow, amount}, mail: true, do: func(o op) outcome { return of(o.Promise(o.Who, o.at, o.Opening, o.Due, o.Value)) }},
	}
}

// buyerRows are all that a customer can do, on a page in a browser.
func buyerRows() []command {
	return []command{
		{name: "agree", untyped: true, by: buyer, mail: true, already: "page.agreed.already", do: agree},
	}
}

// paperRows are the order as other papers, for the desk.
func paperRows() []command {
	return []command{
		{name: "csv", by: desk, args: []slot{asPaper(OrderCSV)}},
		{name: "json", by: desk, args: []slot{asPaper(OrderJSON)}},
		{name: "pdf", by: desk, args: []slot{asPaper(OrderPDF)}},
		{name: "orderpaper", untyped: true, by: desk, press: []field{sentence}, mail: true, mailed: sendOrder},
	}
}

// mailRows are what conversations ask of each other by themselves.
func mailRows() []command {
	return []command{
		{name: "take", untyped: true, mail: true, mailed: giveJob},
		{name: "join", untyped: true, mail: true, mailed: admit},
		{name: "leave", untyped: true, mail: true, do: leave},
		{name: "show", untyped: true, by: anybody, press: []field{}, run: showJob, mail: true, mailed: showChair},
		{name: "page", untyped: true, by: anybody, press: []field{dataPage}, run: showPage, mail: true, mailed: sendPage},
		{name: "where", untyped: true, by: lead, mail: true, mailed: sayWhere},
		{name: "shown", untyped: true, by: lead, mail: true, mailed: takeShown},
	}
}
