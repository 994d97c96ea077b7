package engine

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"sillbot/internal/dialog"
	"sillbot/internal/job"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
	"sillbot/internal/talk"
)

// gate says who may use the bot.
type gate struct {
	store *session.Store
	crew  []int64
	home  func() string
	page  string // where links to a page begin; "": there are none
}

// open: everybody may use the bot.
func (g gate) open() bool { return len(g.crew) == 0 }

// turnedAway is an update that goes no further: say is what its person is told, once
// an hour.
type turnedAway struct{ say phrase.Text }

// look completes an update and finds out as what its person uses the bot; away is
// nil if they may. Everybody may when there is no crew; else its owners, whom they or
// those they allow let in by a link, and whoever has a chair in a job. A link to a
// job lets in no more than the update that it is in: the chair is its owner's to
// give, see chairs.
func (g gate) look(ctx context.Context, u *Update) (away *turnedAway, err error) {
	token, err := g.complete(ctx, u)
	in := &u.Input
	if err != nil || g.open() || !in.ByPerson() {
		return nil, err
	}
	if slices.Contains(g.crew, u.User) {
		in.Access = &talk.Access{As: talk.Owner, Owners: g.crew}
		return nil, nil
	}
	p, err := g.store.Person(ctx, u.User)
	if err != nil {
		return nil, err
	}
	as := p.May(time.Now())
	switch l := in.Link; {
	case l == nil && token != "" && as == session.Mate && p.Link == session.CrewPlace(token):
		in.Link = &dialog.Link{Token: token, Role: dialog.Crew} // let in by this very update, before a fault
	case u.Group || as == session.Mate:
	case l != nil && l.IntoCrew():
		if p, err = g.letIn(ctx, u, token, p); err != nil {
			return nil, err
		}
		as = p.May(time.Now())
	case l != nil && l.Role == talk.ToPhone && as == session.Stranger: // leads to who is looked at then
		as = session.Guest
	case l != nil && as == session.Stranger:
		lets, err := g.lets(ctx, l.Owner)
		if err != nil || !lets {
			return &turnedAway{phrase.Of("crew.closed")}, err
		}
		if away, err := g.shut(ctx, *l, u.Chat); err != nil || away != nil {
			return away, err
		}
		as = session.Guest
	}
	if as == session.Stranger || as == session.Out {
		return &turnedAway{phrase.Of("crew.closed")}, nil
	}
	if as == session.Guest && u.Group {
		return &turnedAway{phrase.Of("crew.guest.group")}, nil
	}
	in.Access = accessOf(p)
	in.Access.As = talk.Standing(as)
	return nil, g.noteName(ctx, p, in.Name)
}

// crewLinkLasts is how long a link into the crew lets somebody in: what is said of it.
const crewLinkLasts = 14 * 24 * time.Hour

// letIn lets the person of an update into the crew, if whoever made the link may still
// do so and nobody came by it before.
func (g gate) letIn(ctx context.Context, u *Update, token string, as session.Person) (session.Person, error) {
	now, l := time.Now(), *u.Input.Link
	maker := session.Person{}
	if by := makerOf(l); !slices.Contains(g.crew, by) {
		var err error
		if maker, err = g.store.Person(ctx, by); err != nil || maker.May(now) != session.Mate || !maker.Invites {
			return as, err
		}
	}
	if as.As == session.Out { // by an owner: only an owner lets them in again, by a link made since
		left, err := g.store.CrewLinkLeft(ctx, token)
		made := now.Add(left - crewLinkLasts + time.Second) // At has seconds
		if err != nil || maker.ID != 0 || left <= 0 || made.Before(time.Unix(as.At, 0)) {
			return as, err
		}
	}
	if l.Until != 0 && now.After(time.Unix(l.Until, 0)) {
		return as, nil
	}
	p, _, err := g.store.LetIn(ctx, token, maker, u.User, func(p *session.Person) (bool, *session.Trace) {
		p.As, p.Invites, p.Until, p.Chairs = session.Mate, false, time.Time{}, nil
		if l.Until != 0 {
			p.Until = time.Unix(l.Until, 0)
		}
		p.Name, p.By, p.ByName, p.At, p.Link = u.Input.Name, makerOf(l), l.Name, now.Unix(), session.CrewPlace(token)
		return true, trace(talk.CameIn, *p)
	})
	if err != nil || p.ID == 0 {
		return as, err
	}
	return p, nil
}

// makerOf is who made a crew link: before, its chat stood for its person.
func makerOf(l dialog.Link) int64 {
	if l.User != 0 {
		return l.User
	}
	return l.Owner
}

func trace(what talk.What, p session.Person) *session.Trace {
	t := &session.Trace{What: string(what), By: p.By, ByName: p.ByName, Who: p.ID, Name: p.Name}
	if !p.Until.IsZero() {
		t.Until = p.Until.Unix()
	}
	for _, c := range p.Chairs {
		t.Refs = append(t.Refs, c.Ref)
	}
	return t
}

// lets says whether a chair in a job of that chat lets somebody in: a guest's own
// job, of before guests had none, does not, nor that of somebody who was put out.
func (g gate) lets(ctx context.Context, owner int64) (bool, error) {
	if owner <= 0 || slices.Contains(g.crew, owner) { // in a group each is looked at
		return true, nil
	}
	p, err := g.store.Person(ctx, owner)
	return p.May(time.Now()) == session.Mate, err
}

// shut turns away who comes by a link to a job that can't give them a chair any more:
// nothing is kept of them. A job that can't be read, or was handed over, answers itself.
func (g gate) shut(ctx context.Context, l dialog.Link, chat int64) (*turnedAway, error) {
	j, err := loadJob(ctx, g.store, l.Owner, l.Ref, nil)
	switch {
	case unreadable(err):
		return nil, nil
	case err != nil:
		return nil, err
	case j.job == nil:
		return &turnedAway{phrase.Of("job.refused.share_unknown")}, nil
	case j.job.Handing != nil:
		return nil, nil
	}
	_, _, err = j.job.Use(job.Who{Chat: chat}, time.Now(), l.Token)
	if r, refused := errors.AsType[*job.Refusal](err); refused {
		return &turnedAway{r.Text()}, nil
	}
	return nil, err
}

// noteName keeps the name of a person who was let in before names were kept.
func (g gate) noteName(ctx context.Context, p session.Person, name string) error {
	if p.As == session.Stranger || p.Later || p.Name != "" || name == "" {
		return nil
	}
	_, err := g.store.ChangePerson(ctx, p.ID, func(p *session.Person) (bool, *session.Trace) {
		write := p.As != session.Stranger && p.Name == ""
		if write {
			p.Name = name
		}
		return write, nil
	})
	return err
}

// hushed says whether nothing is to be put in front of who has a private chat: they were
// put out, or their time is over. Their jobs go on for the others.
func (g gate) hushed(ctx context.Context, u Update) (bool, error) {
	if g.open() || u.Chat <= 0 || u.Input.ByPerson() || slices.Contains(g.crew, u.Chat) {
		return false, nil
	}
	p, err := g.store.Person(ctx, u.Chat)
	return p.May(time.Now()) == session.Out, err
}

// change does what a step asks for: it lets the person of a private chat in who was
// given a chair, and out who lost the last one, and changes the access of others
// if the person is an owner. It may be done again for the same update.
func (g gate) change(ctx context.Context, u Update, was *job.Job, next dialog.State, replies []dialog.Reply) ([]dialog.Reply, error) {
	if g.open() {
		return replies, nil
	}
	if now := next.Job; now != nil && now != was && (u.again || ended(was) || ended(now)) {
		if err := g.ends(ctx, *now); err != nil {
			return nil, err
		}
	}
	if m := u.Input.Mail; m != nil && u.Chat > 0 && (m.Joined != nil || m.Left || m.Hand != nil) {
		if err := g.chairs(ctx, u, next); err != nil {
			return nil, err
		}
	}
	a := u.Input.Access
	kept := replies[:0:0]
	for _, r := range replies {
		if r.Access == nil {
			kept = append(kept, r)
			continue
		}
		if a == nil || a.As != talk.Owner {
			continue
		}
		if err := g.changeOne(ctx, u, *r.Access); err != nil {
			return nil, err
		}
	}
	if a == nil || a.As == talk.Owner || a.Invites {
		return kept, nil
	}
	return withoutLinks(kept, a.As == talk.Guest), nil
}

// chairs makes a person a guest by the chairs that their conversation has.
func (g gate) chairs(ctx context.Context, u Update, next dialog.State) error {
	m := *u.Input.Mail
	lets := false
	if m.Joined != nil && m.Joined.Owner == m.From {
		var err error
		if lets, err = g.lets(ctx, m.From); err != nil {
			return err
		}
	}
	var chairs []session.Chair
	for _, s := range next.Seats {
		if s.Role != "" {
			chairs = append(chairs, session.Chair{Ref: s.Ref, Role: string(s.Role), Owner: s.Owner})
		}
	}
	_, err := g.store.ChangePerson(ctx, u.Chat, func(p *session.Person) (bool, *session.Trace) {
		for i, c := range chairs { // an ended job stays ended for them
			chairs[i].Over = slices.ContainsFunc(p.Chairs, func(was session.Chair) bool {
				return was.Ref == c.Ref && (was.Owner == c.Owner || m.Hand != nil && was.Owner == m.From) && was.Over
			})
		}
		switch {
		case m.Hand != nil && p.As != session.Guest || p.As == session.Mate || p.As == session.Out || m.Joined != nil && !lets || p.As == session.Stranger && chairs == nil || slices.Equal(p.Chairs, chairs):
			return false, nil
		case chairs == nil:
			t := trace(talk.Unseated, *p)
			t.By, t.ByName = m.From, ""
			p.As = session.Stranger
			return true, t
		}
		p.As, p.Chairs = session.Guest, chairs
		if m.Joined == nil {
			return true, nil
		}
		if p.At == 0 {
			p.At = time.Now().Unix()
		}
		t := &session.Trace{What: string(talk.Seated), Who: p.ID, Refs: []string{m.Joined.Ref}}
		if let := m.Let; let != nil {
			if p.By == 0 {
				p.By, p.ByName = let.By, let.ByName
			}
			if p.Name == "" {
				p.Name = let.Name
			}
			t.By, t.ByName = let.By, let.ByName
		}
		t.Name = p.Name
		return true, t
	})
	return err
}

// ended says whether there is nothing left to do in a job for who has a chair in it.
func ended(j *job.Job) bool { return j != nil && !j.Glance("").Open }

// ends lets the guests of a job that ends go, and in again when it goes on.
func (g gate) ends(ctx context.Context, j job.Job) error {
	over := ended(&j)
	for _, s := range j.Shares {
		if s.UsedBy <= 0 || s.Revoked {
			continue
		}
		if _, err := g.store.ChangePerson(ctx, s.UsedBy, func(p *session.Person) (bool, *session.Trace) {
			i := slices.IndexFunc(p.Chairs, func(c session.Chair) bool { return c.Ref == j.Ref })
			if i < 0 || p.Chairs[i].Over == over {
				return false, nil
			}
			p.Chairs = slices.Clone(p.Chairs)
			p.Chairs[i].Over = over
			what := talk.Ended
			if !over {
				what = talk.GoesOn
			}
			return true, &session.Trace{What: string(what), By: j.Owner.Person, ByName: j.Owner.Name, Who: p.ID, Name: p.Name, Refs: []string{j.Ref}}
		}); err != nil {
			return err
		}
	}
	return nil
}

// changeOne changes one person's access for an owner.
func (g gate) changeOne(ctx context.Context, u Update, c talk.Change) error {
	_, err := g.store.ChangePerson(ctx, c.Who, func(p *session.Person) (bool, *session.Trace) {
		if p.As == session.Stranger {
			return false, nil // had all deleted meanwhile
		}
		by := session.Trace{By: u.User, ByName: u.Input.Name, Who: p.ID, Name: p.Name}
		switch {
		case c.Out && p.As != session.Out:
			by.What, by.Refs = string(talk.PutOut), trace(talk.PutOut, *p).Refs
			p.As, p.Invites, p.Until, p.Chairs, p.Link = session.Out, false, time.Time{}, nil, ""
			p.By, p.ByName, p.At = u.User, u.Input.Name, time.Now().Unix()
		case c.Invites != nil && p.As == session.Mate && p.Invites != *c.Invites:
			if by.What = string(talk.Forbade); *c.Invites {
				by.What = string(talk.Allowed)
			}
			p.Invites = *c.Invites
		case c.Until != nil && p.As != session.Out && !p.Until.Equal(*c.Until):
			if by.What = string(talk.Endless); !c.Until.IsZero() {
				by.What, by.Until = string(talk.Dated), c.Until.Unix()
			}
			p.Until = *c.Until
		default:
			return false, nil
		}
		return true, &by
	})
	return err
}

// people adds the list of who may use the bot to an input that asks for it.
func (g gate) people(ctx context.Context, in *dialog.Input) error {
	people, err := g.store.People(ctx)
	if err != nil {
		return err
	}
	trail, err := g.store.Trail(ctx)
	if err != nil {
		return err
	}
	a := *in.Access
	for _, p := range people {
		a.People = append(a.People, personOf(p))
	}
	for _, t := range trail {
		a.Trail = append(a.Trail, talk.Trace{
			At: t.At, What: talk.What(t.What), By: t.By, ByName: t.ByName, Who: t.Who, Name: t.Name, Until: moment(t.Until), Refs: t.Refs,
		})
	}
	in.Access = &a
	return nil
}

func moment(unix int64) time.Time {
	if unix == 0 {
		return time.Time{}
	}
	return time.Unix(unix, 0)
}

func accessOf(p session.Person) *talk.Access {
	return &talk.Access{As: talk.Standing(p.As), Number: p.Number, Invites: p.As == session.Mate && p.Invites, Until: p.Until}
}

func personOf(p session.Person) talk.Person {
	t := talk.Person{
		ID: p.ID, Number: p.Number, As: talk.Standing(p.As), Name: p.Name, By: p.By, ByName: p.ByName,
		At: moment(p.At), Until: p.Until, Invites: p.Invites,
	}
	for _, c := range p.Chairs {
		t.Chairs = append(t.Chairs, dialog.Seat{Ref: c.Ref, Role: job.Role(c.Role), Owner: c.Owner, Done: c.Over})
	}
	return t
}

// admits says whether the person of a chat may use the bot, without letting anybody in.
func (g gate) admits(ctx context.Context, user int64, group bool) (bool, error) {
	if g.open() || slices.Contains(g.crew, user) {
		return true, nil
	}
	p, err := g.store.Person(ctx, user)
	as := p.May(time.Now())
	return as == session.Mate || as == session.Guest && !group, err
}

// sender is who an update that can't be decoded comes from.
var sender = regexp.MustCompile(`"from"\s*:\s*\{[^{}]*?"id"\s*:\s*(-?[0-9]+)`)

// keepsDead says whether an update that can't be decoded may be kept: nothing is
// of a stranger, nor of who can't be made out.
func (g gate) keepsDead(ctx context.Context, raw []byte) (bool, error) {
	if g.open() {
		return true, nil
	}
	found := sender.FindSubmatch(raw)
	if found == nil {
		return false, nil
	}
	id, err := strconv.ParseInt(string(found[1]), 10, 64)
	if err != nil {
		return false, nil
	}
	return g.admits(ctx, id, false)
}

// withoutLinks takes the links out that a person may not make, with what was said of
// them: those into the crew, or all.
func withoutLinks(replies []dialog.Reply, all bool) []dialog.Reply {
	var tokens []string
	kept := slices.DeleteFunc(slices.Clone(replies), func(r dialog.Reply) bool {
		out := r.Link != nil && r.Link.Role != talk.ToPhone && (all || r.Link.IntoCrew())
		if out {
			tokens = append(tokens, r.Link.Token)
		}
		return out
	})
	for i, r := range kept {
		said, err := json.Marshal(r.Text)
		if err != nil || slices.ContainsFunc(tokens, func(token string) bool { return strings.Contains(string(said), token) }) {
			kept[i] = dialog.Reply{Text: phrase.Of("crew.guest"), Lang: r.Lang, Open: r.Open}
		}
	}
	return kept
}

// seed is what a turn makes references and tokens of.
func seed() []byte {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // never fails
	return b
}

// complete adds to the input what Step can't know by itself, and gives the token in
// it, "" for none.
func (g gate) complete(ctx context.Context, u *Update) (token string, err error) {
	in := &u.Input
	in.Chat, in.User, in.Group = u.Chat, u.User, u.Group
	if in.Seed == nil {
		in.Seed = seed()
	}
	if g.home != nil {
		in.Home = g.home()
	}
	in.Page = g.page
	if token = dialog.Token(*in); token == "" {
		return "", nil
	}
	data, err := g.store.Link(ctx, token)
	if err != nil || data == nil {
		return token, err
	}
	var l dialog.Link
	if err := json.Unmarshal(data, &l); err != nil {
		return token, nil // a later program's; to this one it leads nowhere
	}
	l.Token = token
	in.Link = &l
	return token, nil
}
