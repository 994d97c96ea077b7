package dialog

import (
	"encoding/base64"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"sillbot/internal/calc"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/plan"
)

// mostJobs is how many jobs a chat may have begun. Common practice, no source.
const mostJobs = 200

// mostButtons is how many rows of buttons a reply has at the most: the
// platform takes a hundred buttons.
const mostButtons = 30

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
		t.say(jobRefusal(err))
		return false
	}
	t.Job = &j
	t.tell(events)
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
	r := job.Record{Plan: a.opening()}
	if o, ok := t.Job.Find(t.Editing); ok {
		r.Colour, r.Hardware = o.Record.Colour, o.Record.Hardware
	}
	if a.given("glass") {
		r.MakeUp = a["glass"]
	}
	for _, ans := range t.Answers {
		raw, err := ans.MarshalText()
		if err == nil {
			r.Answers = append(r.Answers, string(raw))
		}
	}
	return r
}

// list says how the job and each opening stand.
func (t *turn) list() {
	j := t.Job
	t.say(phrase.Of("job.title").Saying("ref", j.Ref).Saying("label", spaceBefore(j.Label)).Sub1("state", j.Stage().Text()))
	if j.Address != "" {
		t.say(phrase.Of("job.address").Saying("address", j.Address))
	}
	rows := j.List()
	if len(rows) == 0 {
		t.say(phrase.Of("job.empty"))
	}
	var settle [][]Button
	for _, row := range rows {
		t.say(t.rowText(row))
		if row.State == job.Differing {
			lines, buttons := t.differenceLines(nil, job.Event{Openings: []int{row.ID}}, job.Fitter)
			t.say(lines...)
			settle = append(settle, buttons...)
		}
	}
	var others []phrase.Text
	for _, ref := range t.Own {
		if ref != j.Ref {
			others = append(others, phrase.Of("job.ref").Saying("ref", ref))
		}
	}
	if len(others) > 0 {
		t.say(phrase.Of("job.others").WithRow("refs", others...))
	}
	if len(settle) > mostButtons {
		settle = settle[:mostButtons]
	}
	t.buttons = append(settle, t.jobButtons()...)
	t.quiet = t.quiet || t.done()
}

// spaceBefore keeps a space between words when there are any.
func spaceBefore(words string) string {
	if words == "" {
		return ""
	}
	return " " + words
}

func (t *turn) rowText(row job.Row) phrase.Text {
	line := phrase.Of("job.row").WithInt("n", row.ID).Saying("name", row.Name).WithInt("alike", row.Count).Sub1("state", row.State.Text())
	switch {
	case len(row.Lacks) == 0 && row.Signed != nil:
		line.Key = "job.row.signed"
		return line.Sub1("when", t.whenText(row.Signed.At)).Word("by", "role."+string(row.Signed.Role))
	case len(row.Lacks) == 0:
		return line
	}
	var lacks []phrase.Text
	for _, key := range row.Lacks {
		lacks = append(lacks, find(key).named())
	}
	line.Key = "job.row.lacks"
	return line.WithRow("lacks", lacks...)
}

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
		now[widthKeys[i]], now[heightKeys[i]] = p.Widths[i], p.Heights[i]
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
	for _, o := range t.Job.Openings {
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
		t.buttons = t.stepButtons(a.Opening)
		return
	}
	a.Who = t.who()
	if t.took(takeStep(*t.Job, t.now, a)) && a.Step != job.DoReject {
		if o, _ = t.Job.Find(a.Opening); a.Step != job.DoBack {
			t.say(phrase.Of("job.step." + string(o.State.Waits()))) // what to mind in the step to come
		}
		t.buttons = t.stepButtons(a.Opening)
	}
}

// stepButtons offer the next step of those windows. The paper is handed over
// when all are sealed.
func (t *turn) stepButtons(ids ...int) [][]Button {
	var rows [][]Button
	for _, id := range ids {
		o, _ := t.Job.Find(id)
		next := o.State.Waits()
		switch {
		case next == "", len(rows) >= mostButtons:
		case next != job.DoHandOver:
			rows = append(rows, []Button{t.jobButton("job.step."+string(next), o.Name, "step", id, string(next))})
		case t.Job.Stage() == job.Sealed:
			rows = append(rows, []Button{t.jobButton("job.step."+string(next), "", "handover")})
		}
	}
	return rows
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
		add(*t.checkPaper())
	}
}

// tell says events to this chat and mails them to the others, one message for
// one event.
func (t *turn) tell(events []job.Event) {
	for _, e := range events {
		for _, to := range e.To {
			if e.Kind == job.ShareGranted {
				continue // the link itself says so
			}
			r := t.eventReply(e, to.Role)
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

// eventReply is an event in words, with what that chair can do about it.
func (t *turn) eventReply(e job.Event, role job.Role) Reply {
	text := e.Text()
	if e.Due != "" {
		text = text.Sub1("due", storedDate(e.Due))
	}
	if price, ok := text.Num["price"]; ok {
		text = text.Saying("price", "£"+price.StringFixed(2))
	}
	lines := []phrase.Text{text}
	if e.Kind == job.OrderConfirmed && role == job.Fitter {
		lines = append(lines, phrase.Of("job.step."+string(job.DoDeliver)))
	}
	for _, change := range e.Changes {
		lines = append(lines, phrase.Of("job.change.line").Sub1("change", change.Text()))
	}
	if lapsed := e.Say["lapsed"]; lapsed != "" {
		lines = append(lines, phrase.Of("job.lapsed").Saying("names", lapsed))
	}
	var buttons [][]Button
	switch e.Kind {
	case job.CheckAsked:
		if role == job.Lead {
			lines, buttons = t.checkLines(lines)
		}
	case job.ReadingsDiffer, job.ReadingSettled, job.ReadingAgain:
		lines, buttons = t.differenceLines(lines, e, role)
	case job.ReadingsAgree, job.AllSettled, job.FiguresOpened:
		if role == job.Lead {
			lines, buttons = t.signLines(lines, e)
		}
	case job.OrderConfirmed:
		if role == job.Fitter {
			buttons = t.stepButtons(t.everyOpening()...)
		}
	case job.OrderSent, job.OrderRevised, job.QueryAnswered:
		if role == job.Desk {
			lines, buttons = t.orderLines(lines)
		}
	}
	return Reply{Text: phrase.Of("message").WithLines("lines", lines...), Buttons: buttons, Document: t.enclosed(e, role)}
}

func (t *turn) everyOpening() []int {
	ids := make([]int, len(t.Job.Openings))
	for i, o := range t.Job.Openings {
		ids[i] = o.ID
	}
	return ids
}

// enclosed is the paper that goes with an event, nil for none.
func (t *turn) enclosed(e job.Event, role job.Role) *Document {
	switch {
	case role == job.Desk && (e.Kind == job.OrderSent || e.Kind == job.OrderRevised):
		order := t.Job.OrderCopy()
		return &Document{Paper: OrderPDF, Order: &order, At: t.now}
	case role == job.Lead && e.Kind == job.CheckAsked:
		return t.checkPaper()
	}
	return nil
}

// checkPaper is the check sheet, with the two measures of what was measured
// twice.
func (t *turn) checkPaper() *Document {
	check := t.Job.CheckCopy()
	d := &Document{Paper: CheckPDF, Check: &check, At: t.now}
	for _, o := range check.Openings {
		if c, ok := t.Job.Comparison(o.ID); ok {
			if d.Both == nil {
				d.Both = map[int]job.Comparison{}
			}
			d.Both[o.ID] = c
		}
	}
	return d
}

// checkLines are the openings that wait for the lead's tape. They hold no
// figure of the first measure.
func (t *turn) checkLines(lines []phrase.Text) ([]phrase.Text, [][]Button) {
	sheet := t.Job.CheckCopy()
	if sheet.Address != "" {
		lines = append(lines, phrase.Of("job.address").Saying("address", sheet.Address))
	}
	var buttons [][]Button
	for _, o := range sheet.Openings {
		lines = append(lines, checkText(o))
		if o.State == job.Checking && len(buttons) < 20 {
			buttons = append(buttons, []Button{
				t.jobButton("job.measure", o.Name, "measure", o.ID, o.Name), t.jobButton("job.look", o.Name, "look", o.ID),
			})
		}
	}
	return lines, buttons
}

// checkText is an opening that is measured again, and where to hold the tape.
func checkText(o job.CheckOpening) phrase.Text {
	return phrase.Of("job.check.line").WithInt("n", o.ID).Saying("name", o.Name).
		Word("finish", "button.finish."+string(o.Finish)).Word("from", "job.check.from."+strconv.FormatBool(o.NewSill)).Sub1("state", o.State.Text())
}

// jobButton is a button that names the job, so that it works whatever else is
// open in the chat it is pressed in.
func (t *turn) jobButton(label, name, do string, args ...any) Button {
	parts := []string{jobPress, t.Job.Ref, do}
	for _, arg := range args {
		switch v := arg.(type) {
		case int:
			parts = append(parts, strconv.Itoa(v))
		case string:
			parts = append(parts, strings.ReplaceAll(v, ":", " "))
		}
	}
	data := strings.Join(parts, ":")
	for len(data) > mostData {
		data = data[:len(data)-1]
	}
	data = strings.ToValidUTF8(data, "")
	text := phrase.Of("button." + label)
	if name != "" {
		text = text.Saying("name", name)
	}
	return Button{Label: text, Data: data}
}

// differenceLines set the two measures side by side, and let whoever reads
// them settle each.
func (t *turn) differenceLines(lines []phrase.Text, e job.Event, role job.Role) ([]phrase.Text, [][]Button) {
	var buttons [][]Button
	for _, id := range e.Openings {
		c, ok := t.Job.Comparison(id)
		if !ok {
			continue
		}
		for _, d := range c.Apart() {
			lines = append(lines, differenceText(d, role))
			if d.Settled != nil || len(buttons) >= mostButtons {
				continue
			}
			mine, theirs := d.First, d.Second
			if role == job.Lead {
				mine, theirs = theirs, mine
			}
			row := []Button{
				t.jobButton("job.mine", "", "settle", id, d.Reading, "mine"),
				t.jobButton("job.theirs", "", "settle", id, d.Reading, "theirs"),
				t.jobButton("job.again", "", "settle", id, d.Reading, "again"),
			}
			for i := range row {
				row[i].Label = row[i].Label.Word("reading", "reading."+d.Reading)
			}
			row[0].Label = row[0].Label.With("mm", mine)
			row[1].Label = row[1].Label.With("mm", theirs)
			buttons = append(buttons, row)
		}
	}
	return lines, buttons
}

func differenceText(d job.Difference, role job.Role) phrase.Text {
	mine, theirs := d.First, d.Second
	if role == job.Lead {
		mine, theirs = theirs, mine
	}
	line := phrase.Of("job.difference")
	switch {
	case d.Settled != nil && d.Settled.Value != nil:
		line = phrase.Of("job.difference.settled").With("value", *d.Settled.Value)
	case d.Settled != nil:
		line = phrase.Of("job.difference.again")
	case d.Likelier == "":
	case (d.Likelier == job.First) == (role == job.Fitter):
		line = phrase.Of("job.difference.mine")
	default:
		line = phrase.Of("job.difference.theirs")
	}
	return line.Word("reading", "reading."+d.Reading).With("mine", mine).With("theirs", theirs).With("apart", d.Apart)
}

// signLines show the figures and let the lead sign them.
func (t *turn) signLines(lines []phrase.Text, e job.Event) ([]phrase.Text, [][]Button) {
	var buttons [][]Button
	for _, id := range e.Openings {
		f, ok := t.Job.Figures(id)
		if !ok {
			continue
		}
		o, _ := t.Job.Find(id)
		lines = append(lines, figureLines(o.Record.Plan)...)
		buttons = append(buttons, []Button{t.jobButton("job.sign", f.Name, "sign", id, f.Edition)})
	}
	return lines, buttons
}

// figureLines are the readings that are signed, and the order size that they
// give.
func figureLines(o plan.Opening) []phrase.Text {
	lines := []phrase.Text{
		phrase.Of("job.figures.widths").WithRow("values", numberTexts(o.Widths[:])...),
		phrase.Of("job.figures.heights").WithRow("values", numberTexts(o.Heights[:])...),
	}
	if o.Rising.IsPositive() {
		lines = append(lines, phrase.Of("job.figures.diagonals").With("rising", o.Rising).With("falling", o.Falling))
	}
	if order, err := calc.OrderSize(o.OrderRequest(calc.DefaultSettings())); err == nil {
		lines = append(lines, phrase.Of("order.size").With("width", order.Size.Width).With("height", order.Size.Height))
	}
	return lines
}
