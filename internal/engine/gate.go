package engine

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"slices"
	"strings"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/session"
)

// gate says who may use the bot.
type gate struct {
	store *session.Store
	crew  []int64
	home  func() string
}

// admitted is as what a person may use the bot; a Stranger may not. Everybody
// may when there is no crew; else those named at the start, whoever is the
// first to come by a crew's link, and whoever has a chair in a job. A link to a
// job lets in no more than the update that it is in: the chair is its owner's
// to give, see seated.
func (g gate) admitted(ctx context.Context, u Update) (session.Standing, error) {
	if len(g.crew) == 0 || !u.Input.ByPerson() || slices.Contains(g.crew, u.User) {
		return session.Mate, nil
	}
	as, err := g.store.Admitted(ctx, u.User)
	if err != nil || as == session.Mate || u.Input.Link == nil {
		return as, err
	}
	if u.Input.Link.Role != dialog.Crew {
		return session.Guest, nil
	}
	data, err := g.store.TakeLink(ctx, dialog.Token(u.Input))
	if err != nil || data == nil { // someone else was faster
		return session.Stranger, err
	}
	return session.Mate, g.store.Admit(ctx, u.User, session.Mate)
}

// seated lets the person of a private chat in who was given a chair by the
// owner of a job.
func (g gate) seated(ctx context.Context, u Update) error {
	m := u.Input.Mail
	if len(g.crew) == 0 || u.Chat <= 0 || u.Input.Kind != dialog.Mailed || m == nil || m.Joined == nil || m.Joined.Owner != m.From {
		return nil
	}
	return g.store.Admit(ctx, u.Chat, session.Guest)
}

// withoutCrewLinks takes the links out that a guest may not make, with what was
// said of them.
func withoutCrewLinks(replies []dialog.Reply) []dialog.Reply {
	var tokens []string
	kept := slices.DeleteFunc(slices.Clone(replies), func(r dialog.Reply) bool {
		crew := r.Link != nil && r.Link.Role == dialog.Crew
		if crew {
			tokens = append(tokens, r.Link.Token)
		}
		return crew
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

// complete adds to the input what Step can't know by itself.
func (g gate) complete(ctx context.Context, u *Update) error {
	in := &u.Input
	in.Chat, in.User, in.Group = u.Chat, u.User, u.Group
	if in.Seed == nil {
		in.Seed = seed()
	}
	if g.home != nil {
		in.Home = g.home()
	}
	token := dialog.Token(*in)
	if token == "" {
		return nil
	}
	data, err := g.store.Link(ctx, token)
	if err != nil || data == nil {
		return err
	}
	var l dialog.Link
	if err := json.Unmarshal(data, &l); err != nil {
		return nil // a later program's; to this one it leads nowhere
	}
	in.Link = &l
	return nil
}
