package dialog

import (
	"encoding/base64"
	"slices"
	"strconv"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/opening"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
	"sillbot/internal/tell"
)

// mostJobs is how many jobs a chat may have begun. Common practice, no source.
const mostJobs = 200

// shareLasts is how long a link can wait for its first use.
const shareLasts = 14 * 24 * time.Hour

// who is the person of this turn in the chair of the job's owner.
func (t *turn) who() job.Who {
	return job.Who{Chat: t.chat, Person: t.user, Name: t.name, Role: job.Fitter}
}

// done takes what an operation on the open job gave: the job as it is now and
// what to tell, or why not.
func (t *turn) took(j job.Job, events []job.Event, err error) bool {
	if err != nil {
		t.say(tell.Refusal(err))
		return false
	}
	t.Job = &j
	t.announce(events)
	return true
}

// ownJob says that a job has to be open when none is.
func (t *turn) ownJob() bool {
	if t.Job != nil {
		return true
	}
	t.say(phrase.Of("job.noopen"))
	return false
}

// jobCommand opens a job by its reference, or lists the open one, or begins
// the first.
func (t *turn) jobCommand(rest string) {
	if ref, err := job.ParseReference(rest); err == nil {
		t.openJob(ref)
		return
	}
	if seat, ok := t.lastSeat(""); ok && t.Job == nil && rest == "" {
		t.askOwner(Ask{Do: "show", Ref: seat.Ref})
		return
	}
	if rest == "" && t.lostChair() {
		return
	}
	if t.Job == nil || isWord(t, "new", rest) {
		t.beginJob()
		return
	}
	t.list()
}

func isWord(t *turn, code, text string) bool {
	got, _, ok := words().Match(t.lang(), "command", text)
	return ok && got == code
}

func (t *turn) openJob(ref string) {
	if slices.ContainsFunc(t.Seats, func(s Seat) bool { return s.Ref == ref }) {
		t.askOwner(Ask{Do: "show", Ref: ref})
		return
	}
	if t.Job == nil || t.Job.Ref != ref {
		t.say(phrase.Of("job.unknown").Saying("ref", ref))
		return
	}
	if t.Ref != ref && t.Editing != 0 {
		t.begin() // what is at hand belongs to the job before
		t.wasDone = false
	}
	t.Ref = ref
	t.list()
}

// beginJob makes a job and keeps the window that is complete in it.
func (t *turn) beginJob() {
	if len(t.seed) < 16 {
		t.say(phrase.Of("job.notnow"))
		return
	}
	if len(t.Own) >= mostJobs {
		t.say(phrase.Of("job.toomany").WithInt("most", mostJobs))
		return
	}
	first := t.Job == nil
	j := job.New(job.NewReference(t.seed[:8]), t.who(), t.now, t.jobSettings())
	t.Job, t.Ref = &j, j.Ref
	t.Own = append(slices.Clip(t.Own), j.Ref)
	t.say(phrase.Of("job.begun").Saying("ref", j.Ref))
	switch {
	case first && t.wasDone:
		t.Editing = 0
		t.keepOpening()
	case !first && t.Editing != 0:
		t.begin() // what is at hand belongs to the job before
		t.wasDone = false
	}
}

// keepOpening puts the complete survey into the open job, as a new opening or
// in place of what was known of it.
func (t *turn) keepOpening() bool {
	if t.Job == nil {
		return true
	}
	if t.Editing != 0 {
		return t.took(t.Job.Store(t.who(), t.now, t.Editing, t.surveyRecord()))
	}
	name := words().Plain(t.lang(), phrase.Of("job.window").WithInt("n", t.Job.LastID+1))
	j, added, err := t.Job.Add(t.who(), t.now, name)
	if err == nil {
		j, _, err = j.Store(t.who(), t.now, j.LastID, t.surveyRecord())
	}
	if !t.took(j, added, err) {
		return false
	}
	t.Editing = t.Job.LastID
	return true
}

// surveyRecord is the survey as the job keeps it.
func (t *turn) surveyRecord() job.Record {
	a := t.answers()
	r := job.Record{Plan: a.Opening()}
	if o, ok := t.Job.Find(t.Editing); ok {
		r.Colour, r.Hardware = o.Record.Colour, o.Record.Hardware
	}
	if a.Given("glass") {
		r.MakeUp = a.Value("glass")
	}
	for _, ans := range t.Answers {
		raw, err := ans.MarshalText()
		if err == nil {
			r.Answers = append(r.Answers, string(raw))
		}
	}
	return r
}

// list says how the job and each window stand.
func (t *turn) list() {
	lines, settle := t.view().List(t.Own)
	t.say(lines...)
	t.buttons = append(settle, t.jobButtons()...)
}

// view is the open job as this chat looks at it.
func (t *turn) view() tell.View { return tell.View{Job: t.Job, Now: t.now, Zone: t.zone()} }

func (t *turn) jobButtons() [][]Button {
	return [][]Button{
		{t.button("do.new", "do", "new"), t.button("do.list", "do", "job")},
		{t.button("do.check", "do", "check"), t.button("do.send", "do", "send")},
		{t.button("do.sheet", "do", "sheet")},
	}
}

// edit brings an opening's survey back, to see and change it.
func (t *turn) edit(id int) {
	o, _ := t.Job.Find(id)
	t.load(o.Record)
	t.Editing = id
	t.followReadings()
	t.wasDone = t.done()
	t.say(phrase.Of("job.editing").WithInt("n", id).Saying("name", o.Name))
	if t.wasDone {
		t.buttons = t.changeButtons()
	}
}

// load makes a stored record the survey at hand.
func (t *turn) load(r job.Record) {
	t.remember()
	t.begin()
	t.Answers, t.Set = nil, settingsOf(r.Plan.Settings)
	for _, text := range r.Answers {
		var ans Answer
		if ans.UnmarshalText([]byte(text)) == nil && find(ans.Key) != nil {
			t.Answers = append(t.Answers, ans)
		}
	}
}

// followReadings brings the readings of the survey at hand up to what the job
// says of its opening: a settled reading may be another than the one typed.
func (t *turn) followReadings() {
	if t.Job == nil || t.Ref != t.Job.Ref || t.Second != nil {
		return
	}
	o, ok := t.Job.Find(t.Editing)
	if !ok {
		return
	}
	p := o.Record.Plan
	now := map[string]decimal.Decimal{"diagonal.rising": p.Rising, "diagonal.falling": p.Falling}
	for i := range 3 {
		now[opening.Widths[i]], now[opening.Heights[i]] = p.Widths[i], p.Heights[i]
	}
	t.Answers = slices.Clone(t.Answers)
	for i, ans := range t.Answers {
		if mm, ok := now[ans.Key]; ok && mm.IsPositive() && ans.Value != skipped {
			t.Answers[i].Value = mm.String()
		}
	}
}

// cards sends the card of every opening of the job that is measured.
func (t *turn) cards() {
	sent := 0
	for _, o := range t.Job.All() {
		p, err := plan.Make(o.Record.Plan, calc.DefaultSettings())
		if err != nil {
			continue
		}
		picture := t.picture(p)
		picture.Picture.Opening.Name = o.Name
		t.mails = append(t.mails, picture)
		sent++
	}
	if sent == 0 {
		t.say(phrase.Of("job.empty"))
	}
}

// deleted follows a window that went off the list.
func (t *turn) deleted(a Ask, _ []job.Event) {
	t.say(phrase.Of("job.restore"))
	t.Undo = nil // undo now brings the window back, and not an earlier survey
	if t.Editing == a.Opening {
		t.Editing = 0
	}
}

// sent follows an order, or its next revision, that went to the desk.
func (t *turn) sent(_ Ask, events []job.Event) {
	for _, e := range events {
		if left := e.Figures["left_out"]; left.IsPositive() {
			t.say(phrase.Of("job.left_out").With("count", left))
		}
	}
	t.sayUnsigned()
	t.invite(job.Desk)
}

// sayUnsigned names what went to the desk without the lead's signature, which
// a change after signing takes away.
func (t *turn) sayUnsigned() {
	unsigned := t.Job.Unsigned()
	if len(unsigned) == 0 {
		return
	}
	var names []phrase.Text
	for _, o := range unsigned {
		names = append(names, phrase.Of("job.words").Saying("words", o.Name))
	}
	t.say(phrase.Of("job.unsigned").WithRow("names", names...).WithInt("n", unsigned[0].ID))
}

// invite makes a link for a chair that nobody sits in yet.
func (t *turn) invite(role job.Role) {
	for _, s := range t.Job.Shares {
		if s.Role == role && !s.Revoked && (s.UsedBy != 0 || t.now.Before(s.Expires)) {
			return
		}
	}
	t.grant(role)
}

func (t *turn) grant(role job.Role) {
	if len(t.seed) < 32 {
		t.say(phrase.Of("job.notnow"))
		return
	}
	token := base64.RawURLEncoding.EncodeToString(t.seed[16:32])
	if !t.took(t.Job.Grant(t.who(), t.now, token, role, t.now.Add(shareLasts))) {
		return
	}
	t.mails = append(t.mails, Reply{Link: &Link{Token: token, Owner: t.chat, Ref: t.Job.Ref, Role: role}})
	t.sayLink(role, token)
}

// inviteAgain makes one more link for a chair, beside those there are.
func (t *turn) inviteAgain(code string) {
	if role := job.Role(code); role == Crew {
		t.inviteCrew()
	} else if t.ownJob() {
		t.grant(role)
	}
}

// Crew is the role of a link that only admits to the bot, where it is not
// open to everybody.
const Crew job.Role = "crew"

// inviteCrew makes a link by which one more person may use the bot.
func (t *turn) inviteCrew() {
	if len(t.seed) < 32 {
		t.say(phrase.Of("job.notnow"))
		return
	}
	token := base64.RawURLEncoding.EncodeToString(t.seed[16:32])
	t.mails = append(t.mails, Reply{Link: &Link{Token: token, Owner: t.chat, Role: Crew}})
	t.sayLink(Crew, token)
}

// sayLink shows how a link is used.
func (t *turn) sayLink(role job.Role, token string) {
	text := phrase.Of("job.invite").Saying("token", token)
	if t.home != "" {
		text = phrase.Of("job.invite.link").Saying("link", t.home+token)
	}
	t.say(text.Word("role", "role."+string(role)))
}

// revoke takes every link of a chair back.
func (t *turn) revoke(code string) {
	found := false
	for _, s := range t.Job.Shares {
		if s.Role != job.Role(code) || s.Revoked {
			continue
		}
		found = true
		if t.took(t.Job.Revoke(t.who(), t.now, s.Token)) {
			t.mails = append(t.mails, Reply{Unlink: s.Token})
			if s.UsedBy != 0 {
				t.post(Mail{To: s.UsedBy, Ref: t.Job.Ref, Left: true})
			}
		}
	}
	if !found {
		t.say(phrase.Of("job.revoke.none"))
	}
}

// stepWord is what follows step when somebody types its short form: fitted 2,
// or fitted alone where the job has one window. An answer to the open question
// stays one.
func (t *turn) stepWord(text string) (rest string, ok bool) {
	if t.Job == nil || t.Second != nil || t.Doubt != nil {
		return "", false
	}
	code, more, ok := words().Match(t.lang(), "step", text)
	if !ok || t.takes(text) {
		return "", false
	}
	word := text[:len(text)-len(more)]
	id, sentence, numbered := openingNumber(more)
	switch {
	case numbered && (sentence == "" || code == "reject"):
		return strconv.Itoa(id) + " " + word + " " + sentence, true
	case more != "":
		return "", false // a sentence that happens to begin so
	case len(t.Job.Openings) == 1:
		return strconv.Itoa(t.Job.Openings[0].ID) + " " + word, true
	}
	return "", true
}

// advance takes a step of the fitting day and offers the one after it.
func (t *turn) advance(a Ask) {
	o, _ := t.Job.Find(a.Opening)
	if a.Step.Reaches(o.State) { // a button pressed twice
		t.say(phrase.Of("job.step.already").Saying("name", o.Name).Sub1("state", o.State.Text()))
		t.buttons = t.view().StepButtons(a.Opening)
		return
	}
	a.Who = t.who()
	if t.took(takeStep(*t.Job, t.now, a)) && a.Step != job.DoReject {
		if o, _ = t.Job.Find(a.Opening); a.Step != job.DoBack {
			t.say(phrase.Of("job.step." + string(o.State.Waits()))) // what to mind in the step to come
		}
		t.buttons = t.view().StepButtons(a.Opening)
	}
}

// sheet sends the job's papers.
func (t *turn) sheet() {
	order, check := t.Job.OrderCopy(), t.Job.CheckCopy()
	if len(order.Lines) == 0 && len(check.Openings) == 0 {
		t.say(phrase.Of("job.sheet.none"))
		return
	}
	add := func(d Document) {
		t.mails = append(t.mails, Reply{Text: phrase.Of("job.paper").Saying("ref", t.Job.Ref), Lang: t.lang(), Open: t.open(), Document: &d})
	}
	if len(order.Lines) > 0 {
		for _, paper := range []Paper{OrderPDF, OrderCSV, OrderJSON} {
			add(Document{Paper: paper, Order: &order, At: t.now})
		}
	}
	if len(check.Openings) > 0 {
		add(*t.view().CheckPaper())
	}
}

// announce says events to this chat and mails them to the others, one message for
// one event.
func (t *turn) announce(events []job.Event) {
	for _, e := range events {
		for _, to := range e.To {
			if e.Kind == job.ShareGranted {
				continue // the link itself says so
			}
			r := t.view().Event(e, to.Role)
			if to.Chat == t.chat {
				t.say(r.Text)
				if len(r.Buttons) > 0 {
					t.buttons = r.Buttons
				}
				continue
			}
			t.post(Mail{To: to.Chat, Ref: e.Ref, Show: &r})
		}
	}
	if len(events) > 0 {
		t.postGlance()
	}
}

// postGlance lets the leads know how the job stands, without a message.
func (t *turn) postGlance() {
	for _, s := range t.Job.Shares {
		if s.Role != job.Lead || s.UsedBy == 0 || s.Revoked {
			continue
		}
		// Every day that is due counts as late on the last day there is, so
		// that the lead's chat can tell the late ones on any day.
		g := t.Job.Glance("9999-12-31")
		t.post(Mail{To: s.UsedBy, Ref: t.Job.Ref, Glance: &g})
	}
}
