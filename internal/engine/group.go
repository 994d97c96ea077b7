package engine

import (
	"context"

	"sillbot/internal/dialog"
	"sillbot/internal/phrase"
	"sillbot/internal/talk"
)

// nameless tells who writes in a group as the group or as a channel how to be known, once
// an hour a group. They have no conversation, for nobody knows who they are.
func (t *turns) nameless(ctx context.Context, u Update) error {
	chat, err := t.store.First(ctx, u.Chat)
	if err != nil {
		return err
	}
	return t.tellOnce(ctx, chat, Message{Chat: chat, Reply: dialog.Reply{
		Text: phrase.Of("group.nameless"), Lang: u.Input.Lang, Topic: u.Input.Topic, For: &talk.Addressee{Msg: u.Input.Msg},
	}})
}
