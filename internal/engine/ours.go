package engine

import (
	"encoding/json"
	"slices"

	"sillbot/internal/dialog"
	"sillbot/internal/session"
)

// ours takes out of the replies what a group is to tell itself, which job is its own, and
// makes of it what its conversation becomes in the same commit: so of two jobs that are
// begun at once one is the group's, and who began the other is stepped again and joins it.
// Where the conversation can't be read it stays mail.
func (p stepper) ours(u Update, replies []dialog.Reply) (*session.Ours, []dialog.Reply, error) {
	i := slices.IndexFunc(replies, func(r dialog.Reply) bool { return r.Mail != nil && r.Mail.Ours && r.Mail.To == u.Chat })
	if i < 0 || u.ours == nil {
		return nil, replies, nil
	}
	m := *replies[i].Mail
	next, said, err := p.safely(Update{ID: u.ID, Chat: u.Chat, Input: dialog.Input{
		Kind: dialog.Mailed, Mail: &m, Now: u.Input.Now, Chat: u.Chat, Seed: u.Input.Seed,
	}}, u.ours.state)
	if err != nil || len(said) > 0 {
		return nil, replies, nil
	}
	data, err := json.Marshal(next)
	if err != nil {
		return nil, nil, err
	}
	return &session.Ours{From: u.ours.Conversation, Data: data}, slices.Delete(slices.Clone(replies), i, i+1), nil
}
