package dialog

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"sillbot/internal/job"
	"sillbot/internal/talk"
)

// closed is what the engine's gate keeps of who may use the bot; without owners it is
// open.
type closed struct {
	owners []int64
	people map[int64]talk.Person
	trail  []talk.Trace
}

func (c *closed) put(p talk.Person) {
	if p.Number == 0 {
		p.Number = len(c.people) + 1
	}
	if c.people == nil {
		c.people = map[int64]talk.Person{}
	}
	c.people[p.ID] = p
}

func (c *closed) note(w *town, what talk.What, p talk.Person, by int64) {
	c.trail = slices.Insert(c.trail, 0, talk.Trace{At: w.now, What: what, By: by, ByName: w.names[by], Who: p.ID, Name: p.Name, Until: p.Until, Refs: refsOf(p)})
}

func refsOf(p talk.Person) (refs []string) {
	for _, c := range p.Chairs {
		refs = append(refs, c.Ref)
	}
	return refs
}

// lets says whether somebody may go on, and as what.
func (c *closed) lets(w *town, in *Input) bool {
	if len(c.owners) == 0 || !in.ByPerson() {
		return true
	}
	if slices.Contains(c.owners, in.User) {
		in.Access = &talk.Access{As: talk.Owner, Owners: c.owners}
		if NeedsPeople(State{}, *in) {
			in.Access.People = slices.SortedFunc(maps.Values(c.people), func(a, b talk.Person) int { return a.Number - b.Number })
			in.Access.Trail = c.trail
		}
		return true
	}
	p := c.people[in.User]
	p.ID = in.User
	if l := in.Link; l != nil && l.IntoCrew() && p.As != talk.Mate && !in.Group {
		p.As, p.Name, p.By, p.ByName, p.At, p.Chairs = talk.Mate, in.Name, l.User, l.Name, w.now, nil
		if p.Until = (time.Time{}); l.Until != 0 {
			p.Until = time.Unix(l.Until, 0)
		}
		c.put(p)
		c.note(w, talk.CameIn, p, l.User)
		delete(w.links, l.Token)
	}
	p = c.people[in.User]
	over := p.As == talk.Out || !p.Until.IsZero() && w.now.After(p.Until)
	if p.As == "" && in.Link != nil && !in.Group {
		p.As = talk.Guest
	}
	if p.As == "" || over || p.As == talk.Guest && in.Group {
		return false
	}
	in.Access = &talk.Access{As: p.As, Number: p.Number, Invites: p.Invites, Until: p.Until}
	return true
}

// seat makes guests by their chairs.
func (c *closed) seat(w *town, in Input, next State) {
	if m := in.Mail; len(c.owners) == 0 || m == nil || m.Joined == nil && !m.Left || in.Chat <= 0 {
		return
	}
	p, known := c.people[in.Chat]
	if p.As == talk.Mate || p.As == talk.Out || slices.Contains(c.owners, in.Chat) {
		return
	}
	before := p
	p.ID, p.As, p.Chairs = in.Chat, talk.Guest, slices.DeleteFunc(slices.Clone(next.Seats), func(s Seat) bool { return s.Role == "" })
	if let := in.Mail.Let; !known && let != nil {
		p.Name, p.By, p.ByName, p.At = let.Name, let.By, let.ByName, w.now
	}
	switch {
	case len(p.Chairs) == 0:
		delete(c.people, in.Chat)
		c.note(w, talk.Unseated, before, in.Mail.From)
	default:
		c.put(p)
		c.note(w, talk.Seated, p, in.Mail.From)
	}
}

func (c *closed) change(w *town, by int64, ch talk.Change) {
	p := c.people[ch.Who]
	what := talk.PutOut
	switch {
	case ch.Out:
		p.As, p.Chairs, p.Invites, p.By, p.ByName, p.At = talk.Out, nil, false, by, w.names[by], w.now
	case ch.Invites != nil:
		if p.Invites, what = *ch.Invites, talk.Forbade; p.Invites {
			what = talk.Allowed
		}
	case ch.Until != nil:
		if p.Until, what = *ch.Until, talk.Endless; !p.Until.IsZero() {
			what = talk.Dated
		}
	}
	c.put(p)
	c.note(w, what, p, by)
}

// An attacker's table: a guest tries every row, typed and on a button, and gets nothing
// that is not of their chair: no job, no window, no link, no list, nobody's access.
func TestAGuestTriesEveryRow(t *testing.T) {
	owner := ownersState(t)
	var refused []string
	harmless := []string{"start", "help", "units", "language", "zone", "job", "list", "more", "mydata", "forget", "glance", "people", "photos", "page"}
	for _, role := range []job.Role{job.Lead, job.Desk} {
		chat := map[job.Role]int64{job.Lead: leadChat, job.Desk: deskChat}[role]
		for i := range table {
			c := &table[i]
			play := rowPlays[c.name]
			tries := map[string]Input{
				"press": {Kind: Pressed, Text: "1:1:do:" + c.name}, "slash": typed("/" + c.name), "job": {Kind: Pressed, Text: "j1:" + owner.Ref + ":" + c.name + ":1"},
			}
			for how, text := range map[string]string{"fits": play.fits, "misfit": play.misfit} {
				if text != "" {
					tries[how] = typed(text)
				}
			}
			if play.press != "" {
				tries["pressed"] = Input{Kind: Pressed, Text: strings.Replace(play.press, "REF", owner.Ref, 1)}
			}
			for how, in := range tries {
				name := fmt.Sprint(role, " ", c.name, " ", how)
				in.Chat, in.User, in.Now, in.Seed = chat, chat, firstDay, []byte("0123456789abcdef0123456789abcdef")
				in.Access = &talk.Access{As: talk.Guest, Number: 3}
				s := chairState(owner, role)
				after, replies := Step(s, in)
				require.NotEmpty(t, replies, name)
				require.Nil(t, after.Job, name)
				require.Empty(t, after.Own, name)
				require.Zero(t, after.Editing, name)
				require.Equal(t, s.Seats[0].Ref, after.Seats[0].Ref, name)
				if after.Second == nil {
					require.False(t, after.answered(), name)
				}
				for _, r := range replies {
					require.True(t, r.Link == nil || r.Link.Role == talk.ToPhone && r.Link.Owner == in.Chat, name)
					require.Nil(t, r.Access, name)
					if r.Mail == nil {
						continue
					}
					require.NotNil(t, r.Mail.Ask, name)
					require.Equal(t, int64(1), r.Mail.To, name)
					asked := findCommand(r.Mail.Ask.Do)
					require.True(t, asked.name == "show" || slices.Contains(asked.by, role), "%s asks %s", name, asked.name)
				}
				if !slices.Contains(c.by, role) && !slices.Contains(harmless, c.name) && how != "misfit" && after.Second == nil && len(asksOf(t, replies)) == 0 {
					refused = append(refused, c.name)
				}
			}
		}
	}
	for _, name := range []string{"new", "edit", "invite", "crew", "putout", "let", "trail", "house", "toe", "check", "send", "revoke", "handover"} {
		require.Contains(t, refused, name)
	}
}

// A lead who is a guest and measures again gets no further by any row than that measure.
func TestAGuestWhoMeasuresTriesEveryRow(t *testing.T) {
	owner := ownersState(t)
	in := func(text string, kind Kind) Input {
		return Input{Kind: kind, Text: text, Chat: leadChat, User: leadChat, Now: firstDay, Seed: []byte("0123456789abcdef0123456789abcdef"), Access: &talk.Access{As: talk.Guest, Number: 3}}
	}
	s, _ := Step(chairState(owner, job.Lead), in("measure 1", Typed))
	s, _ = Step(s, in("1204 1202 1203", Typed))
	require.NotNil(t, s.Second)
	for i := range table {
		c := &table[i]
		play := rowPlays[c.name]
		for _, try := range []Input{
			in("/"+c.name, Typed), in(play.fits, Typed), in(play.misfit, Typed), in("j1:"+owner.Ref+":"+c.name+":1", Pressed),
			in(fmt.Sprint("1:", s.Conv, ":do:", c.name), Pressed), in("1:1:do:"+c.name, Pressed),
		} {
			after, replies := Step(s, try)
			require.NotEmpty(t, replies, try.Text)
			require.Nil(t, after.Job, try.Text)
			require.Empty(t, after.Own, try.Text)
			require.Equal(t, s.Seats[0].Ref, after.Seats[0].Ref, try.Text)
			if after.Second == nil {
				require.False(t, after.answered(), "%s: what comes after the measure is empty", try.Text)
			}
			for _, r := range replies {
				require.True(t, r.Link == nil || r.Link.Role == talk.ToPhone, try.Text)
				require.Nil(t, r.Access, try.Text)
				if r.Mail == nil {
					continue
				}
				require.NotNil(t, r.Mail.Ask, try.Text)
				asked := findCommand(r.Mail.Ask.Do)
				require.True(t, asked.name == "show" || slices.Contains(asked.by, job.Lead), "%s asks %s", try.Text, asked.name)
			}
		}
	}
}

// What is typed that is no command begins no window of a guest's own.
func TestAGuestAnswersNoSurvey(t *testing.T) {
	owner := ownersState(t)
	for _, text := range append([]string{"England today", "white pvc 1204 x 1050", "1204 1202 1203", "bare", "yes", "same"}, script...) {
		s, replies := Step(chairState(owner, job.Desk), Input{
			Kind: Typed, Text: text, Chat: deskChat, User: deskChat, Now: firstDay, Seed: []byte("0123456789abcdef0123456789abcdef"), Access: &talk.Access{As: talk.Guest},
		})
		require.False(t, s.answered(), text)
		require.Nil(t, s.Proposed, text)
		require.Nil(t, s.Doubt, text)
		require.NotEmpty(t, replies, text)
	}
}

// Only an owner, alone with the bot, sees the list or changes it.
func TestOnlyOwnersChangeWhoMayUseTheBot(t *testing.T) {
	people := []talk.Person{{ID: 9, Number: 1, As: talk.Mate, Name: "Bob"}}
	for _, text := range []string{"crew list", "put out 1", "put out 1 yes", "let 1 invite", "1 may not invite", "let 1 until 3 December", "let 1 stay", "crew trail"} {
		for name, in := range map[string]Input{
			"open": {}, "mate": {Access: &talk.Access{As: talk.Mate, Invites: true, People: people}}, "guest": {Access: &talk.Access{As: talk.Guest, People: people}},
			"group": {Group: true, Access: &talk.Access{As: talk.Owner, People: people}},
		} {
			in.Kind, in.Text, in.Chat, in.User, in.Now = Typed, text, 4, 4, firstDay
			s := State{Version: schema, Conv: 1, Putting: &Putting{Number: 1, At: firstDay.Unix()}}
			_, replies := Step(s, in)
			require.NotContains(t, allSaid(replies), "Bob", "%s %s", name, text)
			for _, r := range replies {
				require.Nil(t, r.Access, "%s %s", name, text)
			}
		}
	}
}
