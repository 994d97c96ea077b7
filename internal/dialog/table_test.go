package dialog

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
	"sillbot/internal/phrase"
)

// rowPlay is how one row of the table is played. The job of chat 1 has two
// windows; chat 2 is its lead and chat 3 its desk.
type rowPlay struct {
	fits   string // typed by the row's own chair
	misfit string // typed too, and answered with how to type it
	// mail is what the owner is asked when fits is typed in another chat: the
	// bytes of Ask without who asks.
	mail string
	// press is the data of a button and pressed what the owner is asked by it.
	press, pressed string
}

// The bytes here are storage: they stand in outboxes and on buttons that were
// sent. Never change one; a row that goes leaves its bytes readable.
var rowPlays = map[string]rowPlay{
	"start": {fits: "hello"}, "new": {fits: "next window"}, "back": {fits: "back"}, "skip": {fits: "/skip"},
	"samereadings": {fits: "same readings"},
	"change":       {fits: "change widths", misfit: "change zorb"}, "summary": {fits: "summary"}, "card": {fits: "card"}, "why": {fits: "why"},
	"help": {fits: "help job"}, "cancel": {fits: "cancel"}, "undo": {fits: "undo"},
	"units": {fits: "units mm", misfit: "units zorb"}, "language": {fits: "language english", misfit: "language zorb"},
	"zone": {fits: "zone Europe/Paris", misfit: "zone zorb"}, "house": {fits: "house"}, "items": {fits: "order items"}, "contact": {fits: "contact Jo on site"}, "decideall": {fits: "the desk decides the rest"}, "cleared": {fits: "engineer says ok: the lintel is sound, J Doe, structural engineer, today"},
	"crew": {fits: "crew", misfit: "crew zorb"}, "toe": {fits: "toe 1 600 400 700 690", misfit: "toe zorb"},
	"job": {fits: "job"}, "list": {fits: "list 2"}, "more": {fits: "more"}, "page": {press: "j1:REF:page:2", pressed: `{"do":"page","page":2}`}, "mydata": {fits: "my data"}, "forget": {fits: "forget me"},
	"handjob": {fits: "hand job to Wren"}, "keepjob": {press: "j1:REF:keepjob"}, "take": {},
	"phonefor": {fits: "new phone for 3"},
	"newphone": {fits: "new phone", misfit: "new phone zorb"}, "notme": {fits: "not me"},
	"reminders": {fits: "reminders", misfit: "reminders zorb"},
	"invite":    {fits: "invite lead", misfit: "invite zorb"}, "glance": {fits: "open points 2"},

	"people": {fits: "crew list"}, "putout": {fits: "put out 3"}, "let": {fits: "let 3 invite"}, "trail": {fits: "crew trail"},

	"edit": {fits: "edit 1", misfit: "edit zorb"}, "copy": {fits: "copy 1 hall", misfit: "copy zorb"},
	"name": {fits: "name 1 hall", misfit: "name 9 hall"}, "alike": {fits: "alike 1 3", misfit: "alike 1 zorb"},
	"colour": {fits: "shade 2 grey", misfit: "shade 1 grey"}, "hardware": {fits: "hardware 1 black handle", misfit: "hardware handle"},
	"delete": {fits: "delete 2", misfit: "delete zorb", press: "j1:REF:delete:1-2"}, "restore": {fits: "restore", misfit: "restore the rest"},
	"withdraw": {fits: "withdraw 1", misfit: "withdraw zorb", press: "j1:REF:withdraw:1-2"}, "answer": {fits: "answer 1 left", misfit: "answer left"},
	"next": {fits: "next 1", misfit: "next 9", press: "j1:REF:next:1"}, "frame": {fits: "frame 1", misfit: "frame 9", press: "j1:REF:frame:1:again"},
	"structure": {fits: "structure 1", misfit: "structure 9", press: "j1:REF:structure:1:again"},
	"setting":   {fits: "setting 1", misfit: "setting 9", press: "j1:REF:setting:1:again"}, "bow": {fits: "bow 1", misfit: "bow 9", press: "j1:REF:bow:1:again"},
	"lastlook": {fits: "last look 1", misfit: "last look 9", press: "j1:REF:lastlook:1:again"},
	"snag":     {fits: "snag 1 scratched bead", misfit: "snag 9 scratched bead", press: "j1:REF:snag:1:1"},
	"file":     {fits: "file 1", misfit: "file zorb"}, "certificate": {fits: "certificate 1: 4711, today", misfit: "certificate zorb"},
	"stores": {fits: "stores 1", misfit: "stores zorb"}, "quote": {fits: "quote", misfit: "quote zorb"},
	"paid": {fits: "paid 400, today", misfit: "paid zorb"}, "unpaid": {fits: "not paid 400", misfit: "not paid zorb"},
	"snags":   {fits: "snags 1", misfit: "snags zorb"},
	"takeout": {fits: "take out 1", misfit: "take out 9", press: "j1:REF:takeout:1:"}, "sillpiece": {fits: "cut the sill piece 1", misfit: "cut the sill piece 9", press: "j1:REF:sillpiece:1:"},
	"fixing": {fits: "drill 1", misfit: "drill 9", press: "j1:REF:fixing:1:again"}, "glazing": {fits: "glazing 1", misfit: "glazing 9", press: "j1:REF:glazing:1:again"},
	"sash": {fits: "sash 1", misfit: "sash 9", press: "j1:REF:sash:1:again"}, "seal": {fits: "foam 1", misfit: "foam 9", press: "j1:REF:seal:1:again"},
	"patch":  {fits: "patch 1", misfit: "patch 9", press: "j1:REF:patch:1:again"},
	"broken": {fits: "broken 1 corner smashed", misfit: "broken 9 smashed"}, "fault": {fits: "fault 1 cracked, found today", misfit: "fault 1 cracked, found zorb"},
	"step": {fits: "step 1 delivered", misfit: "step 1 zorb", press: "j1:REF:step:1:deliver"},

	"cards": {fits: "cards", misfit: "cards please zorb", press: "j1:REF:cards:all"}, "label": {fits: "label mill"}, "address": {fits: "address 1 Mill Lane"},
	"photos": {fits: "photos 1", misfit: "photos zorb"}, "sendphotos": {},
	"photofor":    {fits: "photo for 1", misfit: "photo for zorb", press: "j1:REF:photofor:1"},
	"deletephoto": {fits: "delete photo 3 of 2", misfit: "delete photo zorb"},
	"share":       {fits: "share names", misfit: "share zorb"}, "check": {fits: "ask check 1, 2", misfit: "ask check zorb"},
	"customer": {fits: "customer 1", misfit: "customer price zorb"},
	"send":     {fits: "send", misfit: "send the rest later", press: "j1:REF:send:1 2:00000000"}, "against": {fits: "against 1", misfit: "against zorb"}, "sheet": {fits: "sheet", misfit: "sheet zorb"},
	"revoke": {fits: "revoke lead", misfit: "revoke zorb"}, "handover": {fits: "hand over", misfit: "hand over zorb", press: "j1:REF:handover:1-2"},

	"measure": {fits: "measure 1", misfit: "measure zorb", mail: `{"do":"where","opening":1}`,
		press: "j1:REF:measure:1:Window 1", pressed: `{"do":"where","opening":1}`},
	"look": {press: "j1:REF:look:1", pressed: `{"do":"look","opening":1}`},
	"read": {}, "agree": {},
	"settle": {press: "j1:REF:settle:1:width.top:theirs:1214", pressed: `{"do":"settle","opening":1,"reading":"width.top","pick":"theirs","value":"1214"}`},
	"sign": {fits: "sign 1", misfit: "sign zorb", mail: `{"do":"signshown","opening":1}`,
		press: "j1:REF:sign:1:4", pressed: `{"do":"sign","opening":1,"version":"4"}`},
	"signshown": {},
	"figure": {fits: "figure 1 top width 1203.5", misfit: "figure 1 top width",
		mail: `{"do":"reread","opening":1,"reading":"width.top","value":"1203.5"}`},
	"reread": {},

	"confirm": {fits: "confirm 1 a", misfit: "confirm 1 A please", mail: `{"do":"confirm","opening":1,"revision":"A"}`,
		press: "j1:REF:confirm:A:1", pressed: `{"do":"confirm","opening":1,"revision":"A"}`},
	"confirmall":    {press: "j1:REF:confirmall:A", pressed: `{"do":"confirmall","revision":"A"}`},
	"told":          {fits: "confirmed 1 by phone, Anna at the works, order 4711, 3 December", misfit: "confirmed 3-1", mail: `{"do":"told","due":"2026-12-03","lines":[1],"heard":{"way":"phone","by":"Anna at the works","order":"4711"}}`},
	"answers":       {},
	"untell":        {fits: "not confirmed 1", misfit: "not confirmed zorb", mail: `{"do":"untell","lines":[1]}`},
	"withdrawquery": {fits: "withdraw question 1", misfit: "withdraw question zorb", mail: `{"do":"withdrawquery","opening":1}`},
	"query":         {fits: "query 1 which side?", misfit: "query which side?", mail: `{"do":"query","opening":1,"words":"which side?"}`},
	"csv":           {fits: "csv", mail: `{"do":"orderpaper","words":"order.csv"}`}, "json": {fits: "json", mail: `{"do":"orderpaper","words":"order.json"}`},
	"pdf":        {fits: "pdf", mail: `{"do":"orderpaper","words":"order.pdf"}`},
	"orderpaper": {press: "j1:REF:orderpaper:order.csv", pressed: `{"do":"orderpaper","words":"order.csv"}`},
	"askquery":   {press: "j1:REF:askquery:1:A", pressed: `{"do":"askquery","opening":1,"revision":"A"}`},
	"price":      {fits: "price 1 £310.50", misfit: "price 1 zorb", mail: `{"do":"promise","opening":1,"value":"310.5"}`},
	"due":        {fits: "due 1 12 January 2027", misfit: "due 1", mail: `{"do":"promise","opening":1,"due":"2027-01-12"}`},
	"promise":    {press: "j1:REF:promise:1:310.50", pressed: `{"do":"promise","opening":1,"value":"310.5"}`},

	"join": {}, "leave": {}, "show": {press: "j1:REF:show", pressed: `{"do":"show"}`}, "where": {}, "shown": {},
}

// mailed are the asks that come by mail alone, as bytes of today's outboxes,
// and the role that may ask.
var mailed = map[string]struct {
	ask  string
	role job.Role
}{
	"take": {`{"do":"take","token":"abcdefghijklmnopqrstuv"}`, ""},
	"join": {`{"do":"join","token":"abcdefghijklmnopqrstuv"}`, ""}, "leave": {`{"do":"leave"}`, job.Desk}, "show": {`{"do":"show"}`, job.Desk},
	"page": {`{"do":"page","page":2}`, job.Desk}, "sendphotos": {`{"do":"sendphotos","opening":1}`, job.Desk},
	"where": {`{"do":"where","opening":1}`, job.Lead}, "shown": {`{"do":"shown","versions":{"1":"4"}}`, job.Lead},
	"look": {`{"do":"look","opening":1}`, job.Lead}, "signshown": {`{"do":"signshown","opening":1}`, job.Lead}, "sign": {`{"do":"sign","opening":1,"version":"4"}`, job.Lead},
	"settle":  {`{"do":"settle","opening":1,"reading":"width.top","pick":"theirs"}`, job.Lead},
	"reread":  {`{"do":"reread","opening":1,"reading":"width.top","value":"1203.5"}`, job.Lead},
	"read":    {`{"do":"read","opening":1,"readings":{"Widths":["1204","1202","1203"],"Heights":["1050","1052","1051"],"Rising":"1595","Falling":"1596","SillFall":null}}`, job.Lead},
	"confirm": {`{"do":"confirm","opening":1,"revision":"A"}`, job.Desk}, "confirmall": {`{"do":"confirmall","revision":"A"}`, job.Desk},
	"orderpaper": {`{"do":"orderpaper","words":"order.csv"}`, job.Desk},
	"told":       {`{"do":"told","due":"2026-12-03","lines":[1],"heard":{"way":"phone"}}`, job.Lead},
	"answers":    {`{"do":"answers","answers":[{"row":2,"window":1,"revision":"Z","confirm":true}]}`, job.Lead}, "untell": {`{"do":"untell","lines":[1]}`, job.Lead},
	"withdrawquery": {`{"do":"withdrawquery","opening":1,"question":2}`, job.Desk}, "agree": {`{"do":"agree","words":"x","versions":{"1":"y"}}`, job.Customer}, "askquery": {`{"do":"askquery","opening":1}`, job.Desk},
	"query": {`{"do":"query","opening":1,"words":"which side?"}`, job.Desk}, "promise": {`{"do":"promise","opening":1,"due":"2027-01-12"}`, job.Desk},
}

const (
	leadChat int64 = 2
	deskChat int64 = 3
)

// ownersState is chat 1 with a job of two windows, the second of another
// colour, and both chairs taken.
func ownersState(t require.TestingT) State {
	s := State{}
	play := func(texts ...string) {
		for _, text := range texts {
			in := typed(text)
			in.Chat, in.User, in.Seed = 1, 1, []byte("0123456789abcdef0123456789abcdef")
			s, _ = Step(s, in)
		}
	}
	play(script...)
	play("job", "copy 1 landing", "change material", "coloured pvc")
	who := job.Who{Chat: 1, Person: 1, Role: job.Fitter}
	for chat, role := range map[int64]job.Role{leadChat: job.Lead, deskChat: job.Desk} {
		token := strings.Repeat(fmt.Sprint(chat), 22)
		j, _, err := s.Job.Grant(who, firstDay, token, role, firstDay.Add(shareLasts))
		require.NoError(t, err)
		j, _, err = j.Use(job.Who{Chat: chat, Person: chat, Role: role}, firstDay, token)
		require.NoError(t, err)
		s.Job = &j
	}
	return s
}

// chairState is a chat with a chair in that job, and another with none.
func chairState(owner State, role job.Role) State {
	return State{Version: schema, Conv: 1, Seats: []Seat{{Ref: owner.Ref, Role: role, Owner: 1}}}
}

// A price is understood or asked back, and never guessed.
func TestPrices(t *testing.T) {
	desk := chairState(ownersState(t), job.Desk)
	for text, want := range map[string]string{
		"price 1 310,50": `"310.5"`, "price 1 1.234,56": `"1234.56"`, "price 1 12,50": `"12.5"`, "price 1 1 234.50": `"1234.5"`, "price 1 £310.50": `"310.5"`,
		"price 1 0 yes": `"0"`, "price 1 310 yes": `"310"`,
		"price 1 1.234": "price 1 1234.00</i>, <i>price 1 1.23", "price 1 310.505": "Which price", "price 1 0": "price 1 0 yes", "price 1 1234.567": "price 1 1234.57",
		"price 1 -5": "below zero", "price 1 12345678": "at most", "price 1 12,34.50": "price 2 310.50", "price 1 yes": "price 2 310.50",
	} {
		_, replies := Step(desk, Input{Kind: Typed, Text: text, Chat: deskChat, User: deskChat, Now: firstDay})
		asks := asksOf(t, replies)
		if !strings.HasPrefix(want, `"`) {
			require.Empty(t, asks, text)
			require.Contains(t, allSaid(replies), want, text)
			continue
		}
		require.Equal(t, []string{`{"do":"promise","opening":1,"value":` + want + `}`}, asks, text)
	}
}

// asksOf are the asks that replies mail, without who asks.
func asksOf(t require.TestingT, replies []Reply) []string {
	var asks []string
	for _, r := range replies {
		if r.Mail == nil || r.Mail.Ask == nil {
			continue
		}
		raw, err := json.Marshal(r.Mail.Ask)
		require.NoError(t, err)
		_, after, found := strings.Cut(string(raw), `},`)
		require.True(t, found, "who asks comes first: %s", raw)
		asks = append(asks, "{"+after)
	}
	return asks
}

func allSaid(replies []Reply) string {
	var b strings.Builder
	for _, r := range replies {
		b.WriteString(words().Text("en", r.Text) + "\n")
		if r.Mail != nil && r.Mail.Show != nil {
			b.WriteString(words().Text("en", r.Mail.Show.Text) + "\n")
		}
	}
	return b.String()
}

// chairOf is the state of whoever plays the row, and which chat that is.
func chairOf(owner State, c *command) (State, int64) {
	switch {
	case len(c.by) == 0 || c.by[0] == job.Fitter && len(c.by) == 1:
		return owner, 1
	case slices.Contains(c.by, job.Lead):
		return chairState(owner, job.Lead), leadChat
	}
	return chairState(owner, job.Desk), deskChat
}

func TestEveryRow(t *testing.T) {
	owner := ownersState(t)
	require.Len(t, rowPlays, len(table), "every row is played")
	for i := range table {
		c := &table[i]
		play, known := rowPlays[c.name]
		require.True(t, known, c.name)
		require.Equal(t, c.untyped, play.fits == "", c.name)
		require.Equal(t, c.press == nil, play.press == "", c.name)
		require.True(t, c.mail || c.mailed == nil, c.name)
		s, chat := chairOf(owner, c)
		step := func(s State, in Input) (State, []Reply) {
			in.Chat, in.User, in.Seed, in.Now = chat, chat, []byte("0123456789abcdef0123456789abcdef"), firstDay
			return Step(s, in)
		}
		if play.fits != "" {
			t.Run(c.name+" fits", func(t *testing.T) {
				_, replies := step(s, typed(play.fits))
				said := allSaid(replies)
				for _, how := range []string{c.how, "command.rest", "command.unknown", "job.noopen", "job.nosuch", "job.number"} {
					if how != "" {
						require.NotContains(t, said, words().Text("en", sentenceOf(how)))
					}
				}
				var want []string
				if play.mail != "" {
					want = []string{play.mail}
				}
				require.Equal(t, want, asksOf(t, replies))
			})
			t.Run(c.name+" with nothing open", func(t *testing.T) {
				after, replies := step(State{Version: schema, Conv: 1}, typed(play.fits))
				require.Empty(t, asksOf(t, replies))
				require.NotEmpty(t, replies)
				if c.own() {
					require.Contains(t, allSaid(replies), words().Text("en", sentenceOf("job.noopen")))
				}
				if c.by != nil {
					require.Nil(t, after.Job)
				}
			})
		}
		if play.fits != "" && c.by != nil {
			t.Run(c.name+" in another chair", func(t *testing.T) {
				for _, role := range []job.Role{job.Lead, job.Desk} {
					if slices.Contains(c.by, role) {
						continue
					}
					after, replies := Step(chairState(owner, role), Input{Kind: Typed, Text: play.fits, Chat: 4, User: 4, Now: firstDay})
					require.Empty(t, asksOf(t, replies), role)
					require.Nil(t, after.Second)
					require.NotEmpty(t, allSaid(replies))
				}
			})
		}
		if play.misfit != "" {
			t.Run(c.name+" does not fit", func(t *testing.T) {
				after, replies := step(s, typed(play.misfit))
				require.NotEmpty(t, allSaid(replies))
				require.Empty(t, asksOf(t, replies))
				if c.args == nil {
					word, rest, _ := strings.Cut(strings.Replace(play.misfit, "hand over", "hand-over", 1), " ")
					word = strings.Replace(word, "-", " ", 1)
					require.Contains(t, allSaid(replies), words().Text("en", phrase.Of("command.rest").Saying("read", word).Saying("rest", rest)))
				}
				require.Equal(t, s.Job, after.Job, "nothing was done")
				require.Equal(t, answersOf(s), answersOf(after))
			})
		}
		if play.press != "" {
			t.Run(c.name+" pressed", func(t *testing.T) {
				data := strings.Replace(play.press, "REF", owner.Ref, 1)
				_, replies := step(s, Input{Kind: Pressed, Text: data})
				var want []string
				if play.pressed != "" {
					want = []string{play.pressed}
				}
				require.Equal(t, want, asksOf(t, replies))
				_, replies = step(State{Version: schema, Conv: 1}, Input{Kind: Pressed, Text: data})
				require.Empty(t, asksOf(t, replies), "without a chair nobody is asked")
			})
		}
	}
}

func sentenceOf(key string) phrase.Text {
	return phrase.Of(key).WithInt("n", 1).Saying("read", "").Saying("rest", "")
}

// Only rows that say so may come by mail, and the job refuses who has not the
// chair, whatever role the letter claims.
func TestEveryRowByMail(t *testing.T) {
	owner := ownersState(t)
	ask := func(t *testing.T, from int64, text string, role job.Role) (State, []Reply) {
		var a Ask
		require.NoError(t, json.Unmarshal([]byte(text), &a))
		a.Who = job.Who{Chat: 77, Person: from, Role: role}
		return Step(owner, Input{Kind: Mailed, Chat: 1, Now: firstDay, Mail: &Mail{From: from, To: 1, Ref: owner.Ref, Ask: &a}})
	}
	internal := words().Text("en", phrase.Of("error.internal"))
	for i := range table {
		c := &table[i]
		t.Run(c.name, func(t *testing.T) {
			if !c.mail {
				after, replies := ask(t, leadChat, `{"do":"`+c.name+`","opening":1,"words":"x"}`, job.Fitter)
				require.Equal(t, owner.Job, after.Job)
				require.Contains(t, allSaid(replies), internal)
				return
			}
			m, known := mailed[c.name]
			require.True(t, known, "mail that is played")
			for chat, role := range map[int64]job.Role{leadChat: job.Lead, deskChat: job.Desk, 99: job.Lead} {
				after, replies := ask(t, chat, m.ask, role)
				if role == m.role && chat != 99 {
					require.NotContains(t, allSaid(replies), internal, "it is known")
					continue
				}
				if c.name != "show" && c.name != "leave" {
					require.Equal(t, owner.Job, after.Job, "chat %d has another chair", chat)
				}
			}
		})
	}
	_, replies := ask(t, leadChat, `{"do":"zorb"}`, job.Lead)
	require.Contains(t, allSaid(replies), internal)
}

// A button of before names no figure. It settles, unless a reading was corrected
// after the two measures were first set side by side.
func TestOldButtonsSettleWhatWasNotCorrected(t *testing.T) {
	owner := ownersState(t)
	mail := func(s State, role job.Role, text string) (State, string) {
		var a Ask
		require.NoError(t, json.Unmarshal([]byte(text), &a))
		a.Who = job.Who{Person: leadChat, Role: role}
		s, replies := Step(s, Input{Kind: Mailed, Chat: 1, Now: firstDay, Mail: &Mail{From: leadChat, To: 1, Ref: owner.Ref, Ask: &a}})
		return s, allSaid(replies)
	}
	read := func(s State, top string) State {
		s, said := mail(s, job.Lead, `{"do":"read","opening":1,"readings":{"Widths":["`+top+`","1202","1203"],"Heights":["1050","1052","1051"],"Rising":"1595","Falling":"1596"}}`)
		require.Contains(t, said, "differ")
		return s
	}
	s, _ := Step(owner, Input{Kind: Typed, Text: "ask check 1", Chat: 1, User: 1, Now: firstDay})
	s = read(s, "1210")
	settled, said := mail(s, job.Lead, mailed["settle"].ask)
	require.Contains(t, said, "is 1204 mm, settled")
	_, said = mail(settled, job.Lead, mailed["settle"].ask)
	require.NotContains(t, said, "Nothing is settled", "it says by whom it was settled")

	s = read(s, "1214")
	for _, text := range []string{mailed["settle"].ask, `{"do":"settle","opening":1,"reading":"width.top","pick":"mine","value":"1210"}`} {
		after, said := mail(s, job.Lead, text)
		require.Equal(t, s.Job, after.Job)
		require.Contains(t, said, "Nothing is settled")
		require.Contains(t, said, "mine 1214, theirs 1204")
	}
	_, said = mail(s, job.Lead, `{"do":"settle","opening":1,"reading":"width.top","pick":"mine","value":"1214.0"}`)
	require.Contains(t, said, "is 1214 mm, settled")
}

func TestRowsHaveNamesOfTheirOwn(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range table {
		require.False(t, seen[c.name], c.name)
		seen[c.name] = true
	}
	require.Equal(t, []string{"new", "back", "skip", "change", "summary", "card", "why", "help", "cancel", "undo", "units", "language", "zone", "house", "cleared", "crew", "toe", "job", "mydata", "forget", "photos"}, Commands)
}
