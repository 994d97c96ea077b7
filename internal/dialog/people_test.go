package dialog

import (
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// TestPeople plays the transcripts in which several people write. A line is
//
//	NAME> text     typed by that person, alone with the bot
//	NAME@GROUP> …  the same in a group chat, whose answers stand as GROUP<
//	NAME= text     sends a file that holds that; \n begins another line of it
//	NAME$ FILE …   sends a photo of that file id, and what is written under it; FILE@ALBUM
//	               is one of an album, doc:FILE a picture sent as a file, voice:, video:,
//	               round: and audio:FILE a note, file:FILE another file and place:FIGURES a place
//	NAME% A => B   changes a message that was A; in a group too
//	NAME& A => B   answers the last message that holds A, of the bot or one's own
//	@ added NAME@GROUP  somebody adds the bot to a group
//	NAME! label    presses the last button with that label in that chat
//	@ wait 72h     lets time pass, with what people are reminded of meanwhile
//	@ until 2026-03-28 09:00
//	               the same up to a time by the clock of London
//	@ block NAME   nothing reaches that chat any more; unblock ends it
//	@ leaves NAME  the same, and the platform says so at once; returns ends it
//	@ pages        from now on there are pages in a browser, of whom the name begins with page
//	NAME? JSON     presses that ask on such a page; agree is to all that it shows
//	@ owner NAME   from now on the bot is closed, and NAME one of its owners
//	NAME< text     the bot in that chat, which is what is checked
//
// Mail between chats is delivered in order after each line, as the desk of
// turns does.
func TestPeople(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/people/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	for _, path := range paths {
		raw, err := os.ReadFile(path)
		require.NoError(t, err)
		archive := txtar.Parse(raw)
		for i, file := range archive.Files {
			t.Run(filepath.Base(path)+"/"+file.Name, func(t *testing.T) {
				got := newTown(t).play(string(file.Data))
				require.NotRegexp(t, `\[[a-z]+[a-z0-9.\-_]*\.[a-z0-9.\-_]+\]|<no value>`, got)
				if *update {
					archive.Files[i].Data = []byte(got)
					return
				}
				require.Equal(t, string(file.Data), got, "run with -update when the change is meant")
			})
		}
		if *update {
			require.NoError(t, os.WriteFile(path, txtar.Format(archive), 0o644))
		}
	}
}

// tester is a test by itself, or one run of many by rapid.
type tester interface {
	require.TestingT
	Fatalf(format string, args ...any)
}

// town is several chats and what the engine keeps for them.
type town struct {
	t      tester
	mute   bool // what is said is kept, and not written out
	now    time.Time
	turns  int
	states map[string]State
	jobs   map[string]job.Stored // chat and reference → record
	links  map[string]Link
	said   map[int64][]Reply
	msgs   map[int64][]message
	names  map[int64]string
	last   string // the last token that was shown
	// blocked are the chats that nothing reaches.
	blocked []int64
	page    string
	closed  closed
	out     strings.Builder
	lose    func(Mail) bool     // letters that never come; nil: all do
	looks   map[int64]time.Time // when to look at a chat for reminders
}

func newTown(t tester) *town {
	return &town{t: t, now: firstDay, states: map[string]State{}, jobs: map[string]job.Stored{}, links: map[string]Link{}, said: map[int64][]Reply{}, msgs: map[int64][]message{}, names: map[int64]string{}, looks: map[int64]time.Time{}}
}

var personLine = regexp.MustCompile(`^([a-z]+)(?:@([a-z]+))?([>!<=$?%&])\s?(.*)$`)

func (w *town) play(script string) string {
	for _, line := range strings.Split(strings.TrimSuffix(script, "\n"), "\n") {
		parts := personLine.FindStringSubmatch(line)
		if parts != nil && parts[3] == "<" {
			continue
		}
		w.out.WriteString(line + "\n")
		switch {
		case parts != nil:
			w.person(parts[1], parts[2], parts[3], parts[4])
		case strings.HasPrefix(line, "@ wait "):
			d, err := time.ParseDuration(strings.TrimPrefix(line, "@ wait "))
			require.NoError(w.t, err)
			w.wait(w.now.Add(d))
		case strings.HasPrefix(line, "@ until "):
			at, err := time.ParseInLocation("2006-01-02 15:04", strings.TrimPrefix(line, "@ until "), State{}.clock())
			require.NoError(w.t, err)
			require.True(w.t, at.After(w.now), "it is %s already", w.now)
			w.wait(at)
		case strings.HasPrefix(line, "@ block "):
			w.blocked = append(slices.Clip(w.blocked), w.chat(strings.TrimPrefix(line, "@ block ")))
		case strings.HasPrefix(line, "@ unblock "):
			chat := w.chat(strings.TrimPrefix(line, "@ unblock "))
			w.blocked = slices.DeleteFunc(slices.Clone(w.blocked), func(b int64) bool { return b == chat })
		case strings.HasPrefix(line, "@ leaves "):
			chat := w.chat(strings.TrimPrefix(line, "@ leaves "))
			w.blocked = append(slices.Clip(w.blocked), chat)
			w.step(chat, Input{Kind: Undelivered, Lost: &Lost{Why: talk.Left, Chairs: w.chairs(chat)}, Now: w.now, User: chat})
		case strings.HasPrefix(line, "@ returns "):
			chat := w.chat(strings.TrimPrefix(line, "@ returns "))
			w.blocked = slices.DeleteFunc(slices.Clone(w.blocked), func(b int64) bool { return b == chat })
			w.step(chat, Input{Kind: Returned, Now: w.now, User: chat})
		case strings.HasPrefix(line, "@ added "):
			who, group, _ := strings.Cut(strings.TrimPrefix(line, "@ added "), "@")
			w.step(w.chat(group), Input{Kind: Added, Now: w.now, User: w.chat(who), Name: who, Group: true})
		case strings.HasPrefix(line, "@ owner "):
			w.closed.owners = append(w.closed.owners, w.chat(strings.TrimPrefix(line, "@ owner ")))
		case line == "@ pages":
			w.page = "https://pages.example/o#"
		case line == "" || strings.HasPrefix(line, "#"):
		default:
			w.t.Fatalf("not a line of a transcript: %q", line)
		}
	}
	return w.out.String()
}

// chat gives each name a chat of its own.
func (w *town) chat(name string) int64 {
	for id, known := range w.names {
		if known == name {
			return id
		}
	}
	id := int64(len(w.names) + 1)
	if strings.HasPrefix(name, "page") {
		id = talk.PageChat(uint64(id))
	}
	w.names[id] = name
	return id
}

func (w *town) person(name, group, how, text string) {
	user := w.chat(name)
	chat := user
	if group != "" {
		chat = w.chat(group)
	}
	in := Input{Kind: Typed, Text: strings.ReplaceAll(text, "TOKEN", w.last), Now: w.now, User: user, Name: name, Group: group != ""}
	if how == "!" {
		in.Kind, in.Text = Pressed, w.button(chat, text)
	}
	if how == "=" {
		in.Kind, in.Text, in.Table = File, "", []byte(strings.ReplaceAll(text, `\n`, "\r\n"))
	}
	if how == "$" {
		in.Kind = Photo
		in.Shot, in.Text = shotOf(text)
		in.Album = in.Shot.Album
		switch as := in.Shot.As; {
		case as == "place":
			in.Kind, in.Spot = Place, &Spot{Figures: in.Shot.File, Address: in.Text}
			in.Text, in.Shot = "", nil
		case as == "file":
			in.Kind, in.Shot = File, nil
		case as != "":
			in.Kind = Voice
		}
	}
	if how == "?" {
		in.Kind, in.Text, in.Ask = Pressed, "", w.asked(text)
	}
	list := w.msgs[chat]
	switch from, to, _ := strings.Cut(text, " => "); how {
	case "%":
		in.Kind, in.Text = Edited, to
		in.Msg, _ = numbered(list, from, true)
		require.NotZero(w.t, in.Msg, text)
		list[in.Msg-1].text = to
	case "&":
		var m message
		in.ReplyTo, m = numbered(list, from, false)
		require.NotZero(w.t, in.ReplyTo, text)
		in.Text, in.Asked = to, m.asks
	}
	if in.Kind != Pressed && in.Msg == 0 {
		w.msgs[chat] = append(list, message{text: in.Text, by: user})
		in.Msg = int64(len(w.msgs[chat]))
	}
	if in.Kind == Pressed {
		in.Under = int64(len(list))
		if in.Group {
			in.Asked = list[in.Under-1].asks
		}
	}
	if in.Group {
		in.GroupJob = w.states[fmt.Sprint(chat)].Shared
	}
	chat, in = w.home(chat, in)
	w.step(chat, in)
	w.now = w.now.Add(20 * time.Second)
}

// asked is an ask of a page, with all that the page shows.
func (w *town) asked(text string) *Ask {
	var a Ask
	require.NoError(w.t, json.Unmarshal([]byte(text), &a))
	if a.Do != "agree" || a.Shown != nil {
		return &a
	}
	a.Shown = map[int]string{}
	for _, stored := range w.jobs {
		j, err := stored.Decode()
		require.NoError(w.t, err)
		for _, o := range j.All() {
			if shown, stands, err := j.PageWindow(o.ID); err == nil && stands {
				a.Shown[o.ID] = shown.Version()
			}
		}
	}
	return &a
}

// home is what the engine makes of the account that somebody writes from.
func (w *town) home(chat int64, in Input) (int64, Input) {
	in.Account = in.User
	accounts := func(user int64) (home, now int64) {
		raw, err := json.Marshal(w.states[fmt.Sprint(user)])
		require.NoError(w.t, err)
		return Account(raw)
	}
	home, now := accounts(in.User)
	if _, begun := w.states[fmt.Sprint(home)]; home != 0 && begun {
		_, now = accounts(home)
		if in.User = home; !in.Group {
			chat = home
		}
	}
	in.Elsewhere = home+now != 0 && cmp.Or(now, in.User) != in.Account
	return chat, in
}

// wait lets time pass and looks at the chats whose time comes.
func (w *town) wait(until time.Time) {
	for {
		first := int64(0)
		for _, chat := range slices.Sorted(maps.Keys(w.looks)) {
			if at := w.looks[chat]; !at.After(until) && (first == 0 || at.Before(w.looks[first])) {
				first = chat
			}
		}
		if first == 0 {
			break
		}
		if at := w.looks[first]; at.After(w.now) {
			w.now = at
		}
		delete(w.looks, first)
		w.step(first, Input{Kind: Due, Now: w.now})
	}
	w.now = until
}

// keepLook is what the engine does with when to look at a chat again. A town does not
// leave out what is said within an hour of the same.
func (w *town) keepLook(chat int64, was, now State, before *job.Job, in Input) {
	at, _ := Look(was, now, before, in)
	had, has := w.looks[chat]
	switch {
	case in.Kind == Due && at.IsZero():
		delete(w.looks, chat)
	case at.IsZero(), in.Kind != Due && has && had.Before(at):
	default:
		w.looks[chat] = at
	}
}

// ownJobs are all jobs of a chat, each with all its windows.
func (w *town) ownJobs(chat int64) (list []job.Job) {
	for _, key := range slices.Sorted(maps.Keys(w.jobs)) {
		if strings.HasPrefix(key, fmt.Sprint(chat, " ")) {
			j, err := w.jobs[key].Decode()
			require.NoError(w.t, err)
			list = append(list, j)
		}
	}
	return list
}

// shotOf is a photo as a transcript has it, and what is written under it.
func shotOf(text string) (*Shot, string) {
	file, caption, _ := strings.Cut(text, " ")
	var s Shot
	file, s.Album, _ = strings.Cut(file, "@")
	s.File, s.Document = strings.CutPrefix(file, "doc:")
	if as, file, ok := strings.Cut(s.File, ":"); ok {
		s.As, s.File = as, file
	}
	return &s, caption
}

// conversation is whose state it is: in a group everybody has their own.
func conversation(chat int64, in Input) string {
	if in.Group {
		return fmt.Sprint(chat, "/", in.User)
	}
	return fmt.Sprint(chat)
}

func (w *town) button(chat int64, label string) string {
	said := w.said[chat]
	for i := len(said) - 1; i >= 0; i-- {
		for _, row := range said[i].Buttons {
			for _, b := range row {
				if words().Plain("en", b.Label) == label {
					return b.Data
				}
			}
		}
	}
	w.t.Fatalf("%s has no button %q after\n%s", w.names[chat], label, w.out.String())
	return ""
}

// step is what the engine does with one update.
func (w *town) step(chat int64, in Input) {
	if in.Kind != Undelivered && in.Kind != Due && (in.Mail == nil || in.Mail.Got == 0 && in.Mail.Remind == nil) { // they draw nothing
		w.turns++
	}
	seed := sha256.Sum256([]byte(fmt.Sprint(w.turns)))
	in.Chat, in.Seed, in.Lang, in.Page = chat, seed[:], "en", w.page
	whose := conversation(chat, in)
	if token := Token(in); token != "" {
		if l, ok := w.links[token]; ok {
			in.Link = &l
		}
	}
	if !w.closed.lets(w, &in) {
		w.deliver(chat, chat, Reply{Text: phrase.Of("crew.closed")})
		return
	}
	if in.Kind == Due {
		in.Jobs = w.ownJobs(chat)
	}
	was := w.states[whose]
	next, replies, before := w.stepOnJob(chat, was, in)
	w.keepLook(chat, was, next, before, in)
	replies = w.forgotten(chat, replies)
	raw, err := json.Marshal(next)
	require.NoError(w.t, err)
	made := next
	made.Job, next = nil, State{}
	require.NoError(w.t, json.Unmarshal(raw, &next))
	if !reflect.DeepEqual(made, next) { // which is faster, and holds but for what is empty
		every := gocmp.Exporter(func(reflect.Type) bool { return true })
		require.Empty(w.t, gocmp.Diff(made, next, every, cmpopts.EquateEmpty()), "the engine goes on with what it stored, see session.Conversation")
	}
	w.states[whose] = next
	w.closed.seat(w, in, next)
	for _, r := range replies {
		if r.Forget != nil {
			delete(w.states, whose)
			continue
		}
		to := cmp.Or(r.Account, next.Phone.account(chat))
		if in.ByPerson() && r.Account == 0 && !in.Group && in.Account != 0 {
			to = in.Account
		}
		w.deliver(chat, to, r)
	}
	w.checkBlind(chat)
}

// chairs are who has a chair in a chat's jobs.
func (w *town) chairs(chat int64) (chairs []Letter) {
	for _, key := range slices.Sorted(maps.Keys(w.jobs)) {
		if strings.HasPrefix(key, fmt.Sprint(chat, " ")) {
			j, err := w.jobs[key].Decode()
			require.NoError(w.t, err)
			chairs = append(chairs, Chairs(j)...)
		}
	}
	return chairs
}

// forgotten is what the engine does with every job of a chat after a step that
// forgets.
func (w *town) forgotten(chat int64, replies []Reply) []Reply {
	last := slices.IndexFunc(replies, func(r Reply) bool { return r.Forget != nil })
	if last < 0 {
		return replies
	}
	var mails []Reply
	var jobs []job.Job
	ask := replies[last].Forget.Ask
	for _, key := range slices.Sorted(maps.Keys(w.jobs)) {
		if !strings.HasPrefix(key, fmt.Sprint(chat, " ")) {
			continue
		}
		j, err := w.jobs[key].Decode()
		require.NoError(w.t, err)
		if jobs = append(jobs, j); ask {
			continue
		}
		left, told := Forgotten(j, *replies[last].Forget)
		mails = append(mails, told...)
		if replies[last].Forget.User == 0 {
			delete(w.jobs, key)
			continue
		}
		w.jobs[key], err = left.Encode()
		require.NoError(w.t, err)
	}
	if ask {
		replies[last] = Losing(replies[last], jobs)
		return replies
	}
	return slices.Insert(replies, last, mails...)
}

// stepOnJob gives Step the head of the job and the window that it needs, and
// those that it looks into besides, and keeps the job that comes out. before is the job
// that went in.
func (w *town) stepOnJob(chat int64, s State, in Input) (next State, replies []Reply, before *job.Job) {
	ref, window := Needs(s, in)
	whole := w.jobs[fmt.Sprint(chat, " ", ref)]
	some := job.Stored{Head: whole.Head, Parts: map[int][]byte{}}
	for load := []int{window}; ; {
		for _, id := range load {
			if data, ok := whole.Parts[id]; ok {
				some.Parts[id] = data
			}
		}
		if whole.Head != nil {
			j, err := some.Decode()
			require.NoError(w.t, err)
			s.Job = &j
		}
		was, err := json.Marshal(s)
		require.NoError(w.t, err)
		next, replies = Step(s, in)
		still, err := json.Marshal(s)
		require.NoError(w.t, err)
		require.Equal(w.t, string(was), string(still), "a step leaves what it was given as it was: it may be made again")
		if s.Job == nil {
			break
		}
		more, all := s.Job.Missing()
		if load = more; all {
			load = slices.Collect(maps.Keys(whole.Parts))
		}
		if len(load) == 0 {
			break
		}
	}
	if next.Job == nil {
		return next, replies, s.Job
	}
	stored, err := next.Job.Encode()
	require.NoError(w.t, err)
	for id, data := range whole.Parts {
		if _, loaded := some.Parts[id]; !loaded && next.Job.Ref == ref {
			stored.Parts[id] = data
		}
	}
	w.jobs[fmt.Sprint(chat, " ", next.Job.Ref)] = stored
	return next, replies, s.Job
}

// checkBlind: the lead's chat holds no figure of a first measure.
func (w *town) checkBlind(chat int64) {
	if w.names[chat] != "lead" {
		return
	}
	raw, err := json.Marshal(w.states[fmt.Sprint(chat)].Seats)
	require.NoError(w.t, err)
	require.NotContains(w.t, string(raw), "1202")
}

// deliver is what the engine does with a reply of a chat, which goes to an account.
func (w *town) deliver(chat, to int64, r Reply) {
	switch {
	case r.Mail != nil && w.lose != nil && w.lose(*r.Mail):
		return
	case r.Mail != nil:
		w.step(r.Mail.To, Input{Kind: Mailed, Mail: r.Mail, Now: w.now})
		return
	case r.Link != nil:
		w.links[r.Link.Token] = *r.Link
		w.last = r.Link.Token
		return
	case r.Access != nil:
		w.closed.change(w, chat, *r.Access)
		return
	case r.Unlist != nil:
		return
	case r.Unlink != "":
		delete(w.links, r.Unlink)
		return
	case slices.Contains(w.blocked, to):
		w.step(chat, Input{Kind: Undelivered, Lost: &Lost{Why: talk.Gone, Of: r.Of}, Now: w.now})
		return
	}
	if of := r.Of; of != nil && of.Order != 0 {
		defer w.step(of.From, Input{Kind: Mailed, Now: w.now, Mail: &Mail{From: chat, To: of.From, Ref: of.Ref, Got: of.Order}})
	}
	if w.mute {
		w.said[to] = append(w.said[to], r)
		return
	}
	w.msgs[to] = append(w.msgs[to], message{text: words().Plain("en", r.Text), asks: r.Asks})
	for i, one := range r.Apart() {
		w.print(w.names[to], one, inAlbum(i, len(r.More)))
	}
	w.said[to] = append(w.said[to], r)
}

// print writes what a person sees of a reply.
func (w *town) print(name string, r Reply, which string) {
	if r.Text.Key != "" {
		for _, line := range strings.Split(words().Text("en", r.Text), "\n") {
			fmt.Fprintf(&w.out, "%s< %s\n", name, line)
		}
	}
	for _, folded := range r.Folded {
		fmt.Fprintf(&w.out, "%s<| %s\n", name, words().Text(r.Lang, folded))
	}
	if r.Picture != nil {
		fmt.Fprintf(&w.out, "%s< (picture%s)\n", name, which)
	}
	if r.Document != nil {
		fmt.Fprintf(&w.out, "%s< (%s)\n", name, r.Document.Paper)
	}
	for _, shot := range r.Shots {
		protected := ""
		if r.Protected {
			protected = ", protected"
		}
		fmt.Fprintf(&w.out, "%s< (%s %s%s) %s\n", name, cmp.Or(shot.As, "photo"), shot.File, protected, words().Plain("en", *shot.Label))
	}
	for _, row := range r.Buttons {
		var labels []string
		for _, b := range row {
			require.LessOrEqual(w.t, len(b.Data), talk.MostData)
			labels = append(labels, "["+words().Plain("en", b.Label)+"]")
		}
		fmt.Fprintf(&w.out, "%s< %s\n", name, strings.Join(labels, " "))
	}
}
